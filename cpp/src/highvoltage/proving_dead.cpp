#include "ohmward/highvoltage/proving_dead.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <map>
#include <utility>

#include "ohmward/core/errors.hpp"

namespace ohmward::highvoltage {
namespace {

/// U = k·u; 0 where u is not known, so that a lacking uncertainty never widens what is accepted.
double expanded(const VoltageRow& row, const DeadPolicy& policy) noexcept {
  return row.standard_uncertainty_volt > 0 ? policy.coverage_factor * row.standard_uncertainty_volt : 0.0;
}

/// Where the function is not known, the lower of the two.
double hazardous_volt(const VoltageRow& row, const DeadPolicy& policy) noexcept {
  switch (row.function) {
    case Function::dc: return policy.hazardous_dc_volt;
    case Function::ac: return policy.hazardous_ac_volt;
    case Function::unknown: break;
  }
  return std::min(policy.hazardous_dc_volt, policy.hazardous_ac_volt);
}

/// What the readings of one meter in one function wait for.
struct Meter {
  enum class Check : std::int8_t { none, good, not_good } last = Check::none;
  std::int32_t last_good = -1;
  std::vector<std::size_t> open{};
};

/// Finds the brackets in one pass. Every check looks at the meters that it can speak of only, so that the time does not
/// grow with the square of the rows, however many meters a job names.
class Brackets {
 public:
  Brackets(std::span<const VoltageRow> rows, std::span<JudgedVoltage> judged) : rows_(rows), judged_(judged) {}

  void scan() {
    for (std::size_t i = 0; i < rows_.size(); ++i) rows_[i].is_check ? check(i) : reading(i);
    for (auto& [key, meter] : meters_) settle(meter, Bracket::closing_missing, -1);
  }

 private:
  static constexpr std::array functions{Function::dc, Function::ac};

  static bool known(const VoltageRow& row) noexcept {
    return row.instrument != VoltageRow::unknown && row.function != Function::unknown;
  }

  Meter& meter_of(std::int32_t instrument, Function function) { return meters_[{instrument, function}]; }

  void reading(std::size_t i) {
    const VoltageRow& row = rows_[i];
    if (!known(row)) return;  // stays meter_unknown
    Meter& meter = meter_of(row.instrument, row.function);
    switch (meter.last) {
      case Meter::Check::none:
        judged_[i].bracket = any_failed_[index(row.function)] ? Bracket::opening_not_good : Bracket::opening_missing;
        break;
      case Meter::Check::not_good: judged_[i].bracket = Bracket::opening_not_good; break;
      case Meter::Check::good:
        judged_[i].opening_check = meter.last_good;
        meter.open.push_back(i);
        break;
    }
  }

  void check(std::size_t i) {
    const VoltageRow& row = rows_[i];
    const CheckResult result = judged_[i].check;
    if (result == CheckResult::proves_nothing) return;
    if (result != CheckResult::good) return void_back(i);
    if (!known(row)) return;
    Meter& meter = meter_of(row.instrument, row.function);
    settle(meter, Bracket::closed, static_cast<std::int32_t>(i));
    if (meter.last != Meter::Check::good) proven_[index(row.function)].push_back(&meter);
    meter.last = Meter::Check::good;
    meter.last_good = static_cast<std::int32_t>(i);
  }

  /// A check that is not good speaks against every meter that it can have been.
  void void_back(std::size_t i) {
    const VoltageRow& row = rows_[i];
    for (const Function function : functions) {
      if (row.function != Function::unknown && row.function != function) continue;
      if (row.instrument == VoltageRow::unknown)
        void_all(function, static_cast<std::int32_t>(i));
      else
        void_one(meter_of(row.instrument, function), static_cast<std::int32_t>(i));
    }
  }

  void void_one(Meter& meter, std::int32_t closing) {
    settle(meter, Bracket::closing_not_good, closing);
    meter.last = Meter::Check::not_good;
  }

