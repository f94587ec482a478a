#pragma once

#include "c/hosted/door.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::c {

/// @throws InvalidParameter for numbers outside their lists
[[nodiscard]] uncertainty::Quantity from_c(const owd_quantity& c);
[[nodiscard]] owd_quantity to_c(const uncertainty::Quantity& q) noexcept;

}  // namespace ohmward::c
