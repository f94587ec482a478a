#pragma once

#include <array>
#include <cmath>
#include <cstddef>

#include "ohmward/numerics/normal.hpp"

namespace ohmward::battery {
namespace normal_table {

inline constexpr int steps_per_unit = 128;
inline constexpr double end = 8.5;

struct Entry {
  double tail;
  double density;
};

inline constexpr auto entries = [] {
  std::array<Entry, static_cast<std::size_t>(end * steps_per_unit) + 1> all{};
  all[0] = {0.5, numerics::normal_density(0)};
  for (std::size_t i = 1; i < all.size(); ++i) {
    const double z = static_cast<double>(i) / steps_per_unit;
    all[i] = {numerics::normal_probability(-z), numerics::normal_density(z)};
  }
  return all;
}();

}  // namespace normal_table

/// A standard normal distribution at one place.
struct NormalAt {
  double z;
  double tail;  ///< probability beyond abs(z) on one side
  double density;
};

/// Probability of at most z, from the tail beyond abs(z).
[[nodiscard]] inline double normal_below(double z, double tail) noexcept { return z < 0 ? tail : 1 - tail; }

namespace normal_table {

/// The nearest entry, below `end`. Conversions through int are the cheap ones.
struct Near {
  const Entry& nearest;
  double a;  ///< its place
  double d;  ///< the way from there

  explicit Near(double y) noexcept : Near(y, static_cast<int>((y + 0.5 / steps_per_unit) * steps_per_unit)) {}

 private:
  Near(double y, int index) noexcept
      : nearest(entries[static_cast<unsigned>(index)]),
        a(index * (1.0 / steps_per_unit)),
        d(y - index * (1.0 / steps_per_unit)) {}
};

// The derivatives of the density are Hermite polynomials times the density. Even and odd powers of d are summed apart:
// two short chains instead of a long one.

[[nodiscard]] inline double tail(const Near& at) noexcept {
  const double a = at.a, d = at.d, aa = a * a, dd = d * d;
  const double even = 1 + dd * ((aa - 1) * (1.0 / 6) + dd * ((aa * (aa - 6) + 3) * (1.0 / 120)));
  const double odd = a * (0.5 + dd * ((aa - 3) * (1.0 / 24)));
  return at.nearest.tail - at.nearest.density * d * (even - d * odd);
}

[[nodiscard]] inline double density(const Near& at) noexcept {
  const double a = at.a, d = at.d, aa = a * a, dd = d * d;
  const double even = 1 + dd * ((aa - 1) * 0.5 + dd * ((aa * (aa - 6) + 3) * (1.0 / 24)));
  const double odd = a * (1 + dd * ((aa - 3) * (1.0 / 6)));
  return at.nearest.density * (even - d * odd);
}

}  // namespace normal_table

/// Probability of a standard normal value beyond abs(z) on one side, by Taylor's series about the nearest entry of a
/// table: a posterior on one curve takes a hundred of them. Relative error below 4e-12.
[[nodiscard]] inline double normal_tail(double z) noexcept {
  const double y = std::abs(z);
  return y < normal_table::end ? normal_table::tail(normal_table::Near(y)) : numerics::normal_probability(-y);
}

/// Tail and density at one place. Relative error of the density below 1e-9.
[[nodiscard]] inline NormalAt normal_at(double z) noexcept {
  const double y = std::abs(z);
  if (!(y < normal_table::end)) return {z, numerics::normal_probability(-y), numerics::normal_density(z)};
  const normal_table::Near near(y);
  return {z, normal_table::tail(near), normal_table::density(near)};
}

}  // namespace ohmward::battery
