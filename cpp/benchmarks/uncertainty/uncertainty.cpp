// Prints the best time of the mass calibration of JCGM 101:2008 9.3 with 1e6 draws and both intervals, in milliseconds,
// for one and for two threads. against_numpy.py reads that and prints the ratios.

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>

#include "ohmward/uncertainty/monte_carlo.hpp"

namespace {

namespace un = ohmward::uncertainty;

un::Budget mass_budget() {
  un::Budget budget;
  budget.add("m_Rc", un::normal({.mean = 100'000.000, .standard_uncertainty = 0.050}));
  budget.add("dm_Rc", un::normal({.mean = 1.234, .standard_uncertainty = 0.020}));
  budget.add("rho_a", un::rectangular({.centre = 1.20, .half_width = 0.10}));
  budget.add("rho_W", un::rectangular({.centre = 8000, .half_width = 1000}));
  budget.add("rho_R", un::rectangular({.centre = 8000, .half_width = 50}));
  return budget;
}

template <class Call>
double best_millisecond(int repeats, Call&& call) {
  double best = 1e300;
  for (int i = 0; i < repeats; ++i) {
    const auto start = std::chrono::steady_clock::now();
    call(i);
    const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - start;
    best = std::min(best, took.count());
  }
  return best;
}

}  // namespace

int main(int argc, char** argv) {
  const int repeats = argc > 1 ? std::atoi(argv[1]) : 40;
  const un::Budget budget = mass_budget();
  const un::BatchModel model = un::over_draws(
      [](const auto& x) { return (x[0] + x[1]) * (1.0 + (x[2] - 1.2) * (1.0 / x[3] - 1.0 / x[4])) - 100'000.0; });
  double checked = 0;
  for (const int threads : {1, 2}) {
    const double best = best_millisecond(repeats, [&](int i) {
      const un::FixedDraws plan{.draws = 1'000'000, .seed = static_cast<std::uint64_t>(i), .threads = threads};
      checked += un::monte_carlo(budget, model, 1, plan).outputs[0].standard_uncertainty;
    });
    std::printf("%d %.2f\n", threads, best);
  }
  std::fprintf(stderr, "mean standard uncertainty %.5f\n", checked / (2 * repeats));
  return 0;
}
