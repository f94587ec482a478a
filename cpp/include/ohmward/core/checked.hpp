#pragma once

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward {

/// A value and what it is worth. Where the status is negative the value is NaN (or default made).
template <class T>
struct Checked {
  T value;
  Status status;

  [[nodiscard]] constexpr bool has_value() const noexcept { return ohmward::has_value(status); }
};

/// No value, and why.
[[nodiscard]] constexpr Checked<double> no_value(Status reason) noexcept { return {nan, reason}; }

}  // namespace ohmward
