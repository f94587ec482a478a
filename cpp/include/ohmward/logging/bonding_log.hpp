#pragma once

/// @file
/// Joints read with a low-ohm meter, sample by sample: null of the leads with age and plausibility, both polarities.
///
///     ohmward::logging::BondingLog log{{.standard_uncertainty_ohm = 0.001}};
///     log.push_null({.time_second = t, .resistance_ohm = leads});
///     log.push({.time_second = t, .resistance_ohm = r, .test_ampere = 0.2});
///     const auto joint = log.joint();   // resistance_ohm, uncertainty in parts, remarks
///     log.next_joint();                 // the null stays
///
/// The office's digits: `highvoltage::bonding_resistance` is the same function of formula/bonding.hpp.

#include <cstddef>

#include "ohmward/formula/bonding.hpp"
#include "ohmward/logging/record.hpp"
#include "ohmward/logging/sample.hpp"
#include "ohmward/numerics/running_moments.hpp"

namespace ohmward::logging {

struct BondingConfig {
  double standard_uncertainty_ohm = nan;          ///< of one display, independent from the others, > 0
  double null_standard_uncertainty_ohm = nan;     ///< of one null; NaN: as of a display
  double gain_relative_standard_uncertainty = 0;  ///< acts on the difference from the null only, >= 0
  formula::BondingSettings settings = {};         ///< what a null and a current should be
  TimeBase time_base = TimeBase::second;
  bool four_wire = false;        ///< needs no null
  bool null_subtracted = false;  ///< the meter already takes its null off

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.standard_uncertainty_ohm, self.null_standard_uncertainty_ohm, self.gain_relative_standard_uncertainty,
          self.settings.least_test_ampere, self.settings.null_low_ohm, self.settings.null_high_ohm,
          self.settings.greatest_age_second, self.settings.polarity_factor, self.time_base, self.four_wire,
          self.null_subtracted);
  }
};

