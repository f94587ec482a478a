#pragma once

/// @file
/// What a logger hands in, the clock it counts by, and the counts of what was not believed.
///
/// Every object of this room: fixed memory, no heap, no exception, no recursion, a bounded time for each sample, safe
/// to copy byte by byte. An object belongs to one task at a time; there is nothing shared between two objects. A sample
/// is handed in from a task, not from an interrupt: queue it there.
///
/// A reading with a 32-bit float behind it keeps 24 bits: at 1 teraohm steps of 65.5 kiloohm, at 10 milliohm steps of
/// 0.93 nanoohm, 6e-8 of the value everywhere. Voltage and current are divided as doubles. A float too small to be
/// normal counts as 0.

#include <cstdint>

#include "ohmward/core/censoring.hpp"
#include "ohmward/numerics/elementary.hpp"

namespace ohmward::logging {

/// What a log counts time by.
enum class TimeBase : std::uint8_t {
  second = 0,            ///< `time_second`
  tick_millisecond = 1,  ///< `tick_millisecond`, which may wrap
};

/// Bits of a sample's flags.
enum class SampleFlag : std::uint8_t {
  over_range = 1,        ///< the value is its bound; NaN: no bound known
  under_range = 2,       ///< the value is its upper bound
  range_changed = 4,     ///< another range of the meter from this sample on
  polarity_reversed = 8  ///< bonding only
};
[[nodiscard]] constexpr std::uint8_t bit(SampleFlag flag) noexcept { return static_cast<std::uint8_t>(flag); }
[[nodiscard]] constexpr bool has(std::uint8_t flags, SampleFlag flag) noexcept { return (flags & bit(flag)) != 0; }

/// One sample of an insulation test: resistance, or voltage and current.
struct Sample {
  double time_second = nan;            ///< since the voltage was switched on
  std::uint32_t tick_millisecond = 0;  ///< of the vendor's own counter
  double applied_volt = nan;           ///< true test voltage
  double current_ampere = nan;
  double resistance_ohm = nan;  ///< NaN: applied_volt over current_ampere
  std::uint8_t flags = 0;       ///< of `SampleFlag`
};

/// One sample of a voltage.
struct VoltageSample {
  double time_second = nan;            ///< since the current stopped, or the link was switched off
  std::uint32_t tick_millisecond = 0;  ///< of the vendor's own counter
  double voltage_volt = nan;
  std::uint8_t flags = 0;  ///< of `SampleFlag`
};

/// One sample of a joint, or of the shorted leads.
struct JointSample {
  double time_second = nan;            ///< on any clock that goes on between null and reading
  std::uint32_t tick_millisecond = 0;  ///< of the vendor's own counter
  double resistance_ohm = nan;         ///< as displayed
  double test_ampere = nan;
  std::uint8_t flags = 0;  ///< of `SampleFlag`
};

/// What came in. Each count stays at its end instead of starting over.
struct Counts {
  std::uint32_t samples = 0;       ///< all of them
  std::uint32_t taken = 0;         ///< counted as readings, bounds included
  std::uint32_t missing = 0;       ///< NaN in time or value
  std::uint32_t impossible = 0;    ///< infinite or beyond belief, zero, subnormal or negative where that can not be
  std::uint32_t doubled = 0;       ///< at the very time of the one before
  std::uint32_t out_of_order = 0;  ///< earlier than the one before
  std::uint32_t over_range = 0;    ///< over or under range
  std::uint32_t after_gap = 0;     ///< the time since the one before more than doubled
  std::uint32_t sagging = 0;       ///< test voltage not reached
  std::uint32_t slips = 0;         ///< alone far off its neighbours
  std::uint32_t jumps = 0;         ///< went on at another level
  std::uint32_t in_noise = 0;      ///< too near zero to tell anything
  std::uint32_t range_changes = 0;
  std::uint32_t tick_wraps = 0;
  std::uint32_t refused = 0;  ///< after a cut

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.samples, self.taken, self.missing, self.impossible, self.doubled, self.out_of_order, self.over_range,
          self.after_gap, self.sagging, self.slips, self.jumps, self.in_noise, self.range_changes, self.tick_wraps,
          self.refused);
  }
};

/// Adds one, and stays at the greatest number.
constexpr void count(std::uint32_t& counter) noexcept {
  if (counter != ~std::uint32_t{0}) ++counter;
}

/// What is wrong with a configuration; `field` is null where nothing is.
struct Fault {
  const char* field = nullptr;
  double given = nan;
  const char* expected = nullptr;

  [[nodiscard]] constexpr explicit operator bool() const noexcept { return field != nullptr; }
};

inline namespace OHMWARD_LEVEL {

/// A 32-bit float as the library takes it: exact, and 0 where the float is too small to be normal.
[[nodiscard]] constexpr double from_float32(float x) noexcept {
  const auto wide = static_cast<double>(x);
  return numerics::detail::absolute(wide) < 0x1p-126 ? 0 : wide;  // false for NaN
}

/// Seconds since the start by either time base.
///
/// Ticks: a counter of milliseconds that wraps; two samples must lie less than 24.8 days apart. Seconds are whole
/// milliseconds divided by 1000, so that the same times written down by hand give the same digits.
class Clock {
 public:
  constexpr Clock() noexcept = default;
  constexpr Clock(TimeBase base, std::uint32_t start_tick) noexcept : last_tick_(start_tick), base_(base) {}

  /// Time of a sample [s]; NaN where it has none. Earlier than the latest one where the tick went back.
  constexpr double read(double time_second, std::uint32_t tick, Counts& counts) noexcept {
    if (base_ == TimeBase::second) return time_second;
    constexpr std::uint32_t half = std::uint32_t{1} << 31;
    const std::uint32_t ahead = tick - last_tick_;
    if (ahead >= half) {
      const std::uint32_t back = last_tick_ - tick;
      return (static_cast<double>(elapsed_millisecond_) - static_cast<double>(back)) / 1000;
    }
    if (tick < last_tick_) count(counts.tick_wraps);
    elapsed_millisecond_ += ahead;
    last_tick_ = tick;
    return static_cast<double>(elapsed_millisecond_) / 1000;
  }

  [[nodiscard]] constexpr TimeBase base() const noexcept { return base_; }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.elapsed_millisecond_, self.last_tick_, self.base_);
  }
  /// Does the content of a saved record make sense?
  [[nodiscard]] constexpr bool consistent() const noexcept { return base_ <= TimeBase::tick_millisecond; }

 private:
  std::uint64_t elapsed_millisecond_ = 0;
  std::uint32_t last_tick_ = 0;
  TimeBase base_ = TimeBase::second;
};

/// Censoring by a sample's flags.
[[nodiscard]] constexpr Censoring censoring_of(std::uint8_t flags, double bound) noexcept {
  if (has(flags, SampleFlag::over_range)) return bound == bound ? Censoring::above : Censoring::overload;
  return has(flags, SampleFlag::under_range) ? Censoring::below : Censoring::exact;
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::logging