  /// Meters that were proven since the last time; one that was proven, spoken against and proven again stands here
  /// twice.
  void void_all(Function function, std::int32_t closing) {
    for (Meter* meter : proven_[index(function)]) void_one(*meter, closing);
    proven_[index(function)].clear();
    any_failed_[index(function)] = true;
  }

  void settle(Meter& meter, Bracket outcome, std::int32_t closing) {
    for (const std::size_t i : meter.open) {
      judged_[i].bracket = outcome;
      judged_[i].closing_check = closing;
    }
    meter.open.clear();
  }

  static std::size_t index(Function function) noexcept { return function == Function::dc ? 0 : 1; }

  std::span<const VoltageRow> rows_;
  std::span<JudgedVoltage> judged_;
  std::map<std::pair<std::int32_t, Function>, Meter> meters_;  // a map keeps the addresses of its elements
  std::array<std::vector<Meter*>, functions.size()> proven_;
  std::array<bool, functions.size()> any_failed_{};  ///< a check of an unknown meter was not good
};

bool is_current_reading(const VoltageRow& row) noexcept { return !row.is_check && !row.superseded; }

bool speaks_for_its_pair(const VoltageRow& row) noexcept {
  return is_current_reading(row) && row.pair != Pair::unknown;
}

/// Readings of one pair on one side contradict each other where they lie in different tiers.
void mark_contradictions(std::span<const VoltageRow> rows, std::span<JudgedVoltage> judged) {
  const auto link = [](const VoltageRow& row) {
    return static_cast<std::size_t>(row.pair) * side_count + static_cast<std::size_t>(row.side);
  };
  std::array<std::uint8_t, pair_count * side_count> tiers{};  // a bit for each tier seen
  for (std::size_t i = 0; i < rows.size(); ++i)
    if (speaks_for_its_pair(rows[i]))
      tiers[link(rows[i])] |= static_cast<std::uint8_t>(1U << static_cast<unsigned>(judged[i].tier));
  for (std::size_t i = 0; i < rows.size(); ++i)
    judged[i].contradicts = speaks_for_its_pair(rows[i]) && std::popcount(tiers[link(rows[i])]) > 1;
}

PairState state_of(const JudgedVoltage& judged) noexcept {
  switch (judged.tier) {
    case Tier::hazardous: return PairState::hazardous;
    case Tier::present: return PairState::present;
    case Tier::undecided: return PairState::undecided;
    case Tier::near_zero: return judged.counts ? PairState::near_zero : PairState::not_proven;
  }
  return PairState::undecided;
}

/// Worst reading of a link that counts for it; one reading that is proven near zero outweighs those that lack a check.
PairFinding find_pair(PairFinding wanted, std::span<const VoltageRow> rows, std::span<const JudgedVoltage> judged) {
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const VoltageRow& row = rows[i];
    const bool fits = row.pair == wanted.pair && (wanted.side == Side::unknown || row.side == wanted.side);
    if (!fits || !is_current_reading(row)) continue;
    const PairState state = state_of(judged[i]);
    const bool decides = wanted.state == PairState::missing || state > wanted.state ||
                         (state == PairState::near_zero && wanted.state == PairState::not_proven);
    const bool kept = wanted.state == PairState::near_zero && state == PairState::not_proven;
    if (decides && !kept) {
      wanted.state = state;
      wanted.row = static_cast<std::int32_t>(i);
    }
  }
  return wanted;
}

bool expected(const DeadPolicy& policy, const VoltageRow& row) noexcept {
  const bool pair = std::find(policy.pairs.begin(), policy.pairs.end(), row.pair) != policy.pairs.end();
  const bool side = std::any_of(policy.sides.begin(), policy.sides.end(),
                                [&](Side s) { return s == Side::unknown || s == row.side; });
  return pair && side;
}

std::vector<PairFinding> find_pairs(std::span<const VoltageRow> rows, std::span<const JudgedVoltage> judged,
                                    const DeadPolicy& policy) {
  std::vector<PairFinding> pairs;
  for (const Side side : policy.sides)
    for (const Pair pair : policy.pairs) pairs.push_back(find_pair({.pair = pair, .side = side}, rows, judged));
  const std::size_t planned = pairs.size();
  for (const VoltageRow& row : rows) {
    const bool listed = std::any_of(pairs.begin() + static_cast<std::ptrdiff_t>(planned), pairs.end(),
                                    [&](const PairFinding& p) { return p.pair == row.pair && p.side == row.side; });
    if (is_current_reading(row) && !expected(policy, row) && !listed)
      pairs.push_back(find_pair({.pair = row.pair, .side = row.side}, rows, judged));
  }
  return pairs;
}

/// What is expected must be near zero. What was read besides raises concern by a voltage that is there, or by having no
/// value: it may have been one of the expected pairs.
PairState worst_of(std::span<const PairFinding> pairs, std::size_t planned) noexcept {
  PairState worst = PairState::near_zero;
  for (std::size_t i = 0; i < pairs.size(); ++i)
    if (i < planned || pairs[i].state >= PairState::undecided) worst = std::max(worst, pairs[i].state);
  return worst;
}

/// Cautions grow with what lacks, so that writing down less never makes a statement look stronger.
class Cautions {
 public:
  Cautions(std::span<const VoltageRow> rows, const ProofOfDead& proof, const DeadPolicy& policy)
      : rows_(rows), proof_(proof), policy_(policy) {}

