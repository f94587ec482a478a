#pragma once

#include "c/hosted/door.hpp"
#include "ohmward/formula/temperature.hpp"
#include "ohmward/temperature/law.hpp"

namespace ohmward::c {

/// @throws InvalidParameter for what the law's own checks refuse, and for an unknown kind
[[nodiscard]] temperature::Law from_c(const owd_law& given);

}  // namespace ohmward::c
