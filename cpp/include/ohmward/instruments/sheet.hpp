#pragma once

#include "ohmward/core/censoring.hpp"
#include "ohmward/core/findings.hpp"
#include "ohmward/instruments/instrument.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::instruments {

/// A reading as the display showed it.
struct Reading {
  QuantityKind quantity = QuantityKind::insulation_resistance;
  double value = nan;  ///< SI; the bound where censored
  Censoring censoring = Censoring::exact;
  double resolution = nan;         ///< size of the last digit written down; NaN where unknown
  double test_voltage_volt = nan;  ///< set voltage of an insulation tester
  double ambient_celsius = nan;    ///< NaN: taken to lie inside the reference range
  double decision_value = nan;     ///< limit that the reading will be compared with, as read; NaN: none
};

/// Settings without a source: what is assumed where a sheet is silent.
struct Settings {
  double reference_low_celsius = 18;   ///< Source: `meter-reference-range`.
  double reference_high_celsius = 28;  ///< Source: `meter-reference-range`.
  double class_bound = 0.30;           ///< operating uncertainty of a tester that conforms. Source: `iec-61557`.
};

struct Measured {
  uncertainty::Quantity quantity{};
  Findings findings{};
};

/// Standard uncertainty, in parts, that a sheet line gives a reading.
///
/// The terms of one sheet add as bounds: a = p·R + r·range + n·step, u = a/√3 unless the sheet states k or a level.
/// On the log scale u(ln R) = (p + (r·range + n·step)/max(R, T))/√3 with the limit T, so that counts do not blow up
/// below the limit. The common share g·p of the reading term is the part `gain`; the rest is the part `reading`, so
/// that both in quadrature give the whole. Source: `gum` 4.3.7, `iec-61557`.
[[nodiscard]] uncertainty::Parts sheet_parts(const Range& range, const Statement& statement, double accuracy_factor,
                                             const Reading& reading) noexcept;

/// The sheet line of a reading: same quantity, same test voltage (or a line that names none), lowest range that holds
/// it. nullptr where there is none.
[[nodiscard]] const Range* range_of(const Instrument& instrument, const Reading& reading) noexcept;

/// Greatest value that the meter can show for a quantity at a test voltage; NaN where the sheet does not say.
[[nodiscard]] double ceiling(const Instrument& instrument, QuantityKind quantity, double test_voltage_volt) noexcept;

/// Reading to quantity: censoring resolved by the sheet's ceiling, correction applied, uncertainty in parts.
///
/// Findings: ceiling_unknown, outside_sheet_range, at_reduced_voltage, ambient_outside_reference,
/// test_voltage_missing. Without a sheet line the class bound of `settings` holds for insulation and bonding, with
/// finding sheet_missing; other quantities keep an unknown uncertainty and can not pass.
[[nodiscard]] Measured quantity(const Instrument& instrument, const Reading& as_shown,
                                const Settings& settings = {}) noexcept;

/// The same for a reading whose instrument is not known: class bound, finding instrument_missing.
[[nodiscard]] Measured quantity(const Reading& reading, const Settings& settings = {}) noexcept;

/// One sheet line alone, for a reading whose range is known; never throws.
[[nodiscard]] uncertainty::Quantity quantity(const Range& range, const Reading& reading) noexcept;

}  // namespace ohmward::instruments
