#include "ohmward/battery/battery.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <thread>

#include "log_quadratic.hpp"
#include "ohmward/core/errors.hpp"
#include "resting_voltage.hpp"

namespace ohmward::battery {
namespace {

constexpr double outside_standard_uncertainties = 3;
constexpr double contradiction_exponent = -8;   // prior and reading 4 u apart
constexpr double negligible_exponent = 32;      // a piece whose peak is exp(-32) of the highest changes no digit that is shown
constexpr double told_level = 0.95;             // of the interval whose width the status tells
constexpr double wide_interval = 0.5;

/// Likelihood times prior on one curve, and how near the curve comes to the reading.
struct CurveFit {
  double distance = infinity;   ///< least |V − OCV| / u
  bool above = false;           ///< the reading lies above the curve there
  double standard_uncertainty_volt = nan;  ///< of the whole battery's voltage there
  double agreement = -infinity; ///< greatest exponent of prior times likelihood, each relative to its own peak
};

double highest(const ChargePrior& prior) noexcept {
  double peak = -infinity;
  for (const DensityPiece& piece : prior.pieces()) {
    const LogQuadratic q{piece.constant, piece.linear, piece.quadratic};
    peak = std::max(peak, q.log_density(q.mode(piece.width)));
  }
  return peak;
}

/// Collects the pieces of one curve; keeps the memory between readings.
class CurvePieces {
 public:
  CurveFit fit(const OpenCircuitCurve& curve, int cells, const RestingVoltage& voltage, const ChargePrior& prior,
               double prior_peak, double log_weight) {
    pieces_.clear();
    peaks_.clear();
    highest_ = -infinity;
    CurveFit result;
    const std::span<const double> charge = curve.charge(), volt = curve.cell_volt(), by_kelvin = curve.volt_per_kelvin();
    const double kelvin = voltage.celsius - curve.reference_celsius();
    const double fixed_variance = voltage.variance();
    double variance = nan, inverse = nan, log_u = nan;
    double left = voltage.open_circuit_volt - cells * (volt[0] + by_kelvin[0] * kelvin);
    for (std::size_t i = 0; i + 1 < charge.size(); ++i) {
      const double right = voltage.open_circuit_volt - cells * (volt[i + 1] + by_kelvin[i + 1] * kelvin);
      if (i == 0 || !curve.is_uniform()) {
        const PointUncertainty a = point_uncertainty(curve, i, cells, voltage);
        const PointUncertainty b = point_uncertainty(curve, i + 1, cells, voltage);
        variance = fixed_variance + (a.temperature_volt * a.temperature_volt + b.temperature_volt * b.temperature_volt) / 2 +
                   (a.curve_volt * a.curve_volt + b.curve_volt * b.curve_volt) / 2;
        inverse = 1 / variance;
        log_u = std::log(variance) / 2;
      }
      const bool crosses = (left < 0) != (right < 0);
      const double nearest = crosses ? 0.0 : std::min(std::abs(left), std::abs(right));
      const double exponent = -nearest * nearest * inverse / 2;
      if (result.distance * result.distance > -2 * exponent || result.distance == infinity) {
        result.distance = std::sqrt(-2 * exponent);
        result.above = left > 0;
        result.standard_uncertainty_volt = std::sqrt(variance);
      }
      const double width = charge[i + 1] - charge[i], slope = (left - right) / width;
      const LogQuadratic likelihood{-left * left * inverse / 2 - log_u + log_weight, slope * left * inverse,
                                    -slope * slope * inverse / 2};
      if (prior.is_flat())
        keep(charge[i], width, likelihood, exponent - log_u + log_weight);
      else
        multiply(charge[i], width, likelihood, prior, result, log_u - log_weight - prior_peak);
      left = right;
    }
    return result;
  }

  void add_to(ChargePosterior& posterior) const {
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
      if (peaks_[i] < highest_ - negligible_exponent) continue;
      DensityPiece piece = pieces_[i];
      piece.mass = LogQuadratic{piece.constant, piece.linear, piece.quadratic}.integral(piece.width);
      posterior.add_piece(piece);
    }
  }

 private:
  void keep(double start, double width, const LogQuadratic& q, double peak) {
    if (peak < highest_ - negligible_exponent) return;
    highest_ = std::max(highest_, peak);
    pieces_.push_back({start, width, q.constant, q.linear, q.quadratic, 0, 0});
    peaks_.push_back(peak);
  }

  void multiply(double start, double width, const LogQuadratic& likelihood, const ChargePrior& prior, CurveFit& result,
                double relative) {
    const double end = start + width;
    for (const DensityPiece& piece : prior.pieces()) {
      const double from = std::max(start, piece.start), to = std::min(end, piece.start + piece.width);
      if (!(to > from)) continue;
      const LogQuadratic product = moved_to(likelihood, from - start) *
                                   moved_to({piece.constant, piece.linear, piece.quadratic}, from - piece.start);
      const double peak = product.log_density(product.mode(to - from));
      result.agreement = std::max(result.agreement, peak + relative);
      keep(from, to - from, product, peak);
    }
  }

