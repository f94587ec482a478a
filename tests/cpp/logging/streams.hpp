#pragma once

/// @file
/// Invented streams for every log, with everything that a bad afternoon brings; the same on every target.

#include <cstdint>

#include "ohmward/logging/absorption_log.hpp"
#include "ohmward/logging/bonding_log.hpp"
#include "ohmward/logging/link_discharge_log.hpp"
#include "ohmward/logging/resting_voltage_log.hpp"
#include "ohmward/logging/running_mean.hpp"

namespace ohmward::logging::testing {

/// Steele, Lea and Flood's counter: integers only.
class Random {
 public:
  explicit constexpr Random(std::uint64_t seed) noexcept : state_(seed) {}
  constexpr std::uint64_t word() noexcept {
    state_ += 0x9E3779B97F4A7C15;
    std::uint64_t x = state_;
    x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9;
    x = (x ^ (x >> 27)) * 0x94D049BB133111EB;
    return x ^ (x >> 31);
  }
  constexpr double unit() noexcept { return static_cast<double>(word() >> 11) * 0x1p-53; }
  constexpr double within(double low, double high) noexcept { return low + (high - low) * unit(); }
  constexpr bool one_in(std::uint64_t n) noexcept { return word() % n == 0; }
  /// Near enough a normal number: twelve evenly spread ones.
  constexpr double normal() noexcept {
    double sum = -6;
    for (int i = 0; i < 12; ++i) sum += unit();
    return sum;
  }

 private:
  std::uint64_t state_;
};

/// What breaks careless code.
constexpr double unusual(Random& random) noexcept {
  constexpr double values[] = {nan,
                               infinity,
                               -infinity,
                               0.0,
                               -0.0,
                               5e-324,
                               -5e-324,
                               1e-310,
                               1.7976931348623157e308,
                               -1.0,
                               1e300,
                               -1e9,
                               2.2250738585072014e-308};
  return values[random.word() % (sizeof values / sizeof values[0])];
}

/// How bad a stream is: one fault in so many samples; 0: none.
struct Faults {
  std::uint64_t one_in = 0;
};

/// An insulation test: the capacitance is charged, absorption falls by a power of time, conduction stays.
class InsulationStream {
 public:
  constexpr InsulationStream(std::uint64_t seed, Faults faults) noexcept : random_(seed), faults_(faults) {
    ohm_ = 1e6 * numerics::exp(random_.within(0, 10));
    share_ = random_.unit();
    exponent_ = random_.within(0.2, 1.1);
    farad_ = 1e-9 * numerics::exp(random_.within(0, 6));
    step_second_ = random_.one_in(2) ? 1 : 0.1 * static_cast<double>(1 + random_.word() % 50);
    tick_ = static_cast<std::uint32_t>(random_.word());
    start_tick_ = tick_;
    noise_ = random_.one_in(4) ? 0 : random_.within(0, 0.02);
    by_current_ = random_.one_in(2);
  }

  [[nodiscard]] constexpr std::uint32_t start_tick() const noexcept { return start_tick_; }
  [[nodiscard]] constexpr double test_volt() const noexcept { return 1000; }
  [[nodiscard]] constexpr double source_ampere() const noexcept { return 1e-3; }

  constexpr Sample next() noexcept {
    Sample s;
    const auto millisecond = static_cast<std::uint32_t>(1000 * step_second_ + 0.5);
    tick_ += millisecond;
    elapsed_ += static_cast<double>(millisecond) / 1000;
    s.time_second = elapsed_;
    s.tick_millisecond = tick_;
    const double full = farad_ * test_volt() / source_ampere();
    const double charged = elapsed_ < full ? elapsed_ / full : 1;
    s.applied_volt = test_volt() * charged;
    const double absorption = share_ * numerics::pow(elapsed_ / 60, -exponent_);
    const double siemens = ((1 - share_) + absorption) / ohm_ * (1 + noise_ * random_.normal());
    s.current_ampere = charged < 1 ? source_ampere() : s.applied_volt * siemens;
    if (!by_current_) s.resistance_ohm = s.applied_volt / s.current_ampere;
    if (faults_.one_in != 0 && random_.one_in(faults_.one_in)) spoil(s);
    return s;
  }

