#pragma once

#include <span>

#include "ohmward/core/quantity_kind.hpp"
#include "ohmward/uncertainty/budget.hpp"

namespace ohmward::uncertainty {

/// Student t factor for a level of confidence with degrees of freedom cut to a whole number (JCGM 100:2008 G.4.2 and
/// table G.2). @throws InvalidParameter for a level outside (0, 1) or degrees of freedom below 1. Source: `gum`.
[[nodiscard]] double coverage_factor_t(double level, double degrees_of_freedom);

/// Two rectangles of half-widths a ≥ b make a trapezoid with β = (a − b)/(a + b). Source: `ea-4-02` S.
[[nodiscard]] double coverage_factor_trapezoid(double level, double top_fraction);

/// A rectangle and a normal quantity, with ρ = u(normal)/u(rectangle); exact convolution.
[[nodiscard]] double coverage_factor_rectangle_and_normal(double level, double ratio);

/// One independent, symmetric part of a sum.
struct SymmetricPart {
  Shape shape = Shape::normal;
  double scale = nan;   ///< of the shape: standard deviation of a normal, scale of a t, half-width of the others
  double second = nan;  ///< β of a trapezoid, d/half-width of a curvilinear one, degrees of freedom of a t
};

/// Half-width, in units of `standard_uncertainty`, of the central interval of a sum of independent symmetric parts,
/// by its characteristic function. Accuracy 1e-6 of itself. @throws InvalidParameter for an asymmetric shape.
[[nodiscard]] double coverage_factor_of_sum(std::span<const SymmetricPart> parts, double standard_uncertainty,
                                            double level);

/// Coverage factor of an output for the actual shape of its linear model.
/// @throws InvalidParameter where inputs are correlated or asymmetric: then Monte Carlo answers.
[[nodiscard]] double coverage_factor_of_shape(const Budget& budget, const Output& output, double level);

struct Interval {
  double low = nan;
  double high = nan;
};
struct Expanded {
  double level = nan;
  double coverage_factor = nan;
  double expanded_uncertainty = nan;  ///< k·u on the scale: of ln(value) on the log scale
  Interval interval{};
};
/// value ± k·u, or value·exp(±k·u/value) on the log scale.
[[nodiscard]] Expanded expanded(const Output& output, double coverage_factor, double level,
                                Scale scale = Scale::linear);

}  // namespace ohmward::uncertainty