  std::vector<DensityPiece> pieces_;
  std::vector<double> peaks_;
  double highest_ = -infinity;
};

bool is_impossible(const RestingReading& reading, std::span<const Candidate> candidates) noexcept {
  if (std::isinf(reading.voltage_volt) || !(reading.standard_uncertainty_volt >= 0) || std::isinf(reading.standard_uncertainty_volt))
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
        weight += states[j].position == Position::inside && !std::isnan(states[j].probability) ? inside * states[j].probability
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
                CurvePieces& workspace, RestState& state) {
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
    const std::size_t before = state.charge.components().size();
    for (std::size_t c = 0; c < candidate.type.curves.size(); ++c) {
      const CurveFit fit = workspace.fit(*candidate.type.curves[c], candidate.cells, voltage, prior, prior_peak, log_weight);
      if (fit.distance < nearest.distance || c == 0) nearest = fit;
      if (!(fit.standard_uncertainty_volt > 0)) {
        state.status = Status::out_of_domain;
        state.charge.clear();
        return;
      }
      agreement = std::max(agreement, fit.agreement);
      if (fit.distance > outside_standard_uncertainties) continue;
      state.charge.begin_component(i, c);
      workspace.add_to(state.charge);
      state.charge.end_component();
    }
    CandidateState& seen = state.candidates[i];
    const bool outside = nearest.distance > outside_standard_uncertainties;
    seen.position = !outside ? Position::inside : nearest.above ? Position::above : Position::below;
    any_above = any_above || seen.position == Position::above;
    if (outside || state.charge.components().size() == before) seen.probability = nan;
    find_words(candidate, reading, voltage, nearest.standard_uncertainty_volt, seen);
  }
  for (std::size_t i = 0; i < candidates.size(); ++i)
    if (state.candidates[i].position == Position::inside) state.candidates[i].probability = state.charge.type_probability(i);
  state.condition = headline(candidates, state.candidates);
  if (state.condition == Condition::on_charge) state.findings.add(Finding::being_charged);
  if (state.condition == Condition::not_rested) state.findings.add(Finding::not_settled);
  if (any_above || state.charge.empty()) {
    state.status = Status::outside_curve;
  } else if (!prior.is_flat() && agreement < contradiction_exponent) {
    state.status = Status::contradiction;
  } else {
    const bool assumed = state.findings.has(Finding::rest_time_missing) || state.findings.has(Finding::temperature_assumed) ||
                         state.findings.has(Finding::type_missing);
    state.status = assumed ? Status::assumed_input : Status::sound;
  }
  if (!has_value(state.status)) state.charge.clear();
}

}  // namespace

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
  CurvePieces workspace;
  find_state(candidates_, reading, prior, workspace, state);
  if (state.charge.empty()) return state;
  if (is_wide(state.charge)) state.status = Status::wide;
  const auto components = state.charge.components();
  const auto heaviest = std::max_element(components.begin(), components.end(),
                                         [](const auto& a, const auto& b) { return a.mass < b.mass; });
  const Candidate& candidate = candidates_[heaviest->type];
  const OpenCircuitCurve& curve = *candidate.type.curves[heaviest->curve];
  const RestingVoltage voltage = resting_voltage(candidate, reading);
  const auto points = curve.charge();
  const auto point = std::min(points.size() - 1,
                              static_cast<std::size_t>(std::lower_bound(points.begin(), points.end(), state.charge.median()) - points.begin()));
  const PointUncertainty at = point_uncertainty(curve, point, candidate.cells, voltage);
  state.uncertainty = {.meter_volt = voltage.meter_volt,
                       .relaxation_volt = voltage.relaxation_volt,
                       .temperature_volt = std::hypot(at.temperature_volt, voltage.temperature_tables_volt),
                       .hysteresis_volt = voltage.hysteresis_volt,
                       .curve_volt = at.curve_volt};
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
    CurvePieces workspace;
    const ChargePrior flat;
    for (std::size_t i = first; i < last; ++i) {
      RestingReading reading{.voltage_volt = readings.voltage_volt[i],
                             .standard_uncertainty_volt = readings.standard_uncertainty_volt[i]};
      if (!readings.celsius.empty()) reading.celsius = readings.celsius[i];
      if (!readings.celsius_standard_uncertainty_kelvin.empty())
        reading.celsius_standard_uncertainty_kelvin = readings.celsius_standard_uncertainty_kelvin[i];
      if (!readings.rest_hour.empty()) reading.rest_hour = readings.rest_hour[i];
      if (!readings.history.empty()) reading.history = static_cast<History>(readings.history[i]);
      find_state(candidates_, reading, flat, workspace, state);
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
    mass[i] = earlier.charge.cumulative(static_cast<double>(i + 1) / steps) - earlier.charge.cumulative(static_cast<double>(i) / steps);
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
  if (shipped.chemistry != Chemistry::lead) throw InvalidParameter("type", type, "flooded, enhanced_flooded, agm or gel");
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
