#pragma once

#include <memory>
#include <span>
#include <vector>

#include "ohmward/formula/forecast.hpp"
#include "ohmward/insulation/timed_run.hpp"

namespace ohmward::insulation {

/// Which ratio is forecast.
enum class ForecastKind : std::int8_t {
  as_shown = 0,            ///< the ratio that the meter will show; a declared drift widens it
  steady_temperature = 1,  ///< at one temperature: only for runs whose readings were each corrected by a logged one
};

struct ForecastOptions {
  formula::ForecastTarget target{};
  formula::ForecastMode mode = formula::forecast_fine;
  double level = 0.95;
  ForecastKind kind = ForecastKind::as_shown;
};

/// A library of curves on one time grid: made once, used for every run that was read at the same times.
class ForecastLibrary {
 public:
  /// threads: 0 for all cores; the result never depends on it
  ForecastLibrary(const formula::ForecastGrid& grid, const formula::ForecastTarget& target,
                  const formula::ForecastMode& mode, unsigned threads = 1);

  [[nodiscard]] bool fits(const formula::ForecastGrid& grid, const formula::ForecastTarget& target,
                          const formula::ForecastMode& mode) const noexcept;
  [[nodiscard]] formula::ForecastTable table() const noexcept;

 private:
  formula::ForecastGrid grid_;
  formula::ForecastTarget target_;
  formula::ForecastMode mode_;
  std::vector<float> feature_;
  std::vector<float> log_ratio_;
};

/// Sums of the exact readings of a run.
[[nodiscard]] formula::ForecastSums forecast_sums(const TimedRun& run) noexcept;

/// Forecasts runs; those that share their times share a library. Status as `formula::forecast_ratio`; the run's own
/// where it has none; `not_applicable` for a steady temperature that no reading was corrected to.
/// @throws InvalidParameter for a senseless target or level
[[nodiscard]] std::vector<formula::Forecast> forecast(std::span<const TimedRun> runs, const ForecastOptions& options,
                                                      unsigned threads = 0);

}  // namespace ohmward::insulation
