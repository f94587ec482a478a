#pragma once

#include "ohmward/core/floating_point.hpp"

namespace ohmward::battery {

/// A value with its standard uncertainty.
struct Estimate {
  double value = nan;
  double standard_uncertainty = nan;
};

}  // namespace ohmward::battery
