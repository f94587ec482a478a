#pragma once

#include "assessment/battery_evidence.hpp"
#include "assessment/contact.hpp"
#include "assessment/dead_evidence.hpp"
#include "assessment/runs.hpp"
#include "ohmward/assessment/assess.hpp"

namespace ohmward::assessment {

/// Judges the rows of one table and what follows from several of them; holds what is found once for the whole table.
class RowJudge {
 public:
  RowJudge(const readings::Table& table, const Context& context);

  [[nodiscard]] std::size_t rows() const noexcept { return table_.rows() + derived_.size(); }
  /// What the entries behind the table's rows are.
  [[nodiscard]] const std::vector<Derived>& derived() const noexcept { return derived_; }
  /// Repeated readings of which the worst decides.
  [[nodiscard]] const std::vector<std::vector<std::size_t>>& worst_of() const noexcept { return worst_of_; }
  [[nodiscard]] const Runs& runs() const noexcept { return runs_; }

  /// @param index  a row of the table, or behind them one of `derived`
  [[nodiscard]] RowAssessment operator()(std::size_t index, const Screened& screened) const noexcept;

 private:
  /// What is judged: a row, or what follows from several in the words of one of them.
  struct Subject {
    std::size_t row;
    const Derived* together;  ///< nullptr: the row itself
    QuantityKind quantity;
    insulation::Times times;
    Findings marks;
    double meter_factor;  ///< widens the meter's own uncertainty
  };

  void derive();
  void derive_ratios(const std::vector<insulation::Times>& times);
  void derive_repeats();
  [[nodiscard]] Subject subject_of(std::size_t index, const Screened& screened) const noexcept;
  [[nodiscard]] RowAssessment judged(const Subject& subject) const noexcept;
  [[nodiscard]] RowAssessment judged_with_drifting_meter(Subject subject) const noexcept;
  [[nodiscard]] instruments::Measured measured(const Subject& subject, double decision_value) const noexcept;
  [[nodiscard]] instruments::Measured written_ratio(const Subject& subject) const noexcept;
  [[nodiscard]] const PartKind* part_kind(std::size_t row) const noexcept;
  [[nodiscard]] const temperature::Law& law_of(std::size_t row) const noexcept;
  [[nodiscard]] double celsius_of(std::size_t row) const noexcept;
  void look_at_battery(std::size_t row, RowAssessment& assessment) const noexcept;
  void look_at_run(const Subject& subject, RowAssessment& assessment) const noexcept;
  void compare(const Subject& subject, RowAssessment& assessment) const noexcept;
  void compare_ratio(const Subject& subject, const LimitEntry& limit, RowAssessment& assessment) const noexcept;
  void compare_corrected(const Subject& subject, const LimitEntry& limit, RowAssessment& assessment) const noexcept;
  void restrict(const Subject& subject, RowAssessment& assessment) const noexcept;

  const readings::Table& table_;
  const Context& context_;
  LimitMatcher limits_;
  ContactEvidence contact_;
  DeadEvidence dead_;
  BatteryEvidence batteries_;
  Runs runs_;
  std::vector<Derived> derived_;
  std::vector<std::vector<std::size_t>> worst_of_;
  std::vector<const PartKind*> kind_of_code_;
  std::int32_t meter_check_;  ///< code of the stage word, or missing
  temperature::Law no_law_{};
};

}  // namespace ohmward::assessment
