#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <random>

#include "check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/highvoltage/order.hpp"
#include "ohmward/highvoltage/proving_dead.hpp"

namespace ohmward::highvoltage {
namespace {

constexpr double u = 1.0;
const DeadPolicy usual;

VoltageRow check(double shown, double known = 24.0, std::int32_t instrument = 0, Function function = Function::dc) {
  return {.is_check = true,
          .instrument = instrument,
          .function = function,
          .range = 0,
          .value_volt = shown,
          .standard_uncertainty_volt = u,
          .input_ohm = 10e6,
          .reference_volt = known};
}

VoltageRow reading(Pair pair, Side side, double shown, std::int32_t instrument = 0, Function function = Function::dc) {
  return {.instrument = instrument,
          .function = function,
          .range = 0,
          .value_volt = shown,
          .standard_uncertainty_volt = u,
          .input_ohm = 10e6,
          .pair = pair,
          .side = side};
}

/// Source, three pairs on both sides, source: all that the default policy asks for.
std::vector<VoltageRow> complete_job() {
  std::vector<VoltageRow> rows{check(24.1, 24)};
  for (const Side side : {Side::load, Side::battery})
    for (const Pair pair : {Pair::plus_minus, Pair::plus_chassis, Pair::minus_chassis})
      rows.push_back(reading(pair, side, 0.2));
  rows.push_back(check(24.1, 24));
  return rows;
}

class DeadReadings : public ::testing::TestWithParam<testing::CheckValue> {};

TEST_P(DeadReadings, AsComputed) {
  const auto& row = GetParam();
  row.expect(reading_through_leak_volt({.source_volt = row.number("source_volt"),
                                        .leak_ohm = row.number("leak_ohm"),
                                        .meter_ohm = row.number("meter_ohm")})
                 .value);
}
INSTANTIATE_TEST_SUITE_P(Table, DeadReadings, ::testing::ValuesIn(testing::check_values("reading_through_leak")),
                         [](const auto& case_) { return case_.param.id(); });

TEST(ProvingDead, TheUnseenLeakIsTheOneThatShowsTheLimit) {
  const double leak = unseen_leak_ohm(400, 6, 10e6).value;
  EXPECT_NEAR(leak, 656.67e6, 0.01e6);
  EXPECT_NEAR(reading_through_leak_volt({.source_volt = 400, .leak_ohm = leak, .meter_ohm = 10e6}).value, 6, 1e-12);
  EXPECT_EQ(unseen_leak_ohm(400, nan, 10e6).status, Status::missing_input);
  EXPECT_EQ(unseen_leak_ohm(400, 500, 10e6).status, Status::out_of_domain);
}

TEST(ProvingDead, TwoMetersFindTheSourceBehindALeak) {
  const auto shown = [](double meter) {
    return reading_through_leak_volt({.source_volt = 650, .leak_ohm = 100e6, .meter_ohm = meter}).value;
  };
  const HiddenSource hidden = hidden_source(shown(10e6), 10e6, shown(0.3e6), 0.3e6);
  EXPECT_EQ(hidden.status, Status::sound);
  EXPECT_NEAR(hidden.source_volt, 650, 1e-9);
  EXPECT_NEAR(hidden.leak_ohm, 100e6, 1);
  EXPECT_EQ(hidden_source(5, 10e6, 6, 0.3e6).status, Status::contradiction);
}

TEST(ProvingDead, Tiers) {
  const auto tier = [](double shown, Censoring censoring = Censoring::exact, Function function = Function::dc) {
    VoltageRow row = reading(Pair::plus_minus, Side::load, shown, 0, function);
    row.censoring = censoring;
    return tier_of(row, usual);
  };
  EXPECT_EQ(tier(0.0), Tier::near_zero);
  EXPECT_EQ(tier(4.0), Tier::near_zero);  // 4 + 2·1 reaches the limit and belongs to the better side
  EXPECT_EQ(tier(-4.1), Tier::present);
  EXPECT_EQ(tier(57.9), Tier::present);
  EXPECT_EQ(tier(58.0), Tier::hazardous);  // may be 60 V
  EXPECT_EQ(tier(-400), Tier::hazardous);
  EXPECT_EQ(tier(28.0, Censoring::exact, Function::ac), Tier::hazardous);
  EXPECT_EQ(tier(27.9, Censoring::exact, Function::ac), Tier::present);
  EXPECT_EQ(tier(28.0, Censoring::exact, Function::unknown), Tier::hazardous);
  EXPECT_EQ(tier(6.0, Censoring::below), Tier::near_zero);
  EXPECT_EQ(tier(12.0, Censoring::below), Tier::undecided);
  EXPECT_EQ(tier(nan, Censoring::overload), Tier::hazardous);
  EXPECT_EQ(tier(1000, Censoring::above), Tier::hazardous);
  EXPECT_EQ(tier(nan), Tier::undecided);

  VoltageRow unknown_u = reading(Pair::plus_minus, Side::load, 0);
  for (const double bad : {nan, 0.0, -1.0, infinity}) {
    unknown_u.standard_uncertainty_volt = bad;
    EXPECT_NE(tier_of(unknown_u, usual), Tier::near_zero) << bad;
  }
  unknown_u.value_volt = 400;
  unknown_u.standard_uncertainty_volt = nan;
  EXPECT_EQ(tier_of(unknown_u, usual), Tier::hazardous);
}

TEST(ProvingDead, TheMetersZeroIsTakenOff) {
  VoltageRow row = reading(Pair::plus_minus, Side::load, 5.0);
  EXPECT_EQ(tier_of(row, usual), Tier::present);
  row.zero_volt = 3.0;
  EXPECT_EQ(tier_of(row, usual), Tier::near_zero);
}

TEST(ProvingDead, Checks) {
  EXPECT_EQ(check_result(check(24.1), usual), CheckResult::good);
  EXPECT_EQ(check_result(check(0.0), usual), CheckResult::differs);
  EXPECT_EQ(check_result(check(24.1, nan), usual), CheckResult::reference_missing);
  EXPECT_EQ(check_result(check(nan), usual), CheckResult::value_missing);
  EXPECT_EQ(check_result(check(0.1, 0), usual), CheckResult::proves_nothing);
  EXPECT_EQ(check_result(check(12, 0), usual), CheckResult::differs);
}

TEST(ProvingDead, ACompleteJobIsNearZeroEverywhere) {
  const ProofOfDead proof = prove_dead(complete_job());
  EXPECT_EQ(proof.worst, PairState::near_zero);
  EXPECT_EQ(proof.pairs.size(), 6U);
  for (const PairFinding& pair : proof.pairs) EXPECT_EQ(pair.state, PairState::near_zero);
  EXPECT_TRUE(proof.has(DeadCaution::source_below_hazard));  // 24 V prove nothing of the divider on the 1000 V range
  EXPECT_TRUE(proof.has(DeadCaution::alternating_not_read));
  EXPECT_FALSE(proof.has(DeadCaution::welded_contactor));
  EXPECT_FALSE(proof.has(DeadCaution::range_not_proven));
}

TEST(ProvingDead, LoadSideAloneDoesNotExcludeAWeldedContactor) {
  auto rows = complete_job();
  rows.erase(rows.begin() + 4, rows.begin() + 7);
  DeadPolicy policy;
  policy.sides = {Side::load};
  const ProofOfDead proof = prove_dead(rows, policy);
  EXPECT_EQ(proof.worst, PairState::near_zero);
  EXPECT_TRUE(proof.has(DeadCaution::welded_contactor));
  EXPECT_TRUE(proof.has(DeadCaution::one_side_only));
  EXPECT_EQ(prove_dead(rows).worst, PairState::missing);
}

TEST(ProvingDead, AFailedClosingCheckVoidsBackToTheLastGoodOne) {
  const std::vector<VoltageRow> rows{check(24),
                                     reading(Pair::plus_minus, Side::load, 0),
                                     check(24),
                                     reading(Pair::plus_chassis, Side::load, 0),
                                     reading(Pair::minus_chassis, Side::load, 0),
                                     check(0.0),
                                     reading(Pair::plus_minus, Side::battery, 0),
                                     check(24)};
  const auto judged = prove_dead(rows).rows;
  EXPECT_EQ(judged[1].bracket, Bracket::closed);
  EXPECT_EQ(judged[1].opening_check, 0);
  EXPECT_EQ(judged[1].closing_check, 2);
  EXPECT_EQ(judged[3].bracket, Bracket::closing_not_good);
  EXPECT_EQ(judged[4].bracket, Bracket::closing_not_good);
  EXPECT_EQ(judged[6].bracket, Bracket::opening_not_good);
  EXPECT_TRUE(judged[4].findings.has(Finding::source_check_missing));
}

TEST(ProvingDead, OnlyTheSameMeterAndFunctionProve) {
  const std::vector<VoltageRow> rows{check(24), reading(Pair::plus_minus, Side::load, 0, 1), check(24),
                                     reading(Pair::phase_phase, Side::load, 0, 0, Function::ac), check(24)};
  const auto judged = prove_dead(rows).rows;
  EXPECT_EQ(judged[1].bracket, Bracket::opening_missing);
  EXPECT_EQ(judged[3].bracket, Bracket::opening_missing);
}

TEST(ProvingDead, WrongFunctionNeverCounts) {
  auto rows = complete_job();
  for (auto& row : rows) row.function = Function::ac;
  const ProofOfDead proof = prove_dead(rows);
  EXPECT_EQ(proof.worst, PairState::not_proven);
  EXPECT_TRUE(proof.rows[1].wrong_function);
  EXPECT_TRUE(proof.rows[1].findings.has(Finding::wrong_function_suspected));
}

TEST(ProvingDead, AVoltageShowsWhetherBracketedOrNot) {
  const std::vector<VoltageRow> rows{
      reading(Pair::unknown, Side::unknown, 400, VoltageRow::unknown, Function::unknown)};
  EXPECT_EQ(prove_dead(rows).worst, PairState::hazardous);
}

TEST(ProvingDead, TwoReadingsThatDisagreeNeverCountUnlessOneReplacesTheOther) {
  auto rows = complete_job();
  VoltageRow decaying = rows[1];
  decaying.value_volt = 45;
  rows.insert(rows.begin() + 1, decaying);
  EXPECT_EQ(prove_dead(rows).worst, PairState::present);
  EXPECT_TRUE(prove_dead(rows).rows[2].contradicts);
  rows[1].superseded = true;
  EXPECT_EQ(prove_dead(rows).worst, PairState::near_zero);
}

TEST(ProvingDead, SenselessPolicyIsNamed) {
  DeadPolicy policy;
  policy.near_zero_volt = 60;
  EXPECT_THROW(validate(policy), InvalidParameter);
  policy = {};
  policy.pairs.clear();
  EXPECT_THROW((void)prove_dead({}, policy), InvalidParameter);
}

/// A job with any mixture of faults.
class RandomJob {
 public:
  explicit RandomJob(unsigned seed) : random_(seed) {}

