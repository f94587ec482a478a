#pragma once

/// @file
/// A meter's accuracy sheet as a constant table: range by test voltage, in read-only memory.
///
///     constexpr ohmward::logging::AccuracyLine lines[2] = {
///         {.high = 4e8, .display_step = 1e5, .reading_percent = 3, .counts = 3},
///         {.high = 4e9, .display_step = 1e6, .reading_percent = 5, .counts = 5}};
///     constexpr double volts[1] = {1000};
///     constexpr ohmward::logging::AccuracySheet sheet{.lines = lines, .test_voltages_volt = volts, .ranges = 2};
///     const auto u = sheet.at({.range = 1, .voltage = 0}, 2.3e9);
///
/// The office's digits: `instruments::sheet_parts` is the same function of formula/accuracy.hpp.

#include <cstdint>

#include "ohmward/core/status.hpp"
#include "ohmward/formula/accuracy.hpp"
#include "ohmward/logging/sample.hpp"

namespace ohmward::logging {

/// One range at one test voltage.
struct AccuracyLine {
  double low = 0;
  double high = nan;  ///< the ceiling of the range, > 0
  double display_step = 0;
  double reading_percent = 0;
  double counts = 0;
  double range_percent = 0;
  double gain_share = 0;  ///< share of the reading term that is common to readings on one range, 0 ... 1
};

/// Place of a line in the table.
struct AccuracyPlace {
  std::uint16_t range = 0;
  std::uint16_t voltage = 0;
};

/// Standard uncertainty of a reading: relative on the log scale, else in the unit of the reading.
struct AccuracyAt {
  double standard_uncertainty = nan;
  double gain = nan;     ///< its part that is common to readings on one range
  double reading = nan;  ///< the rest
  Status status = Status::outside_table;
};

inline namespace OHMWARD_LEVEL {

/// Lines of one quantity: `lines[range * voltages + voltage]`, ranges rising.
struct AccuracySheet {
  const AccuracyLine* lines = nullptr;
  const double* test_voltages_volt = nullptr;  ///< null: holds at any; then `voltages` is 1
  std::uint16_t ranges = 0;
  std::uint16_t voltages = 1;
  bool log_scale = true;                       ///< insulation and its ratios; false for bonding, voltage, capacitance
  double divisor = formula::divisor_of_bound;  ///< of the sheet's figures; k where the sheet states k

  /// Of a reading on a line that is known. Status: sound; outside_fitted_range: below the line's low end;
  /// outside_table: no such line, or the reading lies above it; missing_input; out_of_domain: not above 0 on the log
  /// scale, infinite.
  [[nodiscard]] AccuracyAt at(AccuracyPlace place, double reading, double decision_value = nan) const noexcept {
    if (lines == nullptr || place.range >= ranges || place.voltage >= voltages) return {};
    if (formula::detail::missing(reading)) return {.status = Status::missing_input};
    if (!formula::detail::finite(reading) || (log_scale && !formula::detail::positive(reading)))
      return {.status = Status::out_of_domain};
    const AccuracyLine& line = lines[std::uint32_t{place.range} * voltages + place.voltage];
    const double size = numerics::detail::absolute(reading);
    if (!(size <= line.high)) return {};
    const formula::SheetUncertainty u = formula::sheet_uncertainty({.reading_percent = line.reading_percent,
                                                                    .range_percent = line.range_percent,
                                                                    .range_high = line.high,
                                                                    .counts = line.counts,
                                                                    .display_step = line.display_step,
                                                                    .gain_share = line.gain_share,
                                                                    .factor = 1,
                                                                    .divisor = divisor},
                                                                   reading, log_scale, decision_value);
    return {.standard_uncertainty = numerics::sqrt(u.gain * u.gain + u.reading * u.reading),
            .gain = u.gain,
            .reading = u.reading,
            .status = size < line.low ? Status::outside_fitted_range : Status::sound};
  }

  /// Of a reading on the lowest range that holds it at a test voltage.
  [[nodiscard]] AccuracyAt find(double test_voltage_volt, double reading, double decision_value = nan) const noexcept {
    for (std::uint16_t voltage = 0; voltage < voltages && lines != nullptr; ++voltage) {
      if (test_voltages_volt != nullptr && test_voltages_volt[voltage] != test_voltage_volt) continue;
      for (std::uint16_t range = 0; range < ranges; ++range)
        if (numerics::detail::absolute(reading) <= lines[std::uint32_t{range} * voltages + voltage].high)
          return at({range, voltage}, reading, decision_value);
    }
    if (formula::detail::missing(reading)) return {.status = Status::missing_input};
    return {};
  }

  /// Greatest value that the meter can show at a test voltage; NaN where the sheet does not say.
  [[nodiscard]] constexpr double ceiling(double test_voltage_volt) const noexcept {
    double highest = nan;
    for (std::uint16_t voltage = 0; voltage < voltages && lines != nullptr; ++voltage) {
      if (test_voltages_volt != nullptr && test_voltages_volt[voltage] != test_voltage_volt) continue;
      for (std::uint16_t range = 0; range < ranges; ++range) {
        const double high = lines[std::uint32_t{range} * voltages + voltage].high;
        if (!(highest >= high)) highest = high;
      }
    }
    return highest;
  }
};

/// What is wrong with a sheet? Also at compile time: static_assert(!check(sheet)).
[[nodiscard]] constexpr Fault check(const AccuracySheet& s) noexcept {
  using formula::detail::not_negative, formula::detail::positive;
  if (s.lines == nullptr || s.ranges == 0) return {"ranges", static_cast<double>(s.ranges), "at least one line"};
  if (s.voltages == 0) return {"voltages", 0, "at least 1"};
  if (s.voltages > 1 && s.test_voltages_volt == nullptr) return {"test_voltages_volt", nan, "one voltage a column"};
  if (!positive(s.divisor)) return {"divisor", s.divisor, "a finite number above 0"};
  for (std::uint16_t voltage = 0; voltage < s.voltages; ++voltage) {
    if (s.test_voltages_volt != nullptr && !positive(s.test_voltages_volt[voltage]))
      return {"test_voltages_volt", s.test_voltages_volt[voltage], "a finite number above 0"};
    double below = 0;
    for (std::uint16_t range = 0; range < s.ranges; ++range) {
      const AccuracyLine& line = s.lines[std::uint32_t{range} * s.voltages + voltage];
      if (!positive(line.high) || !(line.high > below)) return {"high", line.high, "above the range below"};
      if (!not_negative(line.low) || !(line.low < line.high)) return {"low", line.low, "at least 0 and below high"};
      if (!not_negative(line.display_step)) return {"display_step", line.display_step, "at least 0"};
      if (!not_negative(line.reading_percent)) return {"reading_percent", line.reading_percent, "at least 0"};
      if (!not_negative(line.counts)) return {"counts", line.counts, "at least 0"};
      if (!not_negative(line.range_percent)) return {"range_percent", line.range_percent, "at least 0"};
      if (!(line.gain_share >= 0 && line.gain_share <= 1)) return {"gain_share", line.gain_share, "within 0 to 1"};
      below = line.high;
    }
  }
  return {};
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::logging
