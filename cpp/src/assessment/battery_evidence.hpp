#pragma once

#include <map>
#include <unordered_map>

#include "assessment/measure.hpp"
#include "ohmward/battery/battery.hpp"

namespace ohmward::assessment {

/// Resting batteries of a table: which types they may be, and which pairs were read one by one on the same day.
class BatteryEvidence {
 public:
  BatteryEvidence(const readings::Table& table, const Context& context);

  /// State of the battery (or of the pair as one battery) that a row of `resting_voltage` was read on.
  [[nodiscard]] battery::RestState state(std::size_t row, const uncertainty::Quantity& measured) const;

  /// Findings that only the other rows of the day tell: pair not examined, imbalance.
  [[nodiscard]] Findings findings(std::size_t row) const noexcept;

 private:
  [[nodiscard]] const battery::Battery& battery(std::size_t row) const;
  void judge_pairs(const Context& context);

  const readings::Table& table_;
  std::map<std::pair<std::int32_t, bool>, battery::Battery> batteries_;  ///< by code of the type, and single or pair
  std::unordered_map<std::size_t, Findings> findings_;
};

}  // namespace ohmward::assessment