  std::vector<VoltageRow> rows() {
    std::vector<VoltageRow> rows;
    const std::size_t size = 2 + random_() % 12;
    for (std::size_t i = 0; i < size; ++i) rows.push_back(rarely(3) ? a_check() : a_reading());
    return rows;
  }

  /// The same row with one thing less written down.
  VoltageRow with_less(VoltageRow row) {
    switch (random_() % 8) {
      case 0: row.instrument = VoltageRow::unknown; break;
      case 1: row.function = Function::unknown; break;
      case 2: row.range = VoltageRow::unknown; break;
      case 3:
        row.value_volt = nan;
        row.censoring = Censoring::exact;
        break;
      case 4: row.standard_uncertainty_volt = nan; break;
      case 5: row.reference_volt = nan; break;
      case 6: row.pair = Pair::unknown; break;
      default: row.side = Side::unknown; break;
    }
    return row;
  }

  std::size_t below(std::size_t n) { return random_() % n; }

 private:
  bool rarely(unsigned n) { return random_() % n == 0; }
  std::int32_t meter() { return rarely(12) ? VoltageRow::unknown : static_cast<std::int32_t>(random_() % 2); }
  Function function() { return rarely(12) ? Function::unknown : rarely(5) ? Function::ac : Function::dc; }
  VoltageRow a_check() { return check(rarely(5) ? 2.0 : 24.0, rarely(6) ? nan : 24.0, meter(), function()); }
  VoltageRow a_reading() {
    auto row = reading(static_cast<Pair>(random_() % 6), static_cast<Side>(random_() % 3),
                       rarely(8)    ? 400
                       : rarely(8)  ? 30
                       : rarely(12) ? nan
                                    : 0.3,
                       meter(), function());
    row.superseded = rarely(15);
    return row;
  }

