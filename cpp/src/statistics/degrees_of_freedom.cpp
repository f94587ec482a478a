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

double welch_satterthwaite(std::span<const double> u, std::span<const double> dof) noexcept {
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

double welch_satterthwaite_correlated(std::span<const double> u, std::span<const double> rho,
                                      std::span<const double> dof) noexcept {
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

double type_b_degrees_of_freedom(double relative) noexcept { return relative >= 0 ? 0.5 / (relative * relative) : nan; }

double whole_degrees_of_freedom(double dof) noexcept { return std::floor(dof + 0.05); }

}  // namespace ohmward::statistics
