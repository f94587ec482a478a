#pragma once

#include "ohmward/core/checked.hpp"
#include "ohmward/numerics/elementary.hpp"

namespace ohmward::numerics {
inline namespace OHMWARD_LEVEL {

struct RootOptions {
  double absolute_tolerance = 0;        ///< half width of the bracket that is good enough
  double relative_tolerance = 0x1p-50;  ///< the same relative to the root
  int largest_number_of_steps = 200;
};

/// A zero of a continuous function between two points where its signs differ.
///
/// Chandrupatla's choice between bisection and inverse quadratic interpolation: no step is worse than bisection in the
/// long run. Source: `chandrupatla-1997`.
/// @return the point; sound, no_solution (signs do not differ), missing_input (NaN met: a bound or a value of the
///         function), or not_converged with the best point found.
template <class Function>
[[nodiscard]] constexpr Checked<double> root(const Function& f, double low, double high,
                                             const RootOptions& options = {}) {
  using detail::absolute;
  double a = high, b = low, c = low;
  double fa = f(a), fb = f(b), fc = fb;
  if (fa != fa || fb != fb || a != a || b != b) return no_value(Status::missing_input);
  if ((fa > 0) == (fb > 0) && fa != 0 && fb != 0) return no_value(Status::no_solution);
  double where = 0.5;
  for (int step = 0; step < options.largest_number_of_steps; ++step) {
    const double best = absolute(fa) < absolute(fb) ? a : b;
    if (fa == 0) return {a, Status::sound};
    if (fb == 0) return {b, Status::sound};
    const double tolerance = options.absolute_tolerance + options.relative_tolerance * absolute(best);
    const double share = tolerance / absolute(b - a);
    if (share > 0.5 || b == a) return {best, Status::sound};
    where = where < share ? share : (where > 1 - share ? 1 - share : where);
    const double t = a + where * (b - a);
    const double ft = f(t);
    if (ft != ft) return no_value(Status::missing_input);
    // The bracket is a, b; c is the point that left it.
    if ((ft > 0) == (fa > 0)) {
      c = a, fc = fa;
    } else {
      c = b, fc = fb;
      b = a, fb = fa;
    }
    a = t, fa = ft;
    const double xi = (a - b) / (c - b);
    const double phi = (fa - fb) / (fc - fb);
    const bool quadratic = phi * phi < xi && (1 - phi) * (1 - phi) < 1 - xi;
    where = quadratic ? fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb) : 0.5;
  }
  return {absolute(fa) < absolute(fb) ? a : b, Status::not_converged};
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::numerics
