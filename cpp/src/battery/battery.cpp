#include "ohmward/battery/battery.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <thread>

#include "log_quadratic.hpp"
#include "normal_tail.hpp"
#include "ohmward/core/errors.hpp"
#include "resting_voltage.hpp"

namespace ohmward::battery {
namespace {

constexpr double outside_standard_uncertainties = 3;
constexpr double contradiction_exponent = -8;          // prior and reading 4 u apart
constexpr double farthest_standard_uncertainties = 6;  // beyond it a segment holds less than 1e-6 of the probability
constexpr double lowest_exponent = -22;                // the same with a prior
constexpr double shortest_step = 1e-3;                 // in standard uncertainties
constexpr double told_level = 0.95;                    // of the interval whose width the status tells
constexpr double wide_interval = 0.5;

/// How near one curve comes to a reading.
struct CurveFit {
  double standard_uncertainty_volt = nan;  ///< of the whole battery's voltage
  double distance = infinity;              ///< least |V − OCV| / u
  bool above = false;                      ///< the reading lies above the curve there
  double agreement = -infinity;            ///< greatest exponent of prior times likelihood, each relative to its peak
};

double highest(const ChargePrior& prior) noexcept {
  double peak = -infinity;
  for (const DensityPiece& piece : prior.pieces()) {
    const LogQuadratic q{piece.constant, piece.linear, piece.quadratic};
    peak = std::max(peak, q.log_density(q.mode(piece.width)));
  }
  return peak;
}

/// What the fit of one curve needs besides the curve.
struct FitInput {
  double open_circuit_volt;          ///< of the whole battery
  double standard_uncertainty_volt;  ///< above 0
  double celsius;
  int cells;
  double log_weight;
  const ChargePrior& prior;
  double prior_peak;
};

void fill(DensityPiece& piece, double start, double width, const LogQuadratic& density) noexcept {
  piece.start = start;
  piece.width = width;
  piece.constant = density.constant;
  piece.linear = density.linear;
  piece.quadratic = density.quadratic;
  piece.mass = density.integral(width);
  piece.centre = start + width / 2;
  piece.variance = width * width / 12;
}

/// Adds likelihood times prior on one segment, cut where the prior's pieces meet.
void add_with_prior(ChargePosterior& posterior, double start, double width, const LogQuadratic& likelihood,
                    const FitInput& input, double log_peak, CurveFit& result) {
  const double end = start + width;
  for (const DensityPiece& piece : input.prior.pieces()) {
    const double from = std::max(start, piece.start), to = std::min(end, piece.start + piece.width);
    if (!(to > from)) continue;
    const LogQuadratic product = moved_to(likelihood, from - start) *
                                 moved_to({piece.constant, piece.linear, piece.quadratic}, from - piece.start);
    const double agreement = product.log_density(product.mode(to - from)) - log_peak - input.prior_peak;
    result.agreement = std::max(result.agreement, agreement);
    if (agreement < lowest_exponent) continue;
    fill(posterior.add_piece(), from, to - from, product);
  }
}

/// One end of a segment: its distance from the reading, and the tail of the normal distribution beyond it.
struct Knot {
  double z;
  double tail;
};

/// Probability of a standard normal value between two knots.
double probability_between(const Knot& a, const Knot& b) noexcept {
  if ((a.z < 0) != (b.z < 0)) return 1 - a.tail - b.tail;
  return std::abs(a.tail - b.tail);
}

/// A segment under a flat prior: a part of a normal distribution of `height` a standard uncertainty.
void fill(DensityPiece& piece, double start, double width, const Knot& here, const Knot& next, double height) noexcept {
  const double step = next.z - here.z, probability = probability_between(here, next), by_z = width / step;
  piece.start = start;
  piece.width = width;
  piece.z = here.z;
  piece.slope = step / width;
  piece.scale = height * by_z;
  piece.below_start = normal_below(here.z, here.tail);
  piece.mass = height * probability * std::abs(by_z);
  piece.centre = start + width / 2;
  piece.variance = width * width / 12;
  if (std::abs(step) > 1 && probability > 0) {  // wider than its normal distribution
    const double mean_z = (normal_at(here.z).density - normal_at(next.z).density) / std::copysign(probability, step);
    piece.centre = start + std::clamp((mean_z - here.z) * by_z, 0.0, width);
    piece.variance = std::min(piece.variance, by_z * by_z);
  }
}

/// Adds prior times likelihood on one curve to `posterior`; segments too far from the reading are left out.
CurveFit add_curve(const OpenCircuitCurve& curve, const FitInput& input, ChargePosterior& posterior) {
  const double u = input.standard_uncertainty_volt;
  CurveFit result{.standard_uncertainty_volt = u};
  const double log_peak = input.log_weight - std::log(u);
  const double height = std::exp(log_peak) * std::numbers::sqrt2 / std::numbers::inv_sqrtpi;
  const std::span<const double> charge = curve.charge(), volt = curve.cell_volt(), by_kelvin = curve.volt_per_kelvin();
  const double kelvin = input.celsius - curve.reference_celsius(), inverse_u = 1 / u;
  const auto distance_at = [&](std::size_t i) {
    return (input.open_circuit_volt - input.cells * (volt[i] + by_kelvin[i] * kelvin)) * inverse_u;
  };
  double next_z = distance_at(0);
  Knot next{nan, nan};  // found once, for the segments on both of its sides
  for (std::size_t i = 0; i + 1 < charge.size(); ++i) {
    const double z = next_z;
    next_z = distance_at(i + 1);
    const bool crosses = (z < 0) != (next_z < 0);
    const double distance = crosses ? 0.0 : std::min(std::abs(z), std::abs(next_z));
    if (distance < result.distance) {
      result.distance = distance;
      result.above = z > 0;
    }
    if (distance > farthest_standard_uncertainties) continue;
    const double width = charge[i + 1] - charge[i], step = next_z - z;
    if (input.prior.is_flat() && std::abs(step) > shortest_step) {
      const Knot here{z, next.z == z ? next.tail : normal_tail(z)};
      next = {next_z, normal_tail(next_z)};
      fill(posterior.add_piece(), charge[i], width, here, next, height);
      continue;
    }
    const double slope = step / width;
    const LogQuadratic likelihood{log_peak - z * z / 2, -slope * z, -slope * slope / 2};
    if (input.prior.is_flat())  // the difference of two probabilities would lose digits
      fill(posterior.add_piece(), charge[i], width, likelihood);
    else
      add_with_prior(posterior, charge[i], width, likelihood, input, log_peak, result);
  }
  return result;
}

bool is_impossible(const RestingReading& reading, std::span<const Candidate> candidates) noexcept {
  if (std::isinf(reading.voltage_volt) || !(reading.standard_uncertainty_volt >= 0) ||
      std::isinf(reading.standard_uncertainty_volt))
    return true;
  if (reading.rest_hour < 0 || std::isinf(reading.rest_hour)) return true;
  if (reading.celsius < -273.15 || std::isinf(reading.celsius) || !(reading.celsius_standard_uncertainty_kelvin >= 0) ||
      std::isinf(reading.celsius_standard_uncertainty_kelvin))
    return true;
  return std::none_of(candidates.begin(), candidates.end(), [&](const Candidate& candidate) {
    return reading.voltage_volt >= candidate.cells * candidate.type.rest.lowest_volt &&
           reading.voltage_volt <= candidate.cells * candidate.type.rest.highest_volt;
  });
}

/// The heaviest word: types whose curves the reading lies on count by their probability, the others by their weight.
Condition headline(std::span<const Candidate> candidates, std::span<const CandidateState> states) noexcept {
  double inside = 0;
  Conditions above;
  for (std::size_t i = 0; i < states.size(); ++i) {
    if (states[i].position == Position::inside) inside += candidates[i].weight;
    if (states[i].position == Position::above) above.add(states[i].conditions.headline());
  }
  if (above.headline() != Condition::unknown) return above.headline();
  Condition heaviest = Condition::unknown;
  double most = -1;
  for (std::size_t i = 0; i < states.size(); ++i) {
    const Condition word = states[i].conditions.headline();
    double weight = 0;
    for (std::size_t j = 0; j < states.size(); ++j)
      if (states[j].conditions.headline() == word)
        weight += states[j].position == Position::inside && !std::isnan(states[j].probability)
                      ? inside * states[j].probability
                      : candidates[j].weight;
    if (weight > most) {
      most = weight;
      heaviest = word;
    }
  }
  return heaviest;
}

bool is_wide(const ChargePosterior& charge) noexcept {
  const ChargeInterval interval = charge.interval(told_level);
  return interval.high - interval.low > wide_interval;
}

double total_weight(std::span<const Candidate> candidates) noexcept {
  double sum = 0;
  for (const Candidate& candidate : candidates) sum += candidate.weight;
  return sum;
}

/// Everything but the uncertainty by cause and the width of the interval.
void find_state(std::span<const Candidate> candidates, const RestingReading& reading, const ChargePrior& prior,
                RestState& state) {
  state.charge.clear();
  state.candidates.assign(candidates.size(), {});
  state.condition = Condition::unknown;
  state.findings = {};
  if (candidates.size() > 1) state.findings.add(Finding::type_missing);
  if (std::isnan(reading.rest_hour)) state.findings.add(Finding::rest_time_missing);
  if (std::isnan(reading.celsius)) state.findings.add(Finding::temperature_assumed);
  if (std::isnan(reading.voltage_volt) || std::isnan(reading.standard_uncertainty_volt)) {
    state.status = Status::missing_input;
    return;
  }
  if (is_impossible(reading, candidates)) {
    state.status = Status::out_of_domain;
    return;
  }
  const double prior_peak = prior.is_flat() ? 0.0 : highest(prior), weights = total_weight(candidates);
  bool any_above = false;
  double agreement = -infinity;
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    const Candidate& candidate = candidates[i];
    const RestingVoltage voltage = resting_voltage(candidate, reading);
    const double log_weight = std::log(candidate.weight / weights / static_cast<double>(candidate.type.curves.size()));
    CurveFit nearest;
    for (std::size_t c = 0; c < candidate.type.curves.size(); ++c) {
      const OpenCircuitCurve& curve = *candidate.type.curves[c];
      const CurveUncertainty own = curve_uncertainty(curve, candidate.cells, voltage);
      const double u =
          std::sqrt(voltage.variance() + own.temperature_volt * own.temperature_volt + own.curve_volt * own.curve_volt);
      if (!(u > 0)) {
        state.status = Status::out_of_domain;
        state.charge.clear();
        return;
      }
      state.charge.begin_component(i, c);
      const CurveFit fit = add_curve(
          curve, {voltage.open_circuit_volt, u, voltage.celsius, candidate.cells, log_weight, prior, prior_peak},
          state.charge);
      fit.distance > outside_standard_uncertainties ? state.charge.drop_component() : state.charge.end_component();
      if (c == 0 || fit.distance < nearest.distance) nearest = fit;
      agreement = std::max(agreement, fit.agreement);
    }
    CandidateState& seen = state.candidates[i];
    const bool outside = nearest.distance > outside_standard_uncertainties;
    seen.position = !outside ? Position::inside : nearest.above ? Position::above : Position::below;
    any_above = any_above || seen.position == Position::above;
    find_words(candidate, reading, voltage, nearest.standard_uncertainty_volt, seen);
  }
  for (std::size_t i = 0; i < candidates.size(); ++i)
    if (state.candidates[i].position == Position::inside)
      state.candidates[i].probability = state.charge.type_probability(i);
  state.condition = headline(candidates, state.candidates);
  if (state.condition == Condition::on_charge) state.findings.add(Finding::being_charged);
  if (state.condition == Condition::not_rested) state.findings.add(Finding::not_settled);
  const bool none_inside = std::none_of(state.candidates.begin(), state.candidates.end(),
                                        [](const CandidateState& seen) { return seen.position == Position::inside; });
  if (any_above || none_inside) {
    state.status = Status::outside_curve;
  } else if (!prior.is_flat() && agreement < contradiction_exponent) {
    state.status = Status::contradiction;
  } else {
    const bool assumed = state.findings.has(Finding::rest_time_missing) ||
                         state.findings.has(Finding::temperature_assumed) || state.findings.has(Finding::type_missing);
    state.status = assumed ? Status::assumed_input : Status::sound;
  }
  if (!has_value(state.status)) state.charge.clear();
}

}  // namespace

