#include "ohmward/statistics/degrees_of_freedom.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/core/floating_point.hpp"

namespace ohmward::statistics {
namespace {

double largest(std::span<const double> u) noexcept {
  double most = 0;
  for (const double each : u) most = std::max(most, std::abs(each));
  return most;
}

}  // namespace

double welch_satterthwaite(std::span<const double> standard_uncertainties,
                           std::span<const double> degrees_of_freedom) noexcept {
  const std::span u = standard_uncertainties, dof = degrees_of_freedom;
  if (u.size() != dof.size()) return nan;
  const double unit = largest(u);  // so that no square leaves the range of doubles
  double variance = 0;
  for (const double each : u) variance += each / unit * (each / unit);
  double sum = 0;
  for (std::size_t i = 0; i < u.size(); ++i) {
    const double share = u[i] / unit * (u[i] / unit) / variance;
    sum += share * share / dof[i];
  }
  return 1 / sum;
}

double welch_satterthwaite_correlated(std::span<const double> contributions, std::span<const double> correlations,
                                      std::span<const double> degrees_of_freedom) noexcept {
  const std::span u = contributions, rho = correlations, dof = degrees_of_freedom;
  const std::size_t n = u.size();
  if (dof.size() != n || rho.size() != n * n) return nan;
  const double unit = largest(u);
  double variance = 0;
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j) variance += u[i] / unit * rho[i * n + j] * (u[j] / unit);
  double sum = 0;
  for (std::size_t i = 0; i < n; ++i) {
    double with_others = 0;
    for (std::size_t j = 0; j < n; ++j) with_others += rho[i * n + j] * (u[j] / unit);
    const double share = with_others * (u[i] / unit) / variance;
    sum += share * share / dof[i];
  }
  return 1 / sum;
}

double type_b_degrees_of_freedom(double relative_uncertainty_of_u) noexcept {
  return relative_uncertainty_of_u >= 0 ? 0.5 / (relative_uncertainty_of_u * relative_uncertainty_of_u) : nan;
}

double whole_degrees_of_freedom(double degrees_of_freedom) noexcept { return std::floor(degrees_of_freedom + 0.05); }

}  // namespace ohmward::statistics
