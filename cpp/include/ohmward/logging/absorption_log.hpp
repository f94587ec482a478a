#pragma once

/// @file
/// An insulation test sample by sample: ratio of two declared times, settling, forecast, contact, capacitance.
///
///     ohmward::logging::AbsorptionLog log{{.test_voltage_volt = 1000, .early_second = 60, .late_second = 600}};
///     log.push({.time_second = t, .resistance_ohm = r});
///     const auto index = log.ratio();                        // value, status, bound or not
///     ohmward::logging::ForecastMemory memory;               // 5.3 KiB, lent for the call
///     const auto soon = log.forecast(0.95, memory);          // value, low, high, status; no heap
///
/// The office's digits: the same readings pass the same sieve, sums and functions of formula/timed_run.hpp,
/// formula/settling.hpp and formula/forecast.hpp that `insulation::TimedRun` uses, so ratio, compact settling and
/// compact forecast are equal to the last bit, in any chunking and on every target.
///
/// What a forecast can not know: see formula/forecast.hpp. It never replaces a test that runs its full time.

#include <cstddef>

#include "ohmward/formula/charging.hpp"
#include "ohmward/formula/forecast.hpp"
#include "ohmward/formula/timed_run.hpp"
#include "ohmward/logging/record.hpp"
#include "ohmward/logging/sample.hpp"

namespace ohmward::logging {

/// What is declared before a run. NaN: not known.
struct AbsorptionConfig {
  double test_voltage_volt = nan;                 ///< as set [V], > 0
  double early_second = 60;                       ///< [s], > 0; with a forecast 5 ... 600
  double late_second = 600;                       ///< [s], > early_second; with a forecast at most 3600
  double source_ampere = nan;                     ///< greatest current of the tester [A], > 0
  double relative_standard_uncertainty = nan;     ///< of one reading, independent from the others, >= 0
  double gain_relative_standard_uncertainty = 0;  ///< common to readings on one range, >= 0
  double capacitance_farad = nan;                 ///< the high end of what the part may have [F], >= 0
  double least_visible_change = 0.02;             ///< of ln R over a doubling of time, > 0; a setting without a source
  double loss_factor = formula::generous_loss_factor;  ///< [1], > 0
  double drift_kelvin = 0;           ///< of the forecast: greatest drift of temperature in 600 s [K], 0 ... 1000
  double current_per_kelvin = 1.07;  ///< of the forecast: factor of the current per kelvin, 1 ... 2
  TimeBase time_base = TimeBase::second;
  bool forecast = true;  ///< keep the sums of the forecast

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.test_voltage_volt, self.early_second, self.late_second, self.source_ampere,
          self.relative_standard_uncertainty, self.gain_relative_standard_uncertainty, self.capacitance_farad,
          self.least_visible_change, self.loss_factor, self.drift_kelvin, self.current_per_kelvin, self.time_base,
          self.forecast);
  }
};

/// R(late)/R(early) [1].
struct RunRatio {
  double value = nan;
  double relative_standard_uncertainty = nan;  ///< of the readings; the common gain cancels on one range
  Censoring censoring = Censoring::exact;
  Status status = Status::too_few_points;
};

/// Resistance at one of the declared times [ohm].
struct RunSpot {
  double value = nan;
  Censoring censoring = Censoring::exact;
  Status status = Status::too_few_points;
};

