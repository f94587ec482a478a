#include "ohmward/insulation/ratio.hpp"

#include <cmath>

namespace ohmward::insulation {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

/// +1: the true value lies above what is shown, -1 below, 0 at it.
int direction(Censoring censoring) noexcept {
  if (censoring == Censoring::above) return 1;
  return censoring == Censoring::below ? -1 : 0;
}

enum class Against : std::int8_t { not_above, above, open };

Against against_ceiling(const Quantity& reading) noexcept {
  if (!has_value(reading.status) || std::isnan(reading.value)) return Against::open;
  const bool beyond = reading.value > index_criterion_ceiling_ohm;
  if (reading.censoring == Censoring::exact) return beyond ? Against::above : Against::not_above;
  if (reading.censoring == Censoring::above) return beyond ? Against::above : Against::open;
  if (reading.censoring == Censoring::below) return beyond ? Against::open : Against::not_above;
  return Against::open;
}

Quantity nothing(Status reason) noexcept { return {.scale = Scale::log, .status = reason}; }

}  // namespace

Quantity ratio(const Spots& spots) noexcept {
  const Quantity& late = spots.late;
  const Quantity& early = spots.early;
  if (late.censoring == Censoring::overload || early.censoring == Censoring::overload)
    return nothing(Status::unknown_bound);
  const Status status = worse(late.status, early.status);
  if (!has_value(status)) return nothing(status);
  if (std::isnan(late.value) || std::isnan(early.value)) return nothing(Status::missing_input);
  const double value = late.value / early.value;
  if (!(late.value > 0) || !(early.value > 0) || !std::isfinite(value)) return nothing(Status::out_of_domain);

  const int up = direction(late.censoring);
  const int down = -direction(early.censoring);
  if (up * down < 0) return nothing(Status::unknown_bound);
  Quantity result{.value = value, .scale = Scale::log, .status = status};
  const int towards = up + down;
  if (towards != 0) {
    result.censoring = towards > 0 ? Censoring::above : Censoring::below;
    result.status = worse(Status::bound_only, status);
  }
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
