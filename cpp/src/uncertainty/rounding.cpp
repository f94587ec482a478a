#include "ohmward/uncertainty/rounding.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "ohmward/core/errors.hpp"

namespace ohmward::uncertainty {
namespace {

/// 10^decimals times x, exact in the factor.
double shifted(double x, int decimals) noexcept {
  const double factor = std::pow(10.0, std::abs(decimals));
  return decimals >= 0 ? x * factor : x / factor;
}
double back(double whole, int decimals) noexcept {
  const double factor = std::pow(10.0, std::abs(decimals));
  return decimals >= 0 ? whole / factor : whole * factor;
}

/// Up, unless the excess is at most 5 % of the last digit kept.
double rounded_up(double x) noexcept {
  constexpr double allowed_excess = 0.05;
  constexpr double binary_noise = 1e-9;
  const double below = std::floor(x + binary_noise);
  return x - below <= allowed_excess + binary_noise ? below : below + 1;
}

std::string fixed(double x, int decimals) {
  char buffer[400];
  std::snprintf(buffer, sizeof buffer, "%.*f", decimals > 0 ? decimals : 0, x);
  return buffer;
}

}  // namespace

Rounded rounded(double value, double uncertainty, int digits) {
  if (!(uncertainty > 0) || !std::isfinite(uncertainty))
    throw InvalidParameter("uncertainty", uncertainty, "a finite number above 0");
  if (digits != 1 && digits != 2) throw InvalidParameter("digits", digits, "1 or 2");
  int decimals = digits - 1 - static_cast<int>(std::floor(std::log10(uncertainty)));
  double whole = rounded_up(shifted(uncertainty, decimals));
  if (whole >= std::pow(10.0, digits)) whole = rounded_up(shifted(uncertainty, --decimals));
  return {.value = back(std::nearbyint(shifted(value, decimals)), decimals),
          .uncertainty = back(whole, decimals),
          .decimals = decimals};
}

std::string text(const Rounded& result) {
  const double largest = std::max(std::abs(result.value), result.uncertainty);
  if (largest < 1e6 && largest >= 1e-3)
    return fixed(result.value, result.decimals) + " ± " + fixed(result.uncertainty, result.decimals);
  const int exponent = static_cast<int>(std::floor(std::log10(largest)));
  const int decimals = result.decimals + exponent;
  std::string shown = "(";
  shown.append(fixed(shifted(result.value, -exponent), decimals)).append(" ± ");
  shown.append(fixed(shifted(result.uncertainty, -exponent), decimals)).append(")e");
  return shown.append(std::to_string(exponent));
}

}  // namespace ohmward::uncertainty
