// Prints the coverage table of the forecast.
//
//     forecast_coverage [runs a cell] [master seed] [fine|compact] [only this T]
//
// The last column checks the bars: pooled coverage at least 96 %, each cell at least 92 %, relative width at most 1.15
// times forecast_bars.csv beside this file; e with 3 K declared at least 94 %; h, m and l are shown and not
// promised.

#include "forecast_coverage.hpp"

#include <cstdio>
#include <cstdlib>
#include <map>
#include <string>

#include "check_values.hpp"

int main(int argc, char** argv) {
  using namespace ohmward;
  const int count = argc > 1 ? std::atoi(argv[1]) : 1000;
  const std::uint64_t seed = argc > 2 ? std::strtoull(argv[2], nullptr, 10) : 20260101;
  const std::string name = argc > 3 ? argv[3] : "fine";
  const formula::ForecastMode mode = name == "fine" ? formula::forecast_fine : formula::forecast_compact;
  std::map<std::string, double> widths;
  for (const ohmward::testing::CheckValue& row : ohmward::testing::check_values("../cpp/insulation/forecast_bars"))
    widths[row.id()] = row.number("relative_width");

  std::printf("%s, %d runs a cell, master seed %llu: coverage %% / median relative width / median error %%\n",
              name.c_str(), count, static_cast<unsigned long long>(seed));
  ohmward::testing::Coverage coverage;
  bool holds = true;
  const double only = argc > 4 ? std::atof(argv[4]) : 0;
  for (const double until : {60.0, 90.0, 120.0, 180.0}) {
    if (only > 0 && until != only) continue;
    for (const double noise : {0.002, 0.005, 0.01, 0.03}) {
      double pooled = 0;
      std::string faults;
      for (const double step : {1.0, 5.0}) {
        std::printf("T %3.0f s, noise %.1f %%, every %.0f s:", until, 100 * noise, step);
        for (const char family : std::string("abcdfghml")) {
          const ohmward::testing::CoverageResult r =
              coverage.run({.family = family, .until_second = until, .noise = noise, .step_second = step, .mode = mode},
                           seed, count);
          std::printf("  %c %5.1f/%.2f/%.1f", family, 100 * r.coverage, r.relative_width, 100 * r.error);
          if (std::string("hml").find(family) != std::string::npos) continue;
          pooled += r.coverage / 12;
          char id[64];
          std::snprintf(id, sizeof id, "%s-%.0f-%g-%c-%.0f", name.c_str(), until, noise, family, step);
          if (r.coverage < 0.92) faults += std::string(" coverage of ") + family;
          if (r.relative_width > 1.15 * widths.at(id)) faults += std::string(" width of ") + family;
        }
        const ohmward::testing::CoverageResult e = coverage.run({.family = 'e',
                                                                 .until_second = until,
                                                                 .noise = noise,
                                                                 .step_second = step,
                                                                 .declared_drift_kelvin = 3,
                                                                 .mode = mode},
                                                                seed, count);
        std::printf("  e declared %5.1f/%.2f\n", 100 * e.coverage, e.relative_width);
        if (e.coverage < 0.94) faults += " coverage of e";
      }
      if (pooled < 0.96) faults += " pooled coverage";
      std::printf("    pooled %.1f %%%s\n", 100 * pooled, faults.empty() ? "" : (" MISSED:" + faults).c_str());
      std::fflush(stdout);
      holds = holds && faults.empty();
    }
  }
  std::puts(holds ? "all bars hold" : "bars missed");
  return holds ? 0 : 1;
}
