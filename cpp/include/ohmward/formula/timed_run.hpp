#pragma once

/// @file
/// Readings of a run in time: which of them count, the resistance at a declared time, the ratio of two.
///
/// One sieve for all: a run that is kept whole and a run of which only the present is known pass every reading through
/// `RunSieve`, so both take the same readings. ln R lies straight in ln t between neighbours; nothing is extrapolated.

#include <cstdint>

#include "ohmward/core/censoring.hpp"
#include "ohmward/formula/settling.hpp"

namespace ohmward::formula {

/// What was noticed on one reading. Numbers never change meaning. From `range_change` on only where a run is kept
/// whole.
enum class Mark : std::uint16_t {
  missing = 1,              ///< time or resistance missing: left out
  impossible = 2,           ///< resistance or time not above 0, or infinite: left out
  time_not_rising = 4,      ///< not later than the reading before it: left out
  over_range = 8,           ///< bound only
  after_gap = 16,           ///< the time since the reading before it more than doubled
  sagging = 32,             ///< test voltage not reached
  slip = 64,                ///< alone far off its neighbours, as by a power of 1000: left out
  jump = 128,               ///< the readings go on at another level from here on
  range_change = 256,       ///< the first reading on another range: a step of its gain is no step of the part
  temperature_drift = 512,  ///< the part's temperature has left that of the first reading by half a kelvin or more
  coarse_display = 1024,    ///< the display step is more than the stated uncertainty, or hides any change
  autocorrelated = 2048,    ///< this and its neighbours err together: an averaging meter counts fewer readings
};
[[nodiscard]] constexpr std::uint16_t bit(Mark mark) noexcept { return static_cast<std::uint16_t>(mark); }

/// What the voltage of a test should be; NaN: not known.
struct RunTest {
  double test_voltage_volt = nan;
  double source_ampere = nan;  ///< greatest current of the tester
};

/// A reading as it comes in.
struct RunReading {
  double second = nan;  ///< since the voltage was switched on
  double resistance_ohm = nan;
  Censoring censoring = Censoring::exact;
  double applied_volt = nan;
};

/// A reading that counts.
struct TimedReading {
  double second = 0;
  double resistance_ohm = 0;  ///< for a censored reading its bound
  double log_ohm = 0;         ///< 0 where there is none
  Censoring censoring = Censoring::exact;

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.second, self.resistance_ohm, self.log_ohm, self.censoring);
  }
};

