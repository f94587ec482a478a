#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "ohmward/assessment/limits.hpp"
#include "ohmward/assessment/next_action.hpp"
#include "ohmward/assessment/part_kinds.hpp"
#include "ohmward/battery/condition.hpp"
#include "ohmward/conformity/limit.hpp"
#include "ohmward/core/findings.hpp"
#include "ohmward/highvoltage/proving_dead.hpp"
#include "ohmward/instruments/sheet.hpp"
#include "ohmward/insulation/attainable.hpp"
#include "ohmward/readings/table.hpp"
#include "ohmward/temperature/to_reference.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::assessment {

/// What is assumed where a row is silent. Settings without a source; an explanation tells each that was used.
struct Settings {
  double missing_low_celsius = -15;  ///< coldest part temperature where none was written down
  double missing_high_celsius = 70;  ///< warmest
  temperature::Defaults temperature{};
  instruments::Settings instruments{};
  highvoltage::DeadPolicy dead{};  ///< which checks of a meter on its known source are good
  temperature::Law law{};          ///< overrides the law of every part kind where `overrides_law`
  bool overrides_law = false;
  Repeats repeats = Repeats::last;  ///< where the limit does not say what decides of several readings of one point
  int threads = 0;                  ///< 0: all cores
};

/// Everything that a reading is judged with. The caller keeps it alive.
struct Context {
  const instruments::Instruments& instruments;
  std::span<const LimitEntry> limits;
  const PartKinds& part_kinds;
  const Settings& settings;
};

/// What screening found, row by row, as plain data. An empty span says nothing of any row.
struct Screened {
  std::span<const std::uint64_t> findings{};  ///< Findings::bits()
  /// How far the row's meter was off its sheet at known values, in what the sheet allows: 1 or below where it kept to
  /// it. A row with finding `meter_drift_suspected` is judged with its meter's uncertainty widened by this factor;
  /// where it is not given, such a row can not pass.
  std::span<const double> meter_factor{};
};

/// What several readings say together. Numbers never change meaning.
enum class Together : std::int8_t { run_ratio = 0, mean = 1 };

/// A statement that no single row makes; it is judged like a row and comes after the rows of the table.
struct Derived {
  Together kind = Together::run_ratio;
  std::vector<std::size_t> rows{};     ///< what it follows from, in the order in which it was read
  std::size_t place = 0;               ///< row that lends object, part, points, date and meter
  insulation::Times times = no_times;  ///< of a ratio
};

/// One judged row with all that its explanation needs.
struct RowAssessment {
  uncertainty::Quantity measured{};  ///< as read, after the meter's correction
  uncertainty::Quantity compared{};  ///< what was compared with the limit: measured, or corrected to its reference
  conformity::Judgement judgement{};
  Findings findings{};
  std::int32_t instrument = -1;
  std::int32_t limit = -1;
  std::int32_t equal_limit = -1;  ///< a second limit of equal rank
  NextAction action = NextAction::none;
  std::int8_t cause = -1;  ///< the finding that the action answers, as its number; -1: the comparison itself
  double corrected_from_celsius = nan;  ///< part temperature used; NaN where nothing was corrected
  double corrected_from_celsius_u = nan;
  uncertainty::Quantity early{};                               ///< of a ratio: resistance at the earlier time
  insulation::AttainableRatio attainable{};                    ///< of a ratio: the greatest that the part could show
  battery::Condition condition = battery::Condition::unknown;  ///< rows of resting_voltage
  double charge_low = nan;                                     ///< 95 % interval of the charge, 0 … 1
  double charge_median = nan;
  double charge_high = nan;
};

/// Judged rows by columns: the rows of the table in their order, then what follows from several of them.
struct Results {
  std::vector<conformity::Verdict> verdict;
  std::vector<conformity::Undecided> undecided;
  std::vector<conformity::Reason> reason;
  std::vector<std::uint64_t> findings;
  std::vector<NextAction> action;
  std::vector<std::int8_t> cause;  ///< finding that the action answers; -1: the comparison itself
  std::vector<Status> status;
  std::vector<Censoring> censoring;          ///< of `value`: over-range resolved by the sheet
  std::vector<double> value;                 ///< SI, after the meter's correction
  std::vector<double> standard_uncertainty;  ///< of `value`, of its logarithm on the log scale
  std::vector<double> compared;              ///< what was compared with the limit
  std::vector<double> compared_standard_uncertainty;
  std::vector<double> acceptance;  ///< acceptance limit that decided; lower one where there is one
  std::vector<double> probability_of_conformity;
  std::vector<std::int32_t> limit;            ///< index into the limits; -1: none
  std::vector<std::int32_t> instrument;       ///< index into the instruments; -1: none
  std::vector<battery::Condition> condition;  ///< of a resting battery; `unknown` for any other row
  std::vector<double> charge_low;             ///< 95 % interval of the charge of a resting battery, 0 … 1
  std::vector<double> charge_median;
  std::vector<double> charge_high;
  std::vector<std::uint8_t> current;  ///< 1: what counts of its point now; 0: history, a check or in doubt

  std::vector<Derived> derived;  ///< what the entries behind the table's rows are

  [[nodiscard]] std::size_t rows() const noexcept { return verdict.size(); }
};

/// Judges every row of a table, the ratios of its timed runs that a limit asks for, and repeated readings as their
/// limit (or the settings) want them.
///
/// @param screened  what screening found; each span empty, or one entry a row
/// Rows never throw and never stop the batch: a row without a value is undetermined with its reason. The result does
/// not depend on the number of threads.
[[nodiscard]] Results assess(const readings::Table& table, const Context& context, const Screened& screened = {});

/// Judges one entry of `Results` again, with all the detail that its explanation needs.
[[nodiscard]] RowAssessment assess_row(const readings::Table& table, std::size_t row, const Context& context,
                                       const Screened& screened = {});

}  // namespace ohmward::assessment
