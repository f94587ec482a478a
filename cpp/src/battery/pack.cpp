#include "ohmward/battery/pack.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <numbers>
#include <numeric>

#include "ohmward/battery/stand_out.hpp"
#include "ohmward/core/errors.hpp"
#include "resting_voltage.hpp"

namespace ohmward::battery {
namespace {

constexpr std::size_t charges_a_curve = 48;  // equally probable charges of the pack's middle
const double decisive_log_odds = std::log(1000.0);

double median_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return (*middle + *std::max_element(values.begin(), middle)) / 2;
}

/// One curve alone, exact but for the reading: what the pack shares has been taken out.
Battery bare(const Candidate& candidate, std::size_t curve) {
  Candidate one = candidate;
  one.type.curves = {candidate.type.curves[curve]};
  return Battery({std::move(one)});
}

/// A charge that the pack's middle may have, on one curve.
struct Level {
  double charge, weight;
  const Candidate* candidate;
  const OpenCircuitCurve* curve;
};

std::vector<Level> levels(const Battery& module, const RestingReading& middle, const RestState& state) {
  std::vector<Level> all;
  for (const ChargePosterior::Component& component : state.charge.components()) {
    const Candidate& candidate = module.candidates()[component.type];
    const RestState alone = bare(candidate, component.curve).at_rest(middle);
    if (alone.charge.empty()) continue;
    for (std::size_t i = 0; i < charges_a_curve; ++i) {
      const double level = (static_cast<double>(i) + 0.5) / charges_a_curve;
      all.push_back({alone.charge.quantile(level), component.mass / state.charge.total() / charges_a_curve, &candidate,
                     candidate.type.curves[component.curve].get()});
    }
  }
  return all;
}

/// Distribution of a module's charge minus the middle's: a mixture over the levels. Of a voltage more than 3 u outside
/// a curve it is only known on which side it lies: beyond the lowest or the highest charge.
class ChargeDifference {
 public:
  ChargeDifference(std::span<const Level> levels, double difference_volt, double standard_uncertainty_volt,
                   double celsius)
      : levels_(levels) {
    posteriors_.reserve(levels.size());
    for (const Level& level : levels) {
      const int cells = level.candidate->cells;
      const double hysteresis = cells * level.candidate->type.rest.hysteresis_volt;
      const double u = std::hypot(standard_uncertainty_volt, hysteresis);
      posteriors_.push_back(posterior_on_curve(
          *level.curve, cells, cells * level.curve->volt(level.charge, celsius) + difference_volt, u, celsius));
    }
    above_ = difference_volt > 0;
  }

  [[nodiscard]] double below(double difference) const {
    double sum = 0, weights = 0;
    for (std::size_t i = 0; i < levels_.size(); ++i) {
      const double charge = levels_[i].charge + difference;
      const double outside = charge >= (above_ ? 1.0 : 0.0) ? 1.0 : 0.0;
      sum += levels_[i].weight *
             (posteriors_[i].empty() ? outside : posteriors_[i].cumulative(std::clamp(charge, 0.0, 1.0)));
      weights += levels_[i].weight;
    }
    return sum / weights;
  }

  /// NaN where no level gives it a charge.
  [[nodiscard]] double quantile(double level) const {
    if (std::all_of(posteriors_.begin(), posteriors_.end(), [](const auto& posterior) { return posterior.empty(); }))
      return nan;
    double low = -1, high = 1;
    for (int i = 0; i < 30; ++i) {
      const double middle = (low + high) / 2;
      (below(middle) < level ? low : high) = middle;
    }
    return (low + high) / 2;
  }

