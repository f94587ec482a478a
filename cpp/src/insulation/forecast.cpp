#include "ohmward/insulation/forecast.hpp"

#include <algorithm>
#include <string_view>

#include "insulation/in_pieces.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::insulation {
namespace {

using formula::Forecast;
using formula::ForecastGrid;
using formula::ForecastMode;
using formula::ForecastSums;
using formula::ForecastTarget;

bool same(const ForecastTarget& a, const ForecastTarget& b) noexcept {
  return a.early_second == b.early_second && a.late_second == b.late_second && a.drift_kelvin == b.drift_kelvin &&
         a.current_per_kelvin == b.current_per_kelvin;
}

void require(std::string_view field, double value, bool sensible, std::string_view expected) {
  if (!sensible) throw InvalidParameter(field, value, expected);
}

void check(const ForecastOptions& options) {
  const ForecastTarget& target = options.target;
  require("early_second", target.early_second,
          target.early_second >= formula::forecast_first_second && target.early_second <= formula::forecast_last_second,
          "within 5 to 600");
  require("late_second", target.late_second,
          target.late_second > target.early_second && target.late_second <= formula::forecast_latest_second,
          "above early_second and at most 3600");
  require("drift_kelvin", target.drift_kelvin, target.drift_kelvin >= 0 && target.drift_kelvin <= 1000,
          "within 0 to 1000");
  require("current_per_kelvin", target.current_per_kelvin,
          target.current_per_kelvin > 1 && target.current_per_kelvin <= 2, "above 1 and at most 2");
  require("level", options.level, options.level > 0 && options.level < 1, "within 0 and 1");
}

}  // namespace

ForecastLibrary::ForecastLibrary(const ForecastGrid& grid, const ForecastTarget& target, const ForecastMode& mode,
                                 unsigned threads)
    : grid_(grid),
      target_(target),
      mode_(mode),
      feature_(static_cast<std::size_t>(mode.curves) * formula::forecast_features),
      log_ratio_(static_cast<std::size_t>(mode.curves)) {
  const auto curves = static_cast<std::size_t>(mode.curves);
  in_pieces(curves, threads, [this, curves](std::size_t begin, std::size_t end) {
    for (std::size_t k = begin; k < end; ++k) {
      const formula::ForecastCurve curve = formula::forecast_curve(static_cast<std::int32_t>(k), grid_, target_);
      for (std::size_t j = 0; j < formula::forecast_features; ++j) feature_[j * curves + k] = curve.feature[j];
      log_ratio_[k] = curve.log_ratio;
    }
  });
}

bool ForecastLibrary::fits(const ForecastGrid& grid, const ForecastTarget& target,
                           const ForecastMode& mode) const noexcept {
  return mode.curves == mode_.curves && same(target, target_) && grid == grid_;
}

formula::ForecastTable ForecastLibrary::table() const noexcept {
  return {.feature = feature_.data(), .log_ratio = log_ratio_.data(), .curves = mode_.curves};
}

ForecastSums forecast_sums(const TimedRun& run) noexcept {
  ForecastSums sums;
  for (const Sample& sample : run.usable())
    if (sample.censoring == Censoring::exact) sums.push(sample.time_second, -numerics::log(sample.resistance_ohm));
  return sums;
}

std::vector<Forecast> forecast(std::span<const TimedRun> runs, const ForecastOptions& options, unsigned threads) {
  check(options);
  std::vector<Forecast> results(runs.size());
  std::vector<ForecastSums> sums(runs.size());
  std::vector<ForecastGrid> grids(runs.size());
  std::vector<std::vector<std::size_t>> groups;  // of runs on one grid
  for (std::size_t i = 0; i < runs.size(); ++i) {
    const bool steady = options.kind == ForecastKind::steady_temperature;
    if (!has_value(runs[i].status())) {
      results[i].status = runs[i].status();
      continue;
    }
    if (steady && !runs[i].conditions().corrected_to_steady_temperature) {
      results[i].status = Status::not_applicable;
      continue;
    }
    sums[i] = forecast_sums(runs[i]);
    grids[i] = formula::forecast_grid(sums[i]);
    if (grids[i].features == 0) continue;
    const auto group = std::find_if(groups.begin(), groups.end(), [&](const std::vector<std::size_t>& members) {
      return grids[members.front()] == grids[i];
    });
    if (group != groups.end()) {
      group->push_back(i);
    } else {
      groups.push_back({i});
    }
  }
  for (const std::vector<std::size_t>& group : groups) {
    const ForecastLibrary library(grids[group.front()], options.target, options.mode, threads);
    in_pieces(group.size(), threads, [&](std::size_t begin, std::size_t end) {
      std::vector<double> histogram(static_cast<std::size_t>(options.mode.histogram_bins));
      std::vector<double> distances(static_cast<std::size_t>(options.mode.curves));
      std::vector<std::int32_t> near(static_cast<std::size_t>(options.mode.curves));
      formula::ForecastScratch scratch;
      for (std::size_t member = begin; member < end; ++member) {
        const std::size_t i = group[member];
        results[i] = formula::forecast_ratio(
            sums[i], grids[i], library.table(), options.mode, options.target, options.level,
            {.histogram = histogram.data(), .scratch = &scratch, .distances = distances.data(), .near = near.data()});
      }
    });
  }
  return results;
}

}  // namespace ohmward::insulation
