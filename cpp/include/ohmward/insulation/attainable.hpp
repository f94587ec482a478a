#pragma once

#include "ohmward/formula/insulation.hpp"
#include "ohmward/insulation/ratio.hpp"

namespace ohmward::insulation {

/// Capacitance of a part to its housing: measured (both ends with its uncertainty) or the range of its kind.
struct CapacitanceRange {
  double low_farad = nan;
  double high_farad = nan;
};

/// What decides the ratio that a part can show.
struct Showing {
  const uncertainty::Quantity& early;  ///< resistance at the earlier time
  CapacitanceRange capacitance{};
  Times times{.late_second = 600, .early_second = 60};
  double loss_factor = formula::generous_loss_factor;
  double absorption_exponent = formula::generous_absorption_exponent;
};

/// The highest ratio that a part can show: +inf where nothing limits it.
struct AttainableRatio {
  double value = nan;
  Status status = Status::missing_input;

  /// This part can not reach a ratio, whatever state it is in. False where it is not known.
  [[nodiscard]] bool excludes(double wanted_ratio) const noexcept { return has_value(status) && value < wanted_ratio; }
};

/// Taken from the generous ends: the greatest capacitance and the resistance two standard uncertainties up, so that
/// "can not show more" is safe. An over-range resistance limits nothing. Equation (I2) of formula/insulation.hpp.
[[nodiscard]] AttainableRatio attainable_ratio(const Showing& showing) noexcept;

}  // namespace ohmward::insulation
