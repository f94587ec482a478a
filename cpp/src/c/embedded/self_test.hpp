#pragma once

/// @file
/// Tables and arithmetic of this device against those that the library was built with: a worn flash cell, a compiler
/// switch that changes results, a floating-point unit in another mode.

#include "c/embedded/handle.hpp"
#include "ohmward/formula/forecast.hpp"

namespace ohmward::c::self_test {

inline constexpr std::uint32_t tables_expected = 0x2792C92C;
inline constexpr std::uint32_t formulas_expected = 0x8D782B36;

/// CRC-32 of numbers as their patterns, lowest byte first; of NaN the one pattern.
class Sum {
 public:
  void add(std::uint64_t word) noexcept {
    for (int i = 0; i < 64; ++i, word >>= 1) {
      const bool odd = ((crc_ ^ word) & 1) != 0;
      crc_ = (crc_ >> 1) ^ (odd ? 0xEDB88320 : 0);
    }
  }
  void add(double x) noexcept { add(logging::detail::pattern(x)); }
  void add_error(owd_error error) noexcept { add(std::uint64_t{static_cast<std::uint32_t>(error)}); }
  template <class Value, int size>
  void add_all(const Value (&table)[size]) noexcept {
    // Read as what may change behind the compiler's back: the memory is tested, not the text of the program.
    for (const volatile Value& value : table) add(static_cast<Value>(value));
  }
  [[nodiscard]] std::uint32_t value() const noexcept { return ~crc_; }

