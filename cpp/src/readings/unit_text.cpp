#include "readings/unit_text.hpp"

#include <algorithm>
#include <array>
#include <span>

#include "ohmward/core/constants.hpp"
#include "readings/utf8.hpp"

namespace ohmward::readings {
namespace {

/// A unit without blanks, in ASCII: Ω as ohm, µ as u, ° as deg.
class PlainUnit {
 public:
  explicit PlainUnit(std::string_view text) noexcept {
    while (!text.empty() && valid_) {
      if (const std::size_t space = leading_space(text)) {
        text.remove_prefix(space);
        continue;
      }
      const std::size_t length = take(text);
      text.remove_prefix(length);
    }
  }
  [[nodiscard]] bool valid() const noexcept { return valid_; }
  [[nodiscard]] std::string_view view() const noexcept { return {bytes_.data(), size_}; }

 private:
  std::size_t take(std::string_view text) noexcept {
    struct Spelling {
      std::string_view written, plain;
    };
    static constexpr Spelling spellings[] = {{"\u2126", "ohm"}, {"\u03A9", "ohm"}, {"\u00B5", "u"},    {"\u03BC", "u"},
                                             {"\u00B0", "deg"}, {"\u00BA", "deg"}, {"\u2103", "degC"}, {"\u212A", "K"}};
    for (const Spelling& spelling : spellings)
      if (text.starts_with(spelling.written)) {
        put(spelling.plain);
        return spelling.written.size();
      }
    if (static_cast<unsigned char>(text[0]) < 0x80U)
      put(text.substr(0, 1));
    else
      valid_ = false;
    return 1;
  }
  void put(std::string_view more) noexcept {
    if (size_ + more.size() > bytes_.size()) {
      valid_ = false;
      return;
    }
    std::ranges::copy(more, bytes_.begin() + static_cast<std::ptrdiff_t>(size_));
    size_ += more.size();
  }
  std::array<char, 24> bytes_{};
  std::size_t size_ = 0;
  bool valid_ = true;
};

bool ends_with_folded(std::string_view text, std::string_view lower_case) noexcept {
  if (text.size() < lower_case.size()) return false;
  const std::string_view end = text.substr(text.size() - lower_case.size());
  return std::ranges::equal(end, lower_case, {}, lower);
}

bool equal_folded(std::string_view text, std::string_view lower_case) noexcept {
  return text.size() == lower_case.size() && ends_with_folded(text, lower_case);
}

/// Power of ten of an SI prefix; the case of a letter counts, that of a word does not.
std::optional<int> prefix_power(std::string_view text) noexcept {
  if (text.size() == 1) {
    switch (text[0]) {
      case 'p': return -12;
      case 'n': return -9;
      case 'u': return -6;
      case 'm': return -3;
      case 'k':
      case 'K': return 3;
      case 'M': return 6;
      case 'G': return 9;
      case 'T': return 12;
      default: return {};
    }
  }
  struct Word {
    std::string_view text;
    int power;
  };
  static constexpr Word words[] = {{"pico", -12}, {"nano", -9}, {"micro", -6}, {"milli", -3}, {"kilo", 3}, {"kil", 3},
                                   {"mega", 6},   {"meg", 6},   {"giga", 9},   {"gig", 9},    {"tera", 12}};
  for (const Word& word : words)
    if (equal_folded(text, word.text)) return word.power;
  return {};
}

std::span<const std::string_view> prefixed_names(Dimension dimension) noexcept {
  // The longer name first, so that "ohms" is not read as a prefix of "s".
  static constexpr std::string_view ohm[] = {"ohms", "ohm"};
  static constexpr std::string_view direct[] = {"voltdc", "vdc", "v=", "volts", "volt", "v"};
  static constexpr std::string_view alternating[] = {"voltac", "vac", "v~", "volts", "volt", "v"};
  static constexpr std::string_view volt[] = {"voltdc", "vdc", "v=", "voltac", "vac", "v~", "volts", "volt", "v"};
  static constexpr std::string_view ampere[] = {"amperes", "ampere", "amps", "amp", "a"};
  static constexpr std::string_view farad[] = {"farads", "farad", "f"};
  switch (dimension) {
    case Dimension::ohm: return ohm;
    case Dimension::volt: return volt;
    case Dimension::direct_volt: return direct;
    case Dimension::alternating_volt: return alternating;
    case Dimension::ampere: return ampere;
    case Dimension::farad: return farad;
    default: return {};
  }
}

struct WholeName {
  std::string_view text;
  Unit unit;
};

/// Units that take no prefix.
std::span<const WholeName> whole_names(Dimension dimension) noexcept {
  static constexpr WholeName number[] = {{"1", {}}};
  static constexpr Unit kelvin_point{.offset = -celsius_zero_kelvin};
  static constexpr WholeName celsius[] = {{"c", {}},          {"degc", {}},        {"celsius", {}},
                                          {"degcelsius", {}}, {"k", kelvin_point}, {"kelvin", kelvin_point}};
  static constexpr WholeName kelvin[] = {{"k", {}}, {"kelvin", {}}, {"c", {}}, {"degc", {}}};
  static constexpr Unit minute{.factor = 60};
  static constexpr Unit hour{.factor = seconds_per_hour};
  static constexpr Unit day{.factor = seconds_per_day};
  static constexpr WholeName second[] = {
      {"s", {}},       {"sec", {}},        {"second", {}},      {"seconds", {}}, {"ms", {.power = -3}},
      {"min", minute}, {"minute", minute}, {"minutes", minute}, {"h", hour},     {"hour", hour},
      {"hours", hour}, {"d", day},         {"day", day},        {"days", day}};
  static constexpr WholeName percent[] = {{"%", {}}, {"percent", {}}, {"%rh", {}}};
  switch (dimension) {
    case Dimension::number: return number;
    case Dimension::celsius: return celsius;
    case Dimension::kelvin: return kelvin;
    case Dimension::second: return second;
    case Dimension::percent: return percent;
    default: return {};
  }
}

}  // namespace

std::optional<Unit> parse_unit(std::string_view text, Dimension dimension) noexcept {
  const PlainUnit plain{text};
  if (!plain.valid() || plain.view().empty()) return {};
  const std::string_view unit = plain.view();
  for (const WholeName& name : whole_names(dimension))
    if (equal_folded(unit, name.text)) return name.unit;
  const auto names = prefixed_names(dimension);
  if (names.empty()) return {};
  for (const std::string_view name : names) {
    if (!ends_with_folded(unit, name)) continue;
    const std::string_view prefix = unit.substr(0, unit.size() - name.size());
    if (prefix.empty()) return Unit{};
    if (const auto power = prefix_power(prefix)) return Unit{.power = *power};
  }
  if (const auto power = prefix_power(unit)) return Unit{.power = *power};
  return {};
}

Dimension dimension(QuantityKind quantity) noexcept {
  switch (quantity) {
    case QuantityKind::insulation_ratio: return Dimension::number;
    case QuantityKind::insulation_resistance:
    case QuantityKind::bonding_resistance:
    case QuantityKind::winding_resistance:
    case QuantityKind::loop_resistance: return Dimension::ohm;
    case QuantityKind::dc_voltage:
    case QuantityKind::resting_voltage:
    case QuantityKind::module_voltage: return Dimension::direct_volt;
    case QuantityKind::ac_voltage: return Dimension::alternating_volt;
    case QuantityKind::capacitance: return Dimension::farad;
    case QuantityKind::temperature: return Dimension::celsius;
  }
  return Dimension::number;
}

Dimension dimension(NumberName column) noexcept {
  switch (column) {
    case NumberName::test_voltage_volt:
    case NumberName::applied_volt: return Dimension::volt;
    case NumberName::part_celsius:
    case NumberName::ambient_celsius: return Dimension::celsius;
    case NumberName::part_celsius_u: return Dimension::kelvin;
    case NumberName::humidity_percent: return Dimension::percent;
    case NumberName::elapsed_second:
    case NumberName::early_second:
    case NumberName::rest_hour: return Dimension::second;
    case NumberName::capacitance_farad: return Dimension::farad;
    case NumberName::null_ohm: return Dimension::ohm;
    case NumberName::test_ampere: return Dimension::ampere;
    case NumberName::step:
    case NumberName::cells:
    case NumberName::reference_value: return Dimension::number;
  }
  return Dimension::number;
}

std::string_view expected_units(Dimension dimension) noexcept {
  switch (dimension) {
    case Dimension::number: return "no unit";
    case Dimension::ohm: return "Ω, alone or with p n µ m k M G T in front";
    case Dimension::volt:
    case Dimension::direct_volt: return "V (or V DC), alone or with p n µ m k M G T in front";
    case Dimension::alternating_volt: return "V (or V AC), alone or with p n µ m k M G T in front";
    case Dimension::ampere: return "A, alone or with p n µ m k M G T in front";
    case Dimension::farad: return "F, alone or with p n µ m k M G T in front";
    case Dimension::celsius: return "°C or K";
    case Dimension::kelvin: return "K or °C";
    case Dimension::second: return "s, ms, min, h or d";
    case Dimension::percent: return "%";
  }
  return "no unit";
}

}  // namespace ohmward::readings
