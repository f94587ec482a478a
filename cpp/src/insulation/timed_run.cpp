#include "ohmward/insulation/timed_run.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/core/errors.hpp"
#include "ohmward/formula/settling.hpp"

namespace ohmward::insulation {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

constexpr double slip_ln = 3.4;  // a factor of 30: no insulation does that between neighbours, a unit slip does
constexpr double gap_factor = 2;

void require(std::string_view field, double value, bool sensible, std::string_view expected) {
  if (!sensible) throw InvalidParameter(field, value, expected);
}

void check(const RunConditions& c) {
  const auto above_zero = [](double x) { return std::isnan(x) || (x > 0 && std::isfinite(x)); };
  const auto not_negative = [](double x) { return std::isnan(x) || (x >= 0 && std::isfinite(x)); };
  require("test_voltage_volt", c.test_voltage_volt, above_zero(c.test_voltage_volt), "a finite number above 0");
  require("source_ampere", c.source_ampere, above_zero(c.source_ampere), "a finite number above 0");
  require("relative_standard_uncertainty", c.relative_standard_uncertainty,
          not_negative(c.relative_standard_uncertainty), "a finite number of at least 0");
  require("common_relative_standard_uncertainty", c.common_relative_standard_uncertainty,
          not_negative(c.common_relative_standard_uncertainty), "a finite number of at least 0");
}

bool bounds_only(const Sample& sample) noexcept { return sample.censoring != Censoring::exact; }

/// Marks that a reading earns by itself and by the usable one before it.
std::uint16_t mark_of(const Sample& sample, double last_second, double last_step, const RunConditions& c) noexcept {
  std::uint16_t marks = 0;
  const bool overload = sample.censoring == Censoring::overload;
  if (bounds_only(sample)) marks |= bit(Mark::over_range);
  if (std::isnan(sample.time_second) || (std::isnan(sample.resistance_ohm) && !overload))
    return marks | bit(Mark::missing);
  const bool possible_time = sample.time_second > 0 && std::isfinite(sample.time_second);
  const bool possible_value = overload || (sample.resistance_ohm > 0 && std::isfinite(sample.resistance_ohm));
  if (!possible_time || !possible_value) return marks | bit(Mark::impossible);
  if (sample.time_second <= last_second) return marks | bit(Mark::time_not_rising);
  if (last_step > 0 && sample.time_second - last_second > gap_factor * last_step) marks |= bit(Mark::after_gap);
  const bool sags_by_voltage = sample.applied_volt < 0.9 * c.test_voltage_volt;
  const Checked<double> applied = formula::applied_voltage_volt(
      {.set_volt = c.test_voltage_volt, .source_ampere = c.source_ampere, .resistance_ohm = sample.resistance_ohm});
  if (sags_by_voltage || applied.status == Status::at_reduced_voltage) marks |= bit(Mark::sagging);
  return marks;
}

}  // namespace

