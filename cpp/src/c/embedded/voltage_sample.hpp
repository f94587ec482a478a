#pragma once

#include "ohmward/logging/sample.hpp"
#include "ohmward_c/embedded.h"

namespace ohmward::c {

[[nodiscard]] inline logging::VoltageSample from_c(const owd_voltage_sample& s) noexcept {
  return {.time_second = s.time_second,
          .tick_millisecond = s.tick_millisecond,
          .voltage_volt = s.voltage_volt,
          .flags = s.flags};
}

}  // namespace ohmward::c
