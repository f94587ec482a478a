#pragma once

#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <cstring>
#include <limits>
#include <memory>

#include "ohmward/logging/record.hpp"
#include "ohmward_c/embedded.h"

/// Arbitrary bytes as a program of calls of the logger's C interface, and what must hold whatever it does. The fuzzer
/// searches for a violation; a test replays the corpus.
namespace ohmward::fuzz {

inline void must(bool holds) {
  if (!holds) std::abort();
}

/// Bytes as what calls need; zeros after the end.
class Bytes {
 public:
  Bytes(const std::uint8_t* data, std::size_t size) : next_(data), end_(data + size) {}
  [[nodiscard]] bool empty() const { return next_ == end_; }
  std::uint8_t byte() { return empty() ? std::uint8_t{0} : *next_++; }
  std::uint32_t word() {
    std::uint32_t word = 0;
    for (int i = 0; i < 4; ++i) word = word << 8 | byte();
    return word;
  }
  /// Numbers that break careless code, then 120 powers of two with either sign.
  double number() {
    constexpr double unusual[] = {std::numeric_limits<double>::quiet_NaN(),
                                  std::numeric_limits<double>::infinity(),
                                  -std::numeric_limits<double>::infinity(),
                                  0.0,
                                  -0.0,
                                  5e-324,
                                  1e-310,
                                  1.7976931348623157e308,
                                  -1.0,
                                  1e101,
                                  0.5,
                                  1.0,
                                  60,
                                  600,
                                  1000};
    const std::uint8_t choice = byte();
    if (choice < 15) return unusual[choice];
    if (choice == 15) return -number();
    return std::ldexp(1 + byte() / 256.0, (choice - 16) / 2 - 60);
  }
  /// One of a few choices, or now and then anything.
  std::uint8_t choice(std::uint8_t below) {
    const std::uint8_t b = byte();
    return b >= 250 ? b : static_cast<std::uint8_t>(b % below);
  }

 private:
  const std::uint8_t* next_;
  const std::uint8_t* end_;
};

/// A value is there exactly where its status says so.
inline void told(double value, owd_status status) { must(status >= 0 || value != value); }

/// Every object there is, none of them initialised at first.
struct Objects {
  owd_absorption_log absorption;
  owd_resting_voltage_log resting;
  owd_link_discharge_log link;
  owd_bonding_log bonding;
  owd_running_mean mean, other;
  owd_forecast_memory memory;
  owd_forecast_library library;
  std::uint8_t record[OWD_GREATEST_RECORD];
  int forecasts = 0;

