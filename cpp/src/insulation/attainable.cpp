#include "ohmward/insulation/attainable.hpp"

#include <cmath>

namespace ohmward::insulation {

AttainableRatio attainable_ratio(const Showing& showing) noexcept {
  const uncertainty::Quantity& early = showing.early;
  const bool open_above = early.censoring == Censoring::above || early.censoring == Censoring::overload;
  if (!open_above && !has_value(early.status)) return {.status = early.status};
  constexpr double generous_multiple = 2;
  const double u = early.standard_uncertainty();
  const double ohm = open_above ? 1.0 : early.value * numerics::exp(u > 0 ? generous_multiple * u : 0.0);
  const Checked<double> ratio = formula::attainable_ratio({.early_ohm = ohm,
                                                           .capacitance_farad = showing.capacitance.high_farad,
                                                           .early_second = showing.times.early_second,
                                                           .late_second = showing.times.late_second,
                                                           .loss_factor = showing.loss_factor,
                                                           .absorption_exponent = showing.absorption_exponent});
  const bool inputs_are_possible = ratio.has_value() || ratio.status == Status::not_applicable;
  if (!inputs_are_possible) return {.status = ratio.status};
  if (open_above || ratio.status == Status::not_applicable) return {.value = infinity, .status = Status::sound};
  return {.value = ratio.value, .status = Status::sound};
}

}  // namespace ohmward::insulation
