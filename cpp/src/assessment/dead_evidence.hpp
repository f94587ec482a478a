#pragma once

#include <unordered_map>

#include "assessment/measure.hpp"

namespace ohmward::assessment {

/// What stands around the dead checks of every job: a reading of the high-voltage circuit counts only between two good
/// checks of its meter on a known source.
class DeadEvidence {
 public:
  DeadEvidence(const readings::Table& table, const Context& context);

  /// Findings of a reading of the high-voltage circuit; empty for any other row.
  [[nodiscard]] Findings findings(std::size_t row) const noexcept;

 private:
  std::unordered_map<std::size_t, Findings> findings_;
};

}  // namespace ohmward::assessment
