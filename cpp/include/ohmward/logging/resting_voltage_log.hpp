#pragma once

/// @file
/// A battery that comes to rest, sample by sample: its voltage, and whether it still moves.
///
///     ohmward::logging::RestingVoltageLog log{{.cells = 6, .standard_uncertainty_volt = 0.005}};
///     log.push({.time_second = t, .voltage_volt = v});
///     const auto rest = log.state();   // at rest, moving, or not known yet; voltage and slope

#include <cstddef>

#include "ohmward/formula/resting.hpp"
#include "ohmward/logging/record.hpp"
#include "ohmward/logging/sample.hpp"

namespace ohmward::logging {

struct RestingVoltageConfig {
  std::uint32_t cells = 6;                                         ///< in series, 1 ... 1000
  double standard_uncertainty_volt = nan;                          ///< of one reading, > 0
  double tolerance_cell_volt = formula::rest_tolerance_cell_volt;  ///< change over a doubling of the rest, > 0
  TimeBase time_base = TimeBase::second;

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.cells, self.standard_uncertainty_volt, self.tolerance_cell_volt, self.time_base);
  }
};

inline namespace OHMWARD_LEVEL {

/// What is wrong with a configuration?
[[nodiscard]] constexpr Fault check(const RestingVoltageConfig& c) noexcept {
  if (c.cells < 1 || c.cells > 1000) return {"cells", static_cast<double>(c.cells), "within 1 to 1000"};
  if (!formula::detail::positive(c.standard_uncertainty_volt))
    return {"standard_uncertainty_volt", c.standard_uncertainty_volt, "a finite number above 0"};
  if (!formula::detail::positive(c.tolerance_cell_volt))
    return {"tolerance_cell_volt", c.tolerance_cell_volt, "a finite number above 0"};
  if (!(c.time_base <= TimeBase::tick_millisecond))
    return {"time_base", static_cast<double>(c.time_base), "second or tick_millisecond"};
  return {};
}

/// Voltages since the current stopped. Only the last octave of time is kept.
class RestingVoltageLog {
 public:
  /// Not set up: every call answers `not_configured`.
  constexpr RestingVoltageLog() noexcept = default;
  explicit constexpr RestingVoltageLog(const RestingVoltageConfig& config, std::uint32_t start_tick = 0) noexcept {
    static_cast<void>(init(config, start_tick));
  }

  /// Sets up anew. A fault leaves the log not set up.
  constexpr Fault init(const RestingVoltageConfig& config, std::uint32_t start_tick = 0) noexcept {
    config_ = config;
    const Fault fault = check(config);
    configured_ = !fault;
    if (configured_) reset(start_tick);
    return fault;
  }

  /// Begins a new rest with the same configuration. `start_tick`: when the current stopped.
  constexpr void reset(std::uint32_t start_tick = 0) noexcept {
    counts_ = {};
    clock_ = Clock(config_.time_base, start_tick);
    tail_.restart();
    begun_ = cut_ = false;
  }

  /// Takes a sample. Status: sound; bound_only: over or under range, counted only; missing_input; out_of_domain;
  /// contradiction: not later than the one before, or after a cut; not_configured.
  constexpr Status push(const VoltageSample& sample) noexcept {
    if (!configured_) return Status::not_configured;
    count(counts_.samples);
    if (cut_) {
      count(counts_.refused);
      return Status::contradiction;
    }
    const double second = clock_.read(sample.time_second, sample.tick_millisecond, counts_);
    if (has(sample.flags, SampleFlag::range_changed)) count(counts_.range_changes);
    const Censoring censoring = censoring_of(sample.flags, sample.voltage_volt);
    if (formula::detail::missing(second) ||
        (formula::detail::missing(sample.voltage_volt) && censoring == Censoring::exact)) {
      count(counts_.missing);
      return Status::missing_input;
    }
    const bool possible =
        formula::detail::positive(sample.voltage_volt) && formula::detail::believable(sample.voltage_volt);
    if (!formula::detail::positive(second) || (censoring == Censoring::exact && !possible)) {
      count(counts_.impossible);
      return Status::out_of_domain;
    }
    if (begun_ && !(second > tail_.last_second())) {
      count(second == tail_.last_second() ? counts_.doubled : counts_.out_of_order);
      return Status::contradiction;
    }
    if (censoring != Censoring::exact) {
      count(counts_.over_range);
      return Status::bound_only;
    }
    count(counts_.taken);
    tail_.add(second, numerics::log(second), sample.voltage_volt);
    begun_ = true;
    return Status::sound;
  }

  /// Status as `formula::resting_state`, and run_cut, not_configured.
  [[nodiscard]] formula::RestingState state() const noexcept {
    formula::RestingState state;
    state.status = Status::not_configured;
    if (!configured_) return state;
    state = formula::resting_state(tail_, {.tolerance_volt = config_.cells * config_.tolerance_cell_volt,
                                           .standard_uncertainty_volt = config_.standard_uncertainty_volt});
    if (cut_) state.status = worse(state.status, Status::run_cut);
    return state;
  }

  [[nodiscard]] constexpr const Counts& counts() const noexcept { return counts_; }
  [[nodiscard]] constexpr const RestingVoltageConfig& config() const noexcept { return config_; }
  [[nodiscard]] constexpr bool configured() const noexcept { return configured_; }
  [[nodiscard]] constexpr bool cut() const noexcept { return cut_; }

  /// Writes the record of logging/record.hpp; the number of bytes, 0 where the memory is too small.
  [[nodiscard]] std::size_t save(std::uint8_t* record, std::size_t size) const noexcept {
    return detail::write_record(*this, RecordKind::resting_voltage, record, size);
  }
  /// Takes the place of the log that was saved. After `cut` samples are refused. Status: sound; run_cut;
  /// record_damaged: the log is not set up then.
  Status resume(const std::uint8_t* record, std::size_t size, Resume how) noexcept {
    const Status status = detail::read_record(*this, RecordKind::resting_voltage, record, size);
    if (!has_value(status)) {
      configured_ = false;
      return status;
    }
    cut_ = cut_ || how != Resume::continued;
    if (!configured_) return Status::not_configured;
    return cut_ ? Status::run_cut : status;
  }
  [[nodiscard]] static std::size_t record_bytes() noexcept { return detail::record_bytes<RestingVoltageLog>(); }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    RestingVoltageConfig::each_field(self.config_, visit);
    Counts::each_field(self.counts_, visit);
    Clock::each_field(self.clock_, visit);
    formula::TailSums::each_field(self.tail_, visit);
    visit(self.configured_, self.begun_, self.cut_);
  }
  /// Does the content of a saved record make sense?
  [[nodiscard]] constexpr bool consistent() const noexcept {
    return (!configured_ || !check(config_)) && clock_.consistent() && tail_.consistent();
  }

 private:
  RestingVoltageConfig config_ = {};
  Counts counts_ = {};
  Clock clock_ = {};
  formula::TailSums tail_ = {};
  bool configured_ = false;
  bool begun_ = false;
  bool cut_ = false;
};

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::logging