ChargePosterior posterior_on_curve(const OpenCircuitCurve& curve, int cells, double open_circuit_volt,
                                   double standard_uncertainty_volt, double celsius) {
  const ChargePrior flat;
  ChargePosterior posterior;
  posterior.begin_component(0, 0);
  const CurveFit fit =
      add_curve(curve, {open_circuit_volt, standard_uncertainty_volt, celsius, cells, 0, flat, 0}, posterior);
  fit.distance > outside_standard_uncertainties ? posterior.drop_component() : posterior.end_component();
  return posterior;
}

double VoltageUncertainty::combined_volt() const noexcept {
  return std::sqrt(meter_volt * meter_volt + relaxation_volt * relaxation_volt + temperature_volt * temperature_volt +
                   hysteresis_volt * hysteresis_volt + curve_volt * curve_volt);
}

Battery::Battery(std::vector<Candidate> candidates) : candidates_(std::move(candidates)) {
  if (candidates_.empty()) throw InvalidParameter("candidates", "empty", "at least one type of battery");
  for (const Candidate& candidate : candidates_) {
    if (candidate.cells < 1) throw InvalidParameter("cells", candidate.cells, "at least 1");
    if (candidate.cells > 10000) throw InvalidParameter("cells", candidate.cells, "at most 10000");
    if (!(candidate.weight > 0 && std::isfinite(candidate.weight)))
      throw InvalidParameter("weight", candidate.weight, "above 0");
    if (candidate.type.curves.empty()) throw InvalidParameter("curves", "empty", "at least one open-circuit curve");
  }
}

