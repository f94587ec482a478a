#pragma once

namespace ohmward::battery {

/// A density exp(constant + linear t + quadratic t²), quadratic <= 0, on a piece that begins at t = 0.
/// Products of normal, exponential and flat factors stay in this family, and its integral is an error function.
struct LogQuadratic {
  double constant = 0;
  double linear = 0;
  double quadratic = 0;

  [[nodiscard]] double log_density(double t) const noexcept { return constant + (linear + quadratic * t) * t; }
  /// Where the density is greatest on [0, width].
  [[nodiscard]] double mode(double width) const noexcept;
  /// Integral of the density over [0, t], t >= 0.
  [[nodiscard]] double integral(double t) const noexcept;
  /// Integrals over [0, width] of t and t² times the density, to nine digits.
  struct Moments {
    double first = 0;
    double second = 0;
  };
  [[nodiscard]] Moments moments(double width) const noexcept;
};

[[nodiscard]] inline LogQuadratic operator*(const LogQuadratic& a, const LogQuadratic& b) noexcept {
  return {a.constant + b.constant, a.linear + b.linear, a.quadratic + b.quadratic};
}

/// The same density seen from a piece that begins at `t`.
[[nodiscard]] inline LogQuadratic moved_to(const LogQuadratic& q, double t) noexcept {
  return {q.log_density(t), q.linear + 2 * q.quadratic * t, q.quadratic};
}

}  // namespace ohmward::battery