inline namespace OHMWARD_LEVEL {
namespace detail {

inline constexpr double slip_ln = 3.4;  // a factor of 30: no insulation does that between neighbours, a unit slip does
inline constexpr double gap_factor = 2;
inline constexpr double sag_share = 0.9;

}  // namespace detail

/// Resistance that a tester saw [ohm]: U/I by one division. missing_input; out_of_domain unless both are above 0.
[[nodiscard]] constexpr Checked<double> resistance_by_current_ohm(double applied_volt, double current_ampere) noexcept {
  if (detail::any_missing(applied_volt, current_ampere)) return no_value(Status::missing_input);
  const double ohm = applied_volt / current_ampere;
  if (!detail::all_positive(applied_volt, current_ampere, ohm)) return no_value(Status::out_of_domain);
  return {ohm, Status::sound};
}

/// Takes readings in the order in which they came and hands on those that count, in rising time.
///
/// A reading far off the one before it waits for the next: back at the old level it was a slip, else a jump. So the
/// sink hears of it one reading later, and a waiting reading counts for nothing until then.
class RunSieve {
 public:
  /// What was found. `of_waiting` concerns the reading that waited, if any; `first_slipped` the first one that counted.
  struct Found {
    std::uint16_t marks = 0;
    std::uint16_t of_waiting = 0;
    bool first_slipped = false;
    bool waits = false;  ///< this reading waits
  };

  constexpr RunSieve() noexcept = default;
  explicit constexpr RunSieve(const RunTest& test) noexcept : test_(test) {}

  /// sink.take(const TimedReading&, bool waited) for each reading that counts; sink.restart() where the only one so far
  /// turned out to be a slip.
  template <class Sink>
  constexpr Found push(const RunReading& reading, Sink& sink) noexcept {
    Found found{.marks = marks_of(reading)};
    if (total_ != ~std::uint32_t{0}) {
      ++total_;
      if ((found.marks & bit(Mark::time_not_rising)) != 0) ++not_rising_;
    }
    constexpr std::uint16_t left_out = bit(Mark::missing) | bit(Mark::impossible) | bit(Mark::time_not_rising);
    if ((found.marks & left_out) != 0) return found;
    if (taken_) last_step_ = reading.second - last_second_;
    last_second_ = reading.second;
    taken_ = true;
    const bool exact = reading.censoring == Censoring::exact;
    const TimedReading now{reading.second, reading.resistance_ohm, exact ? numerics::log(reading.resistance_ohm) : 0,
                           reading.censoring};
    if (waits_) settle_waiting(now, found, sink);
    if (far(now, last_)) {
      waiting_ = now;
      waits_ = found.waits = true;
    } else {
      accept(now, false, sink);
    }
    return found;
  }

  /// Sound; `too_few_points` without a reading that counts; `contradiction` where half of the readings or more do not
  /// rise in time, or they jump to another level.
  [[nodiscard]] constexpr Status status() const noexcept {
    if (accepted_ == 0) return Status::too_few_points;
    return jumps_ || 2 * std::uint64_t{not_rising_} >= total_ ? Status::contradiction : Status::sound;
  }

  [[nodiscard]] constexpr bool empty() const noexcept { return accepted_ == 0; }
  /// Time of the latest reading in rising time, be it a slip or not; NaN before the first.
  [[nodiscard]] constexpr double latest_second() const noexcept { return taken_ ? last_second_ : nan; }
  [[nodiscard]] constexpr const TimedReading& last() const noexcept { return last_; }  ///< that counts
  [[nodiscard]] constexpr bool waits() const noexcept { return waits_; }  ///< a reading waits; at the end it is a slip

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.test_.test_voltage_volt, self.test_.source_ampere);
    TimedReading::each_field(self.last_, visit);
    TimedReading::each_field(self.waiting_, visit);
    visit(self.last_second_, self.last_step_, self.total_, self.not_rising_, self.accepted_, self.taken_, self.waits_,
          self.jumps_);
  }
  /// Does the content of a saved record make sense?
  [[nodiscard]] constexpr bool consistent() const noexcept {
    return accepted_ <= 2 && last_.censoring <= Censoring::overload && waiting_.censoring <= Censoring::overload;
  }

 private:
  /// What a reading earns by itself and by the one before it.
  [[nodiscard]] constexpr std::uint16_t marks_of(const RunReading& r) const noexcept {
    std::uint16_t marks = 0;
    const auto add = [&marks](Mark mark) { marks = static_cast<std::uint16_t>(marks | bit(mark)); };
    const bool overload = r.censoring == Censoring::overload;
    if (r.censoring != Censoring::exact) add(Mark::over_range);
    if (detail::missing(r.second) || (detail::missing(r.resistance_ohm) && !overload)) {
      add(Mark::missing);
      return marks;
    }
    if (!detail::positive(r.second) || !(overload || detail::positive(r.resistance_ohm))) {
      add(Mark::impossible);
      return marks;
    }
    if (taken_ && r.second <= last_second_) {
      add(Mark::time_not_rising);
      return marks;
    }
    if (last_step_ > 0 && r.second - last_second_ > detail::gap_factor * last_step_) add(Mark::after_gap);
    const Checked<double> applied = applied_voltage_volt({.set_volt = test_.test_voltage_volt,
                                                          .source_ampere = test_.source_ampere,
                                                          .resistance_ohm = r.resistance_ohm});
    if (r.applied_volt < detail::sag_share * test_.test_voltage_volt || applied.status == Status::at_reduced_voltage)
      add(Mark::sagging);
    return marks;
  }

  [[nodiscard]] static constexpr bool close(const TimedReading& one, const TimedReading& other) noexcept {
    return one.censoring == Censoring::exact && other.censoring == Censoring::exact &&
           numerics::detail::absolute(one.log_ohm - other.log_ohm) < detail::slip_ln;
  }

  [[nodiscard]] constexpr bool far(const TimedReading& now, const TimedReading& before) const noexcept {
    return accepted_ > 0 && now.censoring == Censoring::exact && before.censoring == Censoring::exact &&
           numerics::detail::absolute(now.log_ohm - before.log_ohm) > detail::slip_ln;
  }

  template <class Sink>
  constexpr void settle_waiting(const TimedReading& now, Found& found, Sink& sink) noexcept {
    waits_ = false;
    if (accepted_ == 1 && close(now, waiting_)) {
      found.first_slipped = true;
      accepted_ = 0;
      sink.restart();
      accept(waiting_, true, sink);
    } else if (close(now, last_)) {
      found.of_waiting = bit(Mark::slip);
    } else {
      found.of_waiting = bit(Mark::jump);
      jumps_ = true;
      accept(waiting_, true, sink);
    }
  }

  template <class Sink>
  constexpr void accept(const TimedReading& reading, bool waited, Sink& sink) noexcept {
    last_ = reading;
    if (accepted_ < 2) ++accepted_;  // none, one, several
    sink.take(reading, waited);
  }

  RunTest test_ = {};
  TimedReading last_ = {};
  TimedReading waiting_ = {};
  double last_second_ = 0;
  double last_step_ = 0;
  std::uint32_t total_ = 0;
  std::uint32_t not_rising_ = 0;
  std::uint8_t accepted_ = 0;
  bool taken_ = false;
  bool waits_ = false;
  bool jumps_ = false;
};

