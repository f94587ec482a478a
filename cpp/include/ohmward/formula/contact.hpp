#pragma once

#include <cstdint>

namespace ohmward::formula {

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

/// More capacitance than this is no lead; truck motors have 3 to 20 nF. A setting without a source.
inline constexpr double greatest_lead_farad = 1e-9;

}  // namespace ohmward::formula
