#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "check_values.hpp"
#include "ohmward/highvoltage/leak.hpp"

namespace ohmward::highvoltage {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

Quantity reading(double ohm, double u = 0.0, double gain = 0.0, Censoring censoring = Censoring::exact) {
  Quantity q{.value = ohm, .scale = Scale::log, .censoring = censoring, .status = Status::sound};
  q.parts.set(Part::reading, u);
  q.parts.set(Part::gain, gain);
  return q;
}

TEST(Leak, WorkedFigures) {
  const Leak leak = leak_of_removed_part(reading(420e3), reading(480e3));
  EXPECT_NEAR(leak.ohm, 3.36e6, 1e-3);
  EXPECT_NEAR(leak.interval.low, 3.36e6, 10);  // no uncertainty, no width
  EXPECT_NEAR(leak.interval.high, 3.36e6, 10);
  EXPECT_NEAR(leak.share, 0.125, 1e-15);
}

TEST(Leak, AfterOverRangeLeavesAnInterval) {
  const Leak leak = leak_of_removed_part(reading(2e6), reading(4e9, 0, 0, Censoring::above));
  EXPECT_EQ(leak.status, Status::bound_only);
  EXPECT_NEAR(leak.interval.low, 2.000e6, 1);
  EXPECT_NEAR(leak.interval.high, 1 / (1 / 2e6 - 1 / 4e9), 1);  // 2.001 MΩ
  EXPECT_NEAR(leak.share_interval.low, 0.9995, 1e-12);
  EXPECT_EQ(leak.share_interval.high, 1);
}

TEST(Leak, NotThisPartWhenTheReadingFell) {
  const Leak leak = leak_of_removed_part(reading(480e3, 0.01), reading(470e3, 0.01));
  EXPECT_EQ(leak.status, Status::contradiction);
  EXPECT_TRUE(std::isnan(leak.ohm));
  EXPECT_TRUE(std::isinf(leak.interval.high));
  EXPECT_GT(leak.interval.low, 480e3);  // how large a leak it could still have
  EXPECT_LT(leak.probability_of_leak, 0.1);
  EXPECT_EQ(leak_of_removed_part(reading(5e9, 0.01, 0, Censoring::above), reading(1e6, 0.01)).status,
            Status::contradiction);
}

TEST(Leak, BothOverRangeTellsOnlyAFloor) {
  const Leak leak =
      leak_of_removed_part(reading(1e9, 0.02, 0, Censoring::above), reading(1e9, 0.02, 0, Censoring::above));
  EXPECT_EQ(leak.status, Status::bound_only);
  EXPECT_NEAR(leak.interval.low, 1e9 * std::exp(-1.95996 * 0.02), 1e4);
  EXPECT_TRUE(std::isinf(leak.interval.high));
}

TEST(Leak, UnknownUncertaintyGivesNoInterval) {
  for (const double u : {nan, -0.1}) {
    const Leak leak = leak_of_removed_part(reading(420e3, u), reading(480e3, 0.01));
    EXPECT_TRUE(std::isnan(leak.interval.low) && std::isnan(leak.interval.high));
  }
  EXPECT_EQ(leak_of_removed_part(reading(nan), reading(1e6)).status, Status::missing_input);
  EXPECT_EQ(leak_of_removed_part(reading(1e6), reading(-1)).status, Status::out_of_domain);
  EXPECT_EQ(leak_of_removed_part(reading(1e6), reading(2e6), 1.0).status, Status::out_of_domain);
}

/// Second route: draws of the readings themselves.
TEST(Leak, IntervalIsThatOfDraws) {
  std::mt19937_64 random(5);
  std::normal_distribution<> normal;
  struct Case {
    double before, after, u_before, u_after, gain;
  };
  const Case cases[] = {{1e6, 2e6, 0.02, 0.02, 0.01}, {1e6, 1.05e6, 0.02, 0.02, 0.02}, {1e6, 5e6, 0.3, 0.05, 0.0},
                        {1e6, 5e6, 0.05, 0.4, 0.1},   {1e6, 1.6e6, 0.01, 0.01, 0.15},  {1e6, 1e9, 0.1, 0.3, 0.0}};
  constexpr std::size_t draws = 400000;
  std::vector<double> siemens(draws);
  for (const Case& c : cases) {
    for (double& g : siemens) {
      const double before = c.before * std::exp(c.u_before * normal(random));
      const double after = c.after * std::exp(c.u_after * normal(random));
      g = (1 / before - 1 / after) * std::exp(-c.gain * normal(random));
    }
    std::sort(siemens.begin(), siemens.end());
    const Leak leak = leak_of_removed_part(reading(c.before, c.u_before, c.gain), reading(c.after, c.u_after, c.gain));
    const auto rank = [&](double ohm) {
      const double g = std::isinf(ohm) ? 0 : 1 / ohm;
      return static_cast<double>(std::lower_bound(siemens.begin(), siemens.end(), g) - siemens.begin()) / draws;
    };
    EXPECT_NEAR(rank(leak.interval.low), 0.975, 0.001);
    if (std::isfinite(leak.interval.high))
      EXPECT_NEAR(rank(leak.interval.high), 0.025, 0.001);
    else
      EXPECT_GE(rank(leak.interval.high), 0.025);
    EXPECT_NEAR(1 - rank(infinity), leak.probability_of_leak, 0.002);
  }
}

/// Interval ends against mpmath quadrature to 30 digits, see the file.
class LeakInterval : public ::testing::TestWithParam<testing::CheckValue> {};
TEST_P(LeakInterval, AsIntegrated) {
  const auto& row = GetParam();
  const double gain = row.number("u_gain");
  const Leak leak = leak_of_removed_part(reading(row.number("before_ohm"), row.number("u_before"), gain),
                                         reading(row.number("after_ohm"), row.number("u_after"), gain));
  row.expect(leak.interval.low, "low_ohm");
  row.expect(leak.interval.high, "high_ohm");
}
INSTANTIATE_TEST_SUITE_P(Table, LeakInterval, ::testing::ValuesIn(testing::check_values("leak_interval")),
                         [](const auto& case_) { return case_.param.id(); });

TEST(Leak, IntervalHoldsTheTruth) {
  std::mt19937_64 random(6);
  std::normal_distribution<> normal;
  std::uniform_real_distribution<> decade(4, 7);
  int inside = 0;
  constexpr int cases = 2000;
  for (int i = 0; i < cases; ++i) {
    const double part = std::pow(10, decade(random));
    const double rest = std::pow(10, decade(random));
    const double u = 0.03, gain = 0.02;
    const double common = gain * normal(random);
    const auto shown = [&](double ohm) { return ohm * std::exp(u * normal(random) + common); };
    const Leak leak =
        leak_of_removed_part(reading(shown(1 / (1 / part + 1 / rest)), u, gain), reading(shown(rest), u, gain));
    inside += part >= leak.interval.low && part <= leak.interval.high;
  }
  EXPECT_NEAR(inside / static_cast<double>(cases), 0.95, 0.015);
}

TEST(DeclaredPath, IsTakenOffOnlyWhereItIsDeclared) {
  ReadingWithPath r{.reading = reading(0.6e6, 0.02), .path = reading(1.2e6, 0.03)};
  EXPECT_EQ(without_declared_path(r).resistance.status, Status::missing_input);
  EXPECT_TRUE(std::isnan(without_declared_path(r).resistance.value));
  r.declared = true;
  const WithoutPath freed = without_declared_path(r);
  EXPECT_EQ(freed.resistance.status, Status::sound);
  EXPECT_NEAR(freed.resistance.value, 1.2e6, 1e-6);
  EXPECT_NEAR(freed.resistance.parts[Part::reading], 0.04, 1e-12);  // twice the reading's: half of the current is left
  EXPECT_NEAR(freed.resistance.parts[Part::other], 0.03, 1e-12);
}

TEST(DeclaredPath, NearItsOwnResistanceOnlyABoundIsLeft) {
  const WithoutPath near =
      without_declared_path({.reading = reading(1.15e6, 0.02), .path = reading(1.2e6, 0.03), .declared = true});
  EXPECT_EQ(near.resistance.status, Status::bound_only);
  EXPECT_EQ(near.resistance.censoring, Censoring::above);
  EXPECT_EQ(near.resistance.value, near.interval.low);
  EXPECT_LT(near.resistance.value, 27.6e6);
  EXPECT_TRUE(std::isinf(near.interval.high));
  const WithoutPath none =
      without_declared_path({.reading = reading(1.3e6, 0.02), .path = reading(1.2e6, 0.03), .declared = true});
  EXPECT_EQ(none.resistance.status, Status::contradiction);
  EXPECT_TRUE(std::isnan(none.resistance.value));
}

TEST(DeclaredPath, WithoutUncertaintyOrNumberNothingCanPass) {
  for (const double u : {0.0, nan}) {
    const WithoutPath freed =
        without_declared_path({.reading = reading(0.6e6, 0.02), .path = reading(1.2e6, u), .declared = true});
    EXPECT_TRUE(std::isnan(freed.resistance.standard_uncertainty()));
  }
  const Quantity over = reading(1e6, 0.02, 0, Censoring::overload);
  const Quantity usual = reading(1.2e6, 0.03);
  EXPECT_EQ(without_declared_path({.reading = over, .path = usual, .declared = true}).resistance.status,
            Status::unknown_bound);
  EXPECT_EQ(without_declared_path({.reading = reading(0.6e6, 0.02), .path = over, .declared = true}).resistance.status,
            Status::unknown_bound);
  EXPECT_EQ(without_declared_path({.reading = reading(nan), .path = usual, .declared = true}).resistance.status,
            Status::missing_input);
  const WithoutPath bound =
      without_declared_path({.reading = reading(0.6e6, 0.02, 0, Censoring::below), .path = usual, .declared = true});
  EXPECT_EQ(bound.resistance.censoring, Censoring::below);
}

TEST(DeclaredPath, TheStatementHoldsTheTruth) {
  std::mt19937_64 random(12);
  std::normal_distribution<> normal;
  std::uniform_real_distribution<> decade(4.5, 7.5);
  int inside = 0;
  int above_bound = 0;
  int bounds = 0;
  constexpr int cases = 4000;
  for (int i = 0; i < cases; ++i) {
    const double truth = std::pow(10, decade(random));
    const double shown = 1 / (1 / truth + 1 / 1.2e6) * std::exp(0.02 * normal(random));
    const double stated = 1.2e6 * std::exp(0.03 * normal(random));
    const WithoutPath freed =
        without_declared_path({.reading = reading(shown, 0.02), .path = reading(stated, 0.03), .declared = true});
    inside += truth >= freed.interval.low && truth <= freed.interval.high;
    if (freed.resistance.status != Status::bound_only) continue;
    ++bounds;
    above_bound += truth >= freed.resistance.value;
  }
  EXPECT_NEAR(inside / static_cast<double>(cases), 0.95, 0.015);
  EXPECT_GT(bounds, 500);
  EXPECT_GE(above_bound, 0.95 * bounds);
}

TEST(Leak, LadderFindsTheLargest) {
  const std::vector<Quantity> readings{reading(420e3, 0.01), reading(430e3, 0.01), reading(2.4e6, 0.01),
                                       reading(2.4e6, 0.01)};
  const Ladder found = ladder(readings);
  ASSERT_EQ(found.leaks.size(), 3U);
  EXPECT_EQ(found.largest, 1);
  EXPECT_NEAR(found.leaks[1].ohm, 523858, 1);
  EXPECT_EQ(found.leaks[2].status, Status::contradiction);
  EXPECT_NEAR(found.share_of_whole[0] + found.share_of_whole[1] + found.remaining_share, 1, 1e-12);
  EXPECT_TRUE(ladder({}).leaks.empty());
}

TEST(Leak, PartsExplainTheWholeOrNot) {
  const std::vector<Quantity> parts(8, reading(45e3, 0.02, 0.02));
  EXPECT_NEAR(parts_explain_whole(parts, reading(5.6e3, 0.02, 0.02)).parts_ohm, 5625, 1e-9);
  EXPECT_EQ(parts_explain_whole(parts, reading(5.6e3, 0.02, 0.02)).explained, Explained::yes);
  const PartsAndWhole lower = parts_explain_whole(parts, reading(4.5e3, 0.02, 0.02));
  EXPECT_EQ(lower.explained, Explained::whole_is_lower);
  EXPECT_NEAR(lower.unexplained_ohm, 22500, 1e-6);
  EXPECT_EQ(parts_explain_whole(parts, reading(7e3, 0.02, 0.02)).explained, Explained::whole_is_higher);
  EXPECT_EQ(parts_explain_whole(parts, reading(5.6e3, nan)).explained, Explained::undecided);
  EXPECT_EQ(parts_explain_whole({}, reading(5.6e3)).status, Status::missing_input);
  // An over-range part may leak nothing or as much as its bound: it can not make the whole too high on its own.
  const std::vector<Quantity> open{reading(1e6, 0.01), reading(1e6, 0.01, 0, Censoring::above)};
  EXPECT_EQ(parts_explain_whole(open, reading(0.6e6, 0.01)).explained, Explained::yes);
  EXPECT_EQ(parts_explain_whole(open, reading(0.4e6, 0.01)).explained, Explained::whole_is_lower);
  EXPECT_EQ(parts_explain_whole(open, reading(1.2e6, 0.01)).explained, Explained::whole_is_higher);
}

TEST(Leak, BudgetAndRatio) {
  const std::vector<Quantity> parts{reading(1e6, 0.03, 0.04), reading(1e6, 0.03, 0.04)};
  const Quantity budget = parallel_budget(parts);
  EXPECT_DOUBLE_EQ(budget.value, 0.5e6);
  EXPECT_NEAR(budget.parts[Part::gain], 0.04, 1e-15);                      // common: does not average out
  EXPECT_NEAR(budget.parts[Part::reading], 0.03 / std::sqrt(2.0), 1e-15);  // independent: does
  const Quantity ratio = ratio_after_before(parts[0], reading(3e6, 0.04, 0.04));
  EXPECT_DOUBLE_EQ(ratio.value, 3);
  EXPECT_NEAR(ratio.standard_uncertainty(), 0.05, 1e-15);
  EXPECT_EQ(ratio_after_before(reading(1e6), reading(4e9, 0, 0, Censoring::above)).censoring, Censoring::above);
  EXPECT_EQ(ratio_after_before(reading(1e9, 0, 0, Censoring::above), reading(4e9, 0, 0, Censoring::above)).status,
            Status::unknown_bound);
}

}  // namespace
}  // namespace ohmward::highvoltage
