#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "ohmward/insulation/timed_run.hpp"

namespace ohmward::insulation {

/// Which terms a model has: I/U = conduction + absorption * (t/60 s)^-exponent + capacitive * exp(-t/tau).
enum class AbsorptionModel : std::int8_t { conduction = 0, absorption = 1, charging = 2, absorption_and_charging = 3 };

/// Parameters in this order.
enum class FitParameter : std::int8_t { conduction = 0, absorption = 1, exponent = 2, capacitive = 3, tau = 4 };
inline constexpr int fit_parameters = 5;

/// One model fitted to one run. Parameters that the model lacks are NaN with an uncertainty of NaN.
struct AbsorptionFit {
  AbsorptionModel model = AbsorptionModel::conduction;
  Status status = Status::too_few_points;
  double value[fit_parameters] = {nan, nan, nan, nan, nan};                 ///< [S], [S] at 60 s, [1], [S] at 0 s, [s]
  double standard_uncertainty[fit_parameters] = {nan, nan, nan, nan, nan};  ///< NaN at a bound
  double correlation[fit_parameters][fit_parameters] = {};
  std::uint8_t at_bound = 0;      ///< bit per parameter
  double sum_of_squares = nan;    ///< of weighted relative deviations of the current
  double relative_scatter = nan;  ///< sqrt(sum_of_squares / degrees of freedom)
  double autocorrelation = nan;   ///< of neighbouring residuals; above 0 it widens the uncertainties
  double criterion = nan;         ///< AIC with small-sample term, unknown scatter; the least is chosen
  double points = 0;

  /// Current over voltage at a time [S].
  [[nodiscard]] double conductance(double second) const noexcept;
};

/// All four models and the chosen one.
struct AbsorptionFits {
  AbsorptionFit of[4];
  AbsorptionModel chosen = AbsorptionModel::conduction;
  Status status = Status::too_few_points;

  [[nodiscard]] const AbsorptionFit& best() const noexcept { return of[static_cast<int>(chosen)]; }
};

/// Fits the four models to the exact readings of a run by separable least squares of the relative deviation of the
/// current, each weighted by the reading's uncertainty where all state one (the best reading has weight 1): bounded
/// (conduction, absorption and capacitive at least 0; exponent 0.05 ... 2; tau a fifth of the first time ... the last
/// time), started from a grid, so that the minimum is the global one on the grid's scale.
///
/// Uncertainties: from the Jacobian and the scatter, or from the best reading's uncertainty where that is larger,
/// widened by sqrt((1 + r)/(1 - r)) for an autocorrelation r > 0.
/// Status: sound; too_few_points where no model has fewer parameters than there are readings; not_converged; the run's
/// own where it has no value.
/// Accuracy: sum of squares within 1e-6 of scipy's least_squares from many starts (tests/python/test_insulation.py).
[[nodiscard]] AbsorptionFits fit_absorption(const TimedRun& run);

/// Makes run i, and takes the fits of run i: both are called from several threads at once, each i from one of them.
using RunMaker = std::function<TimedRun(std::size_t)>;
using FitTaker = std::function<void(std::size_t, const AbsorptionFits&)>;

/// The same for many runs, each made when its turn comes and handed on at once: memory does not grow with their number.
/// threads: 0 for all cores; the result does not depend on it.
void fit_absorption(std::size_t count, const RunMaker& run, const FitTaker& take, unsigned threads = 0);

/// The same for runs that are there. threads: 0 for all cores; the result does not depend on it.
[[nodiscard]] std::vector<AbsorptionFits> fit_absorption(std::span<const TimedRun> runs, unsigned threads = 0);

}  // namespace ohmward::insulation
