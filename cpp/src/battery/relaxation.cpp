#include "ohmward/battery/relaxation.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/normal.hpp"

namespace ohmward::battery {
namespace {

/// What is believed before the record, settings without a source: a cell may be this far from its end, one standard
/// deviation; time constants lie between one minute and a week.
constexpr double amplitude_cell_volt = 0.05;
constexpr double shortest_hour = 1.0 / 60, longest_hour = 168;
constexpr double negligible_log_weight = -14;
constexpr double acceptable_misfit = 9;  // Δχ² to the best model
constexpr double reliable_after_charge_hour = 24;
constexpr double shipped_tolerance_cell_volt = 0.002;

constexpr int most_terms = 3;
using Vector = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, most_terms, 1>;
using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, most_terms, most_terms>;

/// Shape of what is left, falling from 1 at t = 0.
struct Shape {
  enum class Kind { exponential, stretched, power } kind;
  double hour, exponent;

  [[nodiscard]] double at(double t) const noexcept {
    switch (kind) {
      case Kind::exponential: return std::exp(-t / hour);
      case Kind::stretched: return std::exp(-std::pow(t / hour, exponent));
      case Kind::power: return std::pow(1 + t / hour, -exponent);
    }
    return nan;
  }
};

/// One setting of a model's time constants: its terms beside the constant.
using Terms = std::vector<Shape>;

/// The open parameters of a model, one or two, each within bounds that are believed in evenly.
struct Box {
  std::array<double, 2> low, high;
  std::size_t parameters;
};

Box whole_box(std::size_t model) {
  const double shortest = std::log(shortest_hour), longest = std::log(longest_hour);
  switch (model) {
    case 0: return {{shortest, 0}, {longest, 0}, 1};
    case 1: return {{shortest, std::log(2.0)}, {longest, std::log(200.0)}, 2};  // the fast one, slow over fast
    case 2: return {{shortest - 2, 0.2}, {longest, 0.95}, 2};
    default: return {{shortest, std::log(0.2)}, {longest, std::log(3.0)}, 2};
  }
}

Terms terms_of(std::size_t model, double first, double second) {
  using enum Shape::Kind;
  const double hour = std::exp(first);
  switch (model) {
    case 0: return {{exponential, hour, 1}};
    case 1: return {{exponential, hour, 1}, {exponential, hour * std::exp(second), 1}};
    case 2: return {{stretched, hour, second}};
    default: return {{power, hour, std::exp(second)}};
  }
}

/// A normal part of a mixture.
struct Part {
  double log_weight;
  double rested_mean, rested_standard_deviation;
  double left_mean, left_standard_deviation;
};

struct Fit {
  std::vector<Part> parts;
  double least_misfit = infinity;  // least χ² over the settings
};

/// What a model is compared with: the record relative to its last reading.
struct Comparison {
  std::span<const double> hour;
  Eigen::VectorXd offset;
  double standard_uncertainty;
  double amplitude;  // standard deviation of V∞ and of every A before the record
  double target_hour;
};

/// One setting of the open parameters; its χ² goes to `misfit`. Nothing where two terms pull in opposite directions:
/// what is left after a current has one sign.
std::optional<Part> part_of(const Terms& terms, const Comparison& record, double& misfit) {
  const auto size = static_cast<Eigen::Index>(terms.size() + 1);
  const double u = record.standard_uncertainty, amplitude = record.amplitude;
  Eigen::MatrixXd design(record.offset.size(), size);
  for (Eigen::Index i = 0; i < design.rows(); ++i) {
    design(i, 0) = 1;
    for (Eigen::Index k = 1; k < size; ++k)
      design(i, k) = terms[static_cast<std::size_t>(k - 1)].at(record.hour[static_cast<std::size_t>(i)]);
  }
  const Matrix information =
      design.transpose() * design / (u * u) + Matrix::Identity(size, size) / (amplitude * amplitude);
  const Eigen::LLT<Matrix> factor(information);
  if (factor.info() != Eigen::Success) return std::nullopt;
  const Vector mean = factor.solve(Vector(design.transpose() * record.offset / (u * u)));
  if (size == 3 && mean[1] * mean[2] < 0) return std::nullopt;
  misfit = (record.offset - design * mean).squaredNorm() / (u * u);
  const double log_determinant = 2 * factor.matrixL().toDenseMatrix().diagonal().array().log().sum();
  Vector at_target(size), still_to_go(size);
  at_target[0] = 1;
  still_to_go[0] = 0;
  for (Eigen::Index k = 1; k < size; ++k) {
    const Shape& shape = terms[static_cast<std::size_t>(k - 1)];
    at_target[k] = shape.at(record.target_hour);
    still_to_go[k] = at_target[k] - shape.at(record.hour.back());
  }
  const auto deviation = [&](const Vector& along) { return std::sqrt(along.dot(factor.solve(along))); };
  return Part{-0.5 * (misfit + mean.squaredNorm() / (amplitude * amplitude) + log_determinant), at_target.dot(mean),
              deviation(at_target), still_to_go.dot(mean), deviation(still_to_go)};
}

/// All settings of a box on an even grid, and the box that holds those with weight, one step wider.
std::pair<Fit, Box> fit_in(const Box& box, std::size_t model, const Comparison& record) {
  const std::array<int, 2> steps{box.parameters == 1 ? 81 : 25, box.parameters == 1 ? 1 : 25};
  std::array<double, 2> step{};
  for (std::size_t k = 0; k < 2; ++k) step[k] = steps[k] > 1 ? (box.high[k] - box.low[k]) / (steps[k] - 1) : 0;
  Fit fit;
  std::vector<std::array<double, 2>> where;
  double peak = -infinity;
  for (int i = 0; i < steps[0]; ++i)
    for (int k = 0; k < steps[1]; ++k) {
      const std::array<double, 2> at{box.low[0] + step[0] * i, box.low[1] + step[1] * k};
      double misfit = infinity;
      const std::optional<Part> part = part_of(terms_of(model, at[0], at[1]), record, misfit);
      if (!part) continue;
      fit.parts.push_back(*part);
      where.push_back(at);
      fit.least_misfit = std::min(fit.least_misfit, misfit);
      peak = std::max(peak, part->log_weight);
    }
  Box inner{{infinity, infinity}, {-infinity, -infinity}, box.parameters};
  double sum = 0;
  for (std::size_t i = 0; i < fit.parts.size(); ++i) {
    fit.parts[i].log_weight -= peak;
    sum += std::exp(fit.parts[i].log_weight);
    if (fit.parts[i].log_weight < negligible_log_weight) continue;
    for (std::size_t k = 0; k < 2; ++k) {
      inner.low[k] = std::min(inner.low[k], where[i][k] - step[k]);
      inner.high[k] = std::max(inner.high[k], where[i][k] + step[k]);
    }
  }
  for (Part& part : fit.parts) part.log_weight -= std::log(sum);
  for (std::size_t k = 0; k < 2; ++k) {
    inner.low[k] = std::max(inner.low[k], box.low[k]);
    inner.high[k] = std::min(inner.high[k], box.high[k]);
  }
  return {std::move(fit), inner};
}

/// A record of small noise singles out settings that a wide grid would step over: the noise comes down in stages, and
/// the grid closes in.
Fit fit_model(std::size_t model, Comparison record) {
  Box box = whole_box(model);
  const double u = record.standard_uncertainty;
  Fit fit;
  for (const double stage : {64.0, 16.0, 4.0, 1.0}) {
    record.standard_uncertainty = stage * u;
    auto [found, inner] = fit_in(box, model, record);
    if (found.parts.empty()) return {};
    fit = std::move(found);
    box = inner;
  }
  return fit_in(box, model, record).first;
}

/// Quantile of a mixture of normal parts given as (weight, mean, standard deviation).
struct Normal {
  double weight, mean, deviation;
};

double quantile(std::span<const Normal> mixture, double level) {
  double low = infinity, high = -infinity;
  for (const Normal& part : mixture) {
    low = std::min(low, part.mean - 9 * part.deviation);
    high = std::max(high, part.mean + 9 * part.deviation);
  }
  for (int i = 0; i < 80; ++i) {
    const double middle = low + (high - low) / 2;
    double below = 0;
    for (const Normal& part : mixture)
      below += part.weight * (part.deviation > 0 ? numerics::normal_probability((middle - part.mean) / part.deviation)
                              : middle >= part.mean ? 1.0
                                                    : 0.0);
    (below < level ? low : high) = middle;
  }
  return low + (high - low) / 2;
}

Forecast told(std::span<const Normal> mixture, double level) {
  return {quantile(mixture, 0.5), quantile(mixture, (1 - level) / 2), quantile(mixture, (1 + level) / 2)};
}

Estimate slope_at_end(const RestRecord& record) {
  const std::size_t size = record.rest_hour.size(), count = std::max<std::size_t>(2, size / 3), first = size - count;
  double t = 0, v = 0, tt = 0, tv = 0;
  for (std::size_t i = first; i < size; ++i) {
    t += record.rest_hour[i] / static_cast<double>(count);
    v += record.voltage_volt[i] / static_cast<double>(count);
  }
  for (std::size_t i = first; i < size; ++i) {
    tt += (record.rest_hour[i] - t) * (record.rest_hour[i] - t);
    tv += (record.rest_hour[i] - t) * (record.voltage_volt[i] - v);
  }
  return {tv / tt, record.standard_uncertainty_volt / std::sqrt(tt)};
}

Status check(const RestRecord& record) {
  if (record.rest_hour.size() != record.voltage_volt.size())
    throw InvalidParameter("voltage_volt", static_cast<double>(record.voltage_volt.size()), "one voltage a time");
  if (record.rest_hour.size() < 2) return Status::too_few_points;
  if (std::isnan(record.standard_uncertainty_volt)) return Status::missing_input;
  if (!(record.standard_uncertainty_volt > 0) || std::isinf(record.standard_uncertainty_volt))
    return Status::out_of_domain;
  double before = 0;
  for (std::size_t i = 0; i < record.rest_hour.size(); ++i) {
    if (std::isnan(record.rest_hour[i]) || std::isnan(record.voltage_volt[i])) return Status::missing_input;
    if (!(record.rest_hour[i] > before) || std::isinf(record.rest_hour[i]) || std::isinf(record.voltage_volt[i]))
      return Status::out_of_domain;
    before = record.rest_hour[i];
  }
  return record.rest_hour.size() < 5 ? Status::few_points : Status::sound;
}

}  // namespace

RelaxationState relaxation(const RestRecord& record, const Candidate& candidate, const RelaxationQuestion& question) {
  if (!(question.level > 0 && question.level < 1)) throw InvalidParameter("level", question.level, "between 0 and 1");
  if (!(question.target_hour > 0 && std::isfinite(question.target_hour)))
    throw InvalidParameter("target_hour", question.target_hour, "above 0");
  RelaxationState state;
  state.status = check(record);
  if (!has_value(state.status)) return state;
  state.slope_volt_per_hour = slope_at_end(record);
  const auto [slope, u_slope] =
      std::pair(state.slope_volt_per_hour.value, state.slope_volt_per_hour.standard_uncertainty);
  const bool falls = slope < -3 * u_slope;
  const bool after_charge = record.history == History::after_charge || (record.history == History::unknown && falls);
  if (candidate.type.chemistry == Chemistry::lead && after_charge &&
      record.rest_hour.back() < reliable_after_charge_hour) {
    state.status = Status::no_solution;
    return state;
  }
  const double last = record.voltage_volt.back(), target = std::max(question.target_hour, record.rest_hour.back());
  Eigen::VectorXd offset(static_cast<Eigen::Index>(record.voltage_volt.size()));
  for (Eigen::Index i = 0; i < offset.size(); ++i) offset[i] = record.voltage_volt[static_cast<std::size_t>(i)] - last;
  const double amplitude = candidate.cells * amplitude_cell_volt;
  std::array<Fit, relaxation_models.size()> fits;
  double best = infinity;
  const auto fit_all = [&](double u) {
    best = infinity;
    for (std::size_t m = 0; m < fits.size(); ++m) {
      fits[m] = fit_model(m, {record.rest_hour, offset, u, amplitude, target});
      best = std::min(best, fits[m].least_misfit);
    }
  };
  double u = record.standard_uncertainty_volt;
  fit_all(u);
  const double free = static_cast<double>(offset.size()) - 4;
  if (free > 0 && best > free) {  // no model follows the record to within its noise: the misfit counts as noise
    u *= std::sqrt(best / free);
    fit_all(u);
  }
  std::vector<Normal> rested, left;
  for (std::size_t m = 0; m < fits.size(); ++m) {
    if (fits[m].least_misfit > best + acceptable_misfit) continue;
    std::vector<Normal> own;
    for (const Part& part : fits[m].parts) {
      const double weight = std::exp(part.log_weight);
      if (weight < 1e-9) continue;
      own.push_back({weight, last + part.rested_mean, part.rested_standard_deviation});
      left.push_back({weight, part.left_mean, part.left_standard_deviation});
    }
    state.model_median_volt[m] = quantile(own, 0.5);
    rested.insert(rested.end(), own.begin(), own.end());
  }
  double models = 0;
  for (const Normal& part : rested) models += part.weight;
  for (std::vector<Normal>* mixture : {&rested, &left})
    for (Normal& part : *mixture) part.weight /= models;
  state.rested_volt = told(rested, question.level);
  state.left_volt = told(left, question.level);
  const double tolerance =
      std::isnan(question.tolerance_volt) ? candidate.cells * shipped_tolerance_cell_volt : question.tolerance_volt;
  state.at_rest = state.left_volt.low >= -tolerance && state.left_volt.high <= tolerance;
  return state;
}

}  // namespace ohmward::battery
