#include "ohmward/instruments/sheet.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "ohmward/formula/accuracy.hpp"

namespace ohmward::instruments {
namespace {

using uncertainty::Part;
using uncertainty::Parts;
using uncertainty::Quantity;

bool same_voltage(double named, double set) noexcept { return std::isnan(named) || named == set; }

bool fits(const Range& range, QuantityKind quantity, double test_voltage_volt) noexcept {
  return range.quantity == quantity && same_voltage(range.test_voltage_volt, test_voltage_volt);
}

/// Sheets widen outside their reference range: + coefficient · accuracy per kelvin.
double accuracy_factor(const Instrument& instrument, double ambient_celsius, const Settings& settings) noexcept {
  const double below = settings.reference_low_celsius - ambient_celsius;
  const double above = ambient_celsius - settings.reference_high_celsius;
  const double outside = std::isnan(ambient_celsius) ? 0.0 : std::max({below, above, 0.0});
  return 1 + instrument.temperature_coefficient * outside;
}

/// Log scale: a display of 0 is below one display step, a negative one no value.
void settle_sign(Quantity& quantity, double display_step) noexcept {
  if (quantity.scale == Scale::linear || quantity.value > 0) return;
  if (quantity.value == 0 && display_step > 0) {
    quantity.value = display_step;
    quantity.censoring = Censoring::below;
  } else {
    quantity.value = nan;
    quantity.status = Status::out_of_domain;
  }
}

Quantity started(const Reading& reading) noexcept {
  Quantity quantity{.value = reading.value,
                    .scale = facts(reading.quantity).scale,
                    .censoring = reading.censoring,
                    .status = Status::sound};
  if (reading.censoring == Censoring::overload)
    quantity.status = Status::unknown_bound;
  else if (std::isnan(reading.value))
    quantity.status = Status::missing_input;
  else if (reading.censoring != Censoring::exact)
    quantity.status = Status::bound_only;
  return quantity;
}

/// Class bound of a tester that conforms: stated for insulation and bonding only. On a linear scale it holds from the
/// limit upwards; below it the bound at the limit is kept, so that a display of 0 does not become certain.
Parts class_parts(const Reading& reading, const Settings& settings) noexcept {
  Parts parts;
  double u = nan;
  if (reading.quantity == QuantityKind::insulation_resistance)
    u = settings.class_bound / std::numbers::sqrt3;
  else if (reading.quantity == QuantityKind::bonding_resistance)
    u = settings.class_bound * std::fmax(std::abs(reading.value), reading.decision_value) / std::numbers::sqrt3;
  parts.set(Part::reading, u);
  return parts;
}

struct CertificateValue {
  double correction = 0;
  double standard_uncertainty = 0;
};

CertificateValue value_of(const CertificatePoint& point) noexcept {
  return {point.correction, point.expanded_uncertainty / point.coverage_factor};
}

/// Straight line in ln(value) between the two neighbouring points; the nearest point outside them.
CertificateValue certificate_at(const Instrument& instrument, const Reading& reading) noexcept {
  const CertificatePoint* below = nullptr;
  const CertificatePoint* above = nullptr;
  for (const CertificatePoint& point : instrument.certificate) {  // sorted by value
    if (point.quantity != reading.quantity || !same_voltage(point.test_voltage_volt, reading.test_voltage_volt))
      continue;
    if (point.value <= reading.value) below = &point;
    if (point.value >= reading.value && above == nullptr) above = &point;
  }
  if (below == nullptr && above == nullptr) return {};
  if (below == nullptr || above == nullptr || below == above) return value_of(below != nullptr ? *below : *above);
  const double share = std::log(reading.value / below->value) / std::log(above->value / below->value);
  const CertificateValue low = value_of(*below);
  const CertificateValue high = value_of(*above);
  return {low.correction + share * (high.correction - low.correction),
          low.standard_uncertainty + share * (high.standard_uncertainty - low.standard_uncertainty)};
}

void correct(Quantity& quantity, const Instrument& instrument, const Reading& reading) noexcept {
  const CertificateValue certificate = certificate_at(instrument, reading);
  quantity.value *= (1 + instrument.correction) * (1 + certificate.correction);
  const double size = quantity.scale == Scale::log ? 1.0 : std::abs(quantity.value);
  quantity.parts.set(Part::certificate, certificate.standard_uncertainty * size);
}

/// An over-range display becomes a bound where the sheet gives the ceiling at this test voltage.
void settle_overload(Quantity& quantity, Findings& findings, const Instrument& instrument, Reading& reading) noexcept {
  if (reading.censoring != Censoring::overload) return;
  const double bound = ceiling(instrument, reading.quantity, reading.test_voltage_volt);
  if (!std::isfinite(bound)) {
    findings.add(Finding::ceiling_unknown);
    return;
  }
  reading.value = bound;
  reading.censoring = Censoring::above;
  quantity = started(reading);
}

void settle_zero(Quantity& quantity, const Instrument& instrument, Reading& reading) noexcept {
  if (reading.censoring != Censoring::exact || reading.value != 0 || !(instrument.reads_zero_below > 0)) return;
  reading.value = instrument.reads_zero_below;
  reading.censoring = Censoring::below;
  quantity = started(reading);
}

bool voltage_sags(const Instrument& instrument, const Quantity& quantity, double test_voltage_volt) noexcept {
  return quantity.value < test_voltage_volt / instrument.source_ampere;  // false where either is unknown
}

}  // namespace

Parts sheet_parts(const Range& range, const Statement& statement, double factor, const Reading& reading) noexcept {
  const formula::SheetUncertainty u =
      formula::sheet_uncertainty({.reading_percent = range.reading_percent,
                                  .range_percent = range.range_percent,
                                  .range_high = range.high,
                                  .counts = range.counts,
                                  .display_step = range.display_step,
                                  .gain_share = range.gain_share,
                                  .factor = factor,
                                  .divisor = statement.divisor()},
                                 reading.value, facts(reading.quantity).scale == Scale::log, reading.decision_value);
  Parts parts;
  parts.set(Part::gain, u.gain);
  parts.set(Part::reading, u.reading);
  return parts;
}

const Range* range_of(const Instrument& instrument, const Reading& reading) noexcept {
  const Range* found = nullptr;
  const double size = facts(reading.quantity).scale == Scale::log ? reading.value : std::abs(reading.value);
  for (const Range& range : instrument.ranges) {
    if (!fits(range, reading.quantity, reading.test_voltage_volt) || !(size <= range.high)) continue;
    if (found == nullptr || range.high < found->high) found = &range;
  }
  return found;
}

double ceiling(const Instrument& instrument, QuantityKind quantity, double test_voltage_volt) noexcept {
  double highest = nan;
  for (const Range& range : instrument.ranges)
    if (fits(range, quantity, test_voltage_volt)) highest = std::fmax(highest, range.high);
  return highest;
}

Measured quantity(const Instrument& instrument, const Reading& as_shown, const Settings& settings) noexcept {
  Reading reading = as_shown;
  Measured measured{.quantity = started(reading), .findings = {}};
  settle_overload(measured.quantity, measured.findings, instrument, reading);
  settle_zero(measured.quantity, instrument, reading);
  if (!has_value(measured.quantity.status)) return measured;

  const double factor = accuracy_factor(instrument, reading.ambient_celsius, settings);
  if (factor > 1) measured.findings.add(Finding::ambient_outside_reference);
  const Range* range = range_of(instrument, reading);
  if (range == nullptr) {
    const bool listed =
        std::ranges::any_of(instrument.ranges, [&](const Range& line) { return line.quantity == reading.quantity; });
    measured.findings.add(Finding::sheet_missing);
    if (listed)
      measured.findings.add(std::isnan(ceiling(instrument, reading.quantity, reading.test_voltage_volt)) &&
                                    std::isnan(reading.test_voltage_volt)
                                ? Finding::test_voltage_missing
                                : Finding::outside_sheet_range);
    measured.quantity.parts = class_parts(reading, settings);
    settle_sign(measured.quantity, reading.resolution);
  } else {
    if (std::abs(reading.value) < range->low && reading.censoring == Censoring::exact)
      measured.findings.add(Finding::outside_sheet_range);
    settle_sign(measured.quantity, range->display_step > 0 ? range->display_step : reading.resolution);
    reading.value = measured.quantity.value;
    measured.quantity.parts = sheet_parts(*range, instrument.statement, factor, reading);
  }
  correct(measured.quantity, instrument, reading);
  if (reading.quantity == QuantityKind::insulation_resistance &&
      voltage_sags(instrument, measured.quantity, reading.test_voltage_volt))
    measured.findings.add(Finding::at_reduced_voltage);
  return measured;
}

Measured quantity(const Reading& reading, const Settings& settings) noexcept {
  Measured measured{.quantity = started(reading), .findings = Finding::instrument_missing};
  if (reading.censoring == Censoring::overload) measured.findings.add(Finding::ceiling_unknown);
  if (!has_value(measured.quantity.status)) return measured;
  settle_sign(measured.quantity, reading.resolution);
  measured.quantity.parts = class_parts(reading, settings);
  return measured;
}

Quantity quantity(const Range& range, const Reading& reading) noexcept {
  Quantity quantity = started(reading);
  if (!has_value(quantity.status)) return quantity;
  settle_sign(quantity, range.display_step);
  Reading settled = reading;
  settled.value = quantity.value;
  quantity.parts = sheet_parts(range, Statement{}, 1, settled);
  return quantity;
}

}  // namespace ohmward::instruments
