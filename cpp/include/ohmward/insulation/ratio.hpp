#pragma once

#include "ohmward/core/floating_point.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::insulation {

/// Two times after the voltage was switched on. 600 and 60 s make the polarisation index, 60 and 30 s the dielectric
/// absorption ratio, 60 and 15 s the absorption ratio.
struct Times {
  double late_second;
  double early_second;  ///< > 0 and before late_second
};

/// The two readings of a ratio, each on the log scale.
struct Spots {
  const uncertainty::Quantity& late;
  const uncertainty::Quantity& early;
  /// Both on one range of one meter: the common share of its gain cancels. Nothing else ever does.
  bool same_range = true;
};

/// R(late) / R(early) on the log scale.
///
/// A censored end makes a bound: late `above` or early `below` gives `above`, the other way round `below`, with status
/// `bound_only`. Two ends that pull apart, or an overload, bound nothing: no value, `unknown_bound`. A resistance of 0
/// or less is `out_of_domain`. The worse status of the two readings is handed on.
[[nodiscard]] uncertainty::Quantity ratio(const Spots& spots) noexcept;

/// Is a polarisation index a criterion at all? Above 5 gigaohm it is not. Whether the reading as it stands or the one
/// at 40 degC counts is not settled, so both must agree.
enum class IndexCriterion : std::int8_t {
  applies = 0,         ///< neither lies above
  does_not_apply = 1,  ///< both lie above
  undetermined = 2,    ///< one does, or a bound leaves it open
};

struct OneMinuteReadings {
  const uncertainty::Quantity& as_read;
  const uncertainty::Quantity& at_40_celsius;  ///< the reading as it stands where there is no law
};

/// Source: `ieee-43-single-text`.
[[nodiscard]] IndexCriterion index_criterion(const OneMinuteReadings& readings) noexcept;

inline constexpr double index_criterion_ceiling_ohm = 5e9;  ///< Source: `ieee-43-single-text`.

}  // namespace ohmward::insulation