  std::mt19937 random_;
};

/// What the bracket rule says, in other words: look left and right of the reading for the nearest check of the same
/// meter and function, and for any check that is not good and may have been of this meter.
bool bracketed_by_definition(const std::vector<VoltageRow>& rows, std::size_t i) {
  if (rows[i].instrument == VoltageRow::unknown || rows[i].function == Function::unknown) return false;
  const auto good_neighbour = [&](int direction) {
    for (auto j = static_cast<std::ptrdiff_t>(i) + direction; j >= 0 && j < static_cast<std::ptrdiff_t>(rows.size());
         j += direction) {
      const VoltageRow& row = rows[static_cast<std::size_t>(j)];
      if (!row.is_check) continue;
      const bool good = check_result(row, usual) == CheckResult::good;
      const bool same = row.instrument == rows[i].instrument && row.function == rows[i].function;
      const bool may_be = (row.instrument == VoltageRow::unknown || row.instrument == rows[i].instrument) &&
                          (row.function == Function::unknown || row.function == rows[i].function);
      if (same && good) return true;
      if (may_be && !good) return false;
    }
    return false;
  };
  return good_neighbour(-1) && good_neighbour(+1);
}

TEST(ProvingDead, BracketsFollowTheirDefinition) {
  RandomJob jobs(7);
  std::size_t closed = 0;
  for (int job = 0; job < 60000; ++job) {
    const auto rows = jobs.rows();
    const auto judged = prove_dead(rows).rows;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      if (rows[i].is_check) continue;
      EXPECT_EQ(judged[i].bracket == Bracket::closed, bracketed_by_definition(rows, i)) << job;
      closed += judged[i].bracket == Bracket::closed;
    }
  }
  EXPECT_GT(closed, 5000U);
}

TEST(ProvingDead, WritingDownLessNeverRaisesAStatement) {
  RandomJob jobs(11);
  DeadPolicy policy;
  policy.pairs = {Pair::plus_minus};
  policy.sides = {Side::unknown};
  int proven = 0;
  for (int job = 0; job < 200000; ++job) {
    auto rows = jobs.rows();
    const ProofOfDead before = prove_dead(rows, policy);
    const std::size_t which = jobs.below(rows.size());
    rows[which] = jobs.with_less(rows[which]);
    const ProofOfDead after = prove_dead(rows, policy);
    if (after.worst == PairState::near_zero) {
      ++proven;
      EXPECT_EQ(before.worst, PairState::near_zero) << job;
    }
    for (std::size_t i = 0; i < rows.size(); ++i)
      if (!rows[i].is_check && after.rows[i].bracket == Bracket::closed) {
        EXPECT_EQ(before.rows[i].bracket, Bracket::closed) << job;
      }
  }
  EXPECT_GT(proven, 200);
}

/// However many meters and failed checks a job names, the work grows with its rows and not with their square: four
/// times the rows may take ten times as long on a busy machine, where the square would take sixteen.
TEST(ProvingDead, ManyMetersAndRowsStayQuick) {
  const auto seconds = [](std::size_t size) {
    std::vector<VoltageRow> rows;
    for (std::size_t i = 0; i < size; ++i) {
      const auto meter = static_cast<std::int32_t>(i / 2);
      rows.push_back(i % 2 ? reading(Pair::plus_minus, Side::load, 0.2, meter) : check(24.1, 24, meter));
      if (i % 3 == 0) rows.push_back(check(0.0, 24, VoltageRow::unknown, i % 2 ? Function::ac : Function::dc));
    }
    double least = infinity;
    for (int run = 0; run < 3; ++run) {
      const auto started = std::chrono::steady_clock::now();
      EXPECT_NE(prove_dead(rows, usual).worst, PairState::near_zero);
      least = std::min(least, std::chrono::duration<double>(std::chrono::steady_clock::now() - started).count());
    }
    return least;
  };
  EXPECT_LT(seconds(120000), 10 * seconds(30000));
}

/// Law: a check that turns out not good takes every reading with it that it stood beside.
TEST(ProvingDead, VoidingACheckVoidsAllThatItBrackets) {
  RandomJob jobs(19);
  int voided = 0;
  for (int job = 0; job < 250000; ++job) {
    auto rows = jobs.rows();
    const auto before = prove_dead(rows).rows;
    const std::size_t which = jobs.below(rows.size());
    if (before[which].check != CheckResult::good || !rows[which].is_check) continue;
    rows[which].value_volt = 0.0;  // the meter shows nothing on the source
    const auto after = prove_dead(rows).rows;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const auto beside = static_cast<std::int32_t>(which);
      if (rows[i].is_check || before[i].bracket != Bracket::closed) continue;
      if (before[i].opening_check != beside && before[i].closing_check != beside) continue;
      EXPECT_NE(after[i].bracket, Bracket::closed) << job;
      EXPECT_FALSE(after[i].counts) << job;
      EXPECT_TRUE(after[i].findings.has(Finding::source_check_missing)) << job;
      ++voided;
    }
  }
  EXPECT_GT(voided, 5000);
}

