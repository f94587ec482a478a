#pragma once

#include <cstdint>
#include <functional>
#include <limits>
#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/quantity_kind.hpp"

namespace ohmward::instruments {

/// One line of an accuracy sheet: ±(reading_percent of reading + range_percent of range + counts · display_step).
/// Values are SI units of `quantity`.
struct Range {
  QuantityKind quantity = QuantityKind::insulation_resistance;
  double test_voltage_volt = nan;  ///< NaN: holds at any test voltage
  double low = 0;                  ///< least value that the line holds for
  double high = infinity;          ///< greatest value; the ceiling of its range
  double display_step = 0;         ///< one count
  double reading_percent = 0;
  double counts = 0;
  double range_percent = 0;
  double gain_share = 0;  ///< share of the reading term that is common to readings on one range, 0 … 1
};

/// What the sheet's figures mean: a bound without a density, an expanded uncertainty with k, or one with a level.
struct Statement {
  enum class Kind : std::int8_t { bound = 0, k = 1, level = 2 };
  Kind kind = Kind::bound;
  double value = nan;  ///< k, or the level in 0 … 1; not used for a bound

  /// What the sheet's figure is divided by to give a standard uncertainty.
  /// Bound: √3. Source: `gum` 4.3.7.
  [[nodiscard]] double divisor() const noexcept;
};

/// A point of a calibration certificate. Between points correction and uncertainty follow a straight line in
/// ln(value); outside them the nearest point holds.
struct CertificatePoint {
  QuantityKind quantity = QuantityKind::insulation_resistance;
  double test_voltage_volt = nan;   ///< NaN: holds at any test voltage
  double value = nan;               ///< reading at which the point was taken
  double correction = 0;            ///< fraction to add: corrected = reading · (1 + correction)
  double expanded_uncertainty = 0;  ///< U of the correction, as a fraction of the reading
  double coverage_factor = 2;
};

/// Days since 1970-01-01; the ends of the calendar where a date is open.
struct Validity {
  std::int64_t from_day = std::numeric_limits<std::int64_t>::min();
  std::int64_t until_day = std::numeric_limits<std::int64_t>::max();
  [[nodiscard]] bool covers(std::int64_t day) const noexcept { return day >= from_day && day <= until_day; }
};

/// A hand-held meter as its accuracy sheet and its certificate describe it.
struct Instrument {
  std::string id{};
  std::string kind{};
  double input_ohm = nan;      ///< input resistance of a voltmeter
  double source_ampere = nan;  ///< greatest current of an insulation tester's source
  Validity valid{};            ///< calibration dates
  Statement statement{};
  double temperature_coefficient = 0;  ///< fraction of the accuracy per kelvin outside the reference range
  double reads_zero_below = 0;         ///< shows 0 below this value (a two-pole tester)
  double correction = 0;               ///< fraction to add to every reading
  std::vector<Range> ranges{};
  std::vector<CertificatePoint> certificate{};
};

/// @throws InvalidParameter naming the field, the value and what was expected.
void validate(const Instrument& instrument);

/// All meters of a workshop. One id may stand for several entries with different calibration dates.
class Instruments {
 public:
  Instruments() = default;
  /// @throws InvalidParameter if one of them is senseless, or two of one id have dates that overlap.
  explicit Instruments(std::vector<Instrument> instruments);

  static constexpr std::int32_t none = -1;
  /// Entry of `id` that is valid on `day`; else the one nearest in time; `none` where the id is unknown.
  [[nodiscard]] std::int32_t find(std::string_view id, std::int64_t day) const noexcept;
  [[nodiscard]] const Instrument& operator[](std::int32_t index) const noexcept {
    return instruments_[static_cast<std::size_t>(index)];
  }
  [[nodiscard]] std::span<const Instrument> all() const noexcept { return instruments_; }

 private:
  std::vector<Instrument> instruments_;
  std::map<std::string, std::vector<std::int32_t>, std::less<>> by_id_;
};

}  // namespace ohmward::instruments