inline namespace OHMWARD_LEVEL {

/// What is wrong with a configuration?
[[nodiscard]] constexpr Fault check(const BondingConfig& c) noexcept {
  using formula::detail::missing, formula::detail::not_negative, formula::detail::positive;
  constexpr const char* not_negative_text = "a finite number of at least 0";
  if (!positive(c.standard_uncertainty_ohm))
    return {"standard_uncertainty_ohm", c.standard_uncertainty_ohm, "a finite number above 0"};
  if (!missing(c.null_standard_uncertainty_ohm) && !not_negative(c.null_standard_uncertainty_ohm))
    return {"null_standard_uncertainty_ohm", c.null_standard_uncertainty_ohm, not_negative_text};
  if (!not_negative(c.gain_relative_standard_uncertainty))
    return {"gain_relative_standard_uncertainty", c.gain_relative_standard_uncertainty, not_negative_text};
  const formula::BondingSettings& s = c.settings;
  if (!not_negative(s.least_test_ampere)) return {"least_test_ampere", s.least_test_ampere, not_negative_text};
  if (!not_negative(s.null_low_ohm)) return {"null_low_ohm", s.null_low_ohm, not_negative_text};
  if (!formula::detail::finite(s.null_high_ohm) || !(s.null_high_ohm > s.null_low_ohm))
    return {"null_high_ohm", s.null_high_ohm, "a finite number above null_low_ohm"};
  if (!positive(s.greatest_age_second))
    return {"greatest_age_second", s.greatest_age_second, "a finite number above 0"};
  if (!positive(s.polarity_factor)) return {"polarity_factor", s.polarity_factor, "a finite number above 0"};
  if (!(c.time_base <= TimeBase::tick_millisecond))
    return {"time_base", static_cast<double>(c.time_base), "second or tick_millisecond"};
  return {};
}

/// One null and the joints read with it. Several displays of one joint make a mean.
class BondingLog {
 public:
  /// Not set up: every call answers `not_configured`.
  constexpr BondingLog() noexcept = default;
  explicit constexpr BondingLog(const BondingConfig& config, std::uint32_t start_tick = 0) noexcept {
    static_cast<void>(init(config, start_tick));
  }

  /// Sets up anew. A fault leaves the log not set up.
  constexpr Fault init(const BondingConfig& config, std::uint32_t start_tick = 0) noexcept {
    config_ = config;
    const Fault fault = check(config);
    configured_ = !fault;
    if (configured_) reset(start_tick);
    return fault;
  }

  /// Forgets null and joint.
  constexpr void reset(std::uint32_t start_tick = 0) noexcept {
    counts_ = {};
    clock_ = Clock(config_.time_base, start_tick);
    forget_null();
    next_joint();
    last_second_ = nan;
    cut_ = false;
  }

  /// Goes to the next joint; the null stays.
  constexpr void next_joint() noexcept {
    forward_ = reverse_ = {};
    least_ampere_ = joint_second_ = nan;
    open_ = false;
  }

  /// Forgets the null: before new ones are pushed.
  constexpr void forget_null() noexcept {
    null_ = {};
    null_second_ = nan;
  }

  /// Takes a display of the shorted leads. Status as `push`; an open one is out_of_domain.
  constexpr Status push_null(const JointSample& sample) noexcept {
    double second = nan;
    const Status status = received(sample, second);
    if (status == Status::bound_only) {
      count(counts_.impossible);
      return Status::out_of_domain;
    }
    if (status != Status::sound) return status;
    count(counts_.taken);
    null_.add(sample.resistance_ohm);
    null_second_ = second;
    return Status::sound;
  }

  /// Takes a display of a joint; it may lie below zero. Status: sound; bound_only: over range, the joint is open;
  /// missing_input; out_of_domain; contradiction: not later than the one before; not_configured.
  constexpr Status push(const JointSample& sample) noexcept {
    double second = nan;
    const Status status = received(sample, second);
    if (!has_value(status)) return status;
    joint_second_ = second;
    if (!(least_ampere_ <= sample.test_ampere)) least_ampere_ = sample.test_ampere;  // NaN: not known for all of them
    if (status == Status::bound_only) {
      open_ = true;
      return status;
    }
    count(counts_.taken);
    (has(sample.flags, SampleFlag::polarity_reversed) ? reverse_ : forward_).add(sample.resistance_ohm);
    return Status::sound;
  }

  /// The joint as it stands. Status as `formula::joint_state`, and run_cut, not_configured.
  [[nodiscard]] formula::JointState joint() const noexcept {
    formula::JointState state;
    state.status = Status::not_configured;
    if (!configured_) return state;
    state = formula::joint_state(reading(), config_.settings);
    if (cut_) state.status = worse(state.status, Status::run_cut);
    return state;
  }

  /// The joint as the office takes it: means of the displays, age of the null.
  [[nodiscard]] formula::BondingReading reading() const noexcept {
    // One polarity is one polarity, whichever it was.
    const bool both = forward_.count() > 0 && reverse_.count() > 0;
    const numerics::RunningMoments& first = forward_.count() > 0 ? forward_ : reverse_;
    const double of_null = formula::detail::missing(config_.null_standard_uncertainty_ohm)
                               ? config_.standard_uncertainty_ohm
                               : config_.null_standard_uncertainty_ohm;
    double u = of_mean(first, config_.standard_uncertainty_ohm);
    if (both) {
      const double of_reverse = of_mean(reverse_, config_.standard_uncertainty_ohm);
      u = of_reverse > u ? of_reverse : u;
    }
    return {.forward_ohm = open_ ? infinity : first.mean(),
            .reverse_ohm = both && !open_ ? reverse_.mean() : nan,
            .four_wire = config_.four_wire,
            .null = {.ohm = null_.mean(),
                     .standard_uncertainty_ohm = of_mean(null_, of_null),
                     .age_second = joint_second_ - null_second_},
            .null_subtracted = config_.null_subtracted,
            .test_ampere = least_ampere_,
            .standard_uncertainty_ohm = u,
            .gain_relative_standard_uncertainty = config_.gain_relative_standard_uncertainty};
  }

  [[nodiscard]] constexpr const Counts& counts() const noexcept { return counts_; }
  [[nodiscard]] constexpr const BondingConfig& config() const noexcept { return config_; }
  [[nodiscard]] constexpr bool configured() const noexcept { return configured_; }
  [[nodiscard]] constexpr bool cut() const noexcept { return cut_; }

  /// Writes the record of logging/record.hpp; the number of bytes, 0 where the memory is too small.
  [[nodiscard]] std::size_t save(std::uint8_t* record, std::size_t size) const noexcept {
    return detail::write_record(*this, RecordKind::bonding, record, size);
  }
  /// Takes the place of the log that was saved. After `cut` the joint is begun anew, and the age of the null is not
  /// known. `start_tick`: any tick of the clock that counts now. Status: sound; run_cut; record_damaged: the log is not
  /// set up then.
  Status resume(const std::uint8_t* record, std::size_t size, Resume how, std::uint32_t start_tick = 0) noexcept {
    const Status status = detail::read_record(*this, RecordKind::bonding, record, size);
    if (!has_value(status)) {
      configured_ = false;
      return status;
    }
    if (!configured_) return Status::not_configured;
    if (how != Resume::continued) {
      cut_ = true;
      clock_ = Clock(config_.time_base, start_tick);
      null_second_ = last_second_ = nan;
      next_joint();
    }
    return cut_ ? Status::run_cut : status;
  }
  [[nodiscard]] static std::size_t record_bytes() noexcept { return detail::record_bytes<BondingLog>(); }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    BondingConfig::each_field(self.config_, visit);
    Counts::each_field(self.counts_, visit);
    Clock::each_field(self.clock_, visit);
    numerics::RunningMoments::each_field(self.null_, visit);
    numerics::RunningMoments::each_field(self.forward_, visit);
    numerics::RunningMoments::each_field(self.reverse_, visit);
    visit(self.null_second_, self.joint_second_, self.last_second_, self.least_ampere_, self.configured_, self.open_,
          self.cut_);
  }
  /// Does the content of a saved record make sense?
  [[nodiscard]] constexpr bool consistent() const noexcept {
    return (!configured_ || !check(config_)) && clock_.consistent();
  }

 private:
  /// What is common to null and joint: counts, clock, what can be believed.
  constexpr Status received(const JointSample& sample, double& second) noexcept {
    if (!configured_) return Status::not_configured;
    count(counts_.samples);
    second = clock_.read(sample.time_second, sample.tick_millisecond, counts_);
    if (has(sample.flags, SampleFlag::range_changed)) count(counts_.range_changes);
    const bool over = has(sample.flags, SampleFlag::over_range);
    if (formula::detail::missing(second) || (formula::detail::missing(sample.resistance_ohm) && !over)) {
      count(counts_.missing);
      return Status::missing_input;
    }
    const bool subnormal = sample.resistance_ohm != 0 && formula::detail::zero(sample.resistance_ohm);
    const bool possible = formula::detail::believable(sample.resistance_ohm) && !subnormal;
    if (!formula::detail::finite(second) || !(over || possible)) {
      count(counts_.impossible);
      return Status::out_of_domain;
    }
    if (second <= last_second_) {  // false for the first
      count(second == last_second_ ? counts_.doubled : counts_.out_of_order);
      return Status::contradiction;
    }
    last_second_ = second;
    if (!over) return Status::sound;
    count(counts_.over_range);
    return Status::bound_only;
  }

  /// The display's own uncertainty does not shrink with repeats; their scatter may be larger.
  [[nodiscard]] static double of_mean(const numerics::RunningMoments& of, double of_display) noexcept {
    if (of.count() < 2) return of_display;
    const double scatter = of.standard_deviation() / numerics::sqrt(of.count());
    return scatter > of_display ? scatter : of_display;
  }

  BondingConfig config_ = {};
  Counts counts_ = {};
  Clock clock_ = {};
  numerics::RunningMoments null_ = {};
  numerics::RunningMoments forward_ = {};
  numerics::RunningMoments reverse_ = {};
  double null_second_ = nan;
  double joint_second_ = nan;
  double last_second_ = nan;
  double least_ampere_ = nan;
  bool configured_ = false;
  bool open_ = false;
  bool cut_ = false;
};

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::logging
