#include "screening/wording.hpp"

#include <array>
#include <chrono>
#include <cmath>
#include <cstdio>

namespace ohmward::screening {
namespace {

std::string_view symbol(QuantityKind quantity) noexcept {
  const std::string_view unit = facts(quantity).unit;
  if (unit == "ohm") return "Ω";
  if (unit == "volt") return "V";
  if (unit == "farad") return "F";
  if (unit == "celsius") return "°C";
  return "";
}

struct Prefix {
  double factor;
  std::string_view text;
};
constexpr std::array prefixes{Prefix{1e9, "G"},  Prefix{1e6, "M"},  Prefix{1e3, "k"}, Prefix{1, ""},
                              Prefix{1e-3, "m"}, Prefix{1e-6, "µ"}, Prefix{1e-9, "n"}};

}  // namespace

std::string number(double value) {
  std::array<char, 40> text{};
  const double size = std::abs(value);
  const int decimals = size >= 100 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : 3;
  const int length = std::snprintf(text.data(), text.size(), "%.*f", decimals, value);
  return std::string(text.data(), static_cast<std::size_t>(length));
}

std::string with_unit(double value, QuantityKind quantity) {
  const std::string_view unit = symbol(quantity);
  if (unit.empty() || !(std::abs(value) > 0)) return sentence(number(value), unit.empty() ? "" : " ", unit);
  for (const Prefix& prefix : prefixes)
    if (std::abs(value) >= prefix.factor || prefix.factor == prefixes.back().factor)
      return sentence(number(value / prefix.factor), " ", prefix.text, unit);
  return {};
}

std::string date(std::int32_t day) {
  if (day == Rows::no_day) return "a day not written down";
  const std::chrono::year_month_day ymd{std::chrono::sys_days{std::chrono::days{day}}};
  std::array<char, 16> text{};
  const int length = std::snprintf(text.data(), text.size(), "%04d-%02u-%02u", static_cast<int>(ymd.year()),
                                   static_cast<unsigned>(ymd.month()), static_cast<unsigned>(ymd.day()));
  return std::string(text.data(), static_cast<std::size_t>(length));
}

}  // namespace ohmward::screening
