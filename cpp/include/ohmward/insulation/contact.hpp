#pragma once

#include <cstdint>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::insulation {

/// What shows that the leads touched the part. Without it an over-range reading may be a reading of nothing: a clip on
/// paint, an open contactor.
enum class Contact : std::int8_t {
  not_shown = 0,
  by_reading = 1,      ///< the reading itself drew a current
  by_capacitance = 2,  ///< the tester saw more capacitance than its leads have
  by_resistor = 3,     ///< a known resistor across the part was read
  by_lead = 4,         ///< a low-ohm reading of the clip
  by_charging = 5,     ///< the part was seen charging
};

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
  double leads_farad = 1e-9;              ///< more than this is no lead; truck motors have 3 to 20 nF
  double resistor_relative_window = 0.2;  ///< how near the known resistor has to be read
  double lead_ceiling_ohm = 1;            ///< a clip that reads more touches no metal
};

/// The strongest evidence that was given. A missing or senseless piece of evidence is none.
[[nodiscard]] Contact contact(const ContactEvidence& evidence, const ContactSettings& settings = {}) noexcept;

}  // namespace ohmward::insulation
