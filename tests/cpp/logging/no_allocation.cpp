// Every call of every log with an allocator that aborts: linked with --wrap for the C functions, the C++ ones replaced.

#include <cstdio>
#include <cstdlib>
#include <new>

#include "ohmward/logging/accuracy_sheet.hpp"
#include "streams.hpp"

namespace {
bool armed = false;

void* refuse() {
  if (armed) std::abort();
  return nullptr;
}
}  // namespace

extern "C" {
void* __real_malloc(std::size_t);
void* __real_calloc(std::size_t, std::size_t);
void* __real_realloc(void*, std::size_t);
void* __wrap_malloc(std::size_t size) { return armed ? refuse() : __real_malloc(size); }
void* __wrap_calloc(std::size_t count, std::size_t size) { return armed ? refuse() : __real_calloc(count, size); }
void* __wrap_realloc(void* old, std::size_t size) { return armed ? refuse() : __real_realloc(old, size); }
}
void* operator new(std::size_t size) { return __wrap_malloc(size); }
void* operator new[](std::size_t size) { return __wrap_malloc(size); }
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete[](void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }
void operator delete[](void* memory, std::size_t) noexcept { std::free(memory); }

namespace ohmward::logging::testing {
namespace {

ForecastMemory memory;
ForecastLibrary library;

template <class Log, class Config>
void save_and_resume(Log& log, const Config& config) {
  static std::uint8_t record[greatest_record];
  const std::size_t size = log.save(record, sizeof record);
  static_cast<void>(log.resume(record, size, Resume::continued));
  static_cast<void>(log.resume(record, size / 2, Resume::cut));
  static_cast<void>(log.init(config));
  log.reset();
}

void all_logs() {
  Hash h;
  InsulationStream insulation(1, {.one_in = 30});
  const AbsorptionConfig config{.test_voltage_volt = 1000, .source_ampere = 1e-3};
  AbsorptionLog absorption(config);
  for (int i = 0; i < 200; ++i) h.add(absorption.push(insulation.next()));
  add(h, absorption.ratio());
  add(h, absorption.settling());
  add(h, absorption.charging());
  h.add(static_cast<std::uint64_t>(absorption.contact()));
  absorption.begin_library(library, memory);
  static_cast<void>(library.fill(memory.grid, absorption.forecast_target(), ForecastLibrary::curves));
  add(h, absorption.forecast(0.95, memory, &library));
  add(h, absorption.forecast(0.95, memory));
  save_and_resume(absorption, config);
  VoltageStream resting(1, {.one_in = 10}, false), decaying(1, {.one_in = 10}, true);
  RestingVoltageLog rest{{.standard_uncertainty_volt = 0.002}};
  LinkDischargeLog link{{.standard_uncertainty_volt = 0.5}};
  for (int i = 0; i < 200; ++i) {
    h.add(rest.push(resting.next()));
    h.add(link.push(decaying.next()));
  }
  add(h, rest.state());
  add(h, link.state());
  save_and_resume(rest, RestingVoltageConfig{});
  save_and_resume(link, LinkDischargeConfig{});
  JointStream joints(1, {.one_in = 10});
  BondingLog bonding{{.standard_uncertainty_ohm = 0.001}};
  h.add(bonding.push_null(joints.next(true)));
  for (int i = 0; i < 200; ++i) h.add(bonding.push(joints.next(false)));
  add(h, bonding.joint());
  save_and_resume(bonding, BondingConfig{});
  RunningMean mean{RunningMeanConfig{}}, other{RunningMeanConfig{}};
  for (int i = 0; i < 200; ++i) h.add(mean.push(1.0 * i));
  h.add(mean.merge(other));
  add(h, mean.state());
  save_and_resume(mean, RunningMeanConfig{});
  if (h.results() == 0) std::abort();
}

}  // namespace
}  // namespace ohmward::logging::testing

int main(int argc, char**) {
  armed = true;
  if (argc > 1) {  // the guard itself is tested: this must abort
    void* volatile memory = std::malloc(1);
    std::free(memory);
    return 0;
  }
  ohmward::logging::testing::all_logs();
  armed = false;
  std::puts("no allocator was called");
  return 0;
}