/// The last octave of a run from its sums, y being ln R of the exact readings since the last censored one.
[[nodiscard]] inline SettlingTail settling_tail(const TailSums& sums, const TimedReading& last,
                                                double visible) noexcept {
  const LineSums line = sums.sums();
  SettlingTail tail{.last_second = last.second,
                    .last_ohm = last.resistance_ohm,
                    .last_censoring = last.censoring,
                    .readings = line.count()};
  if (line.count() < 3) return tail;
  tail.slope = line.slope();
  tail.scatter = numerics::sqrt(line.residual() / (static_cast<double>(line.count()) - 2));
  tail.xx = line.xx();
  tail.within_from = sums.within_from(visible);
  return tail;
}

/// Resistance at a time, or its bound.
struct Spot {
  double value = nan;  ///< [ohm]
  Censoring censoring = Censoring::exact;
  Status status = Status::outside_curve;
  double share = 0;  ///< of the later neighbour in ln t
};

/// Resistance between two readings that count, before.second < second <= after.second; `before` may be `after` itself
/// where it was read at that very time. Status: sound; few_points where the neighbours are more than a factor of 2
/// apart in time; bound_only next to a bound; unknown_bound next to an overload, or between bounds that pull apart.
[[nodiscard]] constexpr Spot spot_between(const TimedReading& before, const TimedReading& after,
                                          double second) noexcept {
  const bool at_reading = after.second == second;
  const TimedReading& a = at_reading ? after : before;
  const TimedReading& b = after;
  const auto either = [&](Censoring kind) { return a.censoring == kind || b.censoring == kind; };
  const bool above = either(Censoring::above), below = either(Censoring::below);
  if (either(Censoring::overload) || (above && below)) return {.status = Status::unknown_bound};
  Spot spot{.value = b.resistance_ohm, .status = Status::sound};
  if (!at_reading) {
    spot.share = numerics::log(second / a.second) / numerics::log(b.second / a.second);
    spot.value = a.resistance_ohm * numerics::exp(spot.share * numerics::log(b.resistance_ohm / a.resistance_ohm));
  }
  if (above) spot.censoring = Censoring::above;
  if (below) spot.censoring = Censoring::below;
  if (above || below) spot.status = Status::bound_only;
  if (b.second > 2 * a.second) spot.status = worse(spot.status, Status::few_points);
  return spot;
}

