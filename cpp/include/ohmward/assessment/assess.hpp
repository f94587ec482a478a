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
  int threads = 0;  ///< 0: all cores
};

/// Everything that a reading is judged with. The caller keeps it alive.
struct Context {
  const instruments::Instruments& instruments;
  std::span<const LimitEntry> limits;
  const PartKinds& part_kinds;
  const Settings& settings;
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
  battery::Condition condition = battery::Condition::unknown;  ///< rows of resting_voltage
  double charge_low = nan;                                     ///< 95 % interval of the charge, 0 … 1
  double charge_median = nan;
  double charge_high = nan;
};

/// Judged rows by columns, in the order of the table.
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
  std::vector<std::uint8_t> current;  ///< 1: the latest reading of its point; 0: history, a check or in doubt

  [[nodiscard]] std::size_t rows() const noexcept { return verdict.size(); }
};

/// Judges every row of a table.
///
/// @param marks  findings of each row that screening found in sets of rows; empty, or one entry a row
/// Rows never throw and never stop the batch: a row without a value is undetermined with its reason. The result does
/// not depend on the number of threads.
[[nodiscard]] Results assess(const readings::Table& table, const Context& context,
                             std::span<const std::uint64_t> marks = {});

/// Judges one row again, with all the detail that its explanation needs.
[[nodiscard]] RowAssessment assess_row(const readings::Table& table, std::size_t row, const Context& context,
                                       std::span<const std::uint64_t> marks = {});

}  // namespace ohmward::assessment
