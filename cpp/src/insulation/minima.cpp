#include "ohmward/insulation/minima.hpp"

#include <cmath>

#include "ohmward_tables/insulation_apparatus.hpp"
#include "ohmward_tables/insulation_bands.hpp"
#include "ohmward_tables/insulation_installations.hpp"
#include "ohmward_tables/insulation_minima_machines.hpp"
#include "ohmward_tables/insulation_minimum_index.hpp"
#include "ohmward_tables/insulation_test_voltages_machines.hpp"

namespace ohmward::insulation {
namespace {

std::string_view name(Winding winding) noexcept {
  switch (winding) {
    case Winding::before_1970_field_or_other: return "before_1970_field_or_other";
    case Winding::form_wound: return "form_wound";
    case Winding::random_wound: return "random_wound";
    case Winding::form_wound_below_1000_volt: return "form_wound_below_1000_volt";
    case Winding::dc_armature: return "dc_armature";
  }
  return "";
}

std::string_view name(Index index) noexcept {
  switch (index) {
    case Index::polarisation: return "polarisation";
    case Index::absorption_60_30: return "absorption_60_30";
    case Index::dielectric_discharge: return "dielectric_discharge";
  }
  return "";
}

/// Missing, impossible or sound.
Status rating_status(double volt) noexcept {
  if (std::isnan(volt)) return Status::missing_input;
  return volt > 0 && std::isfinite(volt) ? Status::sound : Status::out_of_domain;
}

}  // namespace

TableFigure machine_minimum_ohm(const Machine& machine) noexcept {
  using namespace tables::insulation_minima_machines;
  for (std::size_t i = 0; i < rows; ++i) {
    if (winding[i] != name(machine.winding) || edition[i] != static_cast<double>(machine.edition)) continue;
    const bool rating_counts = ohm_per_volt[i] > 0;
    const Status status = rating_counts ? rating_status(machine.rated_volt) : Status::sound;
    if (!has_value(status)) return {.status = status};
    const double by_rating = rating_counts ? ohm_per_volt[i] * machine.rated_volt : 0;
    return {.value = fixed_ohm[i] + by_rating, .status = Status::sound, .source = source[i]};
  }
  return {};
}

TableFigure minimum_polarisation_index(const ThermalClass& thermal_class) noexcept {
  namespace table = tables::insulation_minimum_index;
  if (std::isnan(thermal_class.celsius)) return {.status = Status::missing_input};
  constexpr double highest_listed = 180;
  const double listed = std::fmin(thermal_class.celsius, highest_listed);
  for (std::size_t i = 0; i < table::rows; ++i)
    if (table::thermal_class[i] == listed && table::edition[i] == static_cast<double>(thermal_class.edition))
      return {.value = table::minimum[i], .status = Status::sound, .source = table::source[i]};
  return {};
}

TestFigure machine_test_voltage(double rated_volt) noexcept {
  using namespace tables::insulation_test_voltages_machines;
  const Status status = rating_status(rated_volt);
  if (!has_value(status)) return {.status = status};
  std::size_t i = 0;
  while (i + 1 < rows && rated_volt >= rated_from_volt[i + 1]) ++i;
  return {.test_low_volt = test_low_volt[i],
          .test_high_volt = test_high_volt[i],
          .status = Status::sound,
          .source = source[i]};
}

TestFigure apparatus_test(double rated) noexcept {
  using namespace tables::insulation_apparatus;
  const Status status = rating_status(rated);
  if (!has_value(status)) return {.status = status};
  std::size_t i = 0;
  while (i + 1 < rows && rated > rated_volt[i]) ++i;
  return {.test_low_volt = test_volt[i],
          .test_high_volt = test_volt[i],
          .minimum_ohm = minimum_ohm[i],
          .status = Status::sound,
          .source = source[i]};
}

TestFigure installation_test(double nominal_volt) noexcept {
  using namespace tables::insulation_installations;
  const Status status = rating_status(nominal_volt);
  if (!has_value(status)) return {.status = status};
  for (std::size_t i = 0; i < rows; ++i)
    if (nominal_volt > above_volt[i] && nominal_volt <= up_to_volt[i])
      return {.test_low_volt = test_volt[i],
              .test_high_volt = test_volt[i],
              .minimum_ohm = minimum_ohm[i],
              .status = Status::sound,
              .source = source[i]};
  return {};
}

Band band(Index index, double value) noexcept {
  namespace table = tables::insulation_bands;
  if (std::isnan(value)) return {};
  if (!(value >= 0)) return {.status = Status::out_of_domain};
  Band found;
  for (std::size_t i = 0; i < table::rows; ++i) {
    if (table::index[i] != name(index)) continue;
    if (value >= table::from[i]) {
      found = {.from = table::from[i],
               .to = infinity,
               .word = table::word[i],
               .status = Status::sound,
               .source = table::source[i]};
    } else if (found.to == infinity) {
      found.to = table::from[i];
    }
  }
  return found;
}

}  // namespace ohmward::insulation