/// Law: what counts has an uncertainty above 0, a known meter, the pair's own function, a pair, and nothing against it.
TEST(ProvingDead, NothingThatLacksAnythingCounts) {
  RandomJob jobs(23);
  int counted = 0;
  for (int job = 0; job < 150000; ++job) {
    auto rows = jobs.rows();
    const std::size_t which = jobs.below(rows.size());
    if (job % 3 == 0) rows[which].standard_uncertainty_volt = job % 2 ? 0.0 : -1.0;
    if (job % 5 == 0) rows[which].censoring = Censoring::overload;
    const ProofOfDead proof = prove_dead(rows);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const VoltageRow& row = rows[i];
      if (!proof.rows[i].counts) continue;
      EXPECT_FALSE(row.is_check || row.superseded);
      EXPECT_GT(row.standard_uncertainty_volt, 0);
      EXPECT_NE(row.instrument, VoltageRow::unknown);
      EXPECT_TRUE(row.pair == Pair::unknown || row.function == required_function(row.pair));
      EXPECT_TRUE(bracketed_by_definition(rows, i));
      ++counted;
    }
    if (proof.worst != PairState::near_zero) continue;
    for (const PairFinding& found : proof.pairs)
      EXPECT_TRUE(found.state == PairState::near_zero || found.state < PairState::undecided);
  }
  EXPECT_GT(counted, 5000);
}

