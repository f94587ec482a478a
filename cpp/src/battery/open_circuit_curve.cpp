#include "ohmward/battery/open_circuit_curve.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/core/errors.hpp"
#include "ohmward/core/floating_point.hpp"

namespace ohmward::battery {
namespace {

/// The other columns of a dropped point may leave the line by as much as `tolerance_volt` over a difference of 100 K.
constexpr double widest_difference_kelvin = 100;

void require_finite(std::span<const double> values, std::string_view field) {
  for (const double value : values)
    if (!std::isfinite(value)) throw InvalidParameter(field, value, "finite numbers");
}

std::vector<double> spread_over(std::span<const double> values, std::size_t points, std::string_view field) {
  require_finite(values, field);
  if (values.empty()) return std::vector<double>(points, 0.0);
  if (values.size() == 1) return std::vector<double>(points, values[0]);
  if (values.size() != points)
    throw InvalidParameter(field, static_cast<double>(values.size()), "no value, one, or one a point of the curve");
  return {values.begin(), values.end()};
}

void require_uncertainty(double value, std::string_view field) {
  if (!(value >= 0 && std::isfinite(value))) throw InvalidParameter(field, value, "at least 0");
}

}  // namespace

OpenCircuitCurve::OpenCircuitCurve(const CurveParts& parts)
    : name_(parts.name),
      volt_per_kelvin_standard_uncertainty_(parts.volt_per_kelvin_standard_uncertainty),
      standard_uncertainty_volt_(parts.standard_uncertainty_volt),
      reference_celsius_(parts.reference_celsius) {
  const std::size_t points = parts.charge.size();
  if (points < 2) throw InvalidParameter("charge", static_cast<double>(points), "at least two points");
  if (parts.cell_volt.size() != points)
    throw InvalidParameter("cell_volt", static_cast<double>(parts.cell_volt.size()), "one value a point of charge");
  require_finite(parts.charge, "charge");
  require_finite(parts.cell_volt, "cell_volt");
  if (!(parts.charge.front() >= 0)) throw InvalidParameter("charge", parts.charge.front(), "from 0 to 1");
  if (!(parts.charge.back() <= 1)) throw InvalidParameter("charge", parts.charge.back(), "from 0 to 1");
  for (std::size_t i = 1; i < points; ++i)
    if (!(parts.charge[i] > parts.charge[i - 1]))
      throw InvalidParameter("charge", parts.charge[i], "strictly rising points: none repeated, none falling");
  if (!(parts.reference_celsius > -273.15 && parts.reference_celsius < 1000))
    throw InvalidParameter("reference_celsius", parts.reference_celsius, "a temperature above absolute zero");
  charge_.assign(parts.charge.begin(), parts.charge.end());
  cell_volt_.assign(parts.cell_volt.begin(), parts.cell_volt.end());
  volt_per_kelvin_ = spread_over(parts.volt_per_kelvin, points, "volt_per_kelvin");
  for (const double value : volt_per_kelvin_)
    largest_volt_per_kelvin_ = std::max(largest_volt_per_kelvin_, std::abs(value));
  require_uncertainty(parts.volt_per_kelvin_standard_uncertainty, "volt_per_kelvin_standard_uncertainty");
  require_uncertainty(parts.standard_uncertainty_volt, "standard_uncertainty_volt");
  if (!(parts.tolerance_volt >= 0)) throw InvalidParameter("tolerance_volt", parts.tolerance_volt, "at least 0");
  drop_collinear(parts.tolerance_volt);
}

void OpenCircuitCurve::drop_collinear(double tolerance_volt) {
  const auto on_line = [this](const std::vector<double>& values, std::size_t first, std::size_t last,
                              double tolerance) {
    for (std::size_t i = first + 1; i < last; ++i) {
      const double share = (charge_[i] - charge_[first]) / (charge_[last] - charge_[first]);
      if (std::abs(std::lerp(values[first], values[last], share) - values[i]) > tolerance) return false;
    }
    return true;
  };
  const auto droppable = [&](std::size_t first, std::size_t last) {
    const double per_kelvin = tolerance_volt / widest_difference_kelvin;
    return on_line(cell_volt_, first, last, tolerance_volt) && on_line(volt_per_kelvin_, first, last, per_kelvin);
  };
  std::vector<std::size_t> kept{0};
  while (kept.back() + 1 < charge_.size()) {
    std::size_t last = kept.back() + 1;
    while (last + 1 < charge_.size() && droppable(kept.back(), last + 1)) ++last;
    kept.push_back(last);
  }
  const auto keep = [&kept](std::vector<double>& values) {
    for (std::size_t i = 0; i < kept.size(); ++i) values[i] = values[kept[i]];
    values.resize(kept.size());
  };
  for (std::vector<double>* values : {&charge_, &cell_volt_, &volt_per_kelvin_}) keep(*values);
}

std::size_t OpenCircuitCurve::segment_of(double charge) const noexcept {
  const auto after = std::upper_bound(charge_.begin() + 1, charge_.end() - 1, charge);
  return static_cast<std::size_t>(after - charge_.begin()) - 1;
}

double OpenCircuitCurve::volt(double charge, double celsius) const noexcept {
  if (!(charge >= charge_.front() && charge <= charge_.back())) return nan;
  const std::size_t i = segment_of(charge);
  const double share = (charge - charge_[i]) / (charge_[i + 1] - charge_[i]);
  return std::lerp(cell_volt_[i], cell_volt_[i + 1], share) +
         std::lerp(volt_per_kelvin_[i], volt_per_kelvin_[i + 1], share) * (celsius - reference_celsius_);
}

double OpenCircuitCurve::slope(double charge) const noexcept {
  if (!(charge >= charge_.front() && charge <= charge_.back())) return nan;
  const std::size_t i = segment_of(charge);
  return (cell_volt_[i + 1] - cell_volt_[i]) / (charge_[i + 1] - charge_[i]);
}

}  // namespace ohmward::battery
