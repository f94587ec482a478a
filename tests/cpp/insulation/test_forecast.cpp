#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "check_values.hpp"
#include "forecast_coverage.hpp"

namespace ohmward::insulation {
namespace {

using formula::Forecast;
using formula::ForecastGrid;
using formula::ForecastSums;
using formula::ForecastTarget;
using testing::CheckValue;

ForecastSums power_law(double until, double exponent, double log_gain = 0) {
  ForecastSums sums;
  for (double t = 5; t <= until; t += 1) sums.push(t, log_gain - exponent * std::log(t / 60));
  return sums;
}

template <class Library>
Forecast compact(const ForecastSums& sums, const ForecastGrid& grid, const Library& library,
                 const ForecastTarget& target = {}, double* distances = nullptr, std::int32_t* near = nullptr) {
  double histogram[256];
  formula::ForecastScratch scratch;
  return formula::forecast_ratio(sums, grid, library, formula::forecast_compact, target, 0.95,
                                 {.histogram = histogram, .scratch = &scratch, .distances = distances, .near = near});
}

bool same_bits(const Forecast& a, const Forecast& b) {
  return std::memcmp(&a.value, &b.value, sizeof a.value) == 0 && std::memcmp(&a.low, &b.low, sizeof a.low) == 0 &&
         std::memcmp(&a.high, &b.high, sizeof a.high) == 0 && a.status == b.status &&
         std::memcmp(a.mechanism, b.mechanism, sizeof a.mechanism) == 0;
}

// A short form of the command forecast_coverage: 400 runs a cell leave 1.1 points of standard deviation at 95 %.
TEST(Forecast, CoversWithoutBeingTooWide) {
  std::map<std::string, double> widths;
  for (const CheckValue& row : testing::check_values("../cpp/insulation/forecast_bars"))
    widths[row.id()] = row.number("relative_width");
  testing::Coverage coverage;
  for (const double until : {60.0, 120.0})
    for (const double step : {1.0, 5.0}) {
      double pooled = 0;
      for (const char family : std::string("abcdfg")) {
        const testing::CoverageResult r =
            coverage.run({.family = family, .until_second = until, .noise = 0.01, .step_second = step}, 7, 400);
        char id[64];
        std::snprintf(id, sizeof id, "compact-%.0f-0.01-%c-%.0f", until, family, step);
        EXPECT_GE(r.coverage, 0.915) << id;
        EXPECT_LE(r.relative_width, 1.15 * widths.at(id)) << id;
        pooled += r.coverage / 6;
      }
      EXPECT_GE(pooled, 0.96);
      const testing::CoverageResult drifting = coverage.run(
          {.family = 'e', .until_second = until, .noise = 0.01, .step_second = step, .declared_drift_kelvin = 3}, 7,
          400);
      EXPECT_GE(drifting.coverage, 0.94);
    }
}

TEST(Forecast, AGainChangesNothingBeyondRounding) {
  const ForecastSums plain = power_law(120, 0.4), gained = power_law(120, 0.4, std::log(1234.5));
  const ForecastGrid grid = formula::forecast_grid(plain);
  const formula::ForecastRegenerated library{.grid = grid, .target = {}};
  const Forecast a = compact(plain, grid, library), b = compact(gained, grid, library);
  EXPECT_NEAR(a.value, b.value, 1e-9);
  EXPECT_NEAR(a.low, b.low, 1e-9);
  EXPECT_NEAR(a.high, b.high, 1e-9);
}

TEST(Forecast, ATableAndAMadeAnewLibraryGiveTheSameBits) {
  const ForecastTarget target{};
  testing::Simulator simulator(3);
  for (const char family : std::string("abcdfg")) {
    const testing::SimulatedRun run = simulator.run(family, 120, 1, 0.01);
    ForecastSums sums;
    for (std::size_t i = 0; i < run.second.size(); ++i) sums.push(run.second[i], run.log_current[i]);
    const ForecastGrid grid = formula::forecast_grid(sums);
    const ForecastLibrary table(grid, target, formula::forecast_compact, 2);
    std::vector<double> distances(4096);
    std::vector<std::int32_t> near(4096);
    const Forecast anew = compact(sums, grid, formula::ForecastRegenerated{.grid = grid, .target = target});
    EXPECT_TRUE(same_bits(anew, compact(sums, grid, table.table()))) << family;
    EXPECT_TRUE(same_bits(anew, compact(sums, grid, table.table(), target, distances.data(), near.data()))) << family;
  }
}

TEST(Forecast, HalvesMergeIntoTheWhole) {
  testing::Simulator simulator(11);
  const testing::SimulatedRun run = simulator.run('c', 120, 1, 0.01);
  ForecastSums whole, first;
  for (std::size_t i = 0; i < run.second.size(); ++i) whole.push(run.second[i], run.log_current[i]);
  const std::size_t half = run.second.size() / 2;
  for (std::size_t i = 0; i < half; ++i) first.push(run.second[i], run.log_current[i]);
  ForecastSums second = first.continued();
  for (std::size_t i = half; i < run.second.size(); ++i) second.push(run.second[i], run.log_current[i]);
  ASSERT_TRUE(first.merge(second));
  EXPECT_EQ(first.count(), whole.count());
  const ForecastGrid grid = formula::forecast_grid(whole);
  const formula::ForecastRegenerated library{.grid = grid, .target = {}};
  EXPECT_NEAR(compact(first, grid, library).value, compact(whole, grid, library).value, 1e-9);
  ForecastSums other;
  other.push(30, 12.0);
  EXPECT_FALSE(first.merge(other));
}

TEST(Forecast, SaysWhenItCanNot) {
  const ForecastSums none;
  const ForecastGrid grid = formula::forecast_grid(power_law(120, 0.4));
  const formula::ForecastRegenerated library{.grid = grid, .target = {}};
  EXPECT_EQ(compact(none, formula::forecast_grid(none), library).status, Status::too_few_points);
  const ForecastSums early = power_law(20, 0.4);
  EXPECT_EQ(compact(early, formula::forecast_grid(early), library).status, Status::too_few_points);
  EXPECT_EQ(compact(power_law(120, 0.4), grid, library, {.late_second = 30}).status, Status::out_of_domain);
  ForecastSums odd;
  odd.push(nan, 1);
  odd.push(30, nan);
  odd.push(3, 1);
  odd.push(700, 1);
  EXPECT_EQ(odd.count(), 0);
}

TEST(Forecast, FewReadingsAreSaid) {
  const auto every = [](double step) {
    ForecastSums sums;
    for (double t = 5; t <= 600; t += step) sums.push(t, -0.4 * std::log(t));
    const ForecastGrid grid = formula::forecast_grid(sums);
    return std::pair{sums.count(),
                     compact(sums, grid, formula::ForecastRegenerated{.grid = grid, .target = {}}).status};
  };
  EXPECT_EQ(every(57), (std::pair{11.0, Status::few_points}));
  EXPECT_EQ(every(53), (std::pair{12.0, Status::sound}));
}

TEST(Forecast, AnUndriftedRatioNeverFallsBelowOne) {
  ForecastSums flat;
  for (double t = 5; t <= 120; t += 1) flat.push(t, 0.001 * std::sin(t));
  const ForecastGrid grid = formula::forecast_grid(flat);
  const Forecast steady = compact(flat, grid, formula::ForecastRegenerated{.grid = grid, .target = {}});
  EXPECT_GE(steady.low, 1);
  const ForecastTarget drifting{.drift_kelvin = 3};
  EXPECT_LT(compact(flat, grid, formula::ForecastRegenerated{.grid = grid, .target = drifting}, drifting).low, 1);
}

}  // namespace
}  // namespace ohmward::insulation
