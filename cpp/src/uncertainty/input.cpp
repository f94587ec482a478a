#include "ohmward/uncertainty/input.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/distributions.hpp"

namespace ohmward::uncertainty {
namespace {

double finite(std::string_view field, double value) {
  if (!std::isfinite(value)) throw InvalidParameter(field, value, "a finite number");
  return value;
}
double positive(std::string_view field, double value) {
  if (!(value > 0) || !std::isfinite(value)) throw InvalidParameter(field, value, "a finite number above 0");
  return value;
}
double not_negative(std::string_view field, double value) {
  if (!(value >= 0) || !std::isfinite(value)) throw InvalidParameter(field, value, "a finite number, at least 0");
  return value;
}
double degrees(double dof) {
  if (!(dof >= 1)) throw InvalidParameter("degrees_of_freedom", dof, "at least 1, or infinity");
  return dof;
}

Input centred(Shape shape, const RectangularParameters& parameters, double divisor) {
  finite("centre", parameters.centre);
  positive("half_width", parameters.half_width);
  return {.shape = shape,
          .estimate = parameters.centre,
          .standard_uncertainty = parameters.half_width / std::sqrt(divisor),
          .degrees_of_freedom = degrees(parameters.degrees_of_freedom),
          .parameters = {parameters.centre, parameters.half_width}};
}

}  // namespace

std::string_view text(Shape shape) noexcept {
  switch (shape) {
    case Shape::normal: return "normal";
    case Shape::student_t: return "t";
    case Shape::student_t_with_standard_uncertainty: return "t of stated standard uncertainty";
    case Shape::rectangular: return "rectangular";
    case Shape::asymmetric: return "rectangular, asymmetric";
    case Shape::triangular: return "triangular";
    case Shape::trapezoidal: return "trapezoidal";
    case Shape::curvilinear_trapezoidal: return "curvilinear trapezoid";
    case Shape::arcsine: return "arcsine";
    case Shape::lognormal: return "lognormal";
    case Shape::exponential: return "exponential";
    case Shape::gamma: return "gamma";
    case Shape::sample: return "sample";
  }
  return "unknown shape";
}

bool is_symmetric(Shape shape) noexcept {
  switch (shape) {
    case Shape::asymmetric:
    case Shape::lognormal:
    case Shape::exponential:
    case Shape::gamma:
    case Shape::sample: return false;
    default: return true;
  }
}

Input normal(const NormalParameters& parameters) {
  finite("mean", parameters.mean);
  positive("standard_uncertainty", parameters.standard_uncertainty);
  return {.shape = Shape::normal,
          .estimate = parameters.mean,
          .standard_uncertainty = parameters.standard_uncertainty,
          .degrees_of_freedom = degrees(parameters.degrees_of_freedom),
          .parameters = {parameters.mean, parameters.standard_uncertainty}};
}

Input student_t(const StudentTParameters& parameters) {
  finite("location", parameters.location);
  positive("scale", parameters.scale);
  return {.shape = Shape::student_t,
          .estimate = parameters.location,
          .standard_uncertainty = parameters.scale,
          .degrees_of_freedom = degrees(parameters.degrees_of_freedom),
          .parameters = {parameters.location, parameters.scale, parameters.degrees_of_freedom}};
}

Input student_t_with_standard_uncertainty(const ScaledStudentTParameters& parameters) {
  finite("mean", parameters.mean);
  positive("standard_uncertainty", parameters.standard_uncertainty);
  const double dof = parameters.degrees_of_freedom;
  if (!(dof > 2)) throw InvalidParameter("degrees_of_freedom", dof, "above 2: below, t has no standard deviation");
  const double scale =
      std::isinf(dof) ? parameters.standard_uncertainty : parameters.standard_uncertainty * std::sqrt((dof - 2) / dof);
  return {.shape = Shape::student_t_with_standard_uncertainty,
          .estimate = parameters.mean,
          .standard_uncertainty = parameters.standard_uncertainty,
          .degrees_of_freedom = dof,
          .parameters = {parameters.mean, scale, dof}};
}

Input rectangular(const RectangularParameters& parameters) { return centred(Shape::rectangular, parameters, 3); }
Input triangular(const RectangularParameters& parameters) { return centred(Shape::triangular, parameters, 6); }
Input arcsine(const RectangularParameters& parameters) { return centred(Shape::arcsine, parameters, 2); }

Input asymmetric(const AsymmetricParameters& parameters) {
  finite("estimate", parameters.estimate);
  not_negative("below", parameters.below);
  not_negative("above", parameters.above);
  const double width = positive("below + above", parameters.below + parameters.above);
  return {.shape = Shape::asymmetric,
          .estimate = parameters.estimate,
          .standard_uncertainty = width / std::sqrt(12.0),
          .degrees_of_freedom = degrees(parameters.degrees_of_freedom),
          .parameters = {parameters.estimate + (parameters.above - parameters.below) / 2, width / 2}};
}

Input trapezoidal(const TrapezoidalParameters& parameters) {
  if (!(parameters.top_fraction >= 0 && parameters.top_fraction <= 1))
    throw InvalidParameter("top_fraction", parameters.top_fraction, "0 to 1");
  Input input = centred(Shape::trapezoidal, {parameters.centre, parameters.half_width, parameters.degrees_of_freedom},
                        6 / (1 + parameters.top_fraction * parameters.top_fraction));
  input.parameters[2] = parameters.top_fraction;
  return input;
}

Input curvilinear_trapezoidal(const CurvilinearTrapezoidalParameters& parameters) {
  Input input = centred(Shape::curvilinear_trapezoidal,
                        {parameters.centre, parameters.half_width, parameters.degrees_of_freedom}, 3);
  const double d = positive("limit_half_width", parameters.limit_half_width);
  if (d > parameters.half_width) throw InvalidParameter("limit_half_width", d, "at most half_width");
  input.standard_uncertainty = std::sqrt(parameters.half_width * parameters.half_width / 3 + d * d / 9);
  input.parameters[2] = d;
  return input;
}

Input lognormal(const LognormalParameters& parameters) {
  positive("median", parameters.median);
  positive("standard_uncertainty_of_ln", parameters.standard_uncertainty_of_ln);
  return {.shape = Shape::lognormal,
          .estimate = parameters.median,
          .standard_uncertainty = parameters.median * parameters.standard_uncertainty_of_ln,
          .degrees_of_freedom = degrees(parameters.degrees_of_freedom),
          .parameters = {std::log(parameters.median), parameters.standard_uncertainty_of_ln}};
}

Input exponential(double mean) {
  positive("mean", mean);
  return {.shape = Shape::exponential, .estimate = mean, .standard_uncertainty = mean, .parameters = {0, mean}};
}

Input gamma(double counted_events) {
  not_negative("counted_events", counted_events);
  const double shape = counted_events + 1;
  return {
      .shape = Shape::gamma, .estimate = shape, .standard_uncertainty = std::sqrt(shape), .parameters = {0, 1, shape}};
}

Input sample(std::span<const double> values) {
  for (const double value : values) finite("values", value);
  if (values.size() < 2) throw InvalidParameter("values", static_cast<double>(values.size()), "at least two values");
  const double n = static_cast<double>(values.size());
  const double mean = std::accumulate(values.begin(), values.end(), 0.0) / n;
  double squares = 0;
  for (const double value : values) squares += (value - mean) * (value - mean);
  positive("standard deviation of values", squares);
  return {.shape = Shape::sample,
          .estimate = mean,
          .standard_uncertainty = std::sqrt(squares / n),
          .degrees_of_freedom = n - 1,
          .values = std::make_shared<const std::vector<double>>(values.begin(), values.end())};
}

double standard_uncertainty_from(const StatedExpanded& stated) {
  positive("expanded", stated.expanded);
  if (std::isnan(stated.coverage_factor) == std::isnan(stated.level))
    throw InvalidParameter("coverage_factor", stated.coverage_factor, "a coverage factor or a level, one of the two");
  if (std::isnan(stated.level)) return stated.expanded / positive("coverage_factor", stated.coverage_factor);
  if (!(stated.level > 0 && stated.level < 1)) throw InvalidParameter("level", stated.level, "between 0 and 1");
  return stated.expanded / statistics::student_t_quantile((1 + stated.level) / 2, degrees(stated.degrees_of_freedom));
}

double standard_uncertainty_of_display(double step) { return positive("step", step) / std::sqrt(12.0); }

}  // namespace ohmward::uncertainty
