#pragma once

/// @file
/// A DC link that discharges, sample by sample: time constant, when the threshold is crossed, a second slope.
///
///     ohmward::logging::LinkDischargeLog log{{.standard_uncertainty_volt = 1}};
///     log.push({.time_second = t, .voltage_volt = v});
///     const auto decay = log.state();   // threshold_second with its interval, remarks
///
/// The office's digits: `highvoltage::fit_decay` is the same sums of formula/decay.hpp. A voltage near zero is no proof
/// that a circuit is dead; see the high-voltage checks for what is.

#include <cstddef>

#include "ohmward/formula/decay.hpp"
#include "ohmward/logging/record.hpp"
#include "ohmward/logging/sample.hpp"

namespace ohmward::logging {

struct LinkDischargeConfig {
  double standard_uncertainty_volt = nan;         ///< of one reading, independent from the others, > 0
  double threshold_volt = 60;                     ///< > 0. Source: `un-r100-class-b`.
  double gain_relative_standard_uncertainty = 0;  ///< common to all readings, >= 0
  double coverage_factor = 2;                     ///< of the interval, > 0
  TimeBase time_base = TimeBase::second;

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.standard_uncertainty_volt, self.threshold_volt, self.gain_relative_standard_uncertainty,
          self.coverage_factor, self.time_base);
  }
};

inline namespace OHMWARD_LEVEL {

/// What is wrong with a configuration?
[[nodiscard]] constexpr Fault check(const LinkDischargeConfig& c) noexcept {
  if (!formula::detail::positive(c.standard_uncertainty_volt))
    return {"standard_uncertainty_volt", c.standard_uncertainty_volt, "a finite number above 0"};
  if (!formula::detail::positive(c.threshold_volt))
    return {"threshold_volt", c.threshold_volt, "a finite number above 0"};
  if (!formula::detail::not_negative(c.gain_relative_standard_uncertainty))
    return {"gain_relative_standard_uncertainty", c.gain_relative_standard_uncertainty,
            "a finite number of at least 0"};
  if (!formula::detail::positive(c.coverage_factor))
    return {"coverage_factor", c.coverage_factor, "a finite number above 0"};
  if (!(c.time_base <= TimeBase::tick_millisecond))
    return {"time_base", static_cast<double>(c.time_base), "second or tick_millisecond"};
  return {};
}

/// Voltages of a link since it was switched off, of either sign.
class LinkDischargeLog {
 public:
  /// Not set up: every call answers `not_configured`.
  constexpr LinkDischargeLog() noexcept = default;
  explicit constexpr LinkDischargeLog(const LinkDischargeConfig& config, std::uint32_t start_tick = 0) noexcept {
    static_cast<void>(init(config, start_tick));
  }

  /// Sets up anew. A fault leaves the log not set up.
  constexpr Fault init(const LinkDischargeConfig& config, std::uint32_t start_tick = 0) noexcept {
    config_ = config;
    const Fault fault = check(config);
    configured_ = !fault;
    if (configured_) reset(start_tick);
    return fault;
  }

  /// Begins a new discharge with the same configuration. `start_tick`: when the link was switched off.
  constexpr void reset(std::uint32_t start_tick = 0) noexcept {
    counts_ = {};
    clock_ = Clock(config_.time_base, start_tick);
    sums_ = {};
    cut_ = false;
  }

  /// Takes a sample. Status: sound; inside_noise: within 3 u of zero; bound_only: over or under range, counted only;
  /// missing_input; out_of_domain; contradiction: not later than the one before, or after a cut; not_configured.
  constexpr Status push(const VoltageSample& sample) noexcept {
    if (!configured_) return Status::not_configured;
    count(counts_.samples);
    if (cut_) {
      count(counts_.refused);
      return Status::contradiction;
    }
    const double second = clock_.read(sample.time_second, sample.tick_millisecond, counts_);
    if (has(sample.flags, SampleFlag::range_changed)) count(counts_.range_changes);
    if (censoring_of(sample.flags, sample.voltage_volt) != Censoring::exact) {
      count(counts_.over_range);
      return Status::bound_only;
    }
    const bool doubled = second == sums_.last_second();
    using Taken = formula::DecaySums::Taken;
    switch (sums_.push({.second = second,
                        .volt = sample.voltage_volt,
                        .standard_uncertainty_volt = config_.standard_uncertainty_volt})) {
      case Taken::missing: count(counts_.missing); return Status::missing_input;
      case Taken::impossible: count(counts_.impossible); return Status::out_of_domain;
      case Taken::not_rising: count(doubled ? counts_.doubled : counts_.out_of_order); return Status::contradiction;
      case Taken::in_noise:
        count(counts_.taken);
        count(counts_.in_noise);
        return Status::inside_noise;
      case Taken::used: break;
    }
    count(counts_.taken);
    return Status::sound;
  }

  /// Status as `formula::DecaySums::state`, and run_cut, not_configured.
  [[nodiscard]] formula::DecayState state() const noexcept {
    formula::DecayState state;
    state.status = Status::not_configured;
    if (!configured_) return state;
    state = sums_.state({.threshold_volt = config_.threshold_volt,
                         .gain_relative_standard_uncertainty = config_.gain_relative_standard_uncertainty,
                         .coverage_factor = config_.coverage_factor});
    if (cut_) state.status = worse(state.status, Status::run_cut);
    return state;
  }

  [[nodiscard]] constexpr const Counts& counts() const noexcept { return counts_; }
  [[nodiscard]] constexpr const LinkDischargeConfig& config() const noexcept { return config_; }
  [[nodiscard]] constexpr bool configured() const noexcept { return configured_; }
  [[nodiscard]] constexpr bool cut() const noexcept { return cut_; }

  /// Writes the record of logging/record.hpp; the number of bytes, 0 where the memory is too small.
  [[nodiscard]] std::size_t save(std::uint8_t* record, std::size_t size) const noexcept {
    return detail::write_record(*this, RecordKind::link_discharge, record, size);
  }
  /// Takes the place of the log that was saved. After `cut` samples are refused. Status: sound; run_cut;
  /// record_damaged: the log is not set up then.
  Status resume(const std::uint8_t* record, std::size_t size, Resume how) noexcept {
    const Status status = detail::read_record(*this, RecordKind::link_discharge, record, size);
    if (!has_value(status)) {
      configured_ = false;
      return status;
    }
    cut_ = cut_ || how != Resume::continued;
    if (!configured_) return Status::not_configured;
    return cut_ ? Status::run_cut : status;
  }
  [[nodiscard]] static std::size_t record_bytes() noexcept { return detail::record_bytes<LinkDischargeLog>(); }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    LinkDischargeConfig::each_field(self.config_, visit);
    Counts::each_field(self.counts_, visit);
    Clock::each_field(self.clock_, visit);
    formula::DecaySums::each_field(self.sums_, visit);
    visit(self.configured_, self.cut_);
  }
  /// Does the content of a saved record make sense?
  [[nodiscard]] constexpr bool consistent() const noexcept {
    return (!configured_ || !check(config_)) && clock_.consistent() && sums_.consistent();
  }

 private:
  LinkDischargeConfig config_ = {};
  Counts counts_ = {};
  Clock clock_ = {};
  formula::DecaySums sums_ = {};
  bool configured_ = false;
  bool cut_ = false;
};

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::logging
