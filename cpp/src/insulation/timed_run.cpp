#include "ohmward/insulation/timed_run.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/core/errors.hpp"
#include "ohmward/formula/forecast.hpp"
#include "ohmward/formula/settling.hpp"
#include "ohmward/numerics/elementary.hpp"
#include "ohmward/temperature/to_reference.hpp"

namespace ohmward::insulation {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

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

/// Notes which readings the sieve takes.
struct Taken {
  std::vector<std::size_t> order;
  std::size_t now = 0;
  std::size_t waiting = 0;

  void restart() { order.clear(); }
  void take(const formula::TimedReading&, bool waited) { order.push_back(waited ? waiting : now); }
};

formula::TimedReading timed(const Sample& s) noexcept {
  return {.second = s.time_second, .resistance_ohm = s.resistance_ohm, .censoring = s.censoring};
}

constexpr std::uint16_t left_out =
    bit(Mark::missing) | bit(Mark::impossible) | bit(Mark::time_not_rising) | bit(Mark::slip);

/// Polynomial of ln R in ln t by Legendre's polynomials: what is left over, and how far neighbours of it hang together
/// because of the fit alone.
class SmoothCurve {
 public:
  explicit SmoothCurve(std::size_t readings) : terms_(std::clamp(static_cast<int>(readings / 4), 6, most_terms)) {}

  /// False where the readings do not carry the curve. x within -1 ... 1.
  bool fit(const std::vector<double>& x, const std::vector<double>& y) noexcept {
    double normal[most_terms][most_terms] = {}, l[most_terms][most_terms] = {}, right[most_terms] = {};
    for (std::size_t i = 0; i < x.size(); ++i) {
      double p[most_terms];
      basis(x[i], p);
      for (int j = 0; j < terms_; ++j) {
        right[j] += p[j] * y[i];
        for (int k = 0; k <= j; ++k) normal[j][k] += p[j] * p[k];
      }
    }
    if (!formula::detail::cholesky(normal, terms_, l)) return false;
    formula::detail::forward(l, terms_, right);
    formula::detail::backward(l, terms_, right);
    double before[most_terms] = {}, last = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
      double p[most_terms], rest = y[i];
      basis(x[i], p);
      for (int j = 0; j < terms_; ++j) rest -= right[j] * p[j];
      formula::detail::forward(l, terms_, p);
      for (int j = 0; i > 0 && j < terms_; ++j) shared_ += p[j] * before[j];
      if (i > 0) lagged_ += rest * last;
      squares_ += rest * rest;
      last = rest;
      std::copy(p, p + terms_, before);
    }
    freedom_ = static_cast<double>(x.size()) - terms_;
    return squares_ > 0;
  }
  [[nodiscard]] double scatter() const noexcept { return std::sqrt(squares_ / freedom_); }
  [[nodiscard]] double freedom() const noexcept { return freedom_; }
  [[nodiscard]] double autocorrelation() const noexcept {
    return std::clamp(lagged_ / squares_ + shared_ / freedom_, -0.99, 0.99);
  }

 private:
  static constexpr int most_terms = 11;

  void basis(double x, double (&p)[most_terms]) const noexcept {
    p[0] = 1, p[1] = x;
    for (int j = 2; j < terms_; ++j) p[j] = ((2 * j - 1) * x * p[j - 1] - (j - 1) * p[j - 2]) / j;
  }

  int terms_;
  double squares_ = 0, lagged_ = 0, shared_ = 0, freedom_ = 0;
};

}  // namespace

double relative_standard_uncertainty(const Sample& sample, const RunConditions& conditions) noexcept {
  const double own = sample.relative_standard_uncertainty;
  const double stated = std::isnan(own) ? conditions.relative_standard_uncertainty : own;
  const double of_display = sample.display_step_ohm / (std::sqrt(12.0) * sample.resistance_ohm);
  return std::isnan(stated) ? of_display : std::fmax(stated, of_display);
}

