#pragma once

/// @file
/// Forward automatic differentiation: a number with its slope along one direction. Nested duals give higher slopes.

#include <cmath>
#include <concepts>

namespace ohmward::uncertainty {

template <class T>
struct Dual {
  T value{};
  T slope{};

  constexpr Dual() = default;
  constexpr Dual(T value_, T slope_) : value(value_), slope(slope_) {}
  constexpr Dual(double constant) : value(constant), slope(0.0) {}  // NOLINT: a constant is a dual without slope

  friend constexpr Dual operator-(const Dual& a) { return {-a.value, -a.slope}; }
  friend constexpr Dual operator+(const Dual& a, const Dual& b) { return {a.value + b.value, a.slope + b.slope}; }
  friend constexpr Dual operator-(const Dual& a, const Dual& b) { return {a.value - b.value, a.slope - b.slope}; }
  friend constexpr Dual operator*(const Dual& a, const Dual& b) {
    return {a.value * b.value, a.slope * b.value + a.value * b.slope};
  }
  friend constexpr Dual operator/(const Dual& a, const Dual& b) {
    const T quotient = a.value / b.value;
    return {quotient, (a.slope - quotient * b.slope) / b.value};
  }
};

template <class T>
[[nodiscard]] Dual<T> exp(const Dual<T>& x) {
  using std::exp;
  const T value = exp(x.value);
  return {value, value * x.slope};
}

template <class T>
[[nodiscard]] Dual<T> log(const Dual<T>& x) {
  using std::log;
  return {log(x.value), x.slope / x.value};
}

template <class T>
[[nodiscard]] Dual<T> sqrt(const Dual<T>& x) {
  using std::sqrt;
  const T value = sqrt(x.value);
  return {value, x.slope / (value * T(2.0))};
}

template <class T>
[[nodiscard]] Dual<T> cos(const Dual<T>& x);

template <class T>
[[nodiscard]] Dual<T> sin(const Dual<T>& x) {
  using std::cos;
  using std::sin;
  return {sin(x.value), cos(x.value) * x.slope};
}

template <class T>
[[nodiscard]] Dual<T> cos(const Dual<T>& x) {
  using std::cos;
  using std::sin;
  return {cos(x.value), -sin(x.value) * x.slope};
}

template <class T>
[[nodiscard]] Dual<T> tan(const Dual<T>& x) {
  return sin(x) / cos(x);
}

template <class T>
[[nodiscard]] Dual<T> atan(const Dual<T>& x) {
  using std::atan;
  return {atan(x.value), x.slope / (x.value * x.value + T(1.0))};
}

template <class T>
[[nodiscard]] Dual<T> pow(const Dual<T>& x, double power) {
  using std::pow;
  return {pow(x.value, power), pow(x.value, power - 1) * T(power) * x.slope};
}

template <class T>
[[nodiscard]] Dual<T> pow(const Dual<T>& x, const Dual<T>& power) {
  return exp(power * log(x));
}

}  // namespace ohmward::uncertainty
