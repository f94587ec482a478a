#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::statistics {

/// A statistic of a sample in which unit i counts times[i] times: no data are copied for a replicate. All ones is the
/// sample itself, a zero leaves a unit out. Writes one number for each estimate; NaN where there is none.
/// Called from several threads at once.
using WeightedStatistic = std::function<void(std::span<const std::uint32_t> times, std::span<double> estimates)>;

enum class BootstrapInterval : std::int8_t {
  percentile = 0,      ///< quantiles of the replicates
  bias_corrected = 1,  ///< the same, moved by median bias and acceleration of the jackknife (BCa)
};

struct BootstrapOptions {
  std::size_t replicates = 2000;
  double level = 0.95;
  BootstrapInterval interval = BootstrapInterval::percentile;
  std::uint64_t seed = 1;
  int threads = 0;  ///< 0: all cores; the result never depends on it
};

struct BootstrapEstimate {
  double value = nan;               ///< of the sample itself
  double standard_deviation = nan;  ///< of the replicates
  double low = nan;
  double high = nan;
  std::size_t undefined = 0;       ///< replicates without a value, left out
  std::vector<double> replicates;  ///< in the order drawn, NaN where undefined
  Status status = Status::too_few_points;
};

/// Units or clusters below which an interval is few_points: that of a mean of 20 normal values covers 93 % at 95 %, of
/// 10 values 89 % (tests/power/interval_coverage.py).
inline constexpr std::size_t few_bootstrap_units = 30;

/// Resamples units, or whole clusters of units, with replacement and gives an interval for each estimate.
///
/// Replicate r draws with block r of the seed by counter, so the bits never depend on threads.
/// @param clusters one label a unit, any integers: units of one label come and go together; empty: each unit alone
/// @param estimates how many numbers the statistic writes
/// @throws InvalidParameter for no unit, unequal lengths, fewer than 2 replicates, no estimate, or a level outside
///         (0, 1); what the statistic throws
/// Status: sound; few_points (fewer than few_bootstrap_units drawn from, or a replicate undefined); too_few_points
/// (one unit or cluster, the sample's own value undefined, or more than half of the replicates): no interval;
/// out_of_domain (BCa has no answer: all replicates on one side of the value, or an undefined jackknife).
/// Sources: `efron-tibshirani`, `philox`.
[[nodiscard]] std::vector<BootstrapEstimate> bootstrap(const WeightedStatistic& statistic, std::size_t units,
                                                       std::span<const long> clusters = {}, std::size_t estimates = 1,
                                                       const BootstrapOptions& options = {});

}  // namespace ohmward::statistics