/// Share of one reading's independent relative uncertainty that a spot carries: sqrt(s^2 + (1 - s)^2).
[[nodiscard]] inline double spot_uncertainty_share(double share) noexcept {
  return numerics::sqrt(share * share + (1 - share) * (1 - share));
}

/// A ratio R(late)/R(early), or its bound.
struct SpotRatio {
  double value = nan;
  Censoring censoring = Censoring::exact;
  Status status = Status::missing_input;
};

/// R(late)/R(early). A censored end makes a bound: late `above` or early `below` gives `above`, the other way round
/// `below`, with status `bound_only`. Two ends that pull apart, or an overload, bound nothing: `unknown_bound`. A
/// resistance of 0 or less is `out_of_domain`. The worse status of the two is handed on.
[[nodiscard]] constexpr SpotRatio spot_ratio(const Spot& late, const Spot& early) noexcept {
  if (late.censoring == Censoring::overload || early.censoring == Censoring::overload)
    return {.status = Status::unknown_bound};
  const Status status = worse(late.status, early.status);
  if (!has_value(status)) return {.status = status};
  if (detail::any_missing(late.value, early.value)) return {.status = Status::missing_input};
  const double value = late.value / early.value;
  if (!(late.value > 0) || !(early.value > 0) || !detail::finite(value)) return {.status = Status::out_of_domain};
  const auto direction = [](Censoring kind) {
    return kind == Censoring::above ? 1 : (kind == Censoring::below ? -1 : 0);
  };
  const int up = direction(late.censoring), down = -direction(early.censoring);
  if (up * down < 0) return {.status = Status::unknown_bound};
  SpotRatio ratio{.value = value, .status = status};
  if (up + down != 0) {
    ratio.censoring = up + down > 0 ? Censoring::above : Censoring::below;
    ratio.status = worse(Status::bound_only, status);
  }
  return ratio;
}

/// Waits for one declared time and keeps the two readings about it.
class SpotKeeper {
 public:
  constexpr SpotKeeper() noexcept = default;
  explicit constexpr SpotKeeper(double second) noexcept : second_(second) {}

  constexpr void restart() noexcept {
    state_ = State::nothing;
    before_ = after_ = {};
  }
  constexpr void take(const TimedReading& reading) noexcept {
    if (state_ == State::found || state_ == State::missed) return;
    if (reading.second < second_) {
      before_ = reading;
      state_ = State::before;
      return;
    }
    after_ = reading;
    state_ = state_ == State::before || reading.second == second_ ? State::found : State::missed;
  }

  [[nodiscard]] constexpr bool found() const noexcept { return state_ == State::found; }
  [[nodiscard]] constexpr Spot spot() const noexcept {
    return found() ? spot_between(before_, after_, second_) : Spot{};
  }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.second_);
    TimedReading::each_field(self.before_, visit);
    TimedReading::each_field(self.after_, visit);
    visit(self.state_);
  }
  [[nodiscard]] constexpr bool consistent() const noexcept {
    return state_ <= State::missed && before_.censoring <= Censoring::overload &&
           after_.censoring <= Censoring::overload;
  }

 private:
  enum class State : std::uint8_t { nothing = 0, before = 1, found = 2, missed = 3 };
  double second_ = nan;
  TimedReading before_ = {};
  TimedReading after_ = {};
  State state_ = State::nothing;
};

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
