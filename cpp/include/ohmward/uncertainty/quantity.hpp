#pragma once

#include <array>
#include <cmath>
#include <cstdint>
#include <string_view>

#include "ohmward/core/censoring.hpp"
#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/quantity_kind.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::uncertainty {

/// Where a part of the standard uncertainty comes from. Numbers never change meaning; new ones are appended.
#define OHMWARD_PART_TABLE(entry) \
  entry(reading, 0, "meter, independent from reading to reading") \
  entry(gain, 1, "meter, common share of its gain") \
  entry(certificate, 2, "calibration certificate") \
  entry(null, 3, "lead null") \
  entry(loading, 4, "meter's input resistance") \
  entry(temperature, 5, "temperature of the part") \
  entry(law, 6, "constants of the temperature law") \
  entry(repeat, 7, "scatter of repeats") \
  entry(resistor, 8, "known resistor") \
  entry(rest, 9, "not yet at rest") \
  entry(curve, 10, "spread of curves") \
  entry(other, 11, "other")

enum class Part : std::uint8_t {
#define OHMWARD_PART_ENTRY(name, number, text) name = number,
  OHMWARD_PART_TABLE(OHMWARD_PART_ENTRY)
#undef OHMWARD_PART_ENTRY
};

struct PartFacts {
  Part part;
  std::string_view name;
  std::string_view text;
};

inline constexpr std::array part_facts{
#define OHMWARD_PART_ENTRY(name, number, text) PartFacts{Part::name, #name, text},
    OHMWARD_PART_TABLE(OHMWARD_PART_ENTRY)
#undef OHMWARD_PART_ENTRY
};

/// Independent parts of a standard uncertainty, all on the scale of their quantity.
class Parts {
 public:
  [[nodiscard]] constexpr double operator[](Part part) const noexcept { return parts_[static_cast<std::size_t>(part)]; }
  constexpr void set(Part part, double standard_uncertainty) noexcept {
    parts_[static_cast<std::size_t>(part)] = standard_uncertainty;
  }
  /// Adds to a part in quadrature.
  void add(Part part, double standard_uncertainty) noexcept {
    set(part, std::sqrt((*this)[part] * (*this)[part] + standard_uncertainty * standard_uncertainty));
  }
  /// All parts in quadrature; NaN as soon as one is unknown or negative.
  [[nodiscard]] double combined() const noexcept {
    double sum = 0;
    for (const double part : parts_) sum += part >= 0 ? part * part : nan;
    return std::sqrt(sum);
  }

 private:
  std::array<double, part_facts.size()> parts_{};
};

/// A value with its standard uncertainty in parts. On the log scale the parts are those of ln(value).
/// A censored quantity carries its bound as value, and the bound carries the meter's uncertainty too.
struct Quantity {
  double value = nan;
  Scale scale = Scale::linear;
  Censoring censoring = Censoring::exact;
  Status status = Status::missing_input;
  Parts parts{};
  double degrees_of_freedom = infinity;

  [[nodiscard]] double standard_uncertainty() const noexcept { return parts.combined(); }
};

}  // namespace ohmward::uncertainty
