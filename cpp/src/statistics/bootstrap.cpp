#include "ohmward/statistics/bootstrap.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <string>
#include <utility>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/numerics/parallel.hpp"
#include "ohmward/numerics/quantile.hpp"
#include "ohmward/numerics/random.hpp"
#include "ohmward/numerics/running_moments.hpp"
#include "statistics/groups.hpp"
#include "statistics/level.hpp"

namespace ohmward::statistics {
namespace {

using Times = std::vector<std::uint32_t>;

/// What is drawn: units, or clusters that bring all of their units.
class Draws {
 public:
  Draws(std::size_t units, std::span<const long> clusters) {
    if (!clusters.empty()) {
      Groups groups = groups_of(clusters);
      cluster_of_ = std::move(groups.of);
      size_ = groups.count;
      return;
    }
    cluster_of_.resize(units);
    std::iota(cluster_of_.begin(), cluster_of_.end(), std::size_t{0});
    size_ = units;
  }

  [[nodiscard]] std::size_t size() const noexcept { return size_; }

  [[nodiscard]] Times scratch() const { return Times(size_); }

  void replicate(numerics::Stream stream, Times& of_clusters, Times& of_units) const {
    std::ranges::fill(of_clusters, 0U);
    const auto n = static_cast<double>(size_);
    std::array<double, 1024> drawn;
    for (std::size_t first = 0; first < size_; first += drawn.size()) {
      const std::span<double> part(drawn.data(), std::min(drawn.size(), size_ - first));
      numerics::fill_uniform(part, stream, first);
      // A number below 1 times n never rounds to n, whatever n below 2^52 is.
      for (const double each : part) ++of_clusters[static_cast<std::size_t>(each * n)];
    }
    spread(of_clusters, of_units);
  }

  void without(std::size_t left_out, Times& of_clusters, Times& of_units) const {
    std::ranges::fill(of_clusters, 1U);
    of_clusters[left_out] = 0;
    spread(of_clusters, of_units);
  }

 private:
  void spread(const Times& of_clusters, Times& of_units) const {
    for (std::size_t i = 0; i < of_units.size(); ++i) of_units[i] = of_clusters[cluster_of_[i]];
  }

  std::vector<std::size_t> cluster_of_;
  std::size_t size_ = 0;
};

using Columns = std::vector<std::vector<double>>;  // one a estimate

/// Values of the statistic for many multiplicities, `prepare(number, of_clusters, of_units)` making each.
template <class Prepare>
Columns evaluate(const WeightedStatistic& statistic, const Draws& draws, std::size_t units, std::size_t estimates,
                 std::size_t count, int threads, const Prepare& prepare) {
  Columns columns(estimates, std::vector<double>(count));
  numerics::in_parallel(
      count, threads,
      [&](std::size_t first, std::size_t last) {
        Times of_clusters = draws.scratch();
        Times of_units(units);
        std::vector<double> values(estimates);
        for (std::size_t r = first; r < last; ++r) {
          prepare(r, of_clusters, of_units);
          statistic(of_units, values);
          for (std::size_t k = 0; k < estimates; ++k) columns[k][r] = values[k];
        }
      },
      16);
  return columns;
}

/// Third moment of the jackknife over its second, a sixth: how the standard deviation changes with the value.
double acceleration(std::span<const double> jackknife) {
  const auto n = static_cast<double>(jackknife.size());
  const double mean = std::accumulate(jackknife.begin(), jackknife.end(), 0.0) / n;
  double squares = 0;
  double cubes = 0;
  for (const double each : jackknife) {
    const double d = mean - each;
    squares += d * d;
    cubes += d * d * d;
  }
  return squares > 0 ? cubes / (6 * std::pow(squares, 1.5)) : (squares == 0 ? 0 : nan);
}

/// Level that BCa reads the replicates at in place of a tail.
double moved(double tail, double bias, double acceleration) {
  const double z = bias + numerics::normal_quantile(tail);
  return numerics::normal_probability(bias + z / (1 - acceleration * z));
}

struct Levels {
  double low, high;
};

Levels bias_corrected(double value, std::span<const double> defined, std::span<const double> jackknife, double tail) {
  double below = 0;
  for (const double each : defined) below += each < value ? 1 : (each == value ? 0.5 : 0);
  const double share = below / static_cast<double>(defined.size());
  if (!(share > 0 && share < 1)) return {nan, nan};
  const double bias = numerics::normal_quantile(share);
  const double a = acceleration(jackknife);
  return {moved(tail, bias, a), moved(1 - tail, bias, a)};
}

void summarise(BootstrapEstimate& of, std::span<const double> jackknife, const Draws& draws,
               const BootstrapOptions& options) {
  std::vector<double> defined;
  numerics::RunningMoments moments;
  for (const double each : of.replicates) {
    if (std::isnan(each)) continue;
    defined.push_back(each);
    moments.add(each);
  }
  of.undefined = of.replicates.size() - defined.size();
  if (draws.size() < 2 || std::isnan(of.value) || 2 * defined.size() < of.replicates.size()) return;
  of.standard_deviation = moments.standard_deviation();
  const double tail = (1 - options.level) / 2;
  Levels levels{tail, 1 - tail};
  if (options.interval == BootstrapInterval::bias_corrected)
    levels = bias_corrected(of.value, defined, jackknife, tail);
  if (std::isnan(levels.low) || std::isnan(levels.high)) {
    of.status = Status::out_of_domain;
    return;
  }
  double ends[2] = {nan, nan};
  const double wanted[2] = {levels.low, levels.high};
  numerics::quantiles(defined, wanted, ends);
  of.low = ends[0];
  of.high = ends[1];
  of.status = draws.size() < few_bootstrap_units || of.undefined > 0 ? Status::few_points : Status::sound;
}

void require(std::size_t units, std::span<const long> clusters, std::size_t estimates,
             const BootstrapOptions& options) {
  require_level(options.level);
  if (units == 0) throw InvalidParameter("units", 0, "at least one");
  if (!clusters.empty() && clusters.size() != units)
    throw InvalidParameter("clusters", static_cast<double>(clusters.size()),
                           "one label a unit, " + std::to_string(units));
  if (estimates == 0) throw InvalidParameter("estimates", 0, "at least one");
  if (options.replicates < 2)
    throw InvalidParameter("replicates", static_cast<double>(options.replicates), "at least 2");
}

}  // namespace

std::vector<BootstrapEstimate> bootstrap(const WeightedStatistic& statistic, std::size_t units,
                                         std::span<const long> clusters, std::size_t estimates,
                                         const BootstrapOptions& options) {
  require(units, clusters, estimates, options);
  const Draws draws(units, clusters);
  std::vector<double> own(estimates, nan);
  statistic(Times(units, 1U), own);
  Columns replicates = evaluate(statistic, draws, units, estimates, options.replicates, options.threads,
                                [&](std::size_t r, Times& of_clusters, Times& of_units) {
                                  draws.replicate({.seed = options.seed, .block = r}, of_clusters, of_units);
                                });
  Columns jackknife(estimates);
  if (options.interval == BootstrapInterval::bias_corrected)
    jackknife = evaluate(statistic, draws, units, estimates, draws.size(), options.threads,
                         [&](std::size_t left_out, Times& of_clusters, Times& of_units) {
                           draws.without(left_out, of_clusters, of_units);
                         });
  std::vector<BootstrapEstimate> result(estimates);
  for (std::size_t k = 0; k < estimates; ++k) {
    result[k].value = own[k];
    result[k].replicates = std::move(replicates[k]);
    summarise(result[k], jackknife[k], draws, options);
  }
  return result;
}

}  // namespace ohmward::statistics
