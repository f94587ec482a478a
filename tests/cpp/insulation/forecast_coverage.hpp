#pragma once

#include <algorithm>
#include <cmath>
#include <memory>
#include <vector>

#include "forecast_families.hpp"
#include "ohmward/insulation/forecast.hpp"

namespace ohmward::testing {

/// What is simulated in one cell of the coverage table.
struct CoverageCell {
  char family;
  double until_second;
  double noise;
  double step_second;
  double declared_drift_kelvin = 0;
  formula::ForecastMode mode = formula::forecast_compact;
};

struct CoverageResult {
  double coverage;        ///< share of runs whose noise-free ratio lies inside
  double relative_width;  ///< median of (high - low)/value
  double error;           ///< median of |value/truth - 1|
  double decided;         ///< share whose interval lies on one side of 2
  double wrong;           ///< of these, on the wrong side
};

/// Runs cells; those on the same times share a library of curves.
class Coverage {
 public:
  CoverageResult run(const CoverageCell& cell, std::uint64_t master_seed, int count) {
    Simulator simulator(seed_of(cell, master_seed));
    const formula::ForecastTarget target{.drift_kelvin = cell.declared_drift_kelvin};
    std::vector<double> histogram(static_cast<std::size_t>(cell.mode.histogram_bins));
    std::vector<double> distances(static_cast<std::size_t>(cell.mode.curves));
    std::vector<std::int32_t> near(distances.size());
    std::vector<double> width, error;
    formula::ForecastScratch scratch;
    int inside = 0, decided = 0, wrong = 0;
    for (int i = 0; i < count; ++i) {
      const SimulatedRun run = simulator.run(cell.family, cell.until_second, cell.step_second, cell.noise);
      formula::ForecastSums sums;
      for (std::size_t k = 0; k < run.second.size(); ++k) sums.push(run.second[k], run.log_current[k]);
      const formula::ForecastGrid grid = formula::forecast_grid(sums);
      if (library_ == nullptr || !library_->fits(grid, target, cell.mode))
        library_ = std::make_unique<insulation::ForecastLibrary>(grid, target, cell.mode, 2);
      const formula::Forecast f = formula::forecast_ratio(
          sums, grid, library_->table(), cell.mode, target, 0.95,
          {.histogram = histogram.data(), .scratch = &scratch, .distances = distances.data(), .near = near.data()});
      inside += f.low <= run.ratio && run.ratio <= f.high ? 1 : 0;
      width.push_back((f.high - f.low) / f.value);
      error.push_back(std::abs(f.value / run.ratio - 1));
      const bool above = f.low > 2, below = f.high < 2;
      decided += above || below ? 1 : 0;
      wrong += (above && run.ratio < 2) || (below && run.ratio > 2) ? 1 : 0;
    }
    return {static_cast<double>(inside) / count, median(width), median(error), static_cast<double>(decided) / count,
            decided > 0 ? static_cast<double>(wrong) / decided : 0};
  }

 private:
  static std::uint64_t seed_of(const CoverageCell& cell, std::uint64_t master) {
    std::uint64_t seed = master;
    for (const double part : {static_cast<double>(cell.family), cell.until_second, cell.noise * 1e4, cell.step_second})
      seed = (seed ^ static_cast<std::uint64_t>(std::llround(part))) * 0x9e3779b97f4a7c15U;
    return seed;
  }
  static double median(std::vector<double>& values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
  }
  std::unique_ptr<insulation::ForecastLibrary> library_;
};

}  // namespace ohmward::testing