RestState Battery::at_rest(const RestingReading& reading, const ChargePrior& prior) const {
  RestState state;
  find_state(candidates_, reading, prior, state);
  if (state.charge.empty()) return state;
  if (is_wide(state.charge)) state.status = Status::wide;
  const auto components = state.charge.components();
  const auto heaviest = std::max_element(components.begin(), components.end(),
                                         [](const auto& a, const auto& b) { return a.mass < b.mass; });
  const Candidate& candidate = candidates_[heaviest->type];
  const OpenCircuitCurve& curve = *candidate.type.curves[heaviest->curve];
  const RestingVoltage voltage = resting_voltage(candidate, reading);
  const CurveUncertainty own = curve_uncertainty(curve, candidate.cells, voltage);
  const double tables = voltage.temperature_tables_volt;
  state.uncertainty = {.meter_volt = voltage.meter_volt,
                       .relaxation_volt = voltage.relaxation_volt,
                       .temperature_volt = std::hypot(own.temperature_volt, tables),
                       .hysteresis_volt = voltage.hysteresis_volt,
                       .curve_volt = own.curve_volt};
  return state;
}

void Battery::at_rest(const RestingReadings& readings, double level, const RestStates& states, unsigned threads) const {
  const std::size_t rows = readings.voltage_volt.size();
  if (!(level > 0 && level < 1)) throw InvalidParameter("level", level, "between 0 and 1");
  const auto require = [rows](std::size_t size, const char* field, bool may_be_empty) {
    if (size != rows && !(may_be_empty && size == 0))
      throw InvalidParameter(field, static_cast<double>(size), "as many rows as voltage_volt");
  };
  require(readings.standard_uncertainty_volt.size(), "standard_uncertainty_volt", false);
  require(readings.celsius.size(), "celsius", true);
  require(readings.celsius_standard_uncertainty_kelvin.size(), "celsius_standard_uncertainty_kelvin", true);
  require(readings.rest_hour.size(), "rest_hour", true);
  require(readings.history.size(), "history", true);
  for (const std::size_t size : {states.median.size(), states.low.size(), states.high.size(), states.condition.size(),
                                 states.status.size(), states.findings.size()})
    require(size, "states", false);
  const auto work = [&](std::size_t first, std::size_t last) {
    RestState state;
    const ChargePrior flat;
    for (std::size_t i = first; i < last; ++i) {
      RestingReading reading{.voltage_volt = readings.voltage_volt[i],
                             .standard_uncertainty_volt = readings.standard_uncertainty_volt[i]};
      if (!readings.celsius.empty()) reading.celsius = readings.celsius[i];
      if (!readings.celsius_standard_uncertainty_kelvin.empty())
        reading.celsius_standard_uncertainty_kelvin = readings.celsius_standard_uncertainty_kelvin[i];
      if (!readings.rest_hour.empty()) reading.rest_hour = readings.rest_hour[i];
      if (!readings.history.empty()) reading.history = static_cast<History>(readings.history[i]);
      find_state(candidates_, reading, flat, state);
      states.median[i] = state.charge.median();
      states.low[i] = state.charge.quantile((1 - level) / 2);
      states.high[i] = state.charge.quantile((1 + level) / 2);
      const bool wide = level == told_level ? states.high[i] - states.low[i] > wide_interval : is_wide(state.charge);
      states.condition[i] = static_cast<std::int8_t>(state.condition);
      states.status[i] = static_cast<std::int8_t>(wide ? Status::wide : state.status);
      states.findings[i] = state.findings.bits();
    }
  };
  if (threads == 0) threads = std::max(1U, std::thread::hardware_concurrency());
  const std::size_t share = rows / threads + 1;
  std::vector<std::jthread> workers;
  for (std::size_t first = share; first < rows; first += share)
    workers.emplace_back(work, first, std::min(rows, first + share));
  work(0, std::min(rows, share));
}

