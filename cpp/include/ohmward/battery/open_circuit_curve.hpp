#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace ohmward::battery {

/// What a curve is made of.
struct CurveParts {
  std::string name = {};
  std::span<const double> charge = {};           ///< 0 ... 1, strictly rising, at least two points
  std::span<const double> cell_volt = {};        ///< open-circuit voltage of one cell [V]; need not rise
  std::span<const double> volt_per_kelvin = {};  ///< of one cell; none (zero), one, or one a point
  double volt_per_kelvin_standard_uncertainty = 0;
  double standard_uncertainty_volt = 0;  ///< of a cell of this kind about the curve
  double reference_celsius = 25;
  double tolerance_volt = 1e-9;  ///< points this near to the line between kept neighbours are dropped
};

/// Open-circuit voltage of one cell against charge, linear between its points.
///
/// The curve may fall somewhere: then one voltage belongs to several charges, and the posterior shows all of them.
/// Points that lie on the line between their neighbours, within `tolerance_volt`, are dropped: fewer pieces, more
/// speed.
class OpenCircuitCurve {
 public:
  /// Throws InvalidParameter where charge does not rise strictly inside 0 ... 1, sizes differ, a value is not finite
  /// or an uncertainty is negative.
  explicit OpenCircuitCurve(const CurveParts& parts);

  [[nodiscard]] const std::string& name() const noexcept { return name_; }
  [[nodiscard]] std::span<const double> charge() const noexcept { return charge_; }
  [[nodiscard]] std::span<const double> cell_volt() const noexcept { return cell_volt_; }
  [[nodiscard]] std::span<const double> volt_per_kelvin() const noexcept { return volt_per_kelvin_; }
  [[nodiscard]] double volt_per_kelvin_standard_uncertainty() const noexcept {
    return volt_per_kelvin_standard_uncertainty_;
  }
  /// The greatest size of the temperature coefficient anywhere on the curve.
  [[nodiscard]] double largest_volt_per_kelvin() const noexcept { return largest_volt_per_kelvin_; }
  [[nodiscard]] double standard_uncertainty_volt() const noexcept { return standard_uncertainty_volt_; }
  [[nodiscard]] double reference_celsius() const noexcept { return reference_celsius_; }

  /// Cell voltage at `charge` and `celsius`; NaN outside the curve.
  [[nodiscard]] double volt(double charge, double celsius) const noexcept;
  /// Cell voltage at `charge` and the reference temperature; NaN outside the curve.
  [[nodiscard]] double volt(double charge) const noexcept { return volt(charge, reference_celsius_); }
  /// Slope of the cell voltage [V per unit of charge] at the reference temperature; NaN outside the curve.
  [[nodiscard]] double slope(double charge) const noexcept;

 private:
  [[nodiscard]] std::size_t segment_of(double charge) const noexcept;
  void drop_collinear(double tolerance_volt);

  std::string name_;
  std::vector<double> charge_, cell_volt_, volt_per_kelvin_;
  double volt_per_kelvin_standard_uncertainty_;
  double largest_volt_per_kelvin_ = 0;
  double standard_uncertainty_volt_;
  double reference_celsius_;
};

}  // namespace ohmward::battery