inline namespace OHMWARD_LEVEL {

/// Memory that a caller lends for one forecast; its content means nothing afterwards.
struct ForecastMemory {
  formula::ForecastGrid grid = {};
  formula::ForecastScratch scratch = {};
  double histogram[formula::forecast_compact.histogram_bins] = {};
};

/// The 4096 curves on the grid of one run, in memory that a caller lends (96 KiB): made once, used until the next
/// sample. Without it every pass of a forecast makes the curves anew, with the same bits.
///
/// A declared schedule without holes always gives the same grid: its library can be made on the bench and kept in
/// flash.
class ForecastLibrary {
 public:
  /// Begins a library for a run as it stands.
  void begin(const formula::ForecastGrid& grid, const formula::ForecastTarget& target) noexcept {
    key_ = key_of(grid, target);
    filled_ = 0;
  }
  /// Makes the next curves; false once all are there. The grid and target must be those that it was begun with.
  bool fill(const formula::ForecastGrid& grid, const formula::ForecastTarget& target, std::int32_t count) noexcept {
    for (; count > 0 && filled_ < curves; --count, ++filled_) {
      const formula::ForecastCurve curve = formula::forecast_curve(filled_, grid, target);
      for (int j = 0; j < formula::forecast_features; ++j) feature_[j * curves + filled_] = curve.feature[j];
      log_ratio_[filled_] = curve.log_ratio;
    }
    return filled_ < curves;
  }

  /// Complete and made for this grid and target?
  [[nodiscard]] bool fits(const formula::ForecastGrid& grid, const formula::ForecastTarget& target) const noexcept {
    return filled_ == curves && key_ == key_of(grid, target);
  }
  [[nodiscard]] formula::ForecastCurve curve(std::int32_t k) const noexcept {
    return formula::ForecastTable{.feature = feature_, .log_ratio = log_ratio_, .curves = curves}.curve(k);
  }

  static constexpr std::int32_t curves = formula::forecast_compact.curves;

 private:
  /// FNV-1a of the patterns of everything that a curve depends on.
  [[nodiscard]] static std::uint64_t key_of(const formula::ForecastGrid& grid,
                                            const formula::ForecastTarget& target) noexcept {
    std::uint64_t key = 0xCBF29CE484222325;
    const auto add = [&key](double x) { key = (key ^ numerics::detail::bits(x)) * 0x100000001B3; };
    for (int b = 0; b < grid.bins; ++b) {
      add(grid.x[b]);
      for (int j = 0; j < grid.features; ++j) add(grid.contrast[j][b]);
    }
    add(target.early_second);
    add(target.late_second);
    add(target.drift_kelvin);
    add(target.current_per_kelvin);
    return key;
  }

  std::uint64_t key_ = 0;
  std::int32_t filled_ = 0;
  float feature_[formula::forecast_features * curves] = {};
  float log_ratio_[curves] = {};
};

/// What is wrong with a configuration?
[[nodiscard]] constexpr Fault check(const AbsorptionConfig& c) noexcept {
  using formula::detail::finite, formula::detail::missing, formula::detail::not_negative, formula::detail::positive;
  const auto above_zero = [](double x) { return missing(x) || positive(x); };
  const auto at_least_zero = [](double x) { return missing(x) || not_negative(x); };
  constexpr const char* positive_text = "a finite number above 0, or NaN for not known";
  constexpr const char* not_negative_text = "a finite number of at least 0";
  if (!above_zero(c.test_voltage_volt)) return {"test_voltage_volt", c.test_voltage_volt, positive_text};
  if (!positive(c.early_second)) return {"early_second", c.early_second, "a finite number above 0"};
  if (!finite(c.late_second) || !(c.late_second > c.early_second))
    return {"late_second", c.late_second, "a finite number above early_second"};
  if (!above_zero(c.source_ampere)) return {"source_ampere", c.source_ampere, positive_text};
  if (!at_least_zero(c.relative_standard_uncertainty))
    return {"relative_standard_uncertainty", c.relative_standard_uncertainty, not_negative_text};
  if (!not_negative(c.gain_relative_standard_uncertainty))
    return {"gain_relative_standard_uncertainty", c.gain_relative_standard_uncertainty, not_negative_text};
  if (!at_least_zero(c.capacitance_farad)) return {"capacitance_farad", c.capacitance_farad, not_negative_text};
  if (!positive(c.least_visible_change))
    return {"least_visible_change", c.least_visible_change, "a finite number above 0"};
  if (!positive(c.loss_factor)) return {"loss_factor", c.loss_factor, "a finite number above 0"};
  if (!(c.time_base <= TimeBase::tick_millisecond))
    return {"time_base", static_cast<double>(c.time_base), "second or tick_millisecond"};
  if (!c.forecast) return {};
  if (!(c.early_second >= formula::forecast_first_second && c.early_second <= formula::forecast_last_second))
    return {"early_second", c.early_second, "within 5 to 600 for a forecast"};
  if (!(c.late_second <= formula::forecast_latest_second))
    return {"late_second", c.late_second, "at most 3600 for a forecast"};
  if (!(c.drift_kelvin >= 0 && c.drift_kelvin <= 1000)) return {"drift_kelvin", c.drift_kelvin, "within 0 to 1000"};
  if (!(c.current_per_kelvin > 1 && c.current_per_kelvin <= 2))
    return {"current_per_kelvin", c.current_per_kelvin, "above 1 and at most 2"};
  return {};
}

/// A run of samples after the voltage was switched on.
class AbsorptionLog {
 public:
  /// Not set up: every call answers `not_configured`.
  constexpr AbsorptionLog() noexcept = default;
  explicit constexpr AbsorptionLog(const AbsorptionConfig& config, std::uint32_t start_tick = 0) noexcept {
    static_cast<void>(init(config, start_tick));
  }

  /// Sets up anew. A fault leaves the log not set up.
  constexpr Fault init(const AbsorptionConfig& config, std::uint32_t start_tick = 0) noexcept {
    config_ = config;
    const Fault fault = check(config);
    configured_ = !fault;
    if (configured_) reset(start_tick);
    return fault;
  }

  /// Begins a new run with the same configuration, as a new log would. `start_tick`: when the voltage was switched on.
  constexpr void reset(std::uint32_t start_tick = 0) noexcept {
    counts_ = {};
    clock_ = Clock(config_.time_base, start_tick);
    sieve_ = formula::RunSieve({config_.test_voltage_volt, config_.source_ampere});
    early_ = formula::SpotKeeper(config_.early_second);
    late_ = formula::SpotKeeper(config_.late_second);
    charging_ = formula::ChargingSums(config_.test_voltage_volt);
    tail_.restart();
    sums_ = {};
    marks_ = 0;
    range_changed_ = cut_ = false;
  }

  /// Takes a sample. Status: sound; bound_only; at_reduced_voltage; missing_input; out_of_domain: impossible;
  /// contradiction: not later than the one before, or after a cut; not_configured.
  constexpr Status push(const Sample& sample) noexcept {
    if (!configured_) return Status::not_configured;
    count(counts_.samples);
    if (cut_) {
      count(counts_.refused);
      return Status::contradiction;
    }
    const double second = clock_.read(sample.time_second, sample.tick_millisecond, counts_);
    if (has(sample.flags, SampleFlag::range_changed)) {
      count(counts_.range_changes);
      range_changed_ =
          range_changed_ || (!sieve_.empty() && sieve_.last().second >= config_.early_second && !late_.found());
    }
    formula::RunReading reading{.second = second,
                                .resistance_ohm = sample.resistance_ohm,
                                .censoring = Censoring::exact,
                                .applied_volt = sample.applied_volt};
    if (formula::detail::missing(reading.resistance_ohm)) {
      const Checked<double> ohm = formula::resistance_by_current_ohm(sample.applied_volt, sample.current_ampere);
      // What can not be divided is impossible, not missing.
      reading.resistance_ohm = ohm.status == Status::out_of_domain ? -1 : ohm.value;
    }
    reading.censoring = censoring_of(sample.flags, reading.resistance_ohm);
    const bool overload = reading.censoring == Censoring::overload;
    if (!overload) charging_.push(second, sample.applied_volt, sample.current_ampere);
    const bool doubled = second == sieve_.latest_second();
    Sink sink{*this};
    const formula::RunSieve::Found found = sieve_.push(reading, sink);
    marks_ = found.marks;
    return counted(found, doubled);
  }

  /// Ratio of the two declared times. Status: sound; few_points: neighbours more than a factor of 2 apart in time;
  /// bound_only; run_cut; outside_curve: not read yet; unknown_bound; contradiction: the run jumps or does not rise in
  /// time; too_few_points; not_configured.
  [[nodiscard]] RunRatio ratio() const noexcept {
    if (const Status status = run_status(); !has_value(status)) return {.status = status};
    const formula::Spot late = late_.spot(), early = early_.spot();
    const formula::SpotRatio ratio = formula::spot_ratio(late, early);
    const double u = config_.relative_standard_uncertainty;
    const double at_late = u * formula::spot_uncertainty_share(late.share);
    const double at_early = u * formula::spot_uncertainty_share(early.share);
    const double gain = range_changed_ ? config_.gain_relative_standard_uncertainty : 0;
    const double whole = numerics::sqrt(at_late * at_late + at_early * at_early + 2 * gain * gain);
    return {.value = ratio.value,
            .relative_standard_uncertainty = has_value(ratio.status) ? whole : nan,
            .censoring = ratio.censoring,
            .status = told(ratio.status)};
  }

  [[nodiscard]] constexpr RunSpot early() const noexcept { return spot(early_); }  ///< status as `ratio`
  [[nodiscard]] constexpr RunSpot late() const noexcept { return spot(late_); }    ///< status as `ratio`

  /// The last reading that counts, as it stands. Status as `ratio`.
  [[nodiscard]] constexpr RunSpot latest() const noexcept {
    if (const Status status = run_status(); !has_value(status)) return {.status = status};
    const formula::TimedReading& last = sieve_.last();
    if (last.censoring == Censoring::overload) return {.censoring = last.censoring, .status = Status::unknown_bound};
    const Status status = last.censoring == Censoring::exact ? Status::sound : Status::bound_only;
    return {.value = last.resistance_ohm, .censoring = last.censoring, .status = told(status)};
  }
  [[nodiscard]] constexpr double latest_second() const noexcept { return sieve_.empty() ? nan : sieve_.last().second; }

  /// Settled, charging, absorbing, or nothing more to learn; see formula/settling.hpp.
  [[nodiscard]] formula::SettlingState settling() const noexcept {
    formula::SettlingState state;
    state.status = run_status();
    if (!has_value(state.status)) return state;
    const formula::SettlingTest test{.test_voltage_volt = config_.test_voltage_volt,
                                     .source_ampere = config_.source_ampere,
                                     .capacitance_farad = config_.capacitance_farad,
                                     .visible_change = config_.least_visible_change,
                                     .meter_u = config_.relative_standard_uncertainty,
                                     .loss_factor = config_.loss_factor};
    state = formula::settling_state(formula::settling_tail(tail_, sieve_.last(), formula::visible_change(test)), test);
    state.status = told(state.status);
    return state;
  }

  /// Forecast of the ratio, interval at `level`; status as `formula::forecast_ratio`, and not_applicable where the
  /// configuration keeps no sums. Without a library the curves are made anew in each of four passes. contradiction:
  /// the library was made for another grid or target.
  [[nodiscard]] formula::Forecast forecast(double level, ForecastMemory& memory,
                                           const ForecastLibrary* library = nullptr) const noexcept {
    formula::Forecast result;
    result.status = run_status();
    if (has_value(result.status) && !config_.forecast) result.status = Status::not_applicable;
    if (!has_value(result.status)) return result;
    const formula::ForecastTarget target = forecast_target();
    formula::forecast_grid(sums_, memory.grid);
    if (library != nullptr && memory.grid.features > 0 && !library->fits(memory.grid, target)) {
      result.status = Status::contradiction;
      return result;
    }
    result =
        formula::forecast_ratio(sums_, memory.grid, Curves{library, memory.grid, target}, formula::forecast_compact,
                                target, level, {.histogram = memory.histogram, .scratch = &memory.scratch});
    result.status = told(result.status);
    return result;
  }
  /// Begins a library for the run as it stands; then `library.fill(memory.grid, log.forecast_target(), some)` between
  /// other work.
  void begin_library(ForecastLibrary& library, ForecastMemory& memory) const noexcept {
    begin_library(library, memory.grid);
  }
  /// The same with a grid that is kept beside the library.
  void begin_library(ForecastLibrary& library, formula::ForecastGrid& grid) const noexcept {
    forecast_grid(grid);
    library.begin(grid, forecast_target());
  }
  /// The grid of the run as it stands.
  void forecast_grid(formula::ForecastGrid& grid) const noexcept { formula::forecast_grid(sums_, grid); }
  [[nodiscard]] constexpr formula::ForecastTarget forecast_target() const noexcept {
    return {.early_second = config_.early_second,
            .late_second = config_.late_second,
            .drift_kelvin = config_.drift_kelvin,
            .current_per_kelvin = config_.current_per_kelvin};
  }

  /// Capacitance from the charging phase; needs voltage and current in the samples. Status as
  /// `formula::ChargingSums::state`, and run_cut, not_configured.
  [[nodiscard]] constexpr formula::ChargingState charging() const noexcept {
    formula::ChargingState state = charging_.state();
    state.status = configured_ ? told(state.status) : Status::not_configured;
    return state;
  }

  /// What shows that the leads touch the part.
  [[nodiscard]] constexpr formula::Contact contact() const noexcept {
    const bool drew =
        !sieve_.empty() && (sieve_.last().censoring == Censoring::exact || sieve_.last().censoring == Censoring::below);
    if (drew) return formula::Contact::by_reading;
    const formula::ChargingState seen = charging_.state();
    return has_value(seen.status) && seen.low_farad > formula::greatest_lead_farad ? formula::Contact::by_charging
                                                                                   : formula::Contact::not_shown;
  }

  [[nodiscard]] constexpr const Counts& counts() const noexcept { return counts_; }
  [[nodiscard]] constexpr std::uint16_t marks() const noexcept {
    return marks_;
  }  ///< `formula::Mark` of the last sample
  [[nodiscard]] constexpr const AbsorptionConfig& config() const noexcept { return config_; }
  [[nodiscard]] constexpr bool configured() const noexcept { return configured_; }
  [[nodiscard]] constexpr bool cut() const noexcept { return cut_; }

  /// Writes the record of logging/record.hpp; the number of bytes, 0 where the memory is too small.
  [[nodiscard]] std::size_t save(std::uint8_t* record, std::size_t size) const noexcept {
    return detail::write_record(*this, RecordKind::absorption, record, size);
  }
  /// Takes the place of the log that was saved. After `cut` samples are refused. Status: sound; run_cut;
  /// record_damaged: the log is not set up then.
  Status resume(const std::uint8_t* record, std::size_t size, Resume how) noexcept {
    const Status status = detail::read_record(*this, RecordKind::absorption, record, size);
    if (!has_value(status)) {
      configured_ = false;
      return status;
    }
    cut_ = cut_ || how != Resume::continued;
    return configured_ ? told(status) : Status::not_configured;
  }
  [[nodiscard]] static std::size_t record_bytes() noexcept { return detail::record_bytes<AbsorptionLog>(); }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    AbsorptionConfig::each_field(self.config_, visit);
    Counts::each_field(self.counts_, visit);
    Clock::each_field(self.clock_, visit);
    formula::RunSieve::each_field(self.sieve_, visit);
    formula::SpotKeeper::each_field(self.early_, visit);
    formula::SpotKeeper::each_field(self.late_, visit);
    formula::ChargingSums::each_field(self.charging_, visit);
    formula::TailSums::each_field(self.tail_, visit);
    formula::ForecastSums::each_field(self.sums_, visit);
    visit(self.marks_, self.configured_, self.range_changed_, self.cut_);
  }
  /// Does the content of a saved record make sense?
  [[nodiscard]] constexpr bool consistent() const noexcept {
    return (!configured_ || !check(config_)) && clock_.consistent() && sieve_.consistent() && early_.consistent() &&
           late_.consistent() && tail_.consistent();
  }

 private:
  struct Sink {
    AbsorptionLog& log;
    constexpr void restart() noexcept { log.restart(); }
    constexpr void take(const formula::TimedReading& reading, bool) noexcept { log.take(reading); }
  };

  /// Curves from memory or made anew: the same bits.
  struct Curves {
    const ForecastLibrary* library;
    const formula::ForecastGrid& grid;
    const formula::ForecastTarget& target;

    [[nodiscard]] formula::ForecastCurve curve(std::int32_t k) const noexcept {
      return library != nullptr ? library->curve(k) : formula::forecast_curve(k, grid, target);
    }
  };

  constexpr void restart() noexcept {
    early_.restart();
    late_.restart();
    tail_.restart();
    sums_ = {};
  }

  constexpr void take(const formula::TimedReading& reading) noexcept {
    early_.take(reading);
    late_.take(reading);
    if (reading.censoring != Censoring::exact) {
      tail_.restart();
      return;
    }
    const double log_second = numerics::log(reading.second);
    tail_.add(reading.second, log_second, reading.log_ohm);
    if (config_.forecast) sums_.push(reading.second, log_second, -reading.log_ohm);
  }

  constexpr Status counted(const formula::RunSieve::Found& found, bool doubled) noexcept {
    using formula::Mark;
    const auto marked = [](std::uint16_t marks, Mark mark) { return (marks & formula::bit(mark)) != 0; };
    if (found.first_slipped || marked(found.of_waiting, Mark::slip)) {
      count(counts_.slips);
      if (counts_.taken > 0) --counts_.taken;
    }
    if (marked(found.of_waiting, Mark::jump)) count(counts_.jumps);
    if (marked(found.marks, Mark::over_range)) count(counts_.over_range);
    if (marked(found.marks, Mark::missing)) {
      count(counts_.missing);
      return Status::missing_input;
    }
    if (marked(found.marks, Mark::impossible)) {
      count(counts_.impossible);
      return Status::out_of_domain;
    }
    if (marked(found.marks, Mark::time_not_rising)) {
      count(doubled ? counts_.doubled : counts_.out_of_order);
      return Status::contradiction;
    }
    count(counts_.taken);
    if (marked(found.marks, Mark::after_gap)) count(counts_.after_gap);
    if (marked(found.marks, Mark::sagging)) count(counts_.sagging);
    if (marked(found.marks, Mark::over_range)) return Status::bound_only;
    return marked(found.marks, Mark::sagging) ? Status::at_reduced_voltage : Status::sound;
  }

  [[nodiscard]] constexpr Status run_status() const noexcept {
    return configured_ ? sieve_.status() : Status::not_configured;
  }
  [[nodiscard]] constexpr Status told(Status status) const noexcept {
    return cut_ ? worse(status, Status::run_cut) : status;
  }

  [[nodiscard]] constexpr RunSpot spot(const formula::SpotKeeper& keeper) const noexcept {
    if (const Status status = run_status(); !has_value(status)) return {.status = status};
    const formula::Spot spot = keeper.spot();
    return {.value = spot.value, .censoring = spot.censoring, .status = told(spot.status)};
  }

  AbsorptionConfig config_ = {};
  Counts counts_ = {};
  Clock clock_ = {};
  formula::RunSieve sieve_ = {};
  formula::SpotKeeper early_ = {};
  formula::SpotKeeper late_ = {};
  formula::ChargingSums charging_ = {};
  formula::TailSums tail_ = {};
  formula::ForecastSums sums_ = {};
  std::uint16_t marks_ = 0;
  bool configured_ = false;
  bool range_changed_ = false;  // between the early and the late time
  bool cut_ = false;
};

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::logging