/// Law: where every row has its step, no clock changes what a job shows.
TEST(ProvingDead, ReorderingByTheClockNeverBeatsTheStep) {
  RandomJob jobs(29);
  std::mt19937 random(31);
  for (int job = 0; job < 20000; ++job) {
    const auto rows = jobs.rows();
    const ProofOfDead in_order = prove_dead(rows);
    std::vector<Place> places(rows.size());
    std::vector<std::size_t> written(rows.size());  // the order of the lines is any
    for (std::size_t i = 0; i < rows.size(); ++i) written[i] = i;
    std::shuffle(written.begin(), written.end(), random);
    for (std::size_t line = 0; line < rows.size(); ++line)
      places[line] = {.step = static_cast<double>(written[line]),
                      .taken_at = {.second = static_cast<std::int64_t>(random() % 100000), .has_time = true},
                      .line = static_cast<std::int64_t>(line)};
    std::vector<VoltageRow> ordered;
    for (const std::size_t place : order_of(places).rows) ordered.push_back(rows[written[place]]);
    const ProofOfDead by_clock = prove_dead(ordered);
    EXPECT_EQ(by_clock.worst, in_order.worst) << job;
    EXPECT_EQ(by_clock.cautions, in_order.cautions) << job;
    for (std::size_t i = 0; i < rows.size(); ++i) EXPECT_EQ(by_clock.rows[i].counts, in_order.rows[i].counts) << job;
  }
}

using Removal = void (*)(VoltageRow&);

TEST(ProvingDead, FromACompleteJobNothingCanBeTakenAway) {
  const Removal needed[] = {
      [](VoltageRow& row) { row.instrument = VoltageRow::unknown; },
      [](VoltageRow& row) { row.function = Function::unknown; },
      [](VoltageRow& row) { row.value_volt = nan; },
      [](VoltageRow& row) { (row.is_check ? row.reference_volt : row.standard_uncertainty_volt) = nan; },
      [](VoltageRow& row) { row.is_check ? void(row.value_volt = 12) : void(row.pair = Pair::unknown); },
      [](VoltageRow& row) { row.is_check ? void(row.instrument = 1) : void(row.side = Side::unknown); },
  };
  const auto whole = complete_job();
  for (std::size_t i = 0; i < whole.size(); ++i) {
    auto rows = whole;
    rows.erase(rows.begin() + static_cast<std::ptrdiff_t>(i));
    EXPECT_NE(prove_dead(rows).worst, PairState::near_zero) << "without row " << i;
    for (std::size_t k = 0; k < std::size(needed); ++k) {
      rows = whole;
      needed[k](rows[i]);
      EXPECT_NE(prove_dead(rows).worst, PairState::near_zero) << "row " << i << ", removal " << k;
    }
  }
}

TEST(ProvingDead, WritingDownLessNeverTakesACautionAway) {
  RandomJob jobs(3);
  const auto whole = complete_job();
  const ProofOfDead before = prove_dead(whole);
  for (int job = 0; job < 5000; ++job) {
    auto rows = whole;
    const std::size_t which = jobs.below(rows.size());
    rows[which] = jobs.with_less(rows[which]);
    EXPECT_EQ(before.cautions & ~prove_dead(rows).cautions, 0U);
  }
}

}  // namespace
}  // namespace ohmward::highvoltage