 private:
  std::span<const Level> levels_;
  std::vector<ChargePosterior> posteriors_;
  bool above_ = false;
};

void require(const PackReading& reading, const PackQuestion& question) {
  if (!(question.level > 0.5 && question.level < 1))
    throw InvalidParameter("level", question.level, "between 0.5 and 1");
  if (!(question.charge_difference > 0 && question.charge_difference < 1))
    throw InvalidParameter("charge_difference", question.charge_difference, "between 0 and 1");
  if (!reading.celsius.empty() && reading.celsius.size() != reading.voltage_volt.size())
    throw InvalidParameter("celsius", static_cast<double>(reading.celsius.size()), "one temperature a module, or none");
}

RestingReading resting_reading(const PackReading& reading, double volt) {
  return {.voltage_volt = volt,
          .standard_uncertainty_volt =
              std::hypot(reading.standard_uncertainty_volt, reading.gain_relative_standard_uncertainty * volt),
          .celsius = reading.pack_celsius,
          .rest_hour = reading.rest_hour,
          .history = reading.history};
}

double pack_celsius(const PackReading& reading, std::span<const Level> levels) {
  return std::isnan(reading.pack_celsius) ? levels.front().curve->reference_celsius() : reading.pack_celsius;
}

/// How far a module's own temperature moves its voltage against the pack's.
Estimate moved_by_temperature(const PackReading& reading, std::size_t module, std::span<const Level> levels) {
  if (reading.celsius.empty() || std::isnan(reading.celsius[module])) return {0, 0};
  const double celsius = pack_celsius(reading, levels), kelvin = reading.celsius[module] - celsius;
  double moved = 0, variance = 0;
  for (const Level& level : levels) {
    const double cells = level.candidate->cells;
    const double by_coefficient = level.curve->volt_per_kelvin_standard_uncertainty() * kelvin;
    const double by_celsius = level.curve->largest_volt_per_kelvin() * reading.celsius_standard_uncertainty_kelvin;
    moved += level.weight * cells *
             (level.curve->volt(level.charge, celsius + kelvin) - level.curve->volt(level.charge, celsius));
    variance += level.weight * cells * cells * (by_coefficient * by_coefficient + by_celsius * by_celsius);
  }
  return {moved, std::sqrt(variance)};
}

void decide(ModuleState& state, const ChargeDifference& difference, const PackQuestion& question) {
  state.charge_difference_median = difference.quantile(0.5);
  state.charge_difference_low = difference.quantile((1 - question.level) / 2);
  state.charge_difference_high = difference.quantile((1 + question.level) / 2);
  state.probability_differs =
      difference.below(-question.charge_difference) + 1 - difference.below(question.charge_difference);
  state.decision = state.probability_differs > question.level       ? ChargeDecision::differs
                   : state.probability_differs < 1 - question.level ? ChargeDecision::alike
                                                                    : ChargeDecision::not_decidable;
}

void tell_charge_spread(const PackReading& reading, const Battery& module, const PackQuestion& question,
                        std::span<const double> differences, PackState& state) {
  std::size_t least = differences.size(), greatest = differences.size();
  for (std::size_t i = 0; i < differences.size(); ++i) {
    if (std::isnan(differences[i])) continue;
    if (least == differences.size() || differences[i] < differences[least]) least = i;
    if (greatest == differences.size() || differences[i] > differences[greatest]) greatest = i;
  }
  const RestingReading lowest = resting_reading(reading, state.middle_volt + differences[least]);
  const RestState at_lowest = module.at_rest(lowest);
  if (at_lowest.charge.empty()) return;
  const std::vector<Level> all = levels(module, lowest, at_lowest);
  const double apart = differences[greatest] - differences[least];
  const double by_temperature = std::hypot(moved_by_temperature(reading, least, all).standard_uncertainty,
                                           moved_by_temperature(reading, greatest, all).standard_uncertainty);
  const double u = std::hypot(reading.standard_uncertainty_volt * std::numbers::sqrt2, by_temperature,
                              reading.gain_relative_standard_uncertainty * apart);
  const ChargeDifference spread(all, apart, u, pack_celsius(reading, all));
  state.charge_spread_median = spread.quantile(0.5);
  state.charge_spread_low = spread.quantile((1 - question.level) / 2);
  state.charge_spread_high = spread.quantile((1 + question.level) / 2);
}

}  // namespace

