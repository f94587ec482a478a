#pragma once

/// @file
/// Has a battery's voltage come to rest, as far as its readings show?

#include <cstdint>

#include "ohmward/core/constants.hpp"
#include "ohmward/formula/settling.hpp"

namespace ohmward::formula {

/// Numbers never change meaning.
enum class Resting : std::int8_t {
  unknown = 0,
  moving = 1,   ///< the voltage changes by more than the tolerance over a doubling of the rest
  at_rest = 2,  ///< it changes by less; a slower process is not excluded
};

/// Change of a cell's voltage over a doubling of the rest that still counts as rest: a setting without a source.
inline constexpr double rest_tolerance_cell_volt = 0.002;

/// What the last octave of time of a record shows.
struct RestingState {
  Resting state = Resting::unknown;
  Status status = Status::too_few_points;
  double voltage_volt = nan;               ///< of the line at the last reading
  double standard_uncertainty_volt = nan;  ///< from scatter or meter, whichever is larger
  double slope_volt_per_hour = nan;        ///< at the last reading; below 0: the voltage falls
  double slope_standard_uncertainty_volt_per_hour = nan;
  double change_volt = nan;  ///< over a doubling of the rest, if it goes on straight in ln t
  double rest_second = nan;  ///< of the last reading
};

struct RestingTest {
  double tolerance_volt = nan;             ///< of the whole battery
  double standard_uncertainty_volt = nan;  ///< of one reading
};

inline namespace OHMWARD_LEVEL {

/// A straight line of the voltage in ln t over the last octave.
///
/// Status: sound; drift_present while the voltage moves; few_points where its change can not be told from the tolerance
/// yet; too_few_points below 3 readings.
[[nodiscard]] inline RestingState resting_state(const TailSums& tail, const RestingTest& test) noexcept {
  RestingState state;
  const LineSums line = tail.sums();
  if (line.count() == 0) return state;
  state.rest_second = tail.last_second();
  state.voltage_volt = tail.last_y();
  state.standard_uncertainty_volt = test.standard_uncertainty_volt;
  if (line.count() < 3) return state;
  const double count = line.count();
  const double scatter = numerics::sqrt(line.residual() / (count - 2));
  const double u = scatter > test.standard_uncertainty_volt ? scatter : test.standard_uncertainty_volt;
  const double end = numerics::log(tail.last_second());
  const double lever = end - line.mean_x();
  const double u_slope = u / numerics::sqrt(line.xx());
  state.voltage_volt = line.at(end);
  state.standard_uncertainty_volt = numerics::sqrt(u * u / count + lever * lever * u_slope * u_slope);
  const double per_hour = seconds_per_hour / tail.last_second();
  state.slope_volt_per_hour = line.slope() * per_hour;
  state.slope_standard_uncertainty_volt_per_hour = u_slope * per_hour;
  state.change_volt = line.slope() * numerics::coefficients::ln2;
  constexpr double coverage = 2;
  const double size = numerics::detail::absolute(state.change_volt);
  const double margin = coverage * u_slope * numerics::coefficients::ln2;
  if (size + margin <= test.tolerance_volt) {
    state.state = Resting::at_rest;
    state.status = Status::sound;
  } else if (size - margin > test.tolerance_volt) {
    state.state = Resting::moving;
    state.status = Status::drift_present;
  } else {
    state.status = Status::few_points;
  }
  return state;
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
