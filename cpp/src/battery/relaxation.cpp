#include "ohmward/battery/relaxation.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "normal_distribution.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::battery {
namespace {

/// What is believed before the record, settings without a source: a cell may be this far from its end, one standard
/// deviation; time constants lie between one minute and a week.
constexpr double amplitude_cell_volt = 0.05;
constexpr double shortest_hour = 1.0 / 60, longest_hour = 168;
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

std::vector<double> log_steps(double low, double high, int count) {
  std::vector<double> steps(static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i)
    steps[static_cast<std::size_t>(i)] = low * std::pow(high / low, static_cast<double>(i) / (count - 1));
  return steps;
}

std::vector<Terms> settings(std::size_t model) {
  using enum Shape::Kind;
  std::vector<Terms> all;
  switch (model) {
    case 0:
      for (const double hour : log_steps(shortest_hour, longest_hour, 60)) all.push_back({{exponential, hour, 1}});
      break;
    case 1:
      for (const double fast : log_steps(shortest_hour, longest_hour, 30))
        for (const double slow : log_steps(shortest_hour, longest_hour, 30))
          if (slow > 3 * fast) all.push_back({{exponential, fast, 1}, {exponential, slow, 1}});
      break;
    case 2:
      for (const double hour : log_steps(shortest_hour / 10, longest_hour, 50))
        for (const double exponent : {0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9})
          all.push_back({{stretched, hour, exponent}});
      break;
    default:
      for (const double hour : log_steps(shortest_hour, longest_hour, 40))
        for (const double exponent : {0.2, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0}) all.push_back({{power, hour, exponent}});
  }
  return all;
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

/// Everything in units of the battery's amplitude and relative to the last reading.
Fit fit_model(std::size_t model, std::span<const double> hour, const Eigen::VectorXd& offset, double u,
              double amplitude, double target) {
  Fit fit;
  for (const Terms& terms : settings(model)) {
    const auto size = static_cast<Eigen::Index>(terms.size() + 1);
    Eigen::MatrixXd design(offset.size(), size);
    for (Eigen::Index i = 0; i < offset.size(); ++i) {
      design(i, 0) = 1;
      for (Eigen::Index k = 1; k < size; ++k)
        design(i, k) = terms[static_cast<std::size_t>(k - 1)].at(hour[static_cast<std::size_t>(i)]);
    }
    const Matrix information =
        design.transpose() * design / (u * u) + Matrix::Identity(size, size) / (amplitude * amplitude);
    const Eigen::LLT<Matrix> factor(information);
    if (factor.info() != Eigen::Success) continue;
    const Vector mean = factor.solve(Vector(design.transpose() * offset / (u * u)));
    const double misfit = (offset - design * mean).squaredNorm() / (u * u);
    const double log_determinant = 2 * factor.matrixL().toDenseMatrix().diagonal().array().log().sum();
    const double log_weight = -0.5 * (misfit + mean.squaredNorm() / (amplitude * amplitude) + log_determinant) -
                              static_cast<double>(size) * std::log(amplitude);
    Vector at_target(size), still_to_go(size);
    at_target[0] = 1;
    still_to_go[0] = 0;
    for (Eigen::Index k = 1; k < size; ++k) {
      const Shape& shape = terms[static_cast<std::size_t>(k - 1)];
      at_target[k] = shape.at(target);
      still_to_go[k] = at_target[k] - shape.at(hour.back());
    }
    const auto deviation = [&](const Vector& direction) { return std::sqrt(direction.dot(factor.solve(direction))); };
    fit.parts.push_back(
        {log_weight, at_target.dot(mean), deviation(at_target), still_to_go.dot(mean), deviation(still_to_go)});
    fit.least_misfit = std::min(fit.least_misfit, misfit);
  }
  const auto heaviest = std::max_element(fit.parts.begin(), fit.parts.end(),
                                         [](const Part& a, const Part& b) { return a.log_weight < b.log_weight; });
  const double peak = heaviest->log_weight;
  double sum = 0;
  for (const Part& part : fit.parts) sum += std::exp(part.log_weight - peak);
  for (Part& part : fit.parts) part.log_weight -= peak + std::log(sum);
  return fit;
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
      below += part.weight * (part.deviation > 0    ? normal_cumulative((middle - part.mean) / part.deviation)
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
      fits[m] = fit_model(m, record.rest_hour, offset, u, amplitude, target);
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