 private:
  std::uint32_t crc_ = ~std::uint32_t{0};
};

/// Every table that the logs look into.
[[nodiscard]] inline std::uint32_t tables() noexcept {
  namespace of = numerics::coefficients;
  Sum sum;
  sum.add_all(of::exp_table);
  sum.add_all(of::exp2_polynomial);
  sum.add_all(of::exp_polynomial);
  sum.add_all(of::log_polynomial);
  sum.add_all(formula::detail::even_steps);
  for (const volatile int& mechanism : formula::detail::mechanism_of) sum.add(static_cast<std::uint64_t>(mechanism));
  return sum.value();
}

/// The streams begin with a number that the compiler can not know, so that nothing is worked out beforehand.
[[nodiscard]] inline double unknown_one() noexcept {
  volatile double one = 1;
  return one;
}

/// Adds curves of the forecast on the grid of a run; in absorption_log.cpp, where the curves are.
void add_curves(Sum& sum, const owd_absorption_log& log, formula::ForecastGrid& grid) noexcept;

/// What the test borrows the memory for: one log after the other.
struct Bench {
  union {
    owd_absorption_log absorption;
    owd_resting_voltage_log resting;
    owd_link_discharge_log link;
    owd_bonding_log bonding;
    owd_running_mean mean;
  };
  formula::ForecastGrid grid;
};
static_assert(sizeof(Bench) <= sizeof(owd_forecast_memory));

inline void absorption(Sum& sum, Bench& bench) noexcept {
  const double one = unknown_one();
  owd_absorption_log_config config = OWD_ABSORPTION_LOG_CONFIG;
  config.test_voltage_volt = 1000 * one;
  config.early_second = 30;
  config.late_second = 60;
  config.source_ampere = 1e-3;
  config.relative_standard_uncertainty = 0.01;
  config.capacitance_farad = 1e-8;
  sum.add_error(owd_absorption_log_init(&bench.absorption, sizeof bench.absorption, &config));
  owd_sample sample = OWD_SAMPLE;
  sample.applied_volt = 1000;
  for (int i = 1; i <= 64; ++i) {
    sample.time_second = i * one;
    sample.current_ampere =
        1e-9 * (1 + numerics::pow(sample.time_second, -0.8)) * numerics::exp(-1e-3 * sample.time_second);
    sum.add_error(owd_absorption_log_push(&bench.absorption, &sample, nullptr));
  }
  owd_ratio ratio;
  sum.add_error(owd_absorption_log_ratio(&bench.absorption, &ratio));
  sum.add(ratio.value);
  sum.add(ratio.relative_standard_uncertainty);
  owd_settling settling;
  sum.add_error(owd_absorption_log_settling(&bench.absorption, &settling));
  sum.add(settling.slope);
  sum.add(settling.slope_standard_uncertainty);
  sum.add(settling.absorption_until_second);
  add_curves(sum, bench.absorption, bench.grid);
}

inline void resting(Sum& sum, Bench& bench) noexcept {
  const double one = unknown_one();
  owd_resting_voltage_log_config config = OWD_RESTING_VOLTAGE_LOG_CONFIG;
  config.standard_uncertainty_volt = 0.002;
  sum.add_error(owd_resting_voltage_log_init(&bench.resting, sizeof bench.resting, &config));
  owd_voltage_sample sample = OWD_VOLTAGE_SAMPLE;
  for (int i = 1; i <= 64; ++i) {
    sample.time_second = 10 * i * one;
    sample.voltage_volt = 12.6 + 0.2 * numerics::exp(-sample.time_second / 300);
    sum.add_error(owd_resting_voltage_log_push(&bench.resting, &sample, nullptr));
  }
  owd_resting state;
  sum.add_error(owd_resting_voltage_log_state(&bench.resting, &state));
  sum.add(state.voltage_volt);
  sum.add(state.standard_uncertainty_volt);
  sum.add(state.slope_volt_per_hour);
}

inline void discharge(Sum& sum, Bench& bench) noexcept {
  const double one = unknown_one();
  owd_link_discharge_log_config config = OWD_LINK_DISCHARGE_LOG_CONFIG;
  config.standard_uncertainty_volt = 0.5;
  sum.add_error(owd_link_discharge_log_init(&bench.link, sizeof bench.link, &config));
  owd_voltage_sample sample = OWD_VOLTAGE_SAMPLE;
  for (int i = 0; i < 64; ++i) {
    sample.time_second = 0.5 * i * one;
    sample.voltage_volt = 700 * numerics::exp2(-sample.time_second / 6);
    sum.add_error(owd_link_discharge_log_push(&bench.link, &sample, nullptr));
  }
  owd_decay state;
  sum.add_error(owd_link_discharge_log_state(&bench.link, &state));
  sum.add(state.time_constant_second);
  sum.add(state.threshold_second);
  sum.add(state.threshold_low_second);
  sum.add(state.threshold_high_second);
}

inline void bonding(Sum& sum, Bench& bench) noexcept {
  const double one = unknown_one();
  owd_bonding_log_config config = OWD_BONDING_LOG_CONFIG;
  config.standard_uncertainty_ohm = 0.001;
  sum.add_error(owd_bonding_log_init(&bench.bonding, sizeof bench.bonding, &config));
  owd_joint_sample sample = OWD_JOINT_SAMPLE;
  sample.time_second = one;
  sample.resistance_ohm = 0.05;
  sum.add_error(owd_bonding_log_push_null(&bench.bonding, &sample, nullptr));
  for (int i = 2; i <= 8; ++i) {
    sample.time_second = i * one;
    sample.resistance_ohm = 0.07 + 0.01 / i;
    sum.add_error(owd_bonding_log_push(&bench.bonding, &sample, nullptr));
  }
  owd_joint joint;
  sum.add_error(owd_bonding_log_joint(&bench.bonding, &joint));
  sum.add(joint.resistance_ohm);
  sum.add(joint.standard_uncertainty_ohm);
}

inline void mean(Sum& sum, Bench& bench) noexcept {
  const double one = unknown_one();
  const owd_running_mean_config config = OWD_RUNNING_MEAN_CONFIG;
  sum.add_error(owd_running_mean_init(&bench.mean, sizeof bench.mean, &config));
  for (int i = 1; i <= 16; ++i) sum.add_error(owd_running_mean_push(&bench.mean, one / i, nullptr));
  owd_mean state;
  sum.add_error(owd_running_mean_state(&bench.mean, &state));
  sum.add(state.mean);
  sum.add(state.standard_uncertainty);
}

/// Results of every log on a short stream.
[[nodiscard]] inline std::uint32_t formulas(owd_forecast_memory& memory) noexcept {
  Bench& bench = *new (Place{&memory}) Bench;
  Sum sum;
  absorption(sum, bench);
  resting(sum, bench);
  discharge(sum, bench);
  bonding(sum, bench);
  mean(sum, bench);
  return sum.value();
}

}  // namespace ohmward::c::self_test
