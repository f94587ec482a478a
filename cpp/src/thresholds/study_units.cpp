#include "thresholds/study_units.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>

#include "statistics/groups.hpp"

namespace ohmward::thresholds {

using statistics::ScoredUnits;

StudyUnits study_units(const ScoredUnits& units) {
  statistics::require(units);
  StudyUnits all{.weighted = !units.weight.empty(), .clustered = !units.cluster.empty()};
  std::vector<long> labels, strata;
  const std::size_t n = units.low.size();
  all.low.reserve(n);
  all.high.reserve(n);
  all.event.reserve(n);
  all.weight.reserve(n);
  labels.reserve(units.cluster.size());
  strata.reserve(units.stratum.size());
  for (std::size_t i = 0; i < n; ++i) {
    if (std::isnan(units.low[i]) || std::isnan(units.high[i]) || (all.weighted && std::isnan(units.weight[i]))) {
      ++all.left_out;
      continue;
    }
    all.low.push_back(units.low[i]);
    all.high.push_back(units.high[i]);
    all.event.push_back(units.event[i]);
    all.weight.push_back(all.weighted ? units.weight[i] : 1);
    if (all.clustered) labels.push_back(units.cluster[i]);
    if (!units.stratum.empty()) strata.push_back(units.stratum[i]);
  }
  statistics::Groups counted = statistics::groups_of(strata);
  all.stratum = std::move(counted.of);
  all.strata = counted.count;
  if (all.clustered) {
    statistics::Groups groups = statistics::groups_of(labels);
    all.cluster = std::move(groups.of);
    all.clusters = groups.count;
  } else {
    all.cluster.resize(all.size());
    std::iota(all.cluster.begin(), all.cluster.end(), std::size_t{0});
    all.clusters = all.size();
  }
  return all;
}

std::vector<double> candidate_thresholds(const StudyUnits& units) {
  std::vector<double> ends;
  for (const auto* side : {&units.low, &units.high})
    std::ranges::copy_if(*side, std::back_inserter(ends), [](double end) { return std::isfinite(end); });
  std::ranges::sort(ends, std::greater<>());
  ends.erase(std::unique(ends.begin(), ends.end()), ends.end());
  std::vector<double> thresholds{infinity};
  for (std::size_t i = 0; i + 1 < ends.size(); ++i) thresholds.push_back(ends[i + 1] + 0.5 * (ends[i] - ends[i + 1]));
  thresholds.push_back(-infinity);
  return thresholds;
}

}  // namespace ohmward::thresholds
