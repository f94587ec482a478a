#include "c/hosted/quantity.hpp"

#include "c/hosted/law.hpp"
#include "ohmward/instruments/sheet.hpp"
#include "ohmward/temperature/to_reference.hpp"

namespace ohmward::c {

using uncertainty::part_facts;
static_assert(part_facts.size() <= sizeof(owd_quantity::part) / sizeof(double));

uncertainty::Quantity from_c(const owd_quantity& c) {
  uncertainty::Quantity q{.value = c.value,
                          .scale = enumeration("scale", c.scale, Scale::log),
                          .censoring = enumeration("censoring", c.censoring, Censoring::overload),
                          .status = static_cast<Status>(c.status),
                          .degrees_of_freedom = c.degrees_of_freedom};
  for (const uncertainty::PartFacts& facts : part_facts)
    q.parts.set(facts.part, c.part[static_cast<std::size_t>(facts.part)]);
  return q;
}

owd_quantity to_c(const uncertainty::Quantity& q) noexcept {
  owd_quantity c{.value = q.value,
                 .standard_uncertainty = q.standard_uncertainty(),
                 .part = {},
                 .degrees_of_freedom = q.degrees_of_freedom,
                 .scale = static_cast<std::int8_t>(q.scale),
                 .censoring = static_cast<owd_censoring>(q.censoring),
                 .status = static_cast<owd_status>(q.status),
                 .reserved = {}};
  for (const uncertainty::PartFacts& facts : part_facts)
    c.part[static_cast<std::size_t>(facts.part)] = q.parts[facts.part];
  return c;
}

namespace {

QuantityKind kind_of(int number) { return enumeration("quantity", number, quantity_kinds.back().kind); }

instruments::Instrument from_c(const owd_instrument& c) {
  instruments::Instrument meter;
  meter.id = "given";
  meter.statement = {.kind = enumeration("statement", c.statement, instruments::Statement::Kind::level),
                     .value = c.statement_value};
  meter.temperature_coefficient = c.temperature_coefficient;
  meter.reads_zero_below = c.reads_zero_below;
  meter.correction = c.correction;
  meter.ranges.reserve(c.range_count);
  for (std::uint32_t i = 0; i < c.range_count; ++i) {
    const owd_range& range = c.ranges[i];
    meter.ranges.push_back({.quantity = kind_of(range.quantity),
                            .test_voltage_volt = range.test_voltage_volt,
                            .low = range.low,
                            .high = range.high,
                            .display_step = range.display_step,
                            .reading_percent = range.reading_percent,
                            .counts = range.counts,
                            .range_percent = range.range_percent,
                            .gain_share = range.gain_share});
  }
  instruments::validate(meter);
  return meter;
}

instruments::Reading from_c(const owd_reading& c) {
  return {.quantity = kind_of(c.quantity),
          .value = c.value,
          .censoring = enumeration("censoring", c.censoring, Censoring::overload),
          .resolution = c.resolution,
          .test_voltage_volt = c.test_voltage_volt,
          .ambient_celsius = c.ambient_celsius,
          .decision_value = c.decision_value};
}

}  // namespace
}  // namespace ohmward::c

using namespace ohmward::c;

owd_error owd_quantity_of(const owd_instrument* instrument, const owd_reading* reading, owd_quantity* quantity,
                          uint64_t* findings) {
  return guarded([=] {
    if (quantity == nullptr) return failed(OWD_ERROR_NULL, "quantity");
    if (const owd_error error = readable(reading, "reading"); error != OWD_OK) return error;
    ohmward::instruments::Measured measured;
    if (instrument == nullptr) {
      measured = ohmward::instruments::quantity(from_c(*reading));
    } else {
      if (const owd_error error = readable(instrument, "instrument"); error != OWD_OK) return error;
      if (const owd_error error = there(instrument->range_count, instrument->ranges); error != OWD_OK) return error;
      measured = ohmward::instruments::quantity(from_c(*instrument), from_c(*reading));
    }
    *quantity = to_c(measured.quantity);
    if (findings != nullptr) *findings = measured.findings.bits();
    return owd_error{OWD_OK};
  });
}

owd_error owd_quantity_to_reference(const owd_quantity* quantity, const owd_law* law, const owd_conditions* conditions,
                                    owd_quantity* corrected) {
  return guarded([=] {
    if (quantity == nullptr || conditions == nullptr || corrected == nullptr)
      return failed(OWD_ERROR_NULL, "quantity, conditions or corrected");
    if (const owd_error error = readable(law, "law"); error != OWD_OK) return error;
    const ohmward::temperature::Law by = from_c(*law);
    *corrected = to_c(ohmward::temperature::to_reference(
        from_c(*quantity), {.law = by,
                            .part_celsius = conditions->part_celsius,
                            .standard_uncertainty_kelvin = conditions->standard_uncertainty_kelvin,
                            .reference_celsius = conditions->reference_celsius}));
    return owd_error{OWD_OK};
  });
}