TimedRun::TimedRun(std::span<const Sample> samples, const RunConditions& conditions)
    : samples_(samples.begin(), samples.end()), marks_(samples.size()), conditions_(conditions) {
  check(conditions);
  std::vector<std::size_t> taken;
  double last_second = 0, last_step = 0;
  std::size_t not_rising = 0;
  for (std::size_t i = 0; i < samples_.size(); ++i) {
    marks_[i] = mark_of(samples_[i], last_second, last_step, conditions_);
    constexpr std::uint16_t left_out = bit(Mark::missing) | bit(Mark::impossible) | bit(Mark::time_not_rising);
    if ((marks_[i] & bit(Mark::time_not_rising)) != 0) ++not_rising;
    if ((marks_[i] & left_out) != 0) continue;
    if (!taken.empty()) last_step = samples_[i].time_second - last_second;
    last_second = samples_[i].time_second;
    taken.push_back(i);
  }

  // A reading alone far off both neighbours is a slip; a step that lasts is a jump.
  const auto ln = [this](std::size_t i) { return std::log(samples_[i].resistance_ohm); };
  const auto exact = [this](std::size_t i) { return samples_[i].censoring == Censoring::exact; };
  bool jumps = false;
  for (std::size_t k = 1; k < taken.size(); ++k) {
    if (!exact(taken[k]) || !exact(taken[k - 1])) continue;
    const double step = ln(taken[k]) - ln(taken[k - 1]);
    if (!(std::abs(step) > slip_ln)) continue;
    const bool returns =
        k + 1 < taken.size() && exact(taken[k + 1]) && std::abs(ln(taken[k + 1]) - ln(taken[k - 1])) < slip_ln;
    const bool was_first =
        k == 1 && k + 1 < taken.size() && exact(taken[k + 1]) && std::abs(ln(taken[k + 1]) - ln(taken[k])) < slip_ln;
    if (returns || was_first || k + 1 == taken.size()) {
      const std::size_t slipped = was_first ? k - 1 : k;
      marks_[taken[slipped]] |= bit(Mark::slip);
      taken.erase(taken.begin() + static_cast<std::ptrdiff_t>(slipped));
      --k;
    } else {
      marks_[taken[k]] |= bit(Mark::jump);
      jumps = true;
    }
  }
  for (const std::size_t i : taken) usable_.push_back(samples_[i]);
  if (usable_.empty()) {
    status_ = Status::too_few_points;
  } else {
    status_ = jumps || 2 * not_rising >= samples_.size() ? Status::contradiction : Status::sound;
  }
}

TimedRun TimedRun::first(double second) const {
  require("second", second, second > 0, "a number above 0");
  std::vector<Sample> early;
  for (const Sample& sample : samples_)
    if (!(sample.time_second > second)) early.push_back(sample);
  return {early, conditions_};
}

Quantity TimedRun::at(double second) const noexcept {
  const auto without = [](Status reason) { return Quantity{.scale = Scale::log, .status = reason}; };
  if (std::isnan(second)) return without(Status::missing_input);
  if (!has_value(status_)) return without(status_);
  const auto upper = std::lower_bound(usable_.begin(), usable_.end(), second,
                                      [](const Sample& sample, double wanted) { return sample.time_second < wanted; });
  if (upper == usable_.end() || (upper == usable_.begin() && upper->time_second != second))
    return without(Status::outside_curve);
  const bool at_reading = upper->time_second == second;
  const Sample& b = *upper;
  const Sample& a = at_reading ? b : *(upper - 1);
  if (a.censoring == Censoring::overload || b.censoring == Censoring::overload) return without(Status::unknown_bound);
  const bool above = a.censoring == Censoring::above || b.censoring == Censoring::above;
  const bool below = a.censoring == Censoring::below || b.censoring == Censoring::below;
  if (above && below) return without(Status::unknown_bound);

  const double share = at_reading ? 0 : std::log(second / a.time_second) / std::log(b.time_second / a.time_second);
  Quantity q{.value = at_reading ? b.resistance_ohm
                                 : a.resistance_ohm * std::exp(share * std::log(b.resistance_ohm / a.resistance_ohm)),
             .scale = Scale::log,
             .status = Status::sound};
  if (above) q.censoring = Censoring::above;
  if (below) q.censoring = Censoring::below;
  if (above || below) q.status = Status::bound_only;
  if (b.time_second > 2 * a.time_second) q.status = worse(q.status, Status::few_points);
  const double u = conditions_.relative_standard_uncertainty;
  q.parts.set(Part::reading, u * std::sqrt(share * share + (1 - share) * (1 - share)));
  q.parts.set(Part::gain, conditions_.common_relative_standard_uncertainty);
  return q;
}

Quantity TimedRun::ratio(const Times& times) const noexcept {
  if (!(times.late_second > times.early_second)) return {.scale = Scale::log, .status = Status::out_of_domain};
  const Quantity late = at(times.late_second);
  const Quantity early = at(times.early_second);
  return insulation::ratio({.late = late, .early = early});
}

}  // namespace ohmward::insulation