  std::uint32_t all() {
    if (!both_sides()) {
      add(DeadCaution::one_side_only);
      add(DeadCaution::welded_contactor);
    }
    if (!alternating_read()) add(DeadCaution::alternating_not_read);
    for (std::size_t i = 0; i < rows_.size(); ++i)
      if (is_current_reading(rows_[i])) of_reading(i);
    return bits_;
  }

 private:
  void add(DeadCaution caution) noexcept { bits_ |= std::uint32_t{1} << static_cast<unsigned>(caution); }

  bool counts(Pair pair, Side side) const noexcept {
    for (std::size_t i = 0; i < rows_.size(); ++i)
      if (proof_.rows[i].counts && rows_[i].pair == pair && rows_[i].side == side) return true;
    return false;
  }
  bool both_sides() const noexcept {
    for (const Pair pair : {Pair::plus_minus, Pair::plus_chassis, Pair::minus_chassis})
      if (!counts(pair, Side::load) || !counts(pair, Side::battery)) return false;
    return true;
  }
  bool alternating_read() const noexcept {
    for (std::size_t i = 0; i < rows_.size(); ++i)
      if (proof_.rows[i].counts && rows_[i].function == Function::ac) return true;
    return false;
  }

  void of_reading(std::size_t i) noexcept {
    const VoltageRow& row = rows_[i];
    if (row.pair == Pair::unknown) add(DeadCaution::pair_unknown);
    if (row.side == Side::unknown) add(DeadCaution::side_unknown);
    if (!(row.input_ohm > 0)) add(DeadCaution::input_unknown);
    if (row.input_ohm < low_impedance_ohm) add(DeadCaution::meter_drains);
    of_check(row, proof_.rows[i].opening_check);
    of_check(row, proof_.rows[i].closing_check);
  }
  void of_check(const VoltageRow& row, std::int32_t index) noexcept {
    const VoltageRow& check = index < 0 ? no_check : rows_[static_cast<std::size_t>(index)];
    if (!(check.reference_volt >= hazardous_volt(row, policy_))) add(DeadCaution::source_below_hazard);
    if (check.range != row.range || row.range == VoltageRow::unknown) add(DeadCaution::range_not_proven);
  }

  inline static const VoltageRow no_check{.is_check = true};

  /// Voltmeters have 10 MΩ, two-pole testers below 1 MΩ. Source: `meter-input-resistance`.
  static constexpr double low_impedance_ohm = 1e6;

  std::span<const VoltageRow> rows_;
  const ProofOfDead& proof_;
  const DeadPolicy& policy_;
  std::uint32_t bits_ = 0;
};

}  // namespace

