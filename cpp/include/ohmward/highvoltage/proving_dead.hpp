#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "ohmward/core/censoring.hpp"
#include "ohmward/core/checked.hpp"
#include "ohmward/core/findings.hpp"
#include "ohmward/highvoltage/points.hpp"

namespace ohmward::highvoltage {

/// One row of a voltmeter in its job: a reading of the circuit, or a check of the meter on a known source.
struct VoltageRow {
  static constexpr std::int32_t unknown = -1;

  bool is_check = false;
  std::int32_t instrument = unknown;  ///< code of the meter
  Function function = Function::unknown;
  std::int32_t range = unknown;  ///< code of the range that the meter was set to
  double value_volt = nan;       ///< as shown; the bound where censored
  Censoring censoring = Censoring::exact;
  double standard_uncertainty_volt = nan;
  double zero_volt = 0;         ///< what this meter shows with its leads shorted
  double input_ohm = nan;       ///< input resistance of the meter
  double reference_volt = nan;  ///< check: value of the known source
  Pair pair = Pair::unknown;    ///< reading: between which points
  Side side = Side::unknown;    ///< reading: on which side of the contactors
  bool superseded = false;      ///< reading: declared to be replaced by a later one
};

/// How a check of the meter came out. Numbers never change meaning.
enum class CheckResult : std::int8_t {
  good = 0,
  differs = 1,            ///< shown and known value differ by more than the tolerance
  reference_missing = 2,  ///< value of the known source not written down
  value_missing = 3,      ///< what the meter showed is missing or over range
  proves_nothing = 4,     ///< agrees, but at a value inside the near-zero limit (leads shorted): no proof, no harm
};

/// Whether two good checks of the same meter and function stand around a reading. Numbers never change meaning.
enum class Bracket : std::int8_t {
  closed = 0,            ///< good check before and after
  opening_missing = 1,   ///< no check before it
  opening_not_good = 2,  ///< the last check before it was not good
  closing_missing = 3,   ///< no check after it
  closing_not_good = 4,  ///< the next check after it was not good: void back to the last good one
  meter_unknown = 5,     ///< meter or function not written down
};

/// What a voltage reading shows by itself. Numbers never change meaning.
enum class Tier : std::int8_t {
  near_zero = 0,  ///< with its uncertainty inside the near-zero limit
  present = 1,    ///< voltage present, not proven dead
  hazardous = 2,  ///< may reach 60 V DC or 30 V AC
  undecided = 3,  ///< no value, or uncertainty unknown
};

/// What is expected of a proof. Defaults say where they come from; all of them are data.
struct DeadPolicy {
  double near_zero_volt = 6;      ///< Source: `near-zero-voltage`.
  double hazardous_dc_volt = 60;  ///< Source: `un-r100-class-b`.
  double hazardous_ac_volt = 30;  ///< Source: `un-r100-class-b`.
  double coverage_factor = 2;     ///< U = coverage_factor · u
  double check_tolerance = 0.1;   ///< greatest relative difference of a good check beside U. Source: `check-tolerance`.
  std::vector<Pair> pairs{Pair::plus_minus, Pair::plus_chassis, Pair::minus_chassis};
  std::vector<Side> sides{Side::load, Side::battery};  ///< `unknown`: either side will do
};

/// @throws InvalidParameter naming the field, the value and what was expected.
void validate(const DeadPolicy& policy);

/// Tells the tiers by value and uncertainty: near zero where |value - zero| + U stays inside the limit, hazardous where
/// it may reach the class B voltage, present between. Over range is hazardous; "below" a bound counts like its bound.
/// A reading without uncertainty is never near zero.
[[nodiscard]] Tier tier_of(const VoltageRow& row, const DeadPolicy& policy) noexcept;

/// Good where |shown - zero - known| stays inside U + tolerance · known, both being there and the known value above the
/// near-zero limit. Without a known value a check is not good, whatever the meter showed.
[[nodiscard]] CheckResult check_result(const VoltageRow& row, const DeadPolicy& policy) noexcept;

/// One row judged: a check by its result, a reading by its bracket and tier.
struct JudgedVoltage {
  CheckResult check = CheckResult::value_missing;
  Bracket bracket = Bracket::meter_unknown;
  Tier tier = Tier::undecided;
  std::int32_t opening_check = -1;  ///< index of the row; -1: none
  std::int32_t closing_check = -1;
  bool wrong_function = false;  ///< a reading in another function than its pair asks for
  bool contradicts = false;     ///< in another tier than a reading of the same pair and side that none replaces
  bool counts = false;          ///< near zero, bracketed, right function, not contradicted
  Findings findings{};          ///< source_check_missing, wrong_function_suspected
};

/// State of one pair on one side. Numbers never change meaning; in rising order of concern.
enum class PairState : std::int8_t {
  near_zero = 0,   ///< a reading that counts
  missing = 1,     ///< no reading
  not_proven = 2,  ///< read near zero, but the reading does not count
  undecided = 3,   ///< read, without a usable value or uncertainty
  present = 4,     ///< voltage present
  hazardous = 5,   ///< hazardous voltage present
};

struct PairFinding {
  Pair pair;
  Side side;
  PairState state = PairState::missing;
  std::int32_t row = -1;  ///< the reading that says so; -1: none
};

/// What the readings can not exclude, or weaken themselves by: name, bit, text. Bits never change meaning.
#define OHMWARD_DEAD_CAUTION_TABLE(entry) \
  entry(welded_contactor, 0, "one welded contactor: with the other pole open a floating bus can read near zero") \
  entry(source_below_hazard, 1, \
        "the source that proved the meter lies below the hazardous voltage: its divider on the high range is not " \
        "proven") \
  entry(range_not_proven, 2, "reading and check in different ranges") \
  entry(input_unknown, 3, \
        "input resistance of the meter unknown: a leak through an open contactor can not be reckoned") \
  entry(meter_drains, 4, "a meter of low input resistance drains a capacitor: only the first touch shows it") \
  entry(alternating_not_read, 5, "alternating voltage at the phases not read: a turning machine is not excluded") \
  entry(side_unknown, 6, "side of the contactors not written down for a reading") \
  entry(pair_unknown, 7, "pair not written down for a reading") \
  entry(one_side_only, 8, "only one side of the contactors read")

enum class DeadCaution : std::uint8_t {
#define OHMWARD_DEAD_CAUTION_ENTRY(name, bit, text) name = bit,
  OHMWARD_DEAD_CAUTION_TABLE(OHMWARD_DEAD_CAUTION_ENTRY)
#undef OHMWARD_DEAD_CAUTION_ENTRY
};

[[nodiscard]] std::string_view text(DeadCaution caution) noexcept;
[[nodiscard]] std::string_view text(CheckResult result) noexcept;
[[nodiscard]] std::string_view text(Bracket bracket) noexcept;
[[nodiscard]] std::string_view text(Tier tier) noexcept;
[[nodiscard]] std::string_view text(PairState state) noexcept;

/// What a job's voltage rows show, pair by pair.
struct ProofOfDead {
  std::vector<JudgedVoltage> rows;  ///< one a row given, in the order given
  std::vector<PairFinding> pairs;   ///< one a pair and side that the policy expects, then those read besides
  PairState worst = PairState::missing;
  std::uint32_t cautions = 0;  ///< bits by DeadCaution

