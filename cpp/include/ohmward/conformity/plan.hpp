#pragma once

/// @file
/// What would settle it: which reading, which meter, how many repeats.

#include <cstdint>
#include <functional>
#include <span>

#include "ohmward/conformity/rules.hpp"

namespace ohmward::conformity {

/// A meter seen from outside: what a reading on it would be worth.
using ReadingToQuantity = std::function<uncertainty::Quantity(double reading)>;

struct ReadingToPass {
  double at_least = nan;  ///< least reading that passes; NaN where there is no lower limit or none passes
  double at_most = nan;   ///< greatest reading that passes
  bool possible = false;  ///< some reading passes
};
struct SearchRange {
  double low = nan;  ///< readings that the meter can show
  double high = nan;
};
/// What this meter must show to pass: the ends of the readings whose statement is `pass`, within `range`, to a relative
/// 1e-12. A meter whose range is not given is searched around the limits.
/// @throws InvalidParameter for a senseless limit or range
[[nodiscard]] ReadingToPass reading_to_pass(const Limit& limit, const ReadingToQuantity& meter, SearchRange range = {});

/// How good a meter must be for this reading to pass (or, beyond the limit, to fail): the greatest standard uncertainty
/// on the scale of the quantity. 0 where none is good enough: the reading lies on the wrong side or on the limit.
/// Infinite where the rule is simple.
[[nodiscard]] double standard_uncertainty_to_pass(double reading, const Limit& limit, Scale scale = Scale::linear);
[[nodiscard]] double standard_uncertainty_to_fail(double reading, const Limit& limit, Scale scale = Scale::linear);

struct Scatter {
  double repeat = nan;  ///< standard deviation of one reading, independent from reading to reading
  double common = nan;  ///< what repeating does not reduce
};
enum class RepeatsOutcome : std::int8_t { enough = 0, common_part_too_large = 1, reading_on_wrong_side = 2 };
struct Repeats {
  RepeatsOutcome outcome = RepeatsOutcome::reading_on_wrong_side;
  std::int64_t count = 0;
};
/// How many readings to average so that their mean, if it stays at `reading`, passes.
/// @throws InvalidParameter for a negative scatter
[[nodiscard]] Repeats repeats_to_pass(double reading, const Scatter& scatter, const Limit& limit,
                                      Scale scale = Scale::linear);

/// Operating uncertainty of a tester, B = |A| + 1.15 √ΣE² as a fraction of the reading. Source: `iec-61557`.
[[nodiscard]] double operating_uncertainty(double intrinsic, std::span<const double> influences);

struct WorstCase {
  double lower = nan;  ///< least reading that meets the lower limit even at the far end of B
  double upper = nan;
};
/// Readings that meet a limit even in the worst case of an operating uncertainty: T/(1 − B) and T/(1 + B).
/// @throws InvalidParameter unless 0 ≤ B < 1
[[nodiscard]] WorstCase worst_case_readings(const Limit& limit, double operating_uncertainty);

}  // namespace ohmward::conformity
