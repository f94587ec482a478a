#include "ohmward/battery/pack.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
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

/// Distribution of a module's charge minus the middle's: a mixture over the levels.
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
  }

  [[nodiscard]] double below(double difference) const {
    double sum = 0, weights = 0;
    for (std::size_t i = 0; i < levels_.size(); ++i) {
      const ChargePosterior& posterior = posteriors_[i];
      if (posterior.empty()) continue;
      sum += levels_[i].weight * posterior.cumulative(std::clamp(levels_[i].charge + difference, 0.0, 1.0));
      weights += levels_[i].weight;
    }
    return weights > 0 ? sum / weights : nan;
  }

  [[nodiscard]] double quantile(double level) const {
    double low = -1, high = 1;
    if (std::isnan(below(0))) return nan;
    for (int i = 0; i < 30; ++i) {
      const double middle = (low + high) / 2;
      (below(middle) < level ? low : high) = middle;
    }
    return (low + high) / 2;
  }

 private:
  std::span<const Level> levels_;
  std::vector<ChargePosterior> posteriors_;
};

void require(const PackReading& reading, const PackQuestion& question) {
  if (!(question.level > 0.5 && question.level < 1))
    throw InvalidParameter("level", question.level, "between 0.5 and 1");
  if (!(question.charge_difference > 0 && question.charge_difference < 1))
    throw InvalidParameter("charge_difference", question.charge_difference, "between 0 and 1");
  if (!reading.celsius.empty() && reading.celsius.size() != reading.voltage_volt.size())
    throw InvalidParameter("celsius", static_cast<double>(reading.celsius.size()), "one temperature a module, or none");
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

}  // namespace

PackState pack_at_rest(const PackReading& reading, const Battery& module, const PackQuestion& question) {
  require(reading, question);
  PackState state;
  state.modules.resize(reading.voltage_volt.size());
  std::vector<double> read;
  for (const double volt : reading.voltage_volt)
    if (!std::isnan(volt)) read.push_back(volt);
  if (read.empty() || std::isnan(reading.standard_uncertainty_volt)) return state;
  if (!(reading.standard_uncertainty_volt > 0) || !(reading.gain_relative_standard_uncertainty >= 0)) {
    state.status = Status::out_of_domain;
    return state;
  }
  const auto [least, greatest] = std::minmax_element(read.begin(), read.end());
  state.spread_volt = *greatest - *least;
  state.middle_volt = median_of(read);
  const RestingReading middle{
      .voltage_volt = state.middle_volt,
      .standard_uncertainty_volt =
          std::hypot(reading.standard_uncertainty_volt, reading.gain_relative_standard_uncertainty * state.middle_volt),
      .celsius = reading.pack_celsius,
      .rest_hour = reading.rest_hour,
      .history = reading.history};
  state.middle = module.at_rest(middle);
  if (state.middle.charge.empty()) {
    state.status = state.middle.status;
    return state;
  }
  const std::vector<Level> all = levels(module, middle, state.middle);
  const double reference = all.front().curve->reference_celsius();
  const double celsius = std::isnan(reading.pack_celsius) ? reference : reading.pack_celsius;
  // The pack's middle is read too: its own noise counts once, as that of a median.
  const double count = static_cast<double>(read.size()), own = reading.standard_uncertainty_volt;
  const double u_middle = own * std::sqrt(1.5707963267948966 / count);
  std::vector<double> differences(state.modules.size(), nan);
  for (std::size_t i = 0; i < state.modules.size(); ++i) {
    if (std::isnan(reading.voltage_volt[i])) continue;
    ModuleState& one = state.modules[i];
    double moved = 0;
    if (!reading.celsius.empty() && !std::isnan(reading.celsius[i])) {
      for (const Level& level : all)
        moved += level.weight * level.candidate->cells *
                 (level.curve->volt(level.charge, reading.celsius[i]) - level.curve->volt(level.charge, celsius));
    }
    const double difference = reading.voltage_volt[i] - state.middle_volt - moved;
    differences[i] = difference;
    one.difference_volt = {difference, std::sqrt(own * own + u_middle * u_middle +
                                                 std::pow(reading.gain_relative_standard_uncertainty * difference, 2))};
    decide(one, ChargeDifference(all, difference, one.difference_volt.standard_uncertainty, celsius), question);
  }
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
