#include "ohmward/statistics/straight_line.hpp"

#include <cmath>

namespace ohmward::statistics {

LinePoint StraightLine::at(double x) const noexcept {
  const double d = x - origin;
  const double u0 = intercept_standard_uncertainty;
  const double u1 = d * slope_standard_uncertainty;
  return {.value = intercept + slope * d,
          .standard_uncertainty = std::sqrt(u0 * u0 + u1 * u1 + 2 * correlation * u0 * u1)};
}

StraightLine straight_line(std::span<const double> x, std::span<const double> y, double origin) noexcept {
  StraightLine line{.origin = origin};
  if (x.size() != y.size()) return line;
  const auto counts = [&](std::size_t i) { return !std::isnan(x[i]) && !std::isnan(y[i]); };
  double n = 0;
  double mean_x = 0;
  double mean_y = 0;
  for (std::size_t i = 0; i < x.size(); ++i)
    if (counts(i)) {
      n += 1;
      mean_x += (x[i] - mean_x) / n;
      mean_y += (y[i] - mean_y) / n;
    }
  double xx = 0;
  double xy = 0;
  for (std::size_t i = 0; i < x.size(); ++i)
    if (counts(i)) {
      xx += (x[i] - mean_x) * (x[i] - mean_x);
      xy += (x[i] - mean_x) * (y[i] - mean_y);
    }
  if (n < 3 || !(xx > 0)) return line;
  line.slope = xy / xx;
  const double arm = mean_x - origin;  // from the origin of the line to the middle of the points
  line.intercept = mean_y - line.slope * arm;
  double squares = 0;
  for (std::size_t i = 0; i < x.size(); ++i)
    if (counts(i)) {
      const double residual = y[i] - mean_y - line.slope * (x[i] - mean_x);
      squares += residual * residual;
    }
  line.degrees_of_freedom = n - 2;
  const double s = std::sqrt(squares / line.degrees_of_freedom);
  line.standard_deviation = s;
  line.slope_standard_uncertainty = s / std::sqrt(xx);
  line.intercept_standard_uncertainty = s * std::sqrt(1 / n + arm * arm / xx);
  line.correlation = -arm / std::sqrt(xx / n + arm * arm);
  line.status = Status::sound;
  return line;
}

}  // namespace ohmward::statistics
