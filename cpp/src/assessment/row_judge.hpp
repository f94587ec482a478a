#pragma once

#include "assessment/battery_evidence.hpp"
#include "assessment/contact.hpp"
#include "assessment/dead_evidence.hpp"
#include "ohmward/assessment/assess.hpp"

namespace ohmward::assessment {

/// Judges the rows of one table; holds what is found once for the whole table.
class RowJudge {
 public:
  RowJudge(const readings::Table& table, const Context& context);

  [[nodiscard]] RowAssessment operator()(std::size_t row, Findings marks) const noexcept;

 private:
  [[nodiscard]] const PartKind* part_kind(std::size_t row) const noexcept;
  void look_at_battery(std::size_t row, RowAssessment& assessment) const noexcept;
  void compare(std::size_t row, RowAssessment& assessment) const noexcept;
  void compare_corrected(std::size_t row, const LimitEntry& limit, RowAssessment& assessment) const noexcept;
  void restrict(std::size_t row, RowAssessment& assessment) const noexcept;

  const readings::Table& table_;
  const Context& context_;
  LimitMatcher limits_;
  ContactEvidence contact_;
  DeadEvidence dead_;
  BatteryEvidence batteries_;
  std::vector<const PartKind*> kind_of_code_;
  std::int32_t meter_check_;  ///< code of the stage word, or missing
};

}  // namespace ohmward::assessment