 private:
  constexpr void spoil(Sample& s) noexcept {
    double& value = by_current_ ? s.current_ampere : s.resistance_ohm;
    switch (random_.word() % 10) {
      case 0: value = unusual(random_); break;
      case 1: value *= 1000; break;
      case 2: s.applied_volt = unusual(random_); break;
      case 3:  // the one before once more
        s.time_second = last_.time_second;
        s.tick_millisecond = last_.tick_millisecond;
        break;
      case 4:
        s.time_second -= 3 * step_second_;
        s.tick_millisecond -= static_cast<std::uint32_t>(3000 * step_second_);
        break;
      case 5: s.flags = bit(SampleFlag::over_range); break;
      case 6: s.flags = bit(SampleFlag::range_changed); break;
      case 7: s.time_second = unusual(random_); break;
      case 8:  // a hole
        elapsed_ += 20 * step_second_;
        tick_ += static_cast<std::uint32_t>(20000 * step_second_ + 0.5);
        break;
      default: s.flags = bit(SampleFlag::under_range); break;
    }
    last_ = s;
  }

  Random random_;
  Faults faults_;
  Sample last_{};
  double ohm_, share_, exponent_, farad_, step_second_, noise_;
  double elapsed_ = 0;
  std::uint32_t tick_, start_tick_;
  bool by_current_;
};

/// A voltage that settles or decays.
class VoltageStream {
 public:
  constexpr VoltageStream(std::uint64_t seed, Faults faults, bool decays) noexcept : random_(seed), faults_(faults) {
    end_ = decays ? 0 : random_.within(11, 14);
    start_ = decays ? random_.within(100, 900) : random_.within(-0.5, 0.8);
    tau_ = random_.within(5, 200);
    step_second_ = 0.1 * static_cast<double>(1 + random_.word() % 100);
    noise_ = decays ? 0.5 : 0.002;
  }

  constexpr VoltageSample next() noexcept {
    elapsed_ += step_second_;
    VoltageSample s{.time_second = elapsed_,
                    .tick_millisecond = static_cast<std::uint32_t>(1000 * elapsed_ + 0.5),
                    .voltage_volt = end_ + start_ * numerics::exp(-elapsed_ / tau_) + noise_ * random_.normal()};
    if (faults_.one_in != 0 && random_.one_in(faults_.one_in)) {
      switch (random_.word() % 5) {
        case 0: s.voltage_volt = unusual(random_); break;
        case 1: s.time_second = unusual(random_); break;
        case 2: s.time_second -= step_second_; break;
        case 3: s.time_second -= 5 * step_second_; break;
        default: s.flags = static_cast<std::uint8_t>(random_.word() % 8); break;
      }
    }
    return s;
  }

 private:
  Random random_;
  Faults faults_;
  double end_, start_, tau_, step_second_, noise_;
  double elapsed_ = 0;
};

/// Displays of a joint, now and then of the shorted leads.
class JointStream {
 public:
  constexpr JointStream(std::uint64_t seed, Faults faults) noexcept : random_(seed), faults_(faults) {
    leads_ = random_.within(0, 0.3);
    joint_ = random_.within(-0.01, 0.2);
  }

  [[nodiscard]] constexpr JointSample next(bool of_leads) noexcept {
    elapsed_ += random_.within(0.5, 3000);
    JointSample s{.time_second = elapsed_,
                  .tick_millisecond = static_cast<std::uint32_t>(1000 * elapsed_),
                  .resistance_ohm = leads_ + (of_leads ? 0 : joint_) + 0.001 * random_.normal(),
                  .test_ampere = random_.one_in(8) ? nan : random_.within(0.1, 0.3),
                  .flags = random_.one_in(2) ? bit(SampleFlag::polarity_reversed) : std::uint8_t{0}};
    if (faults_.one_in != 0 && random_.one_in(faults_.one_in)) {
      switch (random_.word() % 3) {
        case 0: s.resistance_ohm = unusual(random_); break;
        case 1: s.time_second = unusual(random_); break;
        default: s.flags = static_cast<std::uint8_t>(random_.word() % 16); break;
      }
    }
    return s;
  }

