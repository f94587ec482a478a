#include "ohmward/insulation/contact.hpp"

#include <cmath>

namespace ohmward::insulation {

Contact contact(const ContactEvidence& evidence, const ContactSettings& settings) noexcept {
  const uncertainty::Quantity& reading = evidence.reading;
  const bool draws_current = (reading.censoring == Censoring::exact || reading.censoring == Censoring::below) &&
                             has_value(reading.status) && reading.value >= 0;
  if (draws_current) return Contact::by_reading;

  const uncertainty::Quantity& capacitance = evidence.capacitance;
  const double u = capacitance.standard_uncertainty();
  const double least = capacitance.value - (u > 0 ? 2 * u : 0.0);
  const bool bounded_below = capacitance.censoring == Censoring::exact || capacitance.censoring == Censoring::above;
  if (has_value(capacitance.status) && bounded_below && least > settings.leads_farad) return Contact::by_capacitance;

  // The part lies across the resistor: the reading may come out lower, never much higher.
  const double relative = evidence.reading_with_resistor_ohm / evidence.known_resistor_ohm - 1;
  if (evidence.known_resistor_ohm > 0 && std::abs(relative) <= settings.resistor_relative_window)
    return Contact::by_resistor;
  if (evidence.lead_ohm >= 0 && evidence.lead_ohm <= settings.lead_ceiling_ohm) return Contact::by_lead;
  return evidence.charging_seen ? Contact::by_charging : Contact::not_shown;
}

}  // namespace ohmward::insulation
