#include "ohmward/temperature/fit_law.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "ohmward/core/constants.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/elementary.hpp"
#include "ohmward/statistics/censored_regression.hpp"
#include "ohmward/statistics/distributions.hpp"
#include "ohmward/temperature/to_reference.hpp"

namespace ohmward::temperature {
namespace {

using statistics::CensoredRegression;
using statistics::Observation;
using uncertainty::Part;

/// What ln R is straight in, and its derivative by temperature.
struct Abscissa {
  double value;
  double per_kelvin;
};

Abscissa abscissa(LawKind kind, double celsius) noexcept {
  if (kind == LawKind::halving) return {-numerics::coefficients::ln2 * celsius, -numerics::coefficients::ln2};
  const double kelvin = celsius + celsius_zero_kelvin;
  return {1 / (boltzmann_electronvolt_per_kelvin * kelvin), -1 / (boltzmann_electronvolt_per_kelvin * kelvin * kelvin)};
}

bool usable(const ReadingAt& reading) noexcept {
  const uncertainty::Quantity& r = reading.resistance;
  return has_value(r.status) && r.censoring != Censoring::overload && r.value > 0 && std::isfinite(r.value) &&
         std::isfinite(reading.celsius) && reading.celsius > -celsius_zero_kelvin;
}

double without_gain(const uncertainty::Quantity& r) noexcept {
  uncertainty::Parts parts = r.parts;
  parts.set(Part::gain, 0);
  return parts.combined();
}

}  // namespace

LawFit fit_law(std::span<const ReadingAt> readings, const FitOptions& options) {
  if (options.kind != LawKind::halving && options.kind != LawKind::arrhenius)
    throw InvalidParameter("kind", static_cast<double>(options.kind), "halving (1) or arrhenius (3)");
  LawFit fit;
  std::vector<ReadingAt> used;
  std::copy_if(readings.begin(), readings.end(), std::back_inserter(used), usable);
  std::size_t exact = 0;
  double low = infinity, high = -infinity, mean = 0;
  for (const ReadingAt& r : used) {
    exact += r.resistance.censoring == Censoring::exact ? 1 : 0;
    low = std::min(low, r.celsius);
    high = std::max(high, r.celsius);
    mean += r.celsius / static_cast<double>(used.size());
  }
  if (exact < 2 || !(high > low)) return fit;
  fit.reason = FitReason::span_too_small;
  if (high - low < options.least_span_kelvin) return fit;

  std::vector<double> x;
  for (const ReadingAt& r : used) {
    x.push_back(1);
    x.push_back(abscissa(options.kind, r.celsius).value - abscissa(options.kind, mean).value);
  }
  // The slope turns the temperatures' uncertainties into those of ln R; a few rounds settle it.
  double slope = 0;
  CensoredRegression line;
  for (int round = 0; round < 6; ++round) {
    std::vector<Observation> y;
    for (const ReadingAt& r : used) {
      const double u_kelvin = std::isnan(r.standard_uncertainty_kelvin) ? Defaults{}.standard_uncertainty_kelvin
                                                                        : r.standard_uncertainty_kelvin;
      const double by_temperature = slope * abscissa(options.kind, r.celsius).per_kelvin * u_kelvin;
      const double by_reading = without_gain(r.resistance);
      y.push_back({.y = numerics::log(r.resistance.value),
                   .censoring = r.resistance.censoring,
                   .standard_uncertainty = std::sqrt(by_reading * by_reading + by_temperature * by_temperature)});
    }
    line = statistics::censored_regression(y, x, 2, false);
    if (!has_value(line.status)) {
      fit.reason = FitReason::too_few_readings;
      return fit;
    }
    slope = line.coefficient[1];
    fit.chi_squared = 0;
    for (std::size_t i = 0; i < y.size(); ++i) {
      if (y[i].censoring != Censoring::exact) continue;
      const double rest = (y[i].y - line.coefficient[0] - slope * x[2 * i + 1]) / y[i].standard_uncertainty;
      fit.chi_squared += rest * rest;
    }
  }
  fit.degrees_of_freedom = line.degrees_of_freedom;
  const double u_slope = std::sqrt(line.covariance[3]);
  const bool scatters = fit.degrees_of_freedom > 0 &&
                        fit.chi_squared > statistics::chi_squared_quantile(options.level, fit.degrees_of_freedom);
  if (scatters) {
    fit.reason = FitReason::scatters_too_much;
    return fit;
  }
  if (!(slope > 2 * u_slope)) {
    fit.reason = FitReason::does_not_fall;
    return fit;
  }
  fit.reason = FitReason::fitted;
  fit.status = fit.degrees_of_freedom > 0 ? Status::sound : Status::few_points;
  fit.ln_at_reference = line.coefficient[0];
  fit.reference_celsius = mean;
  const FittedRange range{.low_celsius = low, .high_celsius = high};
  if (options.kind == LawKind::halving) {
    fit.law = law(Halving{
        .step_kelvin = 1 / slope, .step_standard_uncertainty_kelvin = u_slope / (slope * slope), .fitted = range});
  } else {
    fit.law = law(Arrhenius{.activation_energy_electronvolt = slope,
                            .activation_energy_standard_uncertainty_electronvolt = u_slope,
                            .fitted = range});
  }
  return fit;
}

}  // namespace ohmward::temperature