ChargePrior Battery::prior_from(const RestState& earlier, const Since& since) {
  if (earlier.charge.empty()) throw InvalidParameter("earlier", text(earlier.status), "a state with a charge");
  if (!(std::abs(since.change) <= 1)) throw InvalidParameter("change", since.change, "a change of charge from -1 to 1");
  if (!(since.standard_uncertainty >= 0.0025 && std::isfinite(since.standard_uncertainty)))
    throw InvalidParameter("standard_uncertainty", since.standard_uncertainty, "at least 0.0025");
  constexpr std::size_t steps = 400;
  std::array<double, steps> mass{};
  for (std::size_t i = 0; i < steps; ++i)
    mass[i] = earlier.charge.cumulative(static_cast<double>(i + 1) / steps) -
              earlier.charge.cumulative(static_cast<double>(i) / steps);
  std::vector<double> charge(steps + 1), density(steps + 1);
  for (std::size_t j = 0; j <= steps; ++j) {
    charge[j] = static_cast<double>(j) / steps;
    double sum = 1e-300;  // the logarithm of a density is needed everywhere
    for (std::size_t i = 0; i < steps; ++i) {
      const double z = (charge[j] - (static_cast<double>(i) + 0.5) / steps - since.change) / since.standard_uncertainty;
      sum += mass[i] * std::exp(-z * z / 2);
    }
    density[j] = sum;
  }
  return ChargePrior::density(charge, density);
}