TimedRun::TimedRun(std::span<const Sample> samples, const RunConditions& conditions)
    : samples_(samples.begin(), samples.end()), marks_(samples.size()), conditions_(conditions) {
  check(conditions);
  formula::RunSieve sieve({conditions.test_voltage_volt, conditions.source_ampere});
  Taken taken;
  for (std::size_t i = 0; i < samples_.size(); ++i) {
    const Sample& s = samples_[i];
    taken.now = i;
    const std::size_t first = taken.order.empty() ? i : taken.order.front();
    const formula::RunSieve::Found found =
        sieve.push({s.time_second, s.resistance_ohm, s.censoring, s.applied_volt}, taken);
    marks_[i] |= found.marks;
    if (found.of_waiting != 0) marks_[taken.waiting] |= found.of_waiting;
    if (found.first_slipped) marks_[first] |= bit(Mark::slip);
    if (found.waits) taken.waiting = i;
  }
  if (sieve.waits()) marks_[taken.waiting] |= bit(Mark::slip);
  mark_in_passing(taken.order);
  judge_noise(taken.order);
  usable_.reserve(taken.order.size());
  for (const std::size_t i : taken.order) usable_.push_back(samples_[i]);
  status_ = sieve.status();
}
/// What a reading shows beside those before it: range, display, temperature.
void TimedRun::mark_in_passing(const std::vector<std::size_t>& taken) {
  std::int32_t range = Sample::range_not_known;
  double first_celsius = nan, last_ohm = nan, least = infinity, greatest = -infinity;
  for (const std::size_t i : taken) {
    const Sample& s = samples_[i];
    if (s.range != Sample::range_not_known) {
      if (range != Sample::range_not_known && s.range != range) marks_[i] |= bit(Mark::range_change);
      range = s.range;
    }
    const double stated = std::isnan(s.relative_standard_uncertainty) ? conditions_.relative_standard_uncertainty
                                                                      : s.relative_standard_uncertainty;
    const bool hidden = std::isnan(stated) ? s.display_step_ohm > 0 && s.resistance_ohm == last_ohm
                                           : s.display_step_ohm > std::sqrt(12.0) * stated * s.resistance_ohm;
    if (hidden && s.censoring == Censoring::exact) marks_[i] |= bit(Mark::coarse_display);
    last_ohm = s.resistance_ohm;
    if (std::isnan(s.part_celsius)) continue;
    if (std::isnan(first_celsius)) first_celsius = s.part_celsius;
    if (std::abs(s.part_celsius - first_celsius) >= least_drift_kelvin) marks_[i] |= bit(Mark::temperature_drift);
    least = std::min(least, s.part_celsius);
    greatest = std::max(greatest, s.part_celsius);
  }
  if (greatest >= least) quality_.drift_kelvin = greatest - least;
}

void TimedRun::judge_noise(const std::vector<std::size_t>& taken) {
  constexpr std::size_t least_readings = 16;
  constexpr double normal_99 = 2.3263478740408408;
  std::vector<double> x, y;
  std::vector<std::size_t> of;
  for (const std::size_t i : taken)
    if (samples_[i].censoring == Censoring::exact) of.push_back(i);
  if (of.size() < least_readings) return;
  const double first = numerics::log(samples_[of.front()].time_second);
  const double span = numerics::log(samples_[of.back()].time_second) - first;
  for (const std::size_t i : of) {
    x.push_back(2 * (numerics::log(samples_[i].time_second) - first) / span - 1);
    y.push_back(numerics::log(samples_[i].resistance_ohm / samples_[of.front()].resistance_ohm));
  }
  SmoothCurve curve(of.size());
  if (!curve.fit(x, y)) return;
  const double r = curve.autocorrelation();
  quality_.scatter = curve.scatter();
  quality_.autocorrelation = r;
  quality_.effective_readings = static_cast<double>(of.size()) * (r > 0 ? (1 - r) / (1 + r) : 1);
  constexpr double rounding = 1e-9;  // no meter shows more digits: what is left there is the computer's
  quality_.autocorrelated = quality_.scatter > rounding && r > normal_99 / std::sqrt(curve.freedom());
  if (quality_.autocorrelated)
    for (const std::size_t i : of) marks_[i] |= bit(Mark::autocorrelated);
}

