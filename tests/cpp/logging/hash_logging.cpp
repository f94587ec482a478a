// Prints a hash of the results of every log, at a short and at a whole number of results.
//
//     hash_logging [--short]
//
// Needs nothing but headers and printf: any compiler for any machine can build it alone, bare metal with software
// doubles too (-DOHMWARD_HASH_SHORT there). The lines are compared with logging_hashes.txt.

#include <stdio.h>

#include "ohmward/logging/accuracy_sheet.hpp"
#include "streams.hpp"

namespace ohmward::logging::testing {
namespace {

/// How often each scenario is run, until a first hash is noted and until the end.
struct Rounds {
  int first;
  int whole;
};

bool only_short = false;

void print(const char* name, const char* size, const Hash& hash) {
  const std::uint64_t v = hash.value();
  printf("%08lx%08lx %s %s %lu\n", static_cast<unsigned long>(v >> 32), static_cast<unsigned long>(v & 0xFFFFFFFF),
         name, size, static_cast<unsigned long>(hash.results()));
}

/// Calls scenario(hash, round) for each round.
template <class Scenario>
void run(const char* name, Rounds rounds, Scenario scenario) {
  Hash hash;
  for (int round = 0; round < (only_short ? rounds.first : rounds.whole); ++round) {
    scenario(hash, static_cast<std::uint64_t>(round));
    if (round + 1 == rounds.first) print(name, "short", hash);
  }
  if (!only_short) print(name, "whole", hash);
}

AbsorptionConfig absorption_config(const InsulationStream& stream, std::uint64_t round) {
  return {.test_voltage_volt = stream.test_volt(),
          .early_second = (round & 1) != 0 ? 30.0 : 60.0,
          .late_second = (round & 2) != 0 ? 60.5 : 600.0,
          .source_ampere = stream.source_ampere(),
          .relative_standard_uncertainty = 0.01,
          .gain_relative_standard_uncertainty = 0.02,
          .capacitance_farad = 1e-8,
          .drift_kelvin = (round & 4) != 0 ? 2.0 : 0.0,
          .time_base = (round & 8) != 0 ? TimeBase::tick_millisecond : TimeBase::second};
}

void absorption(Hash& h, std::uint64_t round) {
  InsulationStream stream(round, {.one_in = round % 3 == 0 ? 0U : 20U});
  AbsorptionLog log(absorption_config(stream, round), stream.start_tick());
  for (int i = 0; i < 250; ++i) {
    h.add(log.push(stream.next()));
    h.add(std::uint32_t{log.marks()});
    if (i % 2 == 0) continue;
    add(h, log.ratio());
    add(h, log.early());
    add(h, log.latest());
    add(h, log.settling());
    add(h, log.charging());
    h.add(static_cast<std::uint64_t>(log.contact()));
  }
  add(h, log.counts());
  h.add(record_hash(log));
}

ForecastMemory memory;
ForecastLibrary library;

void forecast(Hash& h, std::uint64_t round) {
  InsulationStream stream(round, {.one_in = round % 3 == 0 ? 0U : 40U});
  AbsorptionLog log(absorption_config(stream, round), stream.start_tick());
  for (int i = 0; i < 200; ++i) static_cast<void>(log.push(stream.next()));
  log.begin_library(library, memory);
  static_cast<void>(library.fill(memory.grid, log.forecast_target(), ForecastLibrary::curves));
  add(h, log.forecast(0.95, memory, &library));
}

/// Curves of the library on the grids of runs: what a forecast consists of.
void curves(Hash& h, std::uint64_t round) {
  InsulationStream stream(round, {});
  AbsorptionLog log(absorption_config(stream, round), stream.start_tick());
  for (int i = 0; i < 120; ++i) static_cast<void>(log.push(stream.next()));
  log.begin_library(library, memory);
  for (std::int32_t k = static_cast<std::int32_t>(round % 64); k < ForecastLibrary::curves; k += 64) {
    const formula::ForecastCurve curve = formula::forecast_curve(k, memory.grid, log.forecast_target());
    for (const float feature : curve.feature) h.add(feature);
    h.add(curve.log_ratio);
  }
}

void resting(Hash& h, std::uint64_t round) {
  VoltageStream stream(round, {.one_in = 20}, false);
  RestingVoltageLog log{{.cells = 6, .standard_uncertainty_volt = 0.002}};
  for (int i = 0; i < 200; ++i) {
    h.add(log.push(stream.next()));
    add(h, log.state());
  }
  add(h, log.counts());
  h.add(record_hash(log));
}

void discharge(Hash& h, std::uint64_t round) {
  VoltageStream stream(round, {.one_in = 20}, true);
  LinkDischargeLog log{{.standard_uncertainty_volt = 0.5, .gain_relative_standard_uncertainty = 0.005}};
  for (int i = 0; i < 200; ++i) {
    h.add(log.push(stream.next()));
    add(h, log.state());
  }
  add(h, log.counts());
  h.add(record_hash(log));
}

void bonding(Hash& h, std::uint64_t round) {
  JointStream stream(round, {.one_in = 20});
  BondingLog log{{.standard_uncertainty_ohm = 0.001,
                  .gain_relative_standard_uncertainty = 0.02,
                  .four_wire = round % 4 == 0,
                  .null_subtracted = round % 2 == 0}};
  for (int i = 0; i < 200; ++i) {
    if (i % 50 == 0 && round % 8 != 1) {
      log.forget_null();
      for (int k = 0; k < 3; ++k) h.add(log.push_null(stream.next(true)));
    }
    if (i % 7 == 0) log.next_joint();
    h.add(log.push(stream.next(false)));
    add(h, log.joint());
  }
  add(h, log.counts());
  h.add(record_hash(log));
}

void mean(Hash& h, std::uint64_t round) {
  Random random(round);
  RunningMean whole{{.display_step = round % 2 == 0 ? 0.0 : 0.01}}, half = whole;
  for (int i = 0; i < 200; ++i) {
    const double x = random.one_in(30) ? unusual(random) : 12 + 0.01 * random.normal();
    h.add(whole.push(x));
    h.add(half.push(x));
    add(h, whole.state());
    if (i % 50 == 49) {
      h.add(whole.merge(half));
      half.reset();
    }
  }
  h.add(record_hash(whole));
}

constexpr AccuracyLine lines[] = {{.high = 4e6, .display_step = 1e3, .reading_percent = 2, .counts = 2},
                                  {.high = 2e6, .display_step = 1e3, .reading_percent = 3, .counts = 2},
                                  {.low = 4e6, .high = 4e9, .display_step = 1e6, .reading_percent = 5, .counts = 5},
                                  {.high = 2e9, .display_step = 1e6, .range_percent = 0.5, .gain_share = 0.5}};
constexpr double volts[] = {1000, 500};
constexpr AccuracySheet sheet{.lines = lines, .test_voltages_volt = volts, .ranges = 2, .voltages = 2};
static_assert(!check(sheet));

void accuracy(Hash& h, std::uint64_t round) {
  Random random(round);
  for (int i = 0; i < 200; ++i) {
    const double ohm = random.one_in(30) ? unusual(random) : 1e3 * numerics::exp(random.within(0, 16));
    const double volt = random.one_in(2) ? 1000 : 500;
    const double limit = random.one_in(3) ? 1e6 : nan;
    const AccuracyAt at = sheet.find(volt, ohm, limit);
    h.add(at.standard_uncertainty);
    h.add(at.gain);
    h.add(at.reading);
    h.add(at.status);
    const double size = random.one_in(4) ? 0x1p-130 : 1;
    h.add(from_float32(static_cast<float>(random.unit() * size)));
  }
}

}  // namespace

void run_all() {
  run("absorption", {8, 300}, absorption);
  run("forecast", {1, 40}, forecast);
  run("curves", {16, 2048}, curves);
  run("resting", {8, 400}, resting);
  run("discharge", {8, 300}, discharge);
  run("bonding", {8, 400}, bonding);
  run("mean", {8, 500}, mean);
  run("accuracy", {8, 400}, accuracy);
}

}  // namespace ohmward::logging::testing

int main([[maybe_unused]] int argc, [[maybe_unused]] char** argv) {
  using namespace ohmward::logging::testing;
#ifdef OHMWARD_HASH_SHORT
  only_short = true;
#else
  only_short = argc > 1;
#endif
  run_all();
  return 0;
}
