#include "ohmward/statistics/robust_slope.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "statistics/level.hpp"

namespace ohmward::statistics {
namespace {

struct Points {
  std::vector<double> x;
  std::vector<Observation> y;
  bool censored = false;
};

Points usable(std::span<const double> x, std::span<const Observation> observations) {
  Points points;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const Observation& y = observations[i];
    if (!std::isfinite(x[i]) || !std::isfinite(y.y) || y.censoring == Censoring::overload) continue;
    points.x.push_back(x[i]);
    points.y.push_back(y);
    points.censored = points.censored || y.censoring != Censoring::exact;
  }
  return points;
}

std::vector<double> slopes_of_pairs(const Points& of) {
  const std::size_t n = of.x.size();
  std::vector<double> slopes;
  slopes.reserve(n * n / 2);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < i; ++j)
      if (of.x[i] != of.x[j]) slopes.push_back((of.y[i].y - of.y[j].y) / (of.x[i] - of.x[j]));
  std::ranges::sort(slopes);
  return slopes;
}

double middle(std::span<const double> sorted) {
  const std::size_t n = sorted.size();
  return n % 2 == 1 ? sorted[n / 2] : 0.5 * (sorted[n / 2 - 1] + sorted[n / 2]);
}

double median(std::vector<double> values) {
  std::ranges::sort(values);
  return middle(values);
}

/// Standard deviation of Kendall's statistic where y does not depend on x.
double kendall_deviation(std::vector<double> x) {
  std::ranges::sort(x);
  const auto pairs_term = [](double n) { return n * (n - 1) * (2 * n + 5); };
  double sum = pairs_term(static_cast<double>(x.size()));
  for (auto first = x.begin(); first != x.end();) {
    const auto after = std::upper_bound(first, x.end(), *first);
    sum -= pairs_term(static_cast<double>(after - first));
    first = after;
  }
  return std::sqrt(sum / 18);
}

/// Kendall's statistic of y - slope * x against x; pairs whose order is open count nothing.
double kendall(const Points& of, double slope) {
  double sum = 0;
  for (std::size_t i = 0; i < of.x.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) {
      if (of.x[i] == of.x[j]) continue;
      const std::size_t late = of.x[i] > of.x[j] ? i : j;
      const std::size_t early = of.x[i] > of.x[j] ? j : i;
      const double rise = (of.y[late].y - slope * of.x[late]) - (of.y[early].y - slope * of.x[early]);
      const auto is = [&](std::size_t which, Censoring censoring) { return of.y[which].censoring == censoring; };
      if (rise > 0 && !is(late, Censoring::below) && !is(early, Censoring::above)) sum += 1;
      if (rise < 0 && !is(late, Censoring::above) && !is(early, Censoring::below)) sum -= 1;
    }
  return sum;
}

/// Slope, ends and status where every pair's order is known.
void from_ranks(RobustSlope& result, const std::vector<double>& slopes, double reach) {
  const auto pairs = static_cast<double>(slopes.size());
  const double low = std::round((pairs - reach) / 2) - 1;
  const double high = std::round((pairs + reach) / 2);
  result.slope = middle(slopes);
  result.low = slopes[static_cast<std::size_t>(std::max(low, 0.0))];
  result.high = slopes[static_cast<std::size_t>(std::min(high, pairs - 1))];
  if (low < 0 || high > pairs - 1) result.status = Status::few_points;
}

/// The same by searching where Kendall's statistic, which falls as the slope rises, crosses a level.
void from_crossings(RobustSlope& result, const Points& points, const std::vector<double>& slopes, double reach) {
  const auto crossing = [&](double wanted) {
    std::size_t low = 0;
    std::size_t high = slopes.size();
    while (low < high) {
      const std::size_t middle = (low + high) / 2;
      if (kendall(points, std::nextafter(slopes[middle], infinity)) > wanted) {
        low = middle + 1;
      } else {
        high = middle;
      }
    }
    return slopes[std::min(low, slopes.size() - 1)];
  };
  // Half way between the first slope with S <= 0 and the first with S < 0: the median where all pairs count.
  result.slope = 0.5 * (crossing(0) + crossing(-0.5));
  result.low = crossing(reach);
  result.high = crossing(-reach);
}

}  // namespace

RobustSlope robust_slope(std::span<const double> x, std::span<const Observation> observations, double level) {
  require_level(level);
  if (x.size() != observations.size())
    throw InvalidParameter("observations", static_cast<double>(observations.size()),
                           "one a value of x, " + std::to_string(x.size()));
  const Points points = usable(x, observations);
  const std::vector<double> slopes = slopes_of_pairs(points);
  std::vector<double> exact_x;
  std::vector<double> exact_y;
  for (std::size_t i = 0; i < points.x.size(); ++i) {
    if (points.y[i].censoring != Censoring::exact) continue;
    exact_x.push_back(points.x[i]);
    exact_y.push_back(points.y[i].y);
  }
  RobustSlope result;
  if (slopes.empty() || exact_x.empty()) return result;
  result.status = points.x.size() < 4 ? Status::few_points : Status::sound;
  const double reach = two_sided_normal(level) * kendall_deviation(points.x);
  if (points.censored) {
    from_crossings(result, points, slopes, reach);
  } else {
    from_ranks(result, slopes, reach);
  }
  result.intercept = median(exact_y) - result.slope * median(exact_x);
  return result;
}

}  // namespace ohmward::statistics