  explicit Objects(std::uint8_t filling) {
    std::memset(&absorption, filling, sizeof absorption);
    std::memset(&resting, filling, sizeof resting);
    std::memset(&link, filling, sizeof link);
    std::memset(&bonding, filling, sizeof bonding);
    std::memset(&mean, filling, sizeof mean);
    std::memset(&other, filling, sizeof other);
    std::memset(&library, filling, sizeof library);
  }
};

/// Sets numbers of a configuration by a mask; what is not chosen stays sensible.
template <class... Double>
void perhaps(Bytes& bytes, Double&... field) {
  std::uint32_t mask = bytes.byte();
  if (sizeof...(field) > 8) mask |= static_cast<std::uint32_t>(bytes.byte()) << 8;
  const auto one = [&](double& x) {
    if ((mask & 1) != 0) x = bytes.number();
    mask >>= 1;
  };
  (one(field), ...);
}

/// Now and then the size or the reserve is wrong.
template <class Config>
void misuse(Bytes& bytes, Config& config) {
  const std::uint8_t b = bytes.byte();
  if (b == 254) config.size ^= 8;
  if (b == 253) config.reserved[sizeof config.reserved - 1] = 1;
}

/// After init: set up, or answering that it is not.
inline void set_up(owd_error error, owd_status of_push) {
  must(error == OWD_OK || error == OWD_ERROR_CONFIG || error == OWD_ERROR_SIZE || error == OWD_ERROR_RESERVED);
  must((error == OWD_OK) == (of_push != OWD_STATUS_NOT_CONFIGURED));
}

/// Breaks a record, with a checksum that fits or not.
inline void damage(Bytes& bytes, std::uint8_t* record, std::size_t size) {
  const std::uint8_t how = bytes.byte() % 5;
  if (how == 0) return;
  const std::size_t place = (bytes.byte() | std::size_t{bytes.byte()} << 8) % size;
  if (how == 4)  // counts at their end, numbers that are none
    for (std::size_t i = place, end = place + bytes.byte(); i < end && i < size; ++i) record[i] = 0xFF;
  for (int i = 0; i < how % 4; ++i) record[(place + bytes.byte()) % size] = bytes.byte();
  if (how == 1) return;
  const std::uint32_t sum = logging::detail::crc32(record, size - 4);
  for (int i = 0; i < 4; ++i) record[size - 4 + static_cast<std::size_t>(i)] = static_cast<std::uint8_t>(sum >> 8 * i);
}

template <class Handle, class Save, class Resume>
void through_a_record(Bytes& bytes, Objects& o, Handle& handle, Save save, Resume resume) {
  std::size_t written = 0;
  const std::size_t room = bytes.byte() < 250 ? sizeof o.record : bytes.byte();
  if (save(&handle, o.record, room, &written) != OWD_OK) return;
  must(written <= sizeof o.record);
  damage(bytes, o.record, written);
  const std::uint8_t how = bytes.choice(2);
  if (bytes.byte() == 77) written = bytes.byte();
  owd_status status = 99;
  const owd_error error = resume(&handle, o.record, written, how, bytes.word(), &status);
  must(error == (how > 1 ? owd_error{OWD_ERROR_PARAMETER} : owd_error{OWD_OK}));
  must(error != OWD_OK || status == OWD_STATUS_SOUND || status == OWD_STATUS_RUN_CUT ||
       status == OWD_STATUS_NOT_CONFIGURED || status == OWD_STATUS_RECORD_DAMAGED);
}

/// --- Insulation test

inline void init_absorption(Bytes& bytes, Objects& o) {
  owd_absorption_log_config c = OWD_ABSORPTION_LOG_CONFIG;
  c.test_voltage_volt = 1000;
  c.source_ampere = 1e-3;
  c.relative_standard_uncertainty = 0.01;
  c.start_tick_millisecond = bytes.word();
  c.time_base = bytes.choice(2);
  c.forecast = bytes.choice(2);
  perhaps(bytes, c.early_second, c.late_second, c.test_voltage_volt, c.source_ampere, c.relative_standard_uncertainty,
          c.gain_relative_standard_uncertainty, c.capacitance_farad, c.least_visible_change, c.loss_factor,
          c.drift_kelvin, c.current_per_kelvin);
  misuse(bytes, c);
  owd_fault fault;
  const owd_error error = owd_absorption_log_init(&o.absorption, sizeof o.absorption, &c);
  must(owd_absorption_log_check(&c, &fault) == error);
  const owd_sample nothing = OWD_SAMPLE;
  owd_status status = 99;
  owd_absorption_log copy = o.absorption;
  must(owd_absorption_log_push(&copy, &nothing, &status) == OWD_OK);
  set_up(error, status);
}

inline void push_sample(Bytes& bytes, Objects& o) {
  const owd_sample s = {bytes.number(), bytes.number(), bytes.number(), bytes.number(), bytes.word(), bytes.byte(), {}};
  owd_status status = 99;
  const owd_error error = owd_absorption_log_push(&o.absorption, &s, &status);
  must((error == OWD_OK) == (status != 99));
}

/// Many samples of one run: how fast, how high, how steep, which one is off.
inline void push_run(Bytes& bytes, Objects& o) {
  const int samples = bytes.byte();
  const double step = std::ldexp(1, bytes.byte() % 8 - 3), ohm = std::fabs(bytes.number());
  const double steepness = (bytes.byte() - 64) / 128.0;
  const std::uint8_t odd = bytes.byte(), flags = bytes.byte();
  const double factor = bytes.number();
  for (int i = 1; i <= samples; ++i) {
    owd_sample s = OWD_SAMPLE;
    s.time_second = i * step;
    s.tick_millisecond = static_cast<std::uint32_t>(1000 * i * step);
    s.resistance_ohm = ohm * std::pow(i * step / 60, steepness);
    s.applied_volt = 1000;
    if ((flags & 128) != 0) {  // by voltage and current, the part being charged first
      s.applied_volt = i < odd % 16 ? 1000.0 * i / (odd % 16) : 1000;
      s.current_ampere = i < odd % 16 ? 1e-3 : 1000 / s.resistance_ohm;
      s.resistance_ohm = std::numeric_limits<double>::quiet_NaN();
      if (i < odd % 16) s.flags = OWD_OVER_RANGE;
    }
    if (i == odd) {
      s.flags = flags & 15;
      s.resistance_ohm *= factor;
    }
    if (owd_absorption_log_push(&o.absorption, &s, nullptr) != OWD_OK) return;
  }
}

inline void read_absorption(Bytes&, Objects& o) {
  owd_ratio ratio;
  if (owd_absorption_log_ratio(&o.absorption, &ratio) != OWD_OK) return;
  told(ratio.value, ratio.status);
  owd_spot spot;
  must(owd_absorption_log_early(&o.absorption, &spot) == OWD_OK);
  told(spot.value, spot.status);
  must(owd_absorption_log_late(&o.absorption, &spot) == OWD_OK);
  told(spot.value, spot.status);
  must(owd_absorption_log_latest(&o.absorption, &spot) == OWD_OK);
  told(spot.value, spot.status);
  owd_settling settling;
  must(owd_absorption_log_settling(&o.absorption, &settling) == OWD_OK);
  must(settling.status >= 0 || settling.state == OWD_SETTLING_UNKNOWN);
  owd_charging charging;
  must(owd_absorption_log_charging(&o.absorption, &charging) == OWD_OK);
  told(charging.capacitance_farad, charging.status);
  std::int8_t contact;
  must(owd_absorption_log_contact(&o.absorption, &contact) == OWD_OK);
  must(contact == OWD_CONTACT_NOT_SHOWN || contact == OWD_CONTACT_BY_READING || contact == OWD_CONTACT_BY_CHARGING);
  std::uint16_t marks;
  must(owd_absorption_log_marks(&o.absorption, &marks) == OWD_OK);
  owd_counts counts;
  must(owd_absorption_log_counts(&o.absorption, &counts) == OWD_OK);
}

inline void forecast(Bytes& bytes, Objects& o) {
  if (++o.forecasts > 2) return;  // each takes milliseconds
  const std::uint8_t how = bytes.byte() % 4;
  const double level = bytes.byte() < 200 ? 0.95 : bytes.number();
  if (how > 0) {
    std::uint8_t more = 1;
    if (how > 1 && owd_forecast_library_begin(&o.library, sizeof o.library, &o.absorption) != OWD_OK) return;
    if (how > 2) static_cast<void>(owd_forecast_library_fill(&o.library, bytes.word(), &more));
  }
  owd_forecast f;
  const std::size_t size = bytes.byte() < 250 ? sizeof o.memory : bytes.byte();
  if (owd_absorption_log_forecast(&o.absorption, level, &o.memory, size, how > 0 ? &o.library : nullptr, &f) != OWD_OK)
    return;
  told(f.value, f.status);
  must(f.status < 0 || (f.low <= f.value && f.value <= f.high));
}

inline void record_absorption(Bytes& bytes, Objects& o) {
  through_a_record(
      bytes, o, o.absorption, owd_absorption_log_save,
      [](owd_absorption_log* log, const std::uint8_t* record, std::size_t size, std::uint8_t how, std::uint32_t tick,
         owd_status* status) { return owd_absorption_log_resume(log, sizeof *log, record, size, how, tick, status); });
}

inline void reset_absorption(Bytes& bytes, Objects& o) {
  static_cast<void>(owd_absorption_log_reset(&o.absorption, bytes.word()));
}

/// --- Voltages

inline void init_resting(Bytes& bytes, Objects& o) {
  owd_resting_voltage_log_config c = OWD_RESTING_VOLTAGE_LOG_CONFIG;
  c.standard_uncertainty_volt = 0.005;
  c.cells = bytes.byte() < 200 ? 6 : bytes.word();
  c.time_base = bytes.choice(2);
  c.start_tick_millisecond = bytes.word();
  perhaps(bytes, c.standard_uncertainty_volt, c.tolerance_cell_volt);
  misuse(bytes, c);
  const owd_error error = owd_resting_voltage_log_init(&o.resting, sizeof o.resting, &c);
  must(owd_resting_voltage_log_check(&c, nullptr) == error);
  const owd_voltage_sample nothing = OWD_VOLTAGE_SAMPLE;
  owd_status status = 99;
  owd_resting_voltage_log copy = o.resting;
  must(owd_resting_voltage_log_push(&copy, &nothing, &status) == OWD_OK);
  set_up(error, status);
}

inline void init_link(Bytes& bytes, Objects& o) {
  owd_link_discharge_log_config c = OWD_LINK_DISCHARGE_LOG_CONFIG;
  c.standard_uncertainty_volt = 1;
  c.time_base = bytes.choice(2);
  c.start_tick_millisecond = bytes.word();
  perhaps(bytes, c.standard_uncertainty_volt, c.threshold_volt, c.gain_relative_standard_uncertainty,
          c.coverage_factor);
  misuse(bytes, c);
  const owd_error error = owd_link_discharge_log_init(&o.link, sizeof o.link, &c);
  must(owd_link_discharge_log_check(&c, nullptr) == error);
  const owd_voltage_sample nothing = OWD_VOLTAGE_SAMPLE;
  owd_status status = 99;
  owd_link_discharge_log copy = o.link;
  must(owd_link_discharge_log_push(&copy, &nothing, &status) == OWD_OK);
  set_up(error, status);
}

inline void push_voltage(Bytes& bytes, Objects& o) {
  const owd_voltage_sample s = {bytes.number(), bytes.number(), bytes.word(), bytes.byte(), {}};
  static_cast<void>(owd_resting_voltage_log_push(&o.resting, &s, nullptr));
  static_cast<void>(owd_link_discharge_log_push(&o.link, &s, nullptr));
}

/// Many voltages that settle at an end, or go on at another pace from the middle on.
inline void push_decay(Bytes& bytes, Objects& o) {
  const int samples = bytes.byte();
  const double step = std::ldexp(1, bytes.byte() % 8 - 2), end = bytes.number(), start = bytes.number();
  const double per_step = bytes.byte() / 256.0, later = bytes.byte() / 256.0;
  double decay = 1;
  for (int i = 1; i <= samples; ++i) {
    decay *= i < samples / 2 ? per_step : later;
    owd_voltage_sample s = OWD_VOLTAGE_SAMPLE;
    s.time_second = i * step;
    s.tick_millisecond = static_cast<std::uint32_t>(1000 * i * step);
    s.voltage_volt = end + start * decay;
    static_cast<void>(owd_resting_voltage_log_push(&o.resting, &s, nullptr));
    static_cast<void>(owd_link_discharge_log_push(&o.link, &s, nullptr));
  }
}

inline void read_voltages(Bytes&, Objects& o) {
  owd_counts counts;
  owd_resting rest;
  if (owd_resting_voltage_log_state(&o.resting, &rest) == OWD_OK) {
    must(rest.status >= 0 || rest.state == OWD_RESTING_UNKNOWN);
    must(owd_resting_voltage_log_counts(&o.resting, &counts) == OWD_OK);
  }
  owd_decay decay;
  if (owd_link_discharge_log_state(&o.link, &decay) == OWD_OK) {
    told(decay.threshold_second, decay.status);
    must(owd_link_discharge_log_counts(&o.link, &counts) == OWD_OK);
  }
}

inline void record_voltages(Bytes& bytes, Objects& o) {
  if (bytes.byte() % 2 == 0)
    through_a_record(bytes, o, o.resting, owd_resting_voltage_log_save,
                     [](owd_resting_voltage_log* log, const std::uint8_t* record, std::size_t size, std::uint8_t how,
                        std::uint32_t tick, owd_status* status) {
                       return owd_resting_voltage_log_resume(log, sizeof *log, record, size, how, tick, status);
                     });
  else
    through_a_record(bytes, o, o.link, owd_link_discharge_log_save,
                     [](owd_link_discharge_log* log, const std::uint8_t* record, std::size_t size, std::uint8_t how,
                        std::uint32_t tick, owd_status* status) {
                       return owd_link_discharge_log_resume(log, sizeof *log, record, size, how, tick, status);
                     });
}

inline void reset_voltages(Bytes& bytes, Objects& o) {
  static_cast<void>(owd_resting_voltage_log_reset(&o.resting, bytes.word()));
  static_cast<void>(owd_link_discharge_log_reset(&o.link, bytes.word()));
}

/// --- Joints

inline void init_bonding(Bytes& bytes, Objects& o) {
  owd_bonding_log_config c = OWD_BONDING_LOG_CONFIG;
  c.standard_uncertainty_ohm = 0.001;
  c.time_base = bytes.choice(2);
  c.four_wire = bytes.choice(2);
  c.null_subtracted = bytes.choice(2);
  c.start_tick_millisecond = bytes.word();
  perhaps(bytes, c.standard_uncertainty_ohm, c.null_standard_uncertainty_ohm, c.gain_relative_standard_uncertainty,
          c.least_test_ampere, c.null_low_ohm, c.null_high_ohm, c.greatest_age_second, c.polarity_factor);
  misuse(bytes, c);
  const owd_error error = owd_bonding_log_init(&o.bonding, sizeof o.bonding, &c);
  must(owd_bonding_log_check(&c, nullptr) == error);
  const owd_joint_sample nothing = OWD_JOINT_SAMPLE;
  owd_status status = 99;
  owd_bonding_log copy = o.bonding;
  must(owd_bonding_log_push(&copy, &nothing, &status) == OWD_OK);
  set_up(error, status);
}

inline void push_joint(Bytes& bytes, Objects& o) {
  const std::uint8_t how = bytes.byte();
  const owd_joint_sample s = {bytes.number(), bytes.number(), bytes.number(), bytes.word(), bytes.byte(), {}};
  owd_status status = 99;
  const owd_error error = (how % 4 == 0 ? owd_bonding_log_push_null : owd_bonding_log_push)(&o.bonding, &s, &status);
  must((error == OWD_OK) == (status != 99));
  if (how % 8 == 1) static_cast<void>(owd_bonding_log_next_joint(&o.bonding));
  if (how % 16 == 2) static_cast<void>(owd_bonding_log_forget_null(&o.bonding));
  if (how % 32 == 3) static_cast<void>(owd_bonding_log_reset(&o.bonding, bytes.word()));
}

/// The shorted leads and a joint, as they should be read: which polarities, how late, how far apart.
inline void push_joints(Bytes& bytes, Objects& o) {
  const std::uint8_t how = bytes.byte();
  const double second = 1e6 * bytes.byte(), late = std::ldexp(1, bytes.byte() % 20), apart = bytes.byte() / 1024.0;
  owd_joint_sample s = {second, 0.01 * (how % 32), 0.2, static_cast<std::uint32_t>(1000 * second), 0, {}};
  if ((how & 128) == 0) static_cast<void>(owd_bonding_log_push_null(&o.bonding, &s, nullptr));
  for (int i = 0; i < how % 8; ++i) {
    s.time_second += late;
    s.tick_millisecond += static_cast<std::uint32_t>(1000 * late);
    s.resistance_ohm = 0.3 + (i % 2 == 0 ? apart : 0);
    s.flags = (how & 64) != 0 && i % 2 == 0 ? OWD_POLARITY_REVERSED : 0;
    static_cast<void>(owd_bonding_log_push(&o.bonding, &s, nullptr));
  }
}

inline void read_joint(Bytes&, Objects& o) {
  owd_joint joint;
  owd_counts counts;
  if (owd_bonding_log_joint(&o.bonding, &joint) != OWD_OK) return;
  told(joint.resistance_ohm, joint.status);
  must(owd_bonding_log_counts(&o.bonding, &counts) == OWD_OK);
}

inline void record_joint(Bytes& bytes, Objects& o) {
  through_a_record(
      bytes, o, o.bonding, owd_bonding_log_save,
      [](owd_bonding_log* log, const std::uint8_t* record, std::size_t size, std::uint8_t how, std::uint32_t tick,
         owd_status* status) { return owd_bonding_log_resume(log, sizeof *log, record, size, how, tick, status); });
}

/// --- Mean

inline void use_mean(Bytes& bytes, Objects& o) {
  owd_running_mean_config c = OWD_RUNNING_MEAN_CONFIG;
  owd_running_mean& mean = bytes.byte() % 2 == 0 ? o.mean : o.other;
  owd_mean state;
  owd_status status = 99;
  owd_counts counts;
  switch (bytes.byte() % 6) {
    case 0:
      perhaps(bytes, c.display_step);
      misuse(bytes, c);
      must(owd_running_mean_init(&mean, sizeof mean, &c) == owd_running_mean_check(&c, nullptr));
      break;
    case 1: static_cast<void>(owd_running_mean_push(&mean, bytes.number(), &status)); break;
    case 2: static_cast<void>(owd_running_mean_merge(&mean, &o.other, &status)); break;
    case 3: static_cast<void>(owd_running_mean_reset(&mean)); break;
    case 4:
      if (owd_running_mean_state(&mean, &state) != OWD_OK) break;
      must(state.status >= 0 || !(state.standard_uncertainty >= 0));
      must(owd_running_mean_counts(&mean, &counts) == OWD_OK);
      break;
    default:
      through_a_record(
          bytes, o, mean, owd_running_mean_save,
          [](owd_running_mean* of, const std::uint8_t* record, std::size_t size, std::uint8_t how, std::uint32_t,
             owd_status* found) { return owd_running_mean_resume(of, sizeof *of, record, size, how, found); });
  }
}

/// --- Sheet, library

inline void use_sheet(Bytes& bytes, Objects&) {
  owd_accuracy_line lines[4];
  double volts[2] = {bytes.number(), bytes.number()};
  double high = 0;
  for (owd_accuracy_line& line : lines) {
    high += 1000;
    line = {0, high, 1, 3, 3, 0, 0};
    perhaps(bytes, line.low, line.high, line.display_step, line.reading_percent, line.counts, line.range_percent,
            line.gain_share);
  }
  owd_accuracy_sheet sheet = OWD_ACCURACY_SHEET;
  const std::uint8_t shape = bytes.byte();
  sheet.voltages = shape % 3;
  sheet.ranges = static_cast<std::uint16_t>(sheet.voltages == 2 ? shape / 3 % 3 : shape / 3 % 5);
  if ((shape & 64) == 0) sheet.lines = lines;
  if ((shape & 128) == 0) sheet.test_voltages_volt = volts;
  sheet.log_scale = bytes.choice(2);
  perhaps(bytes, sheet.divisor);
  misuse(bytes, sheet);
  owd_fault fault;
  const bool sensible = owd_accuracy_sheet_check(&sheet, &fault) == OWD_OK;
  const double reading = bytes.number(), volt = (shape & 32) != 0 ? bytes.number() : volts[0];
  owd_accuracy at;
  double ceiling;
  if (!sensible && sheet.voltages > 1 && sheet.test_voltages_volt == nullptr) return;
  if (owd_accuracy_sheet_find(&sheet, volt, reading, bytes.number(), &at) != OWD_OK) return;
  if (sensible) told(at.standard_uncertainty, at.status);
  must(owd_accuracy_sheet_at(&sheet, bytes.byte() % 5, bytes.byte() % 3, reading, volt, &at) == OWD_OK);
  must(owd_accuracy_sheet_ceiling(&sheet, volt, &ceiling) == OWD_OK);
}

inline void use_library(Bytes& bytes, Objects& o) {
  for (int i = -128; i < 128; ++i) {
    must(owd_status_text(static_cast<owd_status>(i)) != nullptr);
    must(owd_error_text(i) != nullptr);
    must(owd_finding_text(static_cast<std::uint32_t>(i)) != nullptr);
  }
  must(owd_abi_version() == OWD_ABI_VERSION && owd_version()[0] != '\0');
  owd_self_test_result result;
  if (bytes.byte() == 1) must(owd_self_test(&o.memory, sizeof o.memory, &result) == OWD_OK);
}

template <class Handle, class Sample, class Push, class Counts, class Save, class Reset>
void null_log(Handle* nothing, Handle* log, const Sample& sample, Push push, Counts counts, Save save, Reset reset) {
  owd_counts c;
  std::uint8_t record[8];
  std::size_t written;
  must(push(nothing, &sample, nullptr) == OWD_ERROR_NULL && push(log, nullptr, nullptr) == OWD_ERROR_NULL);
  must(counts(nothing, &c) == OWD_ERROR_NULL && counts(log, nullptr) == OWD_ERROR_NULL);
  must(save(nothing, record, 8, &written) == OWD_ERROR_NULL && save(log, nullptr, 8, &written) == OWD_ERROR_NULL);
  must(save(log, record, 8, nullptr) == OWD_ERROR_NULL && reset(nothing, 0) == OWD_ERROR_NULL);
}

/// `init` and `check` with what is null or too small, then `resume` likewise.
template <class Handle, class Config, class Init, class Check, class Resume>
void null_set_up(Handle log, Config config, Init init, Check check, Resume resume) {
  owd_status status;
  const std::uint8_t record[8] = {};
  must(init(nullptr, sizeof log, &config) == OWD_ERROR_NULL && init(&log, sizeof log, nullptr) == OWD_ERROR_NULL);
  must(init(&log, sizeof log - 1, &config) == OWD_ERROR_SIZE && check(nullptr, nullptr) == OWD_ERROR_NULL);
  must(resume(nullptr, sizeof log, record, 8, 0, 0, &status) == OWD_ERROR_NULL);
  must(resume(&log, sizeof log, nullptr, 8, 0, 0, &status) == OWD_ERROR_NULL);
  must(resume(&log, 8, record, 8, 0, 0, &status) == OWD_ERROR_SIZE);
  must(resume(&log, sizeof log, record, 8, 7, 0, &status) == OWD_ERROR_PARAMETER);
  must(resume(&log, sizeof log, record, 8, 0, 0, nullptr) == OWD_OK);
}

/// Every reader: of nothing, into nothing, and of what may be initialised or not.
template <class Handle, class Out, class Read>
void null_read(const Handle* log, Out out, Read read) {
  must(read(static_cast<const Handle*>(nullptr), &out) == OWD_ERROR_NULL);
  must(read(log, nullptr) == OWD_ERROR_NULL);
  const owd_error error = read(log, &out);
  must(error == OWD_OK || error == OWD_ERROR_NOT_INITIALISED);
}

inline void null_insulation(Objects& o) {
  const owd_sample s = OWD_SAMPLE;
  const owd_absorption_log_config c = OWD_ABSORPTION_LOG_CONFIG;
  owd_absorption_log* const nothing = nullptr;
  null_log(nothing, &o.absorption, s, owd_absorption_log_push, owd_absorption_log_counts, owd_absorption_log_save,
           owd_absorption_log_reset);
  null_set_up(o.absorption, c, owd_absorption_log_init, owd_absorption_log_check, owd_absorption_log_resume);
  null_read(&o.absorption, owd_ratio{}, owd_absorption_log_ratio);
  null_read(&o.absorption, owd_spot{}, owd_absorption_log_early);
  null_read(&o.absorption, owd_spot{}, owd_absorption_log_late);
  null_read(&o.absorption, owd_spot{}, owd_absorption_log_latest);
  null_read(&o.absorption, owd_settling{}, owd_absorption_log_settling);
  null_read(&o.absorption, owd_charging{}, owd_absorption_log_charging);
  null_read(&o.absorption, std::int8_t{}, owd_absorption_log_contact);
  null_read(&o.absorption, std::uint16_t{}, owd_absorption_log_marks);
  owd_forecast f;
  std::uint8_t more;
  must(owd_absorption_log_forecast(&o.absorption, 0.95, nullptr, 0, nullptr, &f) == OWD_ERROR_NULL);
  must(owd_absorption_log_forecast(nothing, 0.95, &o.memory, sizeof o.memory, nullptr, &f) == OWD_ERROR_NULL);
  must(owd_absorption_log_forecast(&o.absorption, 0.95, &o.memory, sizeof o.memory, nullptr, nullptr) ==
       OWD_ERROR_NULL);
  must(owd_forecast_library_begin(&o.library, sizeof o.library, nullptr) == OWD_ERROR_NULL);
  if (owd_absorption_log_counts(&o.absorption, std::make_unique<owd_counts>().get()) == OWD_OK) {
    must(owd_forecast_library_begin(nullptr, 0, &o.absorption) == OWD_ERROR_NULL);
    must(owd_forecast_library_begin(&o.library, 8, &o.absorption) == OWD_ERROR_SIZE);
  }
  must(owd_forecast_library_fill(nullptr, 1, &more) == OWD_ERROR_NULL);
  must(owd_forecast_library_fill(&o.library, 1, nullptr) == OWD_ERROR_NULL);
}

inline void null_voltages(Objects& o) {
  const owd_voltage_sample s = OWD_VOLTAGE_SAMPLE;
  owd_resting_voltage_log* const no_rest = nullptr;
  owd_link_discharge_log* const no_link = nullptr;
  null_log(no_rest, &o.resting, s, owd_resting_voltage_log_push, owd_resting_voltage_log_counts,
           owd_resting_voltage_log_save, owd_resting_voltage_log_reset);
  null_log(no_link, &o.link, s, owd_link_discharge_log_push, owd_link_discharge_log_counts, owd_link_discharge_log_save,
           owd_link_discharge_log_reset);
  const owd_resting_voltage_log_config of_rest = OWD_RESTING_VOLTAGE_LOG_CONFIG;
  const owd_link_discharge_log_config of_link = OWD_LINK_DISCHARGE_LOG_CONFIG;
  null_set_up(o.resting, of_rest, owd_resting_voltage_log_init, owd_resting_voltage_log_check,
              owd_resting_voltage_log_resume);
  null_set_up(o.link, of_link, owd_link_discharge_log_init, owd_link_discharge_log_check,
              owd_link_discharge_log_resume);
  null_read(&o.resting, owd_resting{}, owd_resting_voltage_log_state);
  null_read(&o.link, owd_decay{}, owd_link_discharge_log_state);
}

inline void null_joints(Objects& o) {
  const owd_joint_sample s = OWD_JOINT_SAMPLE;
  const owd_bonding_log_config c = OWD_BONDING_LOG_CONFIG;
  owd_bonding_log* const nothing = nullptr;
  null_log(nothing, &o.bonding, s, owd_bonding_log_push, owd_bonding_log_counts, owd_bonding_log_save,
           owd_bonding_log_reset);
  null_log(nothing, &o.bonding, s, owd_bonding_log_push_null, owd_bonding_log_counts, owd_bonding_log_save,
           owd_bonding_log_reset);
  null_set_up(o.bonding, c, owd_bonding_log_init, owd_bonding_log_check, owd_bonding_log_resume);
  null_read(&o.bonding, owd_joint{}, owd_bonding_log_joint);
  must(owd_bonding_log_next_joint(nullptr) == OWD_ERROR_NULL && owd_bonding_log_forget_null(nullptr) == OWD_ERROR_NULL);
}

inline void null_mean_and_sheet(Objects& o) {
  const owd_running_mean_config c = OWD_RUNNING_MEAN_CONFIG;
  owd_running_mean* const nothing = nullptr;
  owd_counts counts;
  std::uint8_t record[8] = {};
  std::size_t written;
  must(owd_running_mean_init(nullptr, 0, &c) == OWD_ERROR_NULL && owd_running_mean_check(nullptr, nullptr) != OWD_OK);
  must(owd_running_mean_init(&o.other, 8, &c) == OWD_ERROR_SIZE);
  must(owd_running_mean_push(nothing, 1, nullptr) == OWD_ERROR_NULL);
  must(owd_running_mean_merge(&o.mean, nothing, nullptr) == OWD_ERROR_NULL);
  must(owd_running_mean_reset(nothing) == OWD_ERROR_NULL);
  must(owd_running_mean_counts(nothing, &counts) == OWD_ERROR_NULL);
  must(owd_running_mean_counts(&o.mean, nullptr) == OWD_ERROR_NULL);
  must(owd_running_mean_save(nothing, record, 8, &written) == OWD_ERROR_NULL);
  must(owd_running_mean_save(&o.mean, nullptr, 8, &written) == OWD_ERROR_NULL);
  must(owd_running_mean_resume(nothing, sizeof o.mean, record, 8, 0, nullptr) == OWD_ERROR_NULL);
  must(owd_running_mean_resume(&o.mean, sizeof o.mean, nullptr, 8, 0, nullptr) == OWD_ERROR_NULL);
  must(owd_running_mean_resume(&o.mean, 8, record, 8, 0, nullptr) == OWD_ERROR_SIZE);
  null_read(&o.mean, owd_mean{}, owd_running_mean_state);
  owd_accuracy at;
  const owd_accuracy_sheet sheet = OWD_ACCURACY_SHEET;
  must(owd_accuracy_sheet_check(nullptr, nullptr) == OWD_ERROR_NULL);
  must(owd_accuracy_sheet_at(nullptr, 0, 0, 1, 1, &at) == OWD_ERROR_NULL);
  must(owd_accuracy_sheet_at(&sheet, 0, 0, 1, 1, nullptr) == OWD_ERROR_NULL);
  must(owd_accuracy_sheet_find(nullptr, 1, 1, 1, &at) == OWD_ERROR_NULL);
  must(owd_accuracy_sheet_find(&sheet, 1, 1, 1, nullptr) == OWD_ERROR_NULL);
  must(owd_accuracy_sheet_ceiling(nullptr, 1, &at.gain) == OWD_ERROR_NULL);
  must(owd_accuracy_sheet_ceiling(&sheet, 1, nullptr) == OWD_ERROR_NULL);
  must(owd_self_test(nullptr, 0, nullptr) == OWD_ERROR_NULL && owd_self_test(&o.memory, 8, nullptr) == OWD_ERROR_SIZE);
}

/// Calls with what is null, too small or not initialised: errors, and nothing else.
inline void use_null(Bytes&, Objects& o) {
  null_insulation(o);
  null_voltages(o);
  null_joints(o);
  null_mean_and_sheet(o);
}

inline void c_interface(const std::uint8_t* data, std::size_t size) {
  constexpr void (*calls[])(Bytes&, Objects&) = {
      init_absorption,  push_sample,    push_run,     read_absorption, forecast,   record_absorption,
      reset_absorption, init_resting,   init_link,    push_voltage,    push_decay, read_voltages,
      record_voltages,  reset_voltages, init_bonding, push_joint,      read_joint, record_joint,
      use_mean,         use_sheet,      use_library,  use_null};
  Bytes bytes(data, size);
  const auto objects = std::make_unique<Objects>(bytes.byte());
  while (!bytes.empty()) calls[bytes.byte() % std::size(calls)](bytes, *objects);
}

}  // namespace ohmward::fuzz