TimedRun TimedRun::at_steady_temperature(const temperature::Law& law, double reference_celsius) const {
  require("reference_celsius", reference_celsius, std::isfinite(reference_celsius), "a finite number");
  if (conditions_.corrected_to_steady_temperature || usable_.empty()) return *this;
  TimedRun corrected = *this;
  std::size_t next = 0;
  for (std::size_t i = 0; i < samples_.size(); ++i) {
    if ((marks_[i] & left_out) != 0) continue;
    const temperature::Factor factor = temperature::factor_to_reference(
        {.law = law, .part_celsius = samples_[i].part_celsius, .reference_celsius = reference_celsius});
    if (!has_value(factor.status)) return *this;
    Sample& sample = corrected.samples_[i];
    sample.resistance_ohm *= factor.value;
    sample.display_step_ohm *= factor.value;
    sample.law_standard_uncertainty = factor.value > 1 ? factor.u_law : -factor.u_law;
    corrected.usable_[next++] = sample;
  }
  corrected.conditions_.corrected_to_steady_temperature = true;
  return corrected;
}

TimedRun TimedRun::first(double second) const {
  require("second", second, second > 0, "a number above 0");
  std::vector<Sample> early;
  for (const Sample& sample : samples_)
    if (!(sample.time_second > second)) early.push_back(sample);
  return {early, conditions_};
}

TimedRun::Place TimedRun::place(double second) const noexcept {
  const auto upper = std::lower_bound(usable_.begin(), usable_.end(), second,
                                      [](const Sample& sample, double wanted) { return sample.time_second < wanted; });
  if (upper == usable_.end() || (upper == usable_.begin() && upper->time_second != second)) return {};
  if (upper->time_second == second) return {&*upper, &*upper, 0};
  const Sample &a = *(upper - 1), &b = *upper;
  return {&a, &b, numerics::log(second / a.time_second) / numerics::log(b.time_second / a.time_second)};
}

Quantity TimedRun::at(double second) const noexcept {
  const auto without = [](Status reason) { return Quantity{.scale = Scale::log, .status = reason}; };
  if (std::isnan(second)) return without(Status::missing_input);
  if (!has_value(status_)) return without(status_);
  const Place here = place(second);
  if (here.before == nullptr) return without(Status::outside_curve);
  const formula::Spot spot = formula::spot_between(timed(*here.before), timed(*here.after), second);
  Quantity q{.value = spot.value, .scale = Scale::log, .censoring = spot.censoring, .status = spot.status};
  if (!has_value(spot.status)) return q;
  const double u_before = (1 - here.share) * relative_standard_uncertainty(*here.before, conditions_),
               u_after = here.share * relative_standard_uncertainty(*here.after, conditions_);
  q.parts.set(Part::reading, here.share > 0 ? std::sqrt(u_before * u_before + u_after * u_after) : u_before);
  q.parts.set(Part::gain, conditions_.common_relative_standard_uncertainty);
  q.parts.set(Part::law, std::abs(here.law_standard_uncertainty()));
  return q;
}

Quantity TimedRun::ratio(const Times& times) const noexcept {
  if (!(times.late_second > times.early_second)) return {.scale = Scale::log, .status = Status::out_of_domain};
  const Quantity late = at(times.late_second);
  const Quantity early = at(times.early_second);
  if (!has_value(late.status) || !has_value(early.status)) return insulation::ratio({.late = late, .early = early});
  const Place at_late = place(times.late_second), at_early = place(times.early_second);
  Quantity q = insulation::ratio({.late = late, .early = early, .same_range = !at_late.on_another_range(at_early)});
  if (has_value(q.status))
    q.parts.set(Part::law, std::abs(at_late.law_standard_uncertainty() - at_early.law_standard_uncertainty()));
  return q;
}

}  // namespace ohmward::insulation
