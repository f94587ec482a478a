#include "ohmward/fleet/change.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "fleet/prepared.hpp"
#include "ohmward/statistics/censored_regression.hpp"
#include "ohmward/statistics/distributions.hpp"

namespace ohmward::fleet {
namespace {

using statistics::censored_regression;
using statistics::CensoredRegression;
using statistics::Observation;
using Observations = std::span<const Observation>;

/// Likelihood of one level for all, at a given scatter.
struct Level {
  double log_likelihood = nan;
  double value = nan;
  double standard_uncertainty = infinity;
};

/// Where every reading is a bound the same way, the level lies beyond all of them: the likelihood is 1.
Level level_of(Observations y, double scatter) {
  std::size_t exact = 0, above = 0;
  for (const Observation& o : y) {
    exact += o.censoring == Censoring::exact ? 1 : 0;
    above += o.censoring == Censoring::above ? 1 : 0;
  }
  if (exact == 0) {
    const bool one_way = above == 0 || above == y.size();
    return {.log_likelihood = one_way ? 0 : nan, .value = above > 0 ? infinity : -infinity};
  }
  const std::vector<double> ones(y.size(), 1.0);
  const CensoredRegression fit = censored_regression(with_scatter(y, scatter), ones, 1, false);
  if (!has_value(fit.status)) return {};
  return {fit.log_likelihood, fit.coefficient[0], std::sqrt(fit.covariance[0])};
}

/// One alternative to "no change".
struct Alternative {
  double scatter = nan;
  double degrees_of_freedom = 0;
  double log_likelihood = nan;
  double ln_ratio = nan;
  double standard_uncertainty = nan;
};

std::size_t exact_among(Observations y) noexcept {
  std::size_t exact = 0;
  for (const Observation& o : y) exact += o.censoring == Censoring::exact ? 1 : 0;
  return exact;
}

Alternative step_before(std::size_t k, Observations y, const LikeScatter& like) {
  const std::size_t exact_before = exact_among(y.first(k)), exact_after = exact_among(y.subspan(k));
  // The side without an exact reading says nothing about the scatter.
  const bool both = exact_before > 0 && exact_after > 0;
  const Observations from = both ? y : exact_before > 0 ? y.first(k) : y.subspan(k);
  std::vector<double> x;
  for (std::size_t i = 0; i < from.size(); ++i) {
    x.push_back(1);
    if (both) x.push_back(i < k ? 0 : 1);
  }
  const CensoredRegression own = censored_regression(from, x, both ? 2 : 1);
  const Scatter joined = drawn_together(own.scatter, own.degrees_of_freedom, like);
  if (!(joined.degrees_of_freedom > 0)) return {};
  const Level before = level_of(y.first(k), joined.value), after = level_of(y.subspan(k), joined.value);
  return {.scatter = joined.value,
          .degrees_of_freedom = joined.degrees_of_freedom,
          .log_likelihood = before.log_likelihood + after.log_likelihood,
          .ln_ratio = after.value - before.value,
          .standard_uncertainty = std::hypot(before.standard_uncertainty, after.standard_uncertainty)};
}

/// ln R against a power of the time since the first reading, which is 1 at the last.
Alternative rising_with(int power, const Prepared& p, const LikeScatter& like) {
  std::vector<double> x;
  for (const double day : p.day) {
    const double share = (day - p.day.front()) / (p.day.back() - p.day.front());
    x.push_back(1);
    x.push_back(power == 1 ? share : share * share);
  }
  const CensoredRegression own = censored_regression(p.y, x, 2);
  const Scatter joined = drawn_together(own.scatter, own.degrees_of_freedom, like);
  if (!(joined.degrees_of_freedom > 0)) return {};
  const CensoredRegression fit = censored_regression(with_scatter(p.y, joined.value), x, 2, false);
  if (!has_value(fit.status)) return {};
  return {.scatter = joined.value,
          .degrees_of_freedom = joined.degrees_of_freedom,
          .log_likelihood = fit.log_likelihood,
          .ln_ratio = fit.coefficient[1],
          .standard_uncertainty = std::sqrt(fit.covariance[3])};
}

/// Probability that chance alone prefers an alternative as much.
double chance(const Alternative& to, Observations y, ChangeDirection direction) {
  const Level none = level_of(y, to.scatter);
  const double gain = 2 * (to.log_likelihood - none.log_likelihood);
  if (std::isnan(gain) || std::isnan(to.ln_ratio)) return nan;
  const double root = std::sqrt(gain > 0 ? gain : 0);
  const double tail = statistics::student_t_cdf(-root, to.degrees_of_freedom);
  if (direction == ChangeDirection::either) return 2 * tail;
  const bool this_way = direction == ChangeDirection::fall ? to.ln_ratio < 0 : to.ln_ratio > 0;
  return this_way ? tail : 1 - tail;
}

}  // namespace

Change find_change(std::span<const HistoryReading> history, const ChangeOptions& options) {
  Change result;
  if (std::isfinite(options.reference_celsius) && options.law.kind == temperature::LawKind::none) {
    result.status = Status::no_law;
    return result;
  }
  Prepared p = prepare(history, options.law, options.reference_celsius);
  result.odd = take_out_odd(p, options.like);
  constexpr std::size_t least = 3, enough = 6;
  const std::size_t exact = exact_among(p.y);
  if (p.size() < least || exact == 0) return result;

  double lowest = infinity;
  const auto weigh = [&](const Alternative& to, ChangeKind kind, double from_day) {
    const double p_of_chance = chance(to, p.y, options.direction);
    if (std::isnan(p_of_chance)) return;
    ++result.tried;
    if (p_of_chance >= lowest) return;
    lowest = p_of_chance;
    result.kind = kind;
    result.ln_ratio = to.ln_ratio;
    result.standard_uncertainty = to.standard_uncertainty;
    result.from_day = from_day;
    result.scatter = to.scatter;
    result.degrees_of_freedom = to.degrees_of_freedom;
  };
  if (p.day.back() > p.day.front()) {
    weigh(rising_with(1, p, options.like), ChangeKind::steady, p.day.front());
    weigh(rising_with(2, p, options.like), ChangeKind::growing, p.day.front());
  }
  for (std::size_t k = 2; k + 2 <= p.size(); ++k) weigh(step_before(k, p.y, options.like), ChangeKind::step, p.day[k]);
  if (result.tried == 0) return result;
  result.probability = -std::expm1(static_cast<double>(result.tried) * std::log1p(-lowest));
  if (!(result.probability < options.false_rate)) result.kind = ChangeKind::none;
  result.status = exact < enough ? Status::few_points : Status::sound;
  return result;
}

}  // namespace ohmward::fleet
