#include "ohmward/battery/pair.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/normal.hpp"

namespace ohmward::battery {
namespace {

constexpr double shipped_healthy_difference_volt = 0.05;  // Source: `pair-imbalance`

/// The difference counts as imbalance where it is beyond the healthy one with this probability.
constexpr double imbalance_probability = 0.975;

std::vector<Candidate> doubled(std::span<const Candidate> candidates) {
  std::vector<Candidate> both(candidates.begin(), candidates.end());
  for (Candidate& candidate : both) candidate.cells *= 2;
  return both;
}

double highest_resting_volt(const Battery& battery) {
  double highest = -infinity;
  for (const Candidate& candidate : battery.candidates())
    for (const auto& curve : candidate.type.curves)
      highest =
          std::max(highest, candidate.cells * *std::max_element(curve->cell_volt().begin(), curve->cell_volt().end()));
  return highest;
}

}  // namespace

Pair::Pair(Parts parts)
    : battery_(std::move(parts.battery)),
      both_(doubled(battery_.candidates())),
      healthy_difference_volt_(std::isnan(parts.healthy_difference_volt) ? shipped_healthy_difference_volt
                                                                         : parts.healthy_difference_volt) {
  if (!(healthy_difference_volt_ > 0 && std::isfinite(healthy_difference_volt_)))
    throw InvalidParameter("healthy_difference_volt", healthy_difference_volt_, "above 0");
}

PairState Pair::at_rest(const PairReading& reading) const {
  PairState state;
  const double own = reading.standard_uncertainty_volt, gain = reading.gain_relative_standard_uncertainty;
  const bool has_a = !std::isnan(reading.a_volt), has_b = !std::isnan(reading.b_volt),
             has_sum = !std::isnan(reading.sum_volt);
  if (!(own >= 0) || !(gain >= 0) || !(has_a || has_b || has_sum)) {
    if (own < 0 || gain < 0) state.status = Status::out_of_domain;
    return state;
  }
  const auto rested = [&](const Battery& battery, double volt, double readings) {
    return battery.at_rest({.voltage_volt = volt,
                            .standard_uncertainty_volt = std::hypot(own * std::sqrt(readings), gain * volt),
                            .celsius = reading.celsius,
                            .celsius_standard_uncertainty_kelvin = reading.celsius_standard_uncertainty_kelvin,
                            .rest_hour = reading.rest_hour,
                            .history = reading.history});
  };
  if (!has_a && !has_b) {
    state.sum = rested(both_, reading.sum_volt, 1);
    state.findings = state.sum.findings;
    state.findings.add(Finding::pair_not_examined);
    state.status = Status::bound_only;
    state.weaker_may_be_volt = reading.sum_volt - highest_resting_volt(battery_);
    return state;
  }
  const bool one_from_sum = !(has_a && has_b) && has_sum;
  const double a = has_a ? reading.a_volt : reading.sum_volt - reading.b_volt;
  const double b = has_b ? reading.b_volt : reading.sum_volt - reading.a_volt;
  state.a = rested(battery_, a, has_a ? 1 : 2);
  state.b = rested(battery_, b, has_b ? 1 : 2);
  state.findings = state.a.findings;
  state.findings.add(state.b.findings);
  state.status = Status::sound;
  if (std::isnan(a) || std::isnan(b)) {
    state.findings.add(Finding::pair_not_examined);
    state.status = Status::bound_only;
    return state;
  }
  const double difference = a - b;
  // A and B each carry one reading of their own; where B is sum − A, A counts twice: A − B = 2A − sum.
  const double own_difference = own * std::sqrt(one_from_sum ? 5.0 : 2.0);
  state.imbalance_volt = {difference, std::hypot(own_difference, gain * difference)};
  const double u = state.imbalance_volt.standard_uncertainty;
  if (u > 0) {
    state.probability_imbalanced = numerics::normal_probability((-healthy_difference_volt_ - difference) / u) +
                                   numerics::normal_probability((difference - healthy_difference_volt_) / u);
    if (state.probability_imbalanced > imbalance_probability) state.findings.add(Finding::imbalance);
  }
  if (has_a && has_b && has_sum) {
    const double open = a + b - reading.sum_volt;
    state.closure_volt = {open, std::hypot(own * std::sqrt(3.0), gain * open)};
    if (std::abs(open) > 3 * state.closure_volt.standard_uncertainty) state.status = Status::contradiction;
  }
  return state;
}

}  // namespace ohmward::battery
