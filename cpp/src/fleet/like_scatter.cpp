#include <algorithm>
#include <boost/math/special_functions/beta.hpp>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>
#include <vector>

#include "fleet/prepared.hpp"
#include "ohmward/fleet/trend.hpp"
#include "ohmward/statistics/censored_regression.hpp"
#include "statistics/quiet_policy.hpp"

namespace ohmward::fleet {
namespace {

/// Variance about one part's trend beyond the stated uncertainties, and its degrees of freedom. One that is smaller
/// than the stated variance is hardly told from none: it counts as "at most that".
struct OwnVariance {
  double variance;
  double degrees_of_freedom;
  bool at_most;
};

double log_gamma(double x) { return boost::math::lgamma(x, statistics::QuietPolicy{}); }

/// Share of parts that may hold an odd reading (a monitor left on once, a pulled plug): a setting without a source.
/// Their variances lie anywhere and do not widen what the others have in common.
constexpr double odd_share = 0.2;

/// Likelihood of one part, s0^2 F(d, d0) for most parts and ln(variance) flat over `spread` for the odd ones.
double likelihood(const OwnVariance& part, double square, double d0, double spread) {
  const double d = part.degrees_of_freedom, x = d * part.variance / (square * d0);
  if (part.at_most) return (1 - odd_share) * boost::math::ibeta(d / 2, d0 / 2, x / (1 + x), statistics::QuietPolicy{});
  const double log_density = log_gamma((d + d0) / 2) - log_gamma(d / 2) - log_gamma(d0 / 2) + d / 2 * std::log(x) -
                             (d + d0) / 2 * std::log1p(x);
  return (1 - odd_share) * std::exp(log_density) + odd_share / spread;
}

double log_likelihood(const std::vector<OwnVariance>& parts, double square, double d0, double spread) {
  double sum = 0;
  for (const OwnVariance& part : parts) sum += std::log(likelihood(part, square, d0, spread));
  return sum;
}

/// The most likely s0^2 at a d0, by golden section on its logarithm.
double best_square(const std::vector<OwnVariance>& parts, double low, double high, double d0) {
  const double ratio = (std::sqrt(5.0) - 1) / 2;
  double a = std::log(low), b = std::log(high);
  const double spread = b - a;
  const auto at = [&](double log_square) { return log_likelihood(parts, std::exp(log_square), d0, spread); };
  double c = b - ratio * (b - a), d = a + ratio * (b - a), fc = at(c), fd = at(d);
  while (b - a > 1e-6) {
    if (fc >= fd) {
      b = d, d = c, fd = fc, c = b - ratio * (b - a), fc = at(c);
    } else {
      a = c, c = d, fc = fd, d = a + ratio * (b - a), fd = at(d);
    }
  }
  return std::exp(0.5 * (a + b));
}

std::vector<OwnVariance> own_variances(const std::vector<Prepared>& parts) {
  std::vector<OwnVariance> own;
  for (const Prepared& p : parts) {
    if (p.size() == 0) continue;
    const Line model(p);
    const statistics::CensoredRegression line =
        statistics::censored_regression(p.y, model.all(p), model.coefficients());
    if (!has_value(line.status) || !(line.degrees_of_freedom > 0)) continue;
    double stated = 0;
    for (const statistics::Observation& o : p.y)
      stated += o.standard_uncertainty * o.standard_uncertainty / static_cast<double>(p.size());
    const double variance = line.scatter * line.scatter;
    own.push_back({std::max(variance, stated), line.degrees_of_freedom, variance <= stated});
  }
  return own;
}

LikeScatter most_likely(std::vector<OwnVariance> own) {
  constexpr std::size_t least = 3;
  const auto told = std::count_if(own.begin(), own.end(), [](const OwnVariance& part) { return !part.at_most; });
  if (own.size() < least || told == 0) return {};
  const auto by_size = [](const OwnVariance& a, const OwnVariance& b) { return a.variance < b.variance; };
  const double high = std::max_element(own.begin(), own.end(), by_size)->variance, low = 1e-4 * high;
  if (!(high > 0)) return {};
  for (OwnVariance& part : own) part.variance = std::max(part.variance, low);
  const double square = best_square(own, low, high, like_degrees_of_freedom);
  return {std::max(std::sqrt(square), least_like_scatter), like_degrees_of_freedom};
}

}  // namespace

LikeScatter like_scatter(std::span<const std::vector<HistoryReading>> parts, const TrendOptions& options) {
  std::vector<Prepared> prepared;
  for (const std::vector<HistoryReading>& part : parts)
    prepared.push_back(prepare(part, options.law, options.reference_celsius));
  const LikeScatter first = most_likely(own_variances(prepared));
  for (Prepared& p : prepared) take_out_odd(p, first);
  return most_likely(own_variances(prepared));
}

}  // namespace ohmward::fleet