 private:
  Random random_;
  Faults faults_;
  double leads_, joint_;
  double elapsed_ = 0;
};

/// A hash of results, word by word.
class Hash {
 public:
  constexpr void add(std::uint64_t word) noexcept {
    state_ = (state_ ^ word) * 0x9E3779B97F4A7C15;
    state_ ^= state_ >> 29;
    ++results_;
  }
  constexpr void add(double x) noexcept {
    // The sign and the payload of a NaN are no result.
    add(numerics::detail::bits(x == x ? x : nan));
  }
  constexpr void add(float x) noexcept { add(static_cast<double>(x)); }
  constexpr void add(std::uint32_t x) noexcept { add(std::uint64_t{x}); }
  constexpr void add(Status status) noexcept { add(static_cast<std::uint64_t>(static_cast<std::uint8_t>(status))); }
  constexpr void add(Censoring kind) noexcept { add(static_cast<std::uint64_t>(kind)); }

  [[nodiscard]] constexpr std::uint64_t value() const noexcept { return state_; }
  [[nodiscard]] constexpr std::uint32_t results() const noexcept { return results_; }

 private:
  std::uint64_t state_ = 1;
  std::uint32_t results_ = 0;
};

inline void add(Hash& h, const Counts& c) noexcept {
  const auto each = [&h](auto... count) { (h.add(count), ...); };
  Counts::each_field(c, each);
}
inline void add(Hash& h, const RunRatio& r) noexcept {
  h.add(r.value);
  h.add(r.relative_standard_uncertainty);
  h.add(r.censoring);
  h.add(r.status);
}
inline void add(Hash& h, const RunSpot& s) noexcept {
  h.add(s.value);
  h.add(s.censoring);
  h.add(s.status);
}
inline void add(Hash& h, const formula::SettlingState& s) noexcept {
  h.add(static_cast<std::uint64_t>(s.state));
  h.add(s.status);
  h.add(s.slope);
  h.add(s.slope_standard_uncertainty);
  h.add(s.charging_until_second);
  h.add(s.absorption_until_second);
  h.add(s.may_stop_second);
}
inline void add(Hash& h, const formula::ChargingState& s) noexcept {
  h.add(s.capacitance_farad);
  h.add(s.low_farad);
  h.add(s.high_farad);
  h.add(s.reached_second);
  h.add(s.status);
}
inline void add(Hash& h, const formula::Forecast& f) noexcept {
  h.add(f.value);
  h.add(f.low);
  h.add(f.high);
  h.add(f.status);
  h.add(f.noise);
  h.add(f.kernel_width);
  h.add(f.least_distance);
  h.add(f.steepening);
  for (const double share : f.mechanism) h.add(share);
}
inline void add(Hash& h, const formula::RestingState& s) noexcept {
  h.add(static_cast<std::uint64_t>(s.state));
  h.add(s.status);
  h.add(s.voltage_volt);
  h.add(s.standard_uncertainty_volt);
  h.add(s.slope_volt_per_hour);
  h.add(s.slope_standard_uncertainty_volt_per_hour);
  h.add(s.change_volt);
  h.add(s.rest_second);
}
inline void add(Hash& h, const formula::DecayState& s) noexcept {
  h.add(s.initial_volt);
  h.add(s.time_constant_second);
  h.add(s.time_constant_standard_uncertainty_second);
  h.add(s.threshold_second);
  h.add(s.threshold_low_second);
  h.add(s.threshold_high_second);
  h.add(s.chi_square);
  h.add(s.degrees_of_freedom);
  h.add(s.remarks);
  h.add(s.status);
}
inline void add(Hash& h, const formula::JointState& s) noexcept {
  h.add(s.resistance_ohm);
  h.add(s.reading_standard_uncertainty_ohm);
  h.add(s.null_standard_uncertainty_ohm);
  h.add(s.gain_standard_uncertainty_ohm);
  h.add(s.censoring);
  h.add(s.status);
  h.add(s.remarks);
}
inline void add(Hash& h, const numerics::MeanEstimate& m) noexcept {
  h.add(m.mean);
  h.add(m.standard_deviation);
  h.add(m.standard_uncertainty);
  h.add(m.degrees_of_freedom);
  h.add(m.status);
}

/// Hash of the record of a log.
template <class Log>
[[nodiscard]] inline std::uint64_t record_hash(const Log& log) noexcept {
  static std::uint8_t record[greatest_record];
  Hash h;
  const std::size_t size = log.save(record, sizeof record);
  for (std::size_t i = 0; i < size; ++i) h.add(std::uint32_t{record[i]});
  return h.value();
}

}  // namespace ohmward::logging::testing
