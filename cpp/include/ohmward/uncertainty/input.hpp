#pragma once

/// @file
/// Input quantities: what is known of each, as an estimate, a standard uncertainty and a distribution.
/// Every maker throws InvalidParameter for a senseless parameter. Sources: `gum`, `jcgm-101`.

#include <array>
#include <cstdint>
#include <memory>
#include <span>
#include <string_view>
#include <vector>

#include "ohmward/core/floating_point.hpp"

namespace ohmward::uncertainty {

/// Shape of a distribution. Numbers never change meaning; new ones are appended.
enum class Shape : std::int8_t {
  normal = 0,
  student_t = 1,                            ///< scaled and shifted t; its standard deviation is scale · √(ν/(ν−2))
  student_t_with_standard_uncertainty = 2,  ///< t rescaled so that its standard deviation is the stated u
  rectangular = 3,
  asymmetric = 4,  ///< rectangle whose middle is not the estimate
  triangular = 5,
  trapezoidal = 6,
  curvilinear_trapezoidal = 7,
  arcsine = 8,
  lognormal = 9,
  exponential = 10,
  gamma = 11,
  sample = 12,
};

[[nodiscard]] std::string_view text(Shape shape) noexcept;
/// Symmetric about its estimate.
[[nodiscard]] bool is_symmetric(Shape shape) noexcept;

struct Input {
  Shape shape = Shape::normal;
  double estimate = nan;
  double standard_uncertainty = nan;  ///< for the law of propagation
  double degrees_of_freedom = infinity;
  /// What draws are made of: location and scale first, then what the shape needs besides.
  std::array<double, 4> parameters{};
  std::shared_ptr<const std::vector<double>> values{};  ///< of an empirical sample
};

struct NormalParameters {
  double mean = nan;
  double standard_uncertainty = nan;
  double degrees_of_freedom = infinity;  ///< of the standard uncertainty; the draws stay normal
};
[[nodiscard]] Input normal(const NormalParameters& parameters);

struct StudentTParameters {
  double location = nan;
  double scale = nan;
  double degrees_of_freedom = nan;
};
/// Scaled and shifted t of JCGM 101:2008 6.4.9. The law of propagation takes u = scale with its degrees of freedom
/// (JCGM 100), draws come from the t distribution itself.
[[nodiscard]] Input student_t(const StudentTParameters& parameters);

struct ScaledStudentTParameters {
  double mean = nan;
  double standard_uncertainty = nan;
  double degrees_of_freedom = nan;  ///< above 2
};
/// t rescaled so that the standard deviation of the draws is the stated standard uncertainty.
[[nodiscard]] Input student_t_with_standard_uncertainty(const ScaledStudentTParameters& parameters);

struct RectangularParameters {
  double centre = nan;
  double half_width = nan;
  double degrees_of_freedom = infinity;
};
/// u = a/√3.
[[nodiscard]] Input rectangular(const RectangularParameters& parameters);
/// u = a/√6; the sum of two equal rectangles.
[[nodiscard]] Input triangular(const RectangularParameters& parameters);
/// u = a/√2; a sinusoidal variation.
[[nodiscard]] Input arcsine(const RectangularParameters& parameters);

struct AsymmetricParameters {
  double estimate = nan;
  double below = nan;  ///< how far the value may lie below the estimate, ≥ 0
  double above = nan;
  double degrees_of_freedom = infinity;
};
/// JCGM 100:2008 4.3.8: u² = (below + above)²/12 about the stated estimate; draws are even over the whole interval.
[[nodiscard]] Input asymmetric(const AsymmetricParameters& parameters);

struct TrapezoidalParameters {
  double centre = nan;
  double half_width = nan;    ///< of the base
  double top_fraction = nan;  ///< β, width of the top over width of the base, 0 … 1
  double degrees_of_freedom = infinity;
};
/// u² = a²(1 + β²)/6.
[[nodiscard]] Input trapezoidal(const TrapezoidalParameters& parameters);

struct CurvilinearTrapezoidalParameters {
  double centre = nan;
  double half_width = nan;
  double limit_half_width = nan;  ///< d: each limit is itself only known within ±d, d ≤ half_width
  double degrees_of_freedom = infinity;
};
/// CTrap(a, b, d) of JCGM 101:2008 6.4.3: u² = (b − a)²/12 + d²/9.
[[nodiscard]] Input curvilinear_trapezoidal(const CurvilinearTrapezoidalParameters& parameters);

struct LognormalParameters {
  double median = nan;  ///< above 0
  double standard_uncertainty_of_ln = nan;
  double degrees_of_freedom = infinity;
};
/// The law of propagation takes the median as estimate and u = median · u(ln x); draws are lognormal.
[[nodiscard]] Input lognormal(const LognormalParameters& parameters);

/// Positive quantity of which only the mean is known (JCGM 101:2008 6.4.10): u = mean.
[[nodiscard]] Input exponential(double mean);

/// A number of counted events q: gamma(q + 1, 1) of JCGM 101:2008 6.4.11, estimate q + 1, u = √(q + 1).
[[nodiscard]] Input gamma(double counted_events);

/// The scatter of a sample stands for the distribution (bootstrap); at least two different values, none missing.
[[nodiscard]] Input sample(std::span<const double> values);

/// Half-width to standard uncertainty by a stated level: the certificate or sheet says "within ±a at 99 %".
struct StatedExpanded {
  double expanded = nan;
  double coverage_factor = nan;          ///< k; or leave NaN and state the level
  double level = nan;                    ///< 0 … 1
  double degrees_of_freedom = infinity;  ///< for the t factor of a level
};
/// U/k, or U divided by the normal or t factor of the level. JCGM 100:2008 4.3.3 to 4.3.6.
[[nodiscard]] double standard_uncertainty_from(const StatedExpanded& stated);

/// Standard uncertainty of one reading of a display: step/√12 = 0.29 step. JCGM 100:2008 F.2.2.1.
[[nodiscard]] double standard_uncertainty_of_display(double step);

}  // namespace ohmward::uncertainty