void validate(const DeadPolicy& policy) {
  const auto positive = [](const char* field, double value) {
    if (!(value > 0) || !std::isfinite(value)) throw InvalidParameter(field, value, "a finite number above 0");
  };
  positive("near_zero_volt", policy.near_zero_volt);
  positive("hazardous_dc_volt", policy.hazardous_dc_volt);
  positive("hazardous_ac_volt", policy.hazardous_ac_volt);
  positive("coverage_factor", policy.coverage_factor);
  if (policy.near_zero_volt >= std::min(policy.hazardous_dc_volt, policy.hazardous_ac_volt))
    throw InvalidParameter("near_zero_volt", policy.near_zero_volt, "less than the hazardous voltages");
  if (!(policy.check_tolerance >= 0) || !(policy.check_tolerance < 1))
    throw InvalidParameter("check_tolerance", policy.check_tolerance, "a fraction from 0 to below 1");
  if (policy.pairs.empty()) throw InvalidParameter("pairs", "none", "at least one pair");
  if (policy.sides.empty()) throw InvalidParameter("sides", "none", "at least one side");
  if (std::find(policy.pairs.begin(), policy.pairs.end(), Pair::unknown) != policy.pairs.end())
    throw InvalidParameter("pairs", "unknown", "known pairs");
}

Tier tier_of(const VoltageRow& row, const DeadPolicy& policy) noexcept {
  const double hazardous = hazardous_volt(row, policy);
  if (row.censoring == Censoring::overload || row.censoring == Censoring::above) return Tier::hazardous;
  const double u = row.standard_uncertainty_volt;
  const bool is_bound = row.censoring == Censoring::below;
  const double shown = is_bound ? std::abs(row.value_volt) : std::abs(row.value_volt - row.zero_volt);
  const double highest = shown + expanded(row, policy);
  if (std::isnan(shown)) return Tier::undecided;
  if (!is_bound && highest >= hazardous) return Tier::hazardous;
  const bool u_known = u > 0 && std::isfinite(u);
  const bool inside = (is_bound ? shown : highest) <= policy.near_zero_volt;
  if (inside) return u_known ? Tier::near_zero : Tier::undecided;
  if (is_bound) return Tier::undecided;  // below a bound that itself lies above the near-zero limit
  return Tier::present;
}

CheckResult check_result(const VoltageRow& row, const DeadPolicy& policy) noexcept {
  if (row.censoring != Censoring::exact || std::isnan(row.value_volt)) return CheckResult::value_missing;
  const double known = std::abs(row.reference_volt);
  if (!std::isfinite(known)) return CheckResult::reference_missing;
  const double shown = std::abs(row.value_volt - row.zero_volt);
  const bool agrees = std::abs(shown - known) <= expanded(row, policy) + policy.check_tolerance * known;
  if (!agrees) return CheckResult::differs;
  return known > policy.near_zero_volt ? CheckResult::good : CheckResult::proves_nothing;
}

ProofOfDead prove_dead(std::span<const VoltageRow> rows, const DeadPolicy& policy) {
  validate(policy);
  ProofOfDead proof;
  proof.rows.resize(rows.size());
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (rows[i].is_check) {
      proof.rows[i].check = check_result(rows[i], policy);
    } else {
      proof.rows[i].tier = tier_of(rows[i], policy);
      proof.rows[i].wrong_function = rows[i].pair != Pair::unknown && rows[i].function != Function::unknown &&
                                     rows[i].function != required_function(rows[i].pair);
    }
  }
  Brackets(rows, proof.rows).scan();
  mark_contradictions(rows, proof.rows);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    JudgedVoltage& judged = proof.rows[i];
    if (rows[i].is_check) continue;
    judged.counts = judged.tier == Tier::near_zero && judged.bracket == Bracket::closed && !judged.wrong_function &&
                    !judged.contradicts && !rows[i].superseded;
    if (judged.bracket != Bracket::closed) judged.findings.add(Finding::source_check_missing);
    if (judged.wrong_function) judged.findings.add(Finding::wrong_function_suspected);
  }
  proof.pairs = find_pairs(rows, proof.rows, policy);
  proof.worst = worst_of(proof.pairs, policy.pairs.size() * policy.sides.size());
  proof.cautions = Cautions(rows, proof, policy).all();
  return proof;
}