  [[nodiscard]] bool has(DeadCaution caution) const noexcept {
    return (cautions >> static_cast<unsigned>(caution) & 1U) != 0;
  }
};

/// Judges the voltage rows of one job.
///
/// A reading counts only when bracketed by two good checks of the same meter and function. A check that is not good, or
/// a missing closing check, voids every reading back to the last good one; so does a check that is not good and does
/// not name its meter, for every meter. A voltage that is there shows whether bracketed or not.
///
/// @param rows    in the order of the job, see order_of
/// @throws InvalidParameter for a senseless policy.
/// Source: `prove-test-prove`.
[[nodiscard]] ProofOfDead prove_dead(std::span<const VoltageRow> rows, const DeadPolicy& policy = {});

/// A source that reaches a floating pole through a resistance, read with a meter of finite input resistance.
struct ThroughLeak {
  double source_volt;
  double leak_ohm;  ///< of an open contactor, or of the pack's other pole to chassis behind a welded one
  double meter_ohm;
};

/// What the meter shows [V]: source · meter/(meter + leak). 400 V through 500 MΩ into 10 MΩ: 7.84 V.
/// Source: `computed-dead-readings`.
[[nodiscard]] Checked<double> reading_through_leak_volt(const ThroughLeak& circuit) noexcept;

/// Leak resistance above which the meter stays at or below `shown_volt` [ohm]: what a near-zero reading can not
/// exclude.
[[nodiscard]] Checked<double> unseen_leak_ohm(double source_volt, double shown_volt, double meter_ohm) noexcept;

/// Leak resistance from two readings of one pole by two meters of different input resistance [ohm], and the voltage
/// behind it. A voltage that collapses under the smaller meter comes through a leak; a capacitor would hold at first.
struct HiddenSource {
  double source_volt;
  double leak_ohm;
  Status status;
};
[[nodiscard]] HiddenSource hidden_source(double first_volt, double first_ohm, double second_volt,
                                         double second_ohm) noexcept;

}  // namespace ohmward::highvoltage
