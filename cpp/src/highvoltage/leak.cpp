#include "ohmward/highvoltage/leak.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/formula/highvoltage.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/numerics/random.hpp"
#include "ohmward/numerics/roots.hpp"

namespace ohmward::highvoltage {
namespace {

using numerics::normal_probability;
using uncertainty::Part;
using uncertainty::Quantity;

double square(double x) noexcept { return x * x; }

/// What a reading leaves open of its conductance before its uncertainty.
Interval conductance(const Quantity& q) noexcept {
  switch (q.censoring) {
    case Censoring::exact: return {1 / q.value, 1 / q.value};
    case Censoring::above: return {0, 1 / q.value};
    case Censoring::below: return {1 / q.value, infinity};
    case Censoring::overload: return {0, infinity};
  }
  return {};
}

/// NaN where the uncertainty is unknown.
double independent_part(const Quantity& q, double common) noexcept {
  const double rest = square(q.standard_uncertainty()) - square(common);
  return rest < 0 ? 0 : std::sqrt(rest);
}

/// Standard uncertainties, on the log scale, of two readings and of the gain that they share.
struct Spread {
  double before;
  double after;
  double common;
};

Spread spread_of(const Quantity& before, const Quantity& after) noexcept {
  const double common = std::min(before.parts[Part::gain], after.parts[Part::gain]);
  return {independent_part(before, common), independent_part(after, common), common};
}

/// Distribution of exp(-c)·(before·exp(-a) - after·exp(-b)), a difference of conductances with a common gain.
class LeakageDistribution {
 public:
  LeakageDistribution(double before, double after, Spread u) noexcept : before_(before), after_(after), u_(u) {}

  /// Value that the leakage lies below with probability p. The bracket is widened by more than 8 standard
  /// uncertainties.
  [[nodiscard]] double quantile(double p) const noexcept {
    const double widen = std::exp(9 * (u_.before + u_.after + u_.common));
    const numerics::RootOptions close_enough{.absolute_tolerance = 1e-12 * before_, .relative_tolerance = 1e-10};
    return numerics::root([&](double g) { return probability(g) - p; }, -after_ * widen, before_ * widen, close_enough)
        .value;
  }

 private:
  /// One of the three errors is integrated in closed form, the widest; the others by the trapezoid rule, whose error
  /// falls faster than any power of its step for these integrands.
  [[nodiscard]] double probability(double g) const noexcept {
    return averaged(u_.common, [&](double c) {
      const double scaled = g * std::exp(c);
      if (u_.before * before_ >= u_.after * after_)
        return averaged(u_.after, [&](double b) { return before_below(scaled + after_ * std::exp(-b)); });
      return averaged(u_.before, [&](double a) { return 1 - after_below(before_ * std::exp(-a) - scaled); });
    });
  }
  [[nodiscard]] double before_below(double limit) const noexcept { return below(before_, u_.before, limit); }
  [[nodiscard]] double after_below(double limit) const noexcept { return below(after_, u_.after, limit); }

  static double below(double median, double u, double limit) noexcept {
    if (median == 0) return limit >= 0 ? 1 : 0;
    if (!(limit > 0)) return 0;
    const double distance = std::log(limit / median);
    if (u == 0) return distance >= 0 ? 1 : 0;
    return normal_probability(distance / u);
  }

  /// Mean of f over a normal error of standard uncertainty u.
  template <class Function>
  double averaged(double u, const Function& f) const noexcept {
    if (u == 0) return f(0.0);
    const double widest = std::max(u_.before * before_, u_.after * after_) / std::max(before_, after_);
    const double step = std::clamp(0.5 * widest / u, 0.02, 0.5);
    const int half = static_cast<int>(8 / step);
    double sum = 0;
    double weights = 0;
    for (int i = -half; i <= half; ++i) {
      const double z = i * step;
      const double weight = std::exp(-0.5 * z * z);
      sum += weight * f(u * z);
      weights += weight;
    }
    return sum / weights;
  }

