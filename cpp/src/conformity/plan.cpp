#include "ohmward/conformity/plan.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/core/errors.hpp"

namespace ohmward::conformity {
namespace {

/// How far inside (positive) or outside the limit a reading lies, on its scale; the nearer end counts.
double margin(double reading, const Limit& limit, Scale scale) noexcept {
  const auto distance = [scale](double from, double to) {
    return scale == Scale::log ? std::log(to / from) : to - from;
  };
  double least = infinity;
  if (!std::isnan(limit.lower)) least = std::min(least, distance(limit.lower, reading));
  if (!std::isnan(limit.upper)) least = std::min(least, distance(reading, limit.upper));
  return std::isnan(reading) ? nan : least;
}

/// The end of the passing readings between a passing and a failing one.
template <class Passes>
double edge(double passing, double failing, Passes&& passes) {
  constexpr double resolution = 1e-13;
  for (int i = 0; i < 200 && std::abs(passing - failing) > resolution * std::abs(passing); ++i) {
    const double middle = passing + (failing - passing) / 2;
    (passes(middle) ? passing : failing) = middle;
  }
  return passing;
}

SearchRange around(const Limit& limit) noexcept {
  const double low = std::isnan(limit.lower) ? limit.upper : limit.lower;
  const double high = std::isnan(limit.upper) ? limit.lower : limit.upper;
  const double size = std::max({std::abs(low), std::abs(high), high - low});
  return {.low = std::isnan(limit.lower) ? std::min(0.0, low - 3 * size) : low,
          .high = std::isnan(limit.upper) ? high + 1000 * size : high};
}

}  // namespace

ReadingToPass reading_to_pass(const Limit& limit, const ReadingToQuantity& meter, SearchRange range) {
  check(limit);
  const SearchRange usual = around(limit);
  if (std::isnan(range.low)) range.low = usual.low;
  if (std::isnan(range.high)) range.high = usual.high;
  if (!(range.low < range.high)) throw InvalidParameter("range", range.high, "a high end above the low one");
  const auto passes = [&](double reading) { return judge(meter(reading), limit).verdict == Verdict::pass; };
  // Readings are tried on a grid that is fine towards each limit, since a meter's ranges make its uncertainty jump.
  constexpr int steps = 400;
  double first = nan;
  double last = nan;
  double before_first = range.low;
  double after_last = range.high;
  double previous = range.low;
  for (int i = 0; i <= steps; ++i) {
    const double fraction = static_cast<double>(i) / steps;
    const double spread = std::isnan(limit.upper) ? fraction * fraction * fraction * fraction : fraction;
    const double reading = range.low + (range.high - range.low) * spread;
    if (passes(reading)) {
      if (std::isnan(first)) {
        first = reading;
        before_first = previous;
      }
      last = reading;
      after_last = range.high;
    } else if (!std::isnan(last) && previous == last) {
      after_last = reading;
    }
    previous = reading;
  }
  ReadingToPass result;
  if (std::isnan(first)) return result;
  result.possible = true;
  if (!std::isnan(limit.lower)) result.at_least = first == before_first ? first : edge(first, before_first, passes);
  if (!std::isnan(limit.upper)) result.at_most = last == after_last ? last : edge(last, after_last, passes);
  return result;
}

double standard_uncertainty_to_pass(double reading, const Limit& limit, Scale scale) {
  check(limit);
  const double inside = margin(reading, limit, scale);
  if (!(inside > 0)) return 0;
  return inside / limit.rule.guard_factor();
}

double standard_uncertainty_to_fail(double reading, const Limit& limit, Scale scale) {
  check(limit);
  const double outside = -margin(reading, limit, scale);
  if (!(outside > 0)) return 0;
  return outside / limit.rule.guard_factor();
}

Repeats repeats_to_pass(double reading, const Scatter& scatter, const Limit& limit, Scale scale) {
  if (!(scatter.repeat >= 0)) throw InvalidParameter("repeat", scatter.repeat, "at least 0");
  if (!(scatter.common >= 0)) throw InvalidParameter("common", scatter.common, "at least 0");
  const double allowed = standard_uncertainty_to_pass(reading, limit, scale);
  if (!(allowed > 0)) return {};
  const double left = allowed * allowed - scatter.common * scatter.common;
  if (!(left > 0)) return {.outcome = RepeatsOutcome::common_part_too_large};
  const double needed = std::ceil(scatter.repeat * scatter.repeat / left * (1 - 1e-12));
  constexpr double most = 1e15;
  if (needed > most) return {.outcome = RepeatsOutcome::common_part_too_large};
  return {.outcome = RepeatsOutcome::enough, .count = std::max<std::int64_t>(1, static_cast<std::int64_t>(needed))};
}

double operating_uncertainty(double intrinsic, std::span<const double> influences) {
  constexpr double factor = 1.15;  // Source: `iec-61557`
  double squares = 0;
  for (const double each : influences) {
    if (!std::isfinite(each)) throw InvalidParameter("influences", each, "finite numbers");
    squares += each * each;
  }
  if (!std::isfinite(intrinsic)) throw InvalidParameter("intrinsic", intrinsic, "a finite number");
  return std::abs(intrinsic) + factor * std::sqrt(squares);
}

WorstCase worst_case_readings(const Limit& limit, double operating_uncertainty) {
  check(limit);
  const double b = operating_uncertainty;
  if (!(b >= 0 && b < 1)) throw InvalidParameter("operating_uncertainty", b, "at least 0, below 1");
  return {.lower = limit.lower / (1 - b), .upper = limit.upper / (1 + b)};
}

}  // namespace ohmward::conformity