Checked<double> reading_through_leak_volt(const ThroughLeak& circuit) noexcept {
  if (std::isnan(circuit.source_volt) || std::isnan(circuit.leak_ohm) || std::isnan(circuit.meter_ohm))
    return no_value(Status::missing_input);
  if (!(circuit.source_volt >= 0) || !(circuit.leak_ohm >= 0) || !(circuit.meter_ohm > 0))
    return no_value(Status::out_of_domain);
  return {circuit.source_volt / (1 + circuit.leak_ohm / circuit.meter_ohm), Status::sound};
}

Checked<double> unseen_leak_ohm(double source_volt, double shown_volt, double meter_ohm) noexcept {
  if (std::isnan(source_volt) || std::isnan(shown_volt) || std::isnan(meter_ohm))
    return no_value(Status::missing_input);
  if (!(shown_volt > 0) || !(source_volt >= shown_volt) || !(meter_ohm > 0)) return no_value(Status::out_of_domain);
  return {meter_ohm * ((source_volt - shown_volt) / shown_volt), Status::sound};
}

HiddenSource hidden_source(double first_volt, double first_ohm, double second_volt, double second_ohm) noexcept {
  if (std::isnan(first_volt) || std::isnan(first_ohm) || std::isnan(second_volt) || std::isnan(second_ohm))
    return {nan, nan, Status::missing_input};
  if (!(first_volt > 0) || !(second_volt > 0) || !(first_ohm > 0) || !(second_ohm > 0) || first_ohm == second_ohm)
    return {nan, nan, Status::out_of_domain};
  const double leak = (first_volt - second_volt) / (second_volt / second_ohm - first_volt / first_ohm);
  if (!(leak >= 0) || !std::isfinite(leak)) return {nan, nan, Status::contradiction};
  return {first_volt * (1 + leak / first_ohm), leak, Status::sound};
}

std::string_view text(CheckResult result) noexcept {
  switch (result) {
    case CheckResult::good: return "good";
    case CheckResult::differs: return "meter and known source differ";
    case CheckResult::reference_missing: return "value of the known source not written down";
    case CheckResult::value_missing: return "what the meter showed is missing";
    case CheckResult::proves_nothing: return "at zero: proves nothing of the meter";
  }
  return "unknown result";
}

std::string_view text(Bracket bracket) noexcept {
  switch (bracket) {
    case Bracket::closed: return "good check before and after";
    case Bracket::opening_missing: return "no check of the meter before";
    case Bracket::opening_not_good: return "the check before was not good";
    case Bracket::closing_missing: return "no check of the meter after";
    case Bracket::closing_not_good: return "the check after was not good: void back to the last good one";
    case Bracket::meter_unknown: return "meter or function not written down";
  }
  return "unknown bracket";
}

std::string_view text(Tier tier) noexcept {
  switch (tier) {
    case Tier::near_zero: return "near zero";
    case Tier::present: return "voltage present, not proven dead";
    case Tier::hazardous: return "hazardous voltage present";
    case Tier::undecided: return "value or uncertainty missing";
  }
  return "unknown tier";
}

std::string_view text(PairState state) noexcept {
  switch (state) {
    case PairState::near_zero: return "near zero, meter proven before and after";
    case PairState::missing: return "not read";
    case PairState::not_proven: return "read near zero, meter not proven";
    case PairState::undecided: return "value or uncertainty missing";
    case PairState::present: return "voltage present, not proven dead";
    case PairState::hazardous: return "hazardous voltage present";
  }
  return "unknown state";
}

std::string_view text(DeadCaution caution) noexcept {
  switch (caution) {
#define OHMWARD_DEAD_CAUTION_ENTRY(name, bit, text) \
  case DeadCaution::name: return text;
    OHMWARD_DEAD_CAUTION_TABLE(OHMWARD_DEAD_CAUTION_ENTRY)
#undef OHMWARD_DEAD_CAUTION_ENTRY
  }
  return "unknown caution";
}

}  // namespace ohmward::highvoltage
