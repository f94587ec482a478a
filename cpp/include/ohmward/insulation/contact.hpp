#pragma once

#include "ohmward/core/floating_point.hpp"
#include "ohmward/formula/contact.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::insulation {

using formula::Contact;

struct ContactEvidence {
  const uncertainty::Quantity& reading;
  uncertainty::Quantity capacitance{};  ///< as shown by the tester [F]
  double known_resistor_ohm = nan;      ///< its value, and what was read with it across the part
  double reading_with_resistor_ohm = nan;
  double lead_ohm = nan;  ///< low-ohm reading clip to metal
  bool charging_seen = false;
};

/// Where evidence begins: settings without a source.
struct ContactSettings {
  double leads_farad = formula::greatest_lead_farad;
  double resistor_relative_window = 0.2;  ///< how near the known resistor has to be read
  double lead_ceiling_ohm = 1;            ///< a clip that reads more touches no metal
};

/// The strongest evidence that was given. A missing or senseless piece of evidence is none.
[[nodiscard]] Contact contact(const ContactEvidence& evidence, const ContactSettings& settings = {}) noexcept;

}  // namespace ohmward::insulation