PackState pack_at_rest(const PackReading& reading, const Battery& module, const PackQuestion& question) {
  require(reading, question);
  PackState state;
  state.modules.resize(reading.voltage_volt.size());
  std::vector<double> read;
  for (const double volt : reading.voltage_volt)
    if (std::isfinite(volt)) read.push_back(volt);
  if (read.empty() || std::isnan(reading.standard_uncertainty_volt)) return state;
  if (!(reading.standard_uncertainty_volt > 0) || !(reading.gain_relative_standard_uncertainty >= 0) ||
      !(reading.celsius_standard_uncertainty_kelvin >= 0)) {
    state.status = Status::out_of_domain;
    return state;
  }
  const auto [least, greatest] = std::minmax_element(read.begin(), read.end());
  state.spread_volt = *greatest - *least;
  state.middle_volt = median_of(read);
  const RestingReading middle = resting_reading(reading, state.middle_volt);
  state.middle = module.at_rest(middle);
  if (state.middle.charge.empty()) {
    state.status = state.middle.status;
    return state;
  }
  const std::vector<Level> all = levels(module, middle, state.middle);
  // The pack's middle is read too: its own noise counts once, as that of a median.
  const double own = reading.standard_uncertainty_volt;
  const double u_middle = own * std::sqrt(std::numbers::pi / 2 / static_cast<double>(read.size()));
  const double gain = reading.gain_relative_standard_uncertainty, celsius = pack_celsius(reading, all);
  std::vector<double> differences(state.modules.size(), nan);
  for (std::size_t i = 0; i < state.modules.size(); ++i) {
    if (!std::isfinite(reading.voltage_volt[i])) continue;
    ModuleState& one = state.modules[i];
    const Estimate moved = moved_by_temperature(reading, i, all);
    differences[i] = reading.voltage_volt[i] - state.middle_volt - moved.value;
    one.difference_volt = {differences[i],
                           std::hypot(std::hypot(own, u_middle, moved.standard_uncertainty), gain * differences[i])};
    decide(one, ChargeDifference(all, differences[i], one.difference_volt.standard_uncertainty, celsius), question);
  }
  tell_charge_spread(reading, module, question, differences, state);
  const StandOut named = stand_out(differences, {.risk = question.risk, .least_spread = own});
  state.status = named.status;
  for (std::size_t i = 0; i < state.modules.size(); ++i) state.modules[i].stands_out = named.which[i];
  return state;
}

namespace {

/// Sum of squared changes about their median where module i of now is compared with i − shift of earlier from `first`
/// on.
double misfit(const LagInput& input, int lag, std::size_t first, std::size_t from, std::size_t to) {
  std::vector<double> change;
  for (std::size_t i = from; i < to; ++i) {
    const std::size_t other = i >= first ? static_cast<std::size_t>(static_cast<std::ptrdiff_t>(i) - lag) : i;
    change.push_back(input.now_volt[i] - input.earlier_volt[other]);
  }
  const double level = median_of(change);
  return std::accumulate(change.begin(), change.end(), 0.0,
                         [level](double sum, double one) { return sum + (one - level) * (one - level); });
}

}  // namespace

LagTest lag_test(const LagInput& input) {
  if (input.now_volt.size() != input.earlier_volt.size())
    throw InvalidParameter("earlier_volt", static_cast<double>(input.earlier_volt.size()),
                           "as many modules as now_volt");
  if (!(input.standard_uncertainty_volt > 0))
    throw InvalidParameter("standard_uncertainty_volt", input.standard_uncertainty_volt, "above 0");
  LagTest result;
  const std::size_t count = input.now_volt.size();
  if (count < 6) return result;
  for (std::size_t i = 0; i < count; ++i)
    if (std::isnan(input.now_volt[i]) || std::isnan(input.earlier_volt[i])) {
      result.status = Status::missing_input;
      return result;
    }
  result.status = Status::sound;
  double best = -infinity;
  int best_lag = 0;
  std::size_t best_first = 0;
  for (const int lag : {1, -1}) {
    // All comparisons of a lag use the same modules: the first and the last have no partner under a shift.
    const std::size_t from = lag == 1 ? 1 : 0, to = lag == 1 ? count : count - 1;
    const double unshifted = misfit(input, 0, count, from, to);
    for (std::size_t first = from; first + 2 < to; ++first) {
      const double gain = (unshifted - misfit(input, lag, first, from, to)) / 2 / input.standard_uncertainty_volt /
                          input.standard_uncertainty_volt;
      if (gain > best) {
        best = gain;
        best_lag = lag;
        best_first = first;
      }
    }
  }
  result.log_odds = best - std::log(2.0 * static_cast<double>(count));
  if (result.log_odds > decisive_log_odds) {
    result.lag = best_lag;
    result.first_shifted = best_first;
  }
  return result;
}

}  // namespace ohmward::battery
