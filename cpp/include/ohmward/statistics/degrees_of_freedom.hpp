#pragma once

#include <span>

namespace ohmward::statistics {

/// Effective degrees of freedom of a sum of independent contributions, JCGM 100:2008 eq. G.2b.
/// Infinite degrees of freedom are allowed; a sum of zero gives NaN. Source: `gum`.
[[nodiscard]] double welch_satterthwaite(std::span<const double> standard_uncertainties,
                                         std::span<const double> degrees_of_freedom) noexcept;

/// The same for contributions u_i (signed: sensitivity · standard uncertainty) with known correlation and
/// independently estimated standard uncertainties: ν = u⁴ / Σ (Σ_j ρ_ij u_j)² u_i² / ν_i.
///
/// @param correlations row after row, one row a contribution
/// Derived from the variance of u² to first order; a test confirms it by simulation.
[[nodiscard]] double welch_satterthwaite_correlated(std::span<const double> contributions,
                                                    std::span<const double> correlations,
                                                    std::span<const double> degrees_of_freedom) noexcept;

/// Degrees of freedom of a standard uncertainty that is itself known within a fraction: ½ (Δu/u)⁻²,
/// JCGM 100:2008 eq. G.3. Zero gives infinity. Source: `gum`.
[[nodiscard]] double type_b_degrees_of_freedom(double relative_uncertainty_of_u) noexcept;

/// The whole number that a table of t is entered with: ν rounded to one decimal, as it is printed, then cut.
[[nodiscard]] double whole_degrees_of_freedom(double degrees_of_freedom) noexcept;

}  // namespace ohmward::statistics
