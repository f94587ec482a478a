// A C++ logger outside the project, without exceptions, run-time types and the C++ library.
#include <stdio.h>

#include <ohmward/logging/absorption_log.hpp>

int main() {
  using namespace ohmward::logging;
  AbsorptionLog log{{.test_voltage_volt = 1000, .early_second = 60, .late_second = 600}};
  for (int second = 1; second <= 600; ++second)
    static_cast<void>(log.push({.time_second = 1.0 * second, .resistance_ohm = 2e9 + 1e6 * second}));
  const RunRatio ratio = log.ratio();
  printf("R600/R60 %.4f, %s\n", ratio.value, text(ratio.status));
  return ratio.value == 2.6e9 / 2.06e9 ? 0 : 1;
}
