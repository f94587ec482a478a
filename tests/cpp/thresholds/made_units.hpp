#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "ohmward/numerics/random.hpp"
#include "ohmward/statistics/roc.hpp"

namespace ohmward::thresholds {

/// Invented units: normal scores shifted by the event, rounded so that there are ties, clusters of equal size.
struct MadeUnits {
  std::vector<double> score;
  std::vector<std::uint8_t> event;
  std::vector<long> cluster;

  [[nodiscard]] statistics::ScoredUnits units(bool clustered = false) const {
    statistics::ScoredUnits of{.low = score, .high = score, .event = event};
    if (clustered) of.cluster = cluster;
    return of;
  }
};

struct Making {
  std::size_t units = 200;
  std::size_t a_cluster = 1;
  double share_of_events = 0.3;
  double shift = 1;
  double shared_scatter = 0;  ///< of the clusters
  double rounding = 0.25;
};

inline MadeUnits made_units(std::uint64_t seed, const Making& making) {
  MadeUnits all;
  for (std::size_t i = 0; i < making.units; ++i) {
    const std::size_t cluster = i / making.a_cluster;
    const bool event = numerics::uniform({seed, 1}, i) < making.share_of_events;
    const double shared = making.shared_scatter * numerics::normal({seed, 2}, cluster);
    const double score = numerics::normal({seed, 3}, i) + shared + (event ? making.shift : 0);
    all.score.push_back(making.rounding > 0 ? making.rounding * std::round(score / making.rounding) : score);
    all.event.push_back(event ? 1 : 0);
    all.cluster.push_back(static_cast<long>(cluster));
  }
  return all;
}

/// Each unit so many times, its copies a cluster.
inline MadeUnits repeated(const MadeUnits& all, const std::vector<std::size_t>& times) {
  MadeUnits copies;
  for (std::size_t i = 0; i < all.score.size(); ++i)
    for (std::size_t copy = 0; copy < times[i]; ++copy) {
      copies.score.push_back(all.score[i]);
      copies.event.push_back(all.event[i]);
      copies.cluster.push_back(static_cast<long>(i));
    }
  return copies;
}

}  // namespace ohmward::thresholds
