#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include "ohmward/assessment/explain.hpp"

namespace ohmward::assessment {
namespace {

constexpr double coverage_factor = 2;

struct Prefix {
  double factor;
  const char* symbol;
};

constexpr std::array prefixes{Prefix{1e12, "T"}, Prefix{1e9, "G"},  Prefix{1e6, "M"},  Prefix{1e3, "k"},  Prefix{1, ""},
                              Prefix{1e-3, "m"}, Prefix{1e-6, "µ"}, Prefix{1e-9, "n"}, Prefix{1e-12, "p"}};

std::string_view symbol(QuantityKind kind) noexcept {
  const std::string_view unit = facts(kind).unit;
  if (unit == "ohm") return "Ω";
  if (unit == "volt") return "V";
  if (unit == "farad") return "F";
  if (unit == "celsius") return "°C";
  return {};
}

/// Volts and degrees are said without a prefix, bonding in milliohm, the others in the prefix of their size.
Prefix prefix_for(double value, QuantityKind kind) noexcept {
  const std::string_view unit = facts(kind).unit;
  if (unit != "ohm" && unit != "farad") return {1, ""};
  if (kind == QuantityKind::bonding_resistance) return std::abs(value) < 1 ? Prefix{1e-3, "m"} : Prefix{1, ""};
  for (const Prefix& prefix : prefixes)
    if (std::abs(value) >= prefix.factor) return prefix;
  return {1, ""};
}

/// Decimals that show a number down to two digits of its uncertainty.
int decimals_for(double standard_uncertainty) noexcept {
  if (!(standard_uncertainty > 0) || !std::isfinite(standard_uncertainty)) return 2;
  return std::clamp(1 - static_cast<int>(std::floor(std::log10(standard_uncertainty))), 0, 6);
}

int decimals_for_digits(double value, int digits) noexcept {
  if (value == 0 || !std::isfinite(value)) return 0;
  return std::clamp(digits - 1 - static_cast<int>(std::floor(std::log10(std::abs(value)))), 0, 9);
}

std::string fixed(double value, int decimals) {
  std::array<char, 64> buffer{};
  const int length = std::snprintf(buffer.data(), buffer.size(), "%.*f", decimals, value);
  return {buffer.data(), static_cast<std::size_t>(std::max(length, 0))};
}

std::string with_unit(std::string number, const Prefix& prefix, QuantityKind kind) {
  const std::string_view unit = symbol(kind);
  if (unit.empty()) return number;
  return number.append("\u00a0").append(prefix.symbol).append(unit);
}

double absolute_uncertainty(const uncertainty::Quantity& quantity) noexcept {
  const double u = quantity.standard_uncertainty();
  return quantity.scale == Scale::log ? std::abs(quantity.value) * u : u;
}

}  // namespace

std::string shown(double value, QuantityKind kind) {
  if (std::isnan(value)) return "no value";
  const Prefix prefix = prefix_for(value, kind);
  std::string number = fixed(value / prefix.factor, decimals_for_digits(value / prefix.factor, 3));
  if (number.find('.') != std::string::npos) {
    number.erase(number.find_last_not_of('0') + 1);
    if (number.back() == '.') number.pop_back();
  }
  return with_unit(std::move(number), prefix, kind);
}

std::string shown(const uncertainty::Quantity& quantity, QuantityKind kind) {
  if (quantity.censoring == Censoring::overload && std::isnan(quantity.value)) return "over range";
  if (std::isnan(quantity.value)) return "no value";
  if (quantity.censoring == Censoring::above) return "> " + shown(quantity.value, kind);
  if (quantity.censoring == Censoring::below) return "< " + shown(quantity.value, kind);
  const Prefix prefix = prefix_for(quantity.value, kind);
  const int decimals = decimals_for(absolute_uncertainty(quantity) / prefix.factor);
  return with_unit(fixed(quantity.value / prefix.factor, decimals), prefix, kind);
}

std::string shown_interval(const uncertainty::Quantity& quantity, QuantityKind kind) {
  const double u = quantity.standard_uncertainty();
  const bool is_voltage = kind == QuantityKind::dc_voltage || kind == QuantityKind::ac_voltage;
  if (is_voltage && quantity.censoring == Censoring::below)
    return {};  // a tester's threshold, as its sheet declares it
  if (!(u > 0) || !std::isfinite(u) || std::isnan(quantity.value)) return {};
  const bool log = quantity.scale == Scale::log;
  const double low = log ? quantity.value * std::exp(-coverage_factor * u) : quantity.value - coverage_factor * u;
  const double high = log ? quantity.value * std::exp(coverage_factor * u) : quantity.value + coverage_factor * u;
  const Prefix prefix = prefix_for(quantity.value, kind);
  const int decimals = decimals_for(absolute_uncertainty(quantity) / prefix.factor);
  if (quantity.censoring == Censoring::above)
    return "from " + with_unit(fixed(low / prefix.factor, decimals), prefix, kind);
  if (quantity.censoring == Censoring::below)
    return "up to " + with_unit(fixed(high / prefix.factor, decimals), prefix, kind);
  return with_unit(fixed(low / prefix.factor, decimals) + " … " + fixed(high / prefix.factor, decimals), prefix, kind);
}

}  // namespace ohmward::assessment
