#pragma once

/// @file
/// Mean and standard uncertainty of readings that come one by one; two halves can be merged.
///
///     ohmward::logging::RunningMean mean{{.display_step = 0.01}};
///     mean.push(12.63);
///     const auto so_far = mean.state();   // mean, standard_uncertainty, degrees_of_freedom, status
///
/// The office's digits: `statistics::mean_of` is the same sums of numerics/running_moments.hpp.

#include <cstddef>

#include "ohmward/formula/outcome.hpp"
#include "ohmward/logging/record.hpp"
#include "ohmward/logging/sample.hpp"
#include "ohmward/numerics/running_moments.hpp"

namespace ohmward::logging {

struct RunningMeanConfig {
  double display_step = 0;  ///< one count of the display: a floor of the uncertainty; 0: none

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.display_step);
  }
};

inline namespace OHMWARD_LEVEL {

/// What is wrong with a configuration?
[[nodiscard]] constexpr Fault check(const RunningMeanConfig& c) noexcept {
  if (!formula::detail::not_negative(c.display_step))
    return {"display_step", c.display_step, "a finite number of at least 0"};
  return {};
}

/// Numbers of any sign. A NaN, one beyond 1e100 and a subnormal one are counted and left out.
class RunningMean {
 public:
  /// Not set up: every call answers `not_configured`.
  constexpr RunningMean() noexcept = default;
  explicit constexpr RunningMean(const RunningMeanConfig& config) noexcept { static_cast<void>(init(config)); }

  /// Sets up anew. A fault leaves it not set up.
  constexpr Fault init(const RunningMeanConfig& config) noexcept {
    config_ = config;
    const Fault fault = check(config);
    configured_ = !fault;
    if (configured_) reset();
    return fault;
  }

  constexpr void reset() noexcept {
    counts_ = {};
    moments_ = {};
    cut_ = false;
  }

  /// Status: sound; missing_input; out_of_domain; not_configured.
  constexpr Status push(double value) noexcept {
    if (!configured_) return Status::not_configured;
    count(counts_.samples);
    if (formula::detail::missing(value)) {
      count(counts_.missing);
      return Status::missing_input;
    }
    const bool subnormal = value != 0 && formula::detail::zero(value);
    if (!formula::detail::believable(value) || subnormal) {
      count(counts_.impossible);
      return Status::out_of_domain;
    }
    count(counts_.taken);
    moments_.add(value);
    return Status::sound;
  }

  /// Joins the readings of another one. contradiction where the display step differs.
  constexpr Status merge(const RunningMean& other) noexcept {
    if (!configured_ || !other.configured_) return Status::not_configured;
    if (config_.display_step != other.config_.display_step) return Status::contradiction;
    const auto join = [](std::uint32_t& into, std::uint32_t more) {
      const std::uint32_t room = ~std::uint32_t{0} - into;
      into += more < room ? more : room;
    };
    join(counts_.samples, other.counts_.samples);
    join(counts_.taken, other.counts_.taken);
    join(counts_.missing, other.counts_.missing);
    join(counts_.impossible, other.counts_.impossible);
    moments_.merge(other.moments_);
    cut_ = cut_ || other.cut_;
    return Status::sound;
  }

  /// Status as `numerics::mean_estimate`, and run_cut, not_configured.
  [[nodiscard]] numerics::MeanEstimate state() const noexcept {
    numerics::MeanEstimate state;
    state.status = Status::not_configured;
    if (!configured_) return state;
    state = numerics::mean_estimate(moments_, config_.display_step);
    if (cut_) state.status = worse(state.status, Status::run_cut);
    return state;
  }

  [[nodiscard]] constexpr double readings() const noexcept { return moments_.count(); }
  [[nodiscard]] constexpr const Counts& counts() const noexcept { return counts_; }
  [[nodiscard]] constexpr const RunningMeanConfig& config() const noexcept { return config_; }
  [[nodiscard]] constexpr bool configured() const noexcept { return configured_; }
  [[nodiscard]] constexpr bool cut() const noexcept { return cut_; }

  /// Writes the record of logging/record.hpp; the number of bytes, 0 where the memory is too small.
  [[nodiscard]] std::size_t save(std::uint8_t* record, std::size_t size) const noexcept {
    return detail::write_record(*this, RecordKind::running_mean, record, size);
  }
  /// Takes the place of the one that was saved. After `cut` it goes on and says so. Status: sound; run_cut;
  /// record_damaged: it is not set up then.
  Status resume(const std::uint8_t* record, std::size_t size, Resume how) noexcept {
    const Status status = detail::read_record(*this, RecordKind::running_mean, record, size);
    if (!has_value(status)) {
      configured_ = false;
      return status;
    }
    cut_ = cut_ || how != Resume::continued;
    if (!configured_) return Status::not_configured;
    return cut_ ? Status::run_cut : status;
  }
  [[nodiscard]] static std::size_t record_bytes() noexcept { return detail::record_bytes<RunningMean>(); }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    RunningMeanConfig::each_field(self.config_, visit);
    Counts::each_field(self.counts_, visit);
    numerics::RunningMoments::each_field(self.moments_, visit);
    visit(self.configured_, self.cut_);
  }
  /// Does the content of a saved record make sense?
  [[nodiscard]] constexpr bool consistent() const noexcept { return !configured_ || !check(config_); }

 private:
  RunningMeanConfig config_ = {};
  Counts counts_ = {};
  numerics::RunningMoments moments_ = {};
  bool configured_ = false;
  bool cut_ = false;
};

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::logging
