#include "ohmward/insulation/ratio.hpp"

#include <cmath>

#include "ohmward/formula/timed_run.hpp"

namespace ohmward::insulation {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

enum class Against : std::int8_t { not_above, above, open };

Against against_ceiling(const Quantity& reading) noexcept {
  if (!has_value(reading.status) || std::isnan(reading.value)) return Against::open;
  const bool beyond = reading.value > index_criterion_ceiling_ohm;
  if (reading.censoring == Censoring::exact) return beyond ? Against::above : Against::not_above;
  if (reading.censoring == Censoring::above) return beyond ? Against::above : Against::open;
  if (reading.censoring == Censoring::below) return beyond ? Against::open : Against::not_above;
  return Against::open;
}

formula::Spot spot(const Quantity& q) noexcept {
  return {.value = q.value, .censoring = q.censoring, .status = q.status};
}

}  // namespace

Quantity ratio(const Spots& spots) noexcept {
  const Quantity& late = spots.late;
  const Quantity& early = spots.early;
  const formula::SpotRatio of = formula::spot_ratio(spot(late), spot(early));
  Quantity result{.value = of.value, .scale = Scale::log, .censoring = of.censoring, .status = of.status};
  if (!has_value(of.status)) return result;
  for (const uncertainty::PartFacts& facts : uncertainty::part_facts) {
    if (facts.part == Part::gain && spots.same_range) {
      result.parts.set(Part::gain, std::abs(late.parts[Part::gain] - early.parts[Part::gain]));
      continue;
    }
    result.parts.set(facts.part, late.parts[facts.part]);
    result.parts.add(facts.part, early.parts[facts.part]);
  }
  result.degrees_of_freedom = std::fmin(late.degrees_of_freedom, early.degrees_of_freedom);
  return result;
}

IndexCriterion index_criterion(const OneMinuteReadings& readings) noexcept {
  const Against as_read = against_ceiling(readings.as_read);
  const Against corrected = against_ceiling(readings.at_40_celsius);
  if (as_read == Against::above && corrected == Against::above) return IndexCriterion::does_not_apply;
  if (as_read == Against::not_above && corrected == Against::not_above) return IndexCriterion::applies;
  return IndexCriterion::undetermined;
}

}  // namespace ohmward::insulation