  double before_;
  double after_;
  Spread u_;
};

double quantile_of_leakage(double before, double after, Spread u, double p) noexcept {
  if (std::isinf(before)) return infinity;
  if (std::isinf(after)) return -infinity;
  return LeakageDistribution(before, after, u).quantile(p);
}

bool usable(const Quantity& q) noexcept {
  const bool bound_unknown = q.censoring == Censoring::overload;
  return bound_unknown || (has_value(q.status) && q.value > 0 && std::isfinite(q.value));
}

Status reason(const Quantity& q) noexcept {
  if (usable(q)) return Status::sound;
  if (!has_value(q.status)) return q.status;
  return std::isnan(q.value) ? Status::missing_input : Status::out_of_domain;
}

bool exact(const Quantity& q) noexcept { return q.censoring == Censoring::exact; }

/// Resistance of a leakage; none at or below zero.
double as_resistance(double siemens) noexcept { return siemens > 0 ? 1 / siemens : infinity; }

Interval share_between(Interval before, Interval after, double widening) noexcept {
  const auto share = [](double left, double of) { return of == 0 ? nan : std::isinf(of) ? 1.0 : 1 - left / of; };
  return {share(after.high * widening, before.low), share(after.low / widening, before.high)};
}

}  // namespace

Leak leak_of_removed_part(const Quantity& before, const Quantity& after, double level) noexcept {
  Leak leak;
  leak.status = worse(reason(before), reason(after));
  if (!has_value(leak.status)) return leak;
  if (!(level > 0 && level < 1)) {
    leak.status = Status::out_of_domain;
    return leak;
  }
  const Interval g_before = conductance(before);
  const Interval g_after = conductance(after);
  const bool both_exact = exact(before) && exact(after);
  const double largest = g_before.high - (std::isinf(g_before.high) ? 0 : g_after.low);
  if (both_exact) {
    const auto value = formula::leak_of_removed_part_ohm({.before_ohm = before.value, .after_ohm = after.value});
    leak.ohm = value.value;
    leak.status = value.status;
    leak.share = 1 - before.value / after.value;
  } else {
    leak.status = largest > 0 ? Status::bound_only : Status::contradiction;
    leak.ohm = largest > 0 ? as_resistance(largest) : nan;
  }

  const Spread u = spread_of(before, after);
  if (!std::isfinite(u.before) || !std::isfinite(u.after) || !std::isfinite(u.common)) return leak;
  const double tail = 0.5 * (1 - level);
  leak.interval.low = as_resistance(quantile_of_leakage(g_before.high, g_after.low, u, 1 - tail));
  leak.interval.high = as_resistance(quantile_of_leakage(g_before.low, g_after.high, u, tail));
  const double u_ratio = std::sqrt(square(u.before) + square(u.after));
  leak.share_interval = share_between(g_before, g_after, std::exp(numerics::normal_quantile(1 - tail) * u_ratio));
  if (both_exact && u_ratio > 0)
    leak.probability_of_leak = normal_probability(std::log(after.value / before.value) / u_ratio);
  return leak;
}

WithoutPath without_declared_path(const ReadingWithPath& r, double level) noexcept {
  constexpr double steep = 0.2;          // above it a standard uncertainty of first order says too little
  constexpr double bound_reading = 0.1;  // as that of isolation by voltmeter: a bound carries an uncertainty too
  WithoutPath result{.resistance = {.scale = Scale::log}};
  Quantity& freed = result.resistance;
  if (!r.declared) return result;
  if (r.reading.censoring == Censoring::overload || !exact(r.path)) {
    freed.status = Status::unknown_bound;
    return result;
  }
  const Leak leak = leak_of_removed_part(r.reading, r.path, level);
  result.interval = leak.interval;
  freed.status = leak.status;
  if (!has_value(leak.status)) return result;

  const double share = r.reading.value / (r.path.value - r.reading.value);  // of the path's relative change
  const double u_path = r.path.standard_uncertainty();
  freed.value = r.path.value * share;
  freed.censoring = r.reading.censoring;
  freed.parts.set(Part::gain, (1 + share) * r.reading.parts[Part::gain]);
  freed.parts.set(Part::reading, (1 + share) * independent_part(r.reading, r.reading.parts[Part::gain]));
  freed.parts.set(Part::other, u_path > 0 ? share * u_path : nan);
  if (freed.censoring != Censoring::below && freed.standard_uncertainty() > steep) {
    freed.value = result.interval.low;
    freed.censoring = Censoring::above;
    freed.status = Status::bound_only;
    freed.parts = {};
    freed.parts.set(Part::reading, bound_reading);
  }
  return result;
}

Ladder ladder(std::span<const Quantity> readings, double level) {
  Ladder result;
  if (readings.size() < 2) return result;
  const Quantity& first = readings.front();
  for (std::size_t i = 1; i < readings.size(); ++i) {
    result.leaks.push_back(leak_of_removed_part(readings[i - 1], readings[i], level));
    const Leak& leak = result.leaks.back();
    const bool counts = has_value(leak.status) && exact(first) && exact(readings[i - 1]);
    result.share_of_whole.push_back(counts ? first.value / leak.ohm : nan);
    const auto largest = static_cast<std::size_t>(result.largest);
    if (counts && (result.largest < 0 || result.share_of_whole.back() > result.share_of_whole[largest]))
      result.largest = static_cast<std::ptrdiff_t>(i - 1);
  }
  if (exact(first) && exact(readings.back())) result.remaining_share = first.value / readings.back().value;
  return result;
}

PartsAndWhole parts_explain_whole(std::span<const Quantity> parts, const Quantity& whole, double level,
                                  std::uint64_t seed) {
  constexpr std::size_t draws = 20000;
  PartsAndWhole result;
  result.status = reason(whole);
  double common = whole.parts[Part::gain];
  bool bound = !exact(whole);
  for (const Quantity& part : parts) {
    result.status = worse(result.status, reason(part));
    common = std::min(common, part.parts[Part::gain]);
    bound = bound || !exact(part);
  }
  if (parts.empty()) result.status = Status::missing_input;
  if (!(level > 0 && level < 1)) result.status = Status::out_of_domain;
  if (!has_value(result.status)) return result;

  // The gain that all share only scales the difference; it is drawn once for all.
  std::vector<double> lowest(draws);
  std::vector<double> highest(draws);
  std::vector<double> z(draws);
  const auto add = [&](const Quantity& q, std::uint64_t block, double sign) {
    const Interval g = conductance(q);
    const double u = independent_part(q, common);
    numerics::fill_normal(z, {.seed = seed, .block = block});
    for (std::size_t i = 0; i < draws; ++i) {
      const double factor = std::exp(-u * z[i]);
      lowest[i] += sign * (sign > 0 ? g.low : g.high) * factor;
      highest[i] += sign * (sign > 0 ? g.high : g.low) * factor;
    }
  };
  double sum = 0;
  add(whole, 0, 1);
  for (std::size_t i = 0; i < parts.size(); ++i) {
    add(parts[i], i + 1, -1);
    sum += 1 / parts[i].value;
  }
  numerics::fill_normal(z, {.seed = seed, .block = parts.size() + 1});
  for (std::size_t i = 0; i < draws; ++i) {
    const double factor = std::exp(-common * z[i]);
    lowest[i] *= factor;
    highest[i] *= factor;
  }
  const auto quantile = [&](std::vector<double>& values, double p) {
    if (std::any_of(values.begin(), values.end(), [](double x) { return std::isnan(x); })) return nan;
    const auto place = values.begin() + std::lround(p * static_cast<double>(draws - 1));
    std::nth_element(values.begin(), place, values.end());
    return *place;
  };
  const double tail = 0.5 * (1 - level);
  result.unexplained_siemens = {quantile(lowest, tail), quantile(highest, 1 - tail)};
  result.parts_ohm = 1 / sum;
  const double unexplained = 1 / whole.value - sum;
  result.unexplained_ohm = unexplained > 0 ? 1 / unexplained : nan;
  if (result.unexplained_siemens.low > 0) result.explained = Explained::whole_is_lower;
  if (result.unexplained_siemens.high < 0) result.explained = Explained::whole_is_higher;
  if (result.unexplained_siemens.low <= 0 && result.unexplained_siemens.high >= 0) result.explained = Explained::yes;
  if (bound) result.status = Status::bound_only;
  return result;
}

Quantity parallel_budget(std::span<const Quantity> parts) noexcept {
  Quantity budget{.scale = Scale::log};
  Status status = parts.empty() ? Status::missing_input : Status::sound;
  double sum = 0;
  bool any_above = false;
  bool any_below = false;
  for (const Quantity& part : parts) {
    status = worse(status, part.censoring == Censoring::overload ? Status::unknown_bound : reason(part));
    sum += 1 / part.value;
    any_above = any_above || part.censoring == Censoring::above;
    any_below = any_below || part.censoring == Censoring::below;
  }
  if (any_above && any_below) status = worse(status, Status::unknown_bound);
  budget.status = status;
  if (!has_value(status)) return budget;
  double gain = 0;
  double rest = 0;
  for (const Quantity& part : parts) {
    const double share = 1 / (part.value * sum);
    gain += share * part.parts[Part::gain];
    rest += square(share * independent_part(part, part.parts[Part::gain]));
  }
  budget.value = 1 / sum;
  budget.parts.set(Part::gain, gain);
  budget.parts.set(Part::reading, std::sqrt(rest));
  if (any_above || any_below) {
    budget.censoring = any_above ? Censoring::above : Censoring::below;
    budget.status = worse(budget.status, Status::bound_only);
  }
  return budget;
}

Quantity ratio_after_before(const Quantity& before, const Quantity& after) noexcept {
  Quantity ratio{.scale = Scale::log};
  ratio.status = worse(reason(before), reason(after));
  const bool unknown = before.censoring == Censoring::overload || after.censoring == Censoring::overload;
  // "above" in after and "below" in before both leave the ratio at least as large; the other two at most as large.
  const bool raises = after.censoring == Censoring::above || before.censoring == Censoring::below;
  const bool lowers = after.censoring == Censoring::below || before.censoring == Censoring::above;
  if (has_value(ratio.status) && (unknown || (raises && lowers))) ratio.status = Status::unknown_bound;
  if (!has_value(ratio.status)) return ratio;
  const Spread u = spread_of(before, after);
  ratio.value = after.value / before.value;
  ratio.parts.set(Part::reading, std::sqrt(square(u.before) + square(u.after)));
  if (raises || lowers) {
    ratio.censoring = raises ? Censoring::above : Censoring::below;
    ratio.status = worse(ratio.status, Status::bound_only);
  }
  return ratio;
}

std::string_view text(Explained explained) noexcept {
  switch (explained) {
    case Explained::yes: return "the parts explain the whole";
    case Explained::whole_is_lower: return "the whole is lower than its parts: a path was not measured";
    case Explained::whole_is_higher: return "the whole is higher than its parts: not everything was connected";
    case Explained::undecided: return "not decided";
  }
  return "unknown";
}

}  // namespace ohmward::highvoltage
