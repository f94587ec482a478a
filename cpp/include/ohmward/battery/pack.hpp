#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "ohmward/battery/battery.hpp"
#include "ohmward/battery/estimate.hpp"

namespace ohmward::battery {

/// Voltages of the modules of one pack at rest, read with one meter in one hour. NaN: not read.
struct PackReading {
  std::span<const double> voltage_volt = {};
  double standard_uncertainty_volt = nan;          ///< of each reading on its own: display step, noise; above 0
  double gain_relative_standard_uncertainty = 0;   ///< common to all readings
  std::span<const double> celsius = {};            ///< of each module; empty: all at the pack's temperature
  double celsius_standard_uncertainty_kelvin = 0;  ///< of each module's temperature on its own, where given; at least 0
  double pack_celsius = nan;
  double rest_hour = nan;
  History history = History::unknown;
};

struct PackQuestion {
  double risk = 0.01;               ///< that a clean pack has any module named
  double charge_difference = 0.05;  ///< difference of charge that matters, a fraction: a setting without source
  double level = 0.95;              ///< of intervals, and of the probability that decides
};

/// Whether a module's charge differs from the pack's by more than what matters.
enum class ChargeDecision : std::int8_t { alike = 0, differs = 1, not_decidable = 2, not_read = 3 };

[[nodiscard]] constexpr const char* text(ChargeDecision decision) noexcept {
  switch (decision) {
    case ChargeDecision::alike: return "alike";
    case ChargeDecision::differs: return "differs";
    case ChargeDecision::not_decidable: return "not decidable on this plateau";
    case ChargeDecision::not_read: return "not read";
  }
  return "unknown decision";
}

struct ModuleState {
  Estimate difference_volt =
      {};                   ///< from the pack's middle, corrected for its own temperature; the common gain cancels
  bool stands_out = false;  ///< in volts, from its like
  double charge_difference_median = nan;
  double charge_difference_low = nan;
  double charge_difference_high = nan;
  double probability_differs = nan;
  ChargeDecision decision = ChargeDecision::not_read;
};

/// A pack at rest: spread in volts and in charge.
///
/// `status`: sound; too_few_points (fewer than five modules read: nothing stands out); missing_input; out_of_domain;
/// outside_curve (the middle of the pack is no resting voltage).
struct PackState {
  Status status = Status::missing_input;
  double middle_volt = nan;  ///< median
  double spread_volt = nan;  ///< greatest minus least
  /// The same in charge: of the module that reads most over the one that reads least, each at its own temperature. NaN
  /// where the least is no resting voltage.
  double charge_spread_median = nan;
  double charge_spread_low = nan;
  double charge_spread_high = nan;
  RestState middle = {};
  std::vector<ModuleState> modules = {};
};

/// The charge of the pack's middle is unknown within its posterior; for every charge there, and every curve that the
/// type may have, each module's charge follows from its difference in volts. History may leave each module anywhere in
/// the hysteresis gap. Throws InvalidParameter for a senseless question or a list of temperatures of another length.
[[nodiscard]] PackState pack_at_rest(const PackReading& reading, const Battery& module, const PackQuestion& question);

/// Is a list of modules shifted against an earlier list of the same pack: one value twice and the last one missing
/// (+1), or one left out (−1)?
struct LagTest {
  Status status = Status::too_few_points;  ///< too_few_points below six modules; missing_input; sound
  int lag = 0;                             ///< 0: not shifted
  std::size_t first_shifted = 0;           ///< from which module on
  double log_odds = nan;  ///< of the best shift against none, positions counted in; decides where above ln 1000
};
struct LagInput {
  std::span<const double> now_volt;
  std::span<const double> earlier_volt;
  double standard_uncertainty_volt = nan;  ///< of the change of one module's difference between both lists; above 0
};
[[nodiscard]] LagTest lag_test(const LagInput& input);

}  // namespace ohmward::battery
