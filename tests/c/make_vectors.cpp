// Prints the test vectors that are shipped: samples of every log and what the C++ objects answer, as bit patterns.
//
//     make_vectors >cpp/src/c/vectors/vectors.txt
//
// The streams are invented. cpp/src/c/vectors/run_vectors.c reads the lines again and asks the C interface.

#include <cinttypes>
#include <cstdio>

#include "logging/streams.hpp"

namespace ohmward::logging::testing {
namespace {

void line(const char* name) { std::printf("%s", name); }
void put(double x) { std::printf(" %016" PRIx64, numerics::detail::bits(x == x ? x : nan)); }
void put(std::uint32_t x) { std::printf(" %" PRIu32, x); }
void put(int x) { std::printf(" %d", x); }
void put(Status x) { put(static_cast<int>(x)); }
void put(Censoring x) { put(static_cast<int>(x)); }
void put(TimeBase x) { put(static_cast<int>(x)); }

template <class... Value>
void print(const char* name, Value... values) {
  line(name);
  (put(values), ...);
  std::printf("\n");
}

template <class Log>
void print_record(const Log& log) {
  static std::uint8_t record[greatest_record];
  const std::size_t size = log.save(record, sizeof record);
  const std::uint8_t* const crc = record + size - 4;
  const std::uint32_t sum =
      crc[0] | (std::uint32_t{crc[1]} << 8) | (std::uint32_t{crc[2]} << 16) | (std::uint32_t{crc[3]} << 24);
  print("record", static_cast<std::uint32_t>(size), sum);
}

void print_state(const AbsorptionLog& log) {
  const RunRatio r = log.ratio();
  print("ratio", r.value, r.relative_standard_uncertainty, r.status, r.censoring);
  const RunSpot s = log.latest();
  print("latest", s.value, log.latest_second(), s.status, s.censoring);
  const formula::SettlingState t = log.settling();
  print("settling", t.slope, t.slope_standard_uncertainty, t.charging_until_second, t.absorption_until_second,
        t.may_stop_second, t.status, static_cast<int>(t.state));
  const formula::ChargingState c = log.charging();
  print("charging", c.capacitance_farad, c.low_farad, c.high_farad, c.reached_second, c.status);
}

ForecastMemory memory;

void absorption(std::uint64_t seed, Faults faults, TimeBase base, bool forecast) {
  InsulationStream stream(seed, faults);
  const AbsorptionConfig c{.test_voltage_volt = 1000,
                           .early_second = 30,
                           .late_second = 120,
                           .source_ampere = 1e-3,
                           .relative_standard_uncertainty = 0.01,
                           .gain_relative_standard_uncertainty = 0.02,
                           .capacitance_farad = 1e-8,
                           .time_base = base};
  AbsorptionLog log(c, stream.start_tick());
  print("absorption", c.test_voltage_volt, c.early_second, c.late_second, c.source_ampere,
        c.relative_standard_uncertainty, c.gain_relative_standard_uncertainty, c.capacitance_farad, c.time_base,
        stream.start_tick());
  for (int i = 0; i < 130; ++i) {
    const Sample s = stream.next();
    print("sample", s.time_second, s.applied_volt, s.current_ampere, s.resistance_ohm, s.tick_millisecond,
          std::uint32_t{s.flags}, log.push(s));
    if (i % 26 == 25) print_state(log);
  }
  if (forecast) {
    const formula::Forecast f = log.forecast(0.95, memory);
    print("forecast", f.value, f.low, f.high, f.status);
  }
  print_record(log);
}

void resting(std::uint64_t seed) {
  VoltageStream stream(seed, {.one_in = 12}, false);
  const RestingVoltageConfig c{.cells = 6, .standard_uncertainty_volt = 0.002};
  RestingVoltageLog log(c);
  print("resting", c.cells, c.standard_uncertainty_volt);
  for (int i = 0; i < 100; ++i) {
    const VoltageSample s = stream.next();
    print("at_rest", s.time_second, s.voltage_volt, std::uint32_t{s.flags}, log.push(s));
    if (i % 20 != 19) continue;
    const formula::RestingState r = log.state();
    print("rest", r.voltage_volt, r.standard_uncertainty_volt, r.slope_volt_per_hour, r.change_volt, r.status,
          static_cast<int>(r.state));
  }
  print_record(log);
}

void link(std::uint64_t seed) {
  VoltageStream stream(seed, {.one_in = 12}, true);
  const LinkDischargeConfig c{.standard_uncertainty_volt = 0.5, .gain_relative_standard_uncertainty = 0.005};
  LinkDischargeLog log(c);
  print("link", c.standard_uncertainty_volt, c.gain_relative_standard_uncertainty);
  for (int i = 0; i < 100; ++i) {
    const VoltageSample s = stream.next();
    print("falling", s.time_second, s.voltage_volt, std::uint32_t{s.flags}, log.push(s));
    if (i % 20 != 19) continue;
    const formula::DecayState d = log.state();
    print("decay", d.initial_volt, d.time_constant_second, d.threshold_second, d.threshold_low_second,
          d.threshold_high_second, d.chi_square, d.remarks, d.status);
  }
  print_record(log);
}

void bonding(std::uint64_t seed) {
  JointStream stream(seed, {.one_in = 12});
  const BondingConfig c{.standard_uncertainty_ohm = 0.001, .gain_relative_standard_uncertainty = 0.02};
  BondingLog log(c);
  print("bonding", c.standard_uncertainty_ohm, c.gain_relative_standard_uncertainty);
  for (int i = 0; i < 80; ++i) {
    const bool of_leads = i < 3;
    const JointSample s = stream.next(of_leads);
    print(of_leads ? "null" : "display", s.time_second, s.resistance_ohm, s.test_ampere, std::uint32_t{s.flags},
          of_leads ? log.push_null(s) : log.push(s));
    if (i % 8 != 7) continue;
    const formula::JointState j = log.joint();
    print("joint", j.resistance_ohm, formula::joint_standard_uncertainty_ohm(j), j.remarks, j.status, j.censoring);
    print("next");
    log.next_joint();
  }
  print_record(log);
}

void mean(std::uint64_t seed, double step) {
  Random random(seed);
  RunningMean log{{.display_step = step}};
  print("mean", step);
  for (int i = 0; i < 60; ++i) {
    const double x = random.one_in(15) ? unusual(random) : 12 + 0.01 * random.normal();
    print("value", x, log.push(x));
    if (i % 20 != 19) continue;
    const numerics::MeanEstimate m = log.state();
    print("so_far", m.mean, m.standard_deviation, m.standard_uncertainty, m.degrees_of_freedom, m.status);
  }
  print_record(log);
}

void all() {
  std::printf(
      "# Test vectors of the C interface. Invented streams; a double is the 16 digits of its pattern, a NaN has one\n"
      "# pattern. The last numbers of a line are what the library answers; run_vectors.c tells which they are.\n");
  absorption(2, {}, TimeBase::second, true);
  absorption(5, {.one_in = 12}, TimeBase::tick_millisecond, false);
  absorption(9, {.one_in = 12}, TimeBase::second, false);
  resting(1);
  resting(4);
  link(1);
  link(6);
  bonding(1);
  bonding(2);
  mean(1, 0);
  mean(2, 0.01);
  std::printf("end\n");
}

}  // namespace
}  // namespace ohmward::logging::testing

int main() {
  ohmward::logging::testing::all();
  return 0;
}
