#include "thresholds/share.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/numerics/normal.hpp"
#include "ohmward/statistics/distributions.hpp"
#include "ohmward/statistics/proportion.hpp"

namespace ohmward::thresholds {
namespace {

using statistics::beta_quantile;
using statistics::student_t_quantile;

/// Sum of squares over clusters, as if the variance of their mean.
double variance_of(const std::vector<double>& influence, double clusters) {
  double sum = 0;
  for (const double each : influence) sum += each * each;
  return sum * clusters / (clusters - 1);
}

/// Wilson's interval of a share for a number of units that need not be whole.
Ends wilson(double p, double n, double z) {
  const double total = n + z * z;
  const double centre = (n * p + z * z / 2) / total;
  const double half = z * std::sqrt(n * p * (1 - p) + z * z / 4) / total;
  return {p <= 0 ? 0 : centre - half, p >= 1 ? 1 : centre + half};
}

Ends exact(double p, double n, double tail) {
  const double k = p * n;
  return {p <= 0 ? 0 : beta_quantile(tail, k, n - k + 1), p >= 1 ? 1 : 1 - beta_quantile(tail, n - k, k + 1)};
}

/// What each unit adds to a share. Counted weights let each stratum as a whole speak for the number of units that it
/// stands for; only differences within it are known from fewer.
std::vector<double> unit_influence(const StudyUnits& units, const std::vector<Member>& members, double share,
                                   double total) {
  std::vector<double> influence(units.size());
  for (std::size_t i = 0; i < units.size(); ++i) influence[i] = members[i].in * (members[i].hit - share) / total;
  std::vector<double> mean(units.strata), count(units.strata);
  for (std::size_t i = 0; i < units.stratum.size(); ++i) {
    mean[units.stratum[i]] += influence[i];
    count[units.stratum[i]] += 1;
  }
  for (std::size_t k = 0; k < units.strata; ++k) mean[k] /= count[k];
  for (std::size_t i = 0; i < units.size(); ++i) {
    const double together = units.stratum.empty() ? 0 : mean[units.stratum[i]];
    influence[i] = units.weight[i] * (influence[i] - together) + std::sqrt(units.weight[i]) * together;
  }
  return influence;
}

}  // namespace

MeasuredShare measured_share(const StudyUnits& units, const Membership& member) {
  MeasuredShare share;
  double hits = 0, squares = 0;
  std::vector<Member> members(units.size());
  for (std::size_t i = 0; i < units.size(); ++i) {
    members[i] = member(i);
    const double weight = units.weight[i] * members[i].in;
    share.units += weight;
    squares += weight * units.weight[i];
    hits += weight * members[i].hit;
  }
  if (!(share.units > 0)) return share;
  share.value = std::min(1.0, hits / share.units);
  share.influence.assign(units.clusters, 0.0);
  std::vector<bool> present(units.clusters, false);
  const std::vector<double> influence = unit_influence(units, members, share.value, share.units);
  for (std::size_t i = 0; i < units.size(); ++i) {
    share.influence[units.cluster[i]] += influence[i];
    if (members[i].in != 0) present[units.cluster[i]] = true;
  }
  // As many equal weights; counted ones stand for units that are there.
  const double known = units.stratum.empty() ? share.units * share.units / squares : share.units;
  if (!units.weighted && !units.clustered) {
    share.effective = share.units;
    share.degrees_of_freedom = infinity;
    return share;
  }
  const auto clusters = static_cast<double>(std::ranges::count(present, true));
  share.degrees_of_freedom = clusters - 1;
  if (clusters < 2) return share;
  const double variance = variance_of(share.influence, clusters);
  // Without a spread between clusters nothing but their number is known; and no design makes units worth more.
  const double worth = variance > 0 ? share.value * (1 - share.value) / variance : clusters;
  share.effective = std::min(worth, known);
  return share;
}

Ends interval_of(const MeasuredShare& share, const RatesOptions& options) {
  const double tail = (1 - options.level) / 2;
  if (std::isnan(share.effective)) return {};
  double n = share.effective;
  if (std::isfinite(share.degrees_of_freedom)) {
    const double few = student_t_quantile(tail, share.degrees_of_freedom), many = numerics::normal_quantile(tail);
    n *= (many / few) * (many / few);
  }
  return options.interval == ShareInterval::exact ? exact(share.value, n, tail)
                                                  : wilson(share.value, n, -numerics::normal_quantile(tail));
}

double covariance_of(const MeasuredShare& first, const MeasuredShare& second) {
  double sum = 0;
  for (std::size_t c = 0; c < first.influence.size(); ++c) sum += first.influence[c] * second.influence[c];
  const auto clusters = static_cast<double>(first.influence.size());
  return sum * clusters / (clusters - 1);
}

}  // namespace ohmward::thresholds