Battery lead_acid(std::string_view type, int cells) {
  BatteryType shipped = shipped_type(type);
  if (shipped.chemistry != Chemistry::lead)
    throw InvalidParameter("type", type, "flooded, enhanced_flooded, agm or gel");
  return Battery({{.type = std::move(shipped), .cells = cells}});
}

Battery lithium(std::string_view type, int cells) {
  BatteryType shipped = shipped_type(type);
  if (shipped.chemistry == Chemistry::lead) throw InvalidParameter("type", type, "nmc, nca or lfp");
  return Battery({{.type = std::move(shipped), .cells = cells}});
}

Battery unknown_12v() {
  std::vector<Candidate> candidates;
  for (const std::string_view name : {"flooded", "enhanced_flooded", "agm", "gel"})
    candidates.push_back({.type = shipped_type(name), .cells = 6});
  candidates.push_back({.type = shipped_type("lfp"), .cells = 4});
  return Battery(std::move(candidates));
}

Battery with_curve(OpenCircuitCurve curve, std::string_view behaves_like, int cells) {
  BatteryType type = shipped_type(behaves_like);
  type.name = curve.name().empty() ? "own curve" : curve.name();
  type.curves = {std::make_shared<const OpenCircuitCurve>(std::move(curve))};
  return Battery({{.type = std::move(type), .cells = cells}});
}

}  // namespace ohmward::battery
