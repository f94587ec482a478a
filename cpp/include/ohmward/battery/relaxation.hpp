#pragma once

#include <array>
#include <span>
#include <string_view>

#include "ohmward/battery/battery.hpp"
#include "ohmward/battery/estimate.hpp"

namespace ohmward::battery {

/// Voltages of one battery while it comes to rest.
struct RestRecord {
  std::span<const double> rest_hour;       ///< since the current stopped: rising, above 0
  std::span<const double> voltage_volt;    ///< of the whole battery
  double standard_uncertainty_volt = nan;  ///< of each reading on its own (noise, display step); above 0
  History history = History::unknown;
};

/// A distribution as median and interval.
struct Forecast {
  double median = nan;
  double low = nan;
  double high = nan;
};

inline constexpr std::array<std::string_view, 4> relaxation_models{"single_exponential", "double_exponential",
                                                                   "stretched_exponential", "power"};

/// Where a battery that comes to rest will end.
///
/// `status`: sound; few_points (fewer than five readings: priors carry much of it); missing_input, out_of_domain (times
/// not rising, uncertainty not above 0), too_few_points (fewer than two readings); no_solution: lead-acid after a
/// charge, rested less than 24 h: no form of relaxation is reliable there, so nothing is forecast.
struct RelaxationState {
  Status status = Status::missing_input;
  Estimate slope_volt_per_hour = {};  ///< straight line through the last third of the record
  Forecast rested_volt = {};          ///< voltage at `target_hour`
  Forecast left_volt = {};            ///< how far it is from the last reading's true voltage to that
  bool at_rest = false;               ///< the interval of what is left lies within the tolerance
  std::array<double, relaxation_models.size()> model_median_volt{nan, nan, nan, nan};  ///< NaN: does not fit
};

struct RelaxationQuestion {
  double target_hour = 24;      ///< when the battery counts as rested; later than the record's end
  double level = 0.95;          ///< of the intervals
  double tolerance_volt = nan;  ///< of the whole battery; NaN: 2 mV a cell, a setting without source
};

/// Forecast with an interval that holds the spread between models.
///
/// Each model V(t) = V∞ + Σ A f(t) is integrated over its time constants and exponents (an even grid that closes in
/// on what has weight) with V∞ and A in closed form; models that fit as well as the best within Δχ² = 9 share the
/// probability equally. Throws InvalidParameter for a level outside 0 ... 1 or a target that is not above 0.
[[nodiscard]] RelaxationState relaxation(const RestRecord& record, const Candidate& candidate,
                                         const RelaxationQuestion& question);

}  // namespace ohmward::battery
