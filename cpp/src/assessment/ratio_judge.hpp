#pragma once

#include "assessment/measure.hpp"
#include "ohmward/assessment/assess.hpp"

namespace ohmward::assessment {

/// What a ratio is judged by, beside the limit.
struct RatioCase {
  uncertainty::Quantity ratio{};
  uncertainty::Quantity early{};  ///< resistance at the earlier time as read; no value where it is not known
  insulation::CapacitanceRange capacitance{};
  insulation::Times times = no_times;
  temperature::Conditions to_40_celsius;  ///< temperature of the part and law of its kind
};

/// Judges the ratio of an assessment that has a limit.
///
/// A polarisation index is no criterion where the resistance lies above 5 GΩ: then the limit does not apply. A part
/// that could not show the limit, whatever state it is in, decides nothing on either side. A ratio above what the
/// part's own absorption can bring about is one of cooling, drying or leftover charge and can not pass.
void judge_ratio(const RatioCase& ratio, const LimitEntry& limit, const Settings& settings,
                 RowAssessment& assessment) noexcept;

}  // namespace ohmward::assessment
