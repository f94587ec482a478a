#pragma once

#include "ohmward/battery/battery.hpp"
#include "ohmward/battery/estimate.hpp"

namespace ohmward::battery {

/// Two batteries in series, read one by one, as a sum, or both. NaN: not read.
struct PairReading {
  double a_volt = nan;
  double b_volt = nan;
  double sum_volt = nan;
  double standard_uncertainty_volt = nan;         ///< of each reading on its own: display step, noise
  double gain_relative_standard_uncertainty = 0;  ///< common to all readings of one meter on one range
  double celsius = nan;
  double celsius_standard_uncertainty_kelvin = 2;
  double rest_hour = nan;
  History history = History::unknown;
};

/// What the readings of a pair show. No verdict.
///
/// `status`: sound; bound_only (only the sum was read: each battery stays unexamined); missing_input (nothing that can
/// be used); contradiction (A + B and the sum differ by more than 3 u).
struct PairState {
  Status status = Status::missing_input;
  Findings findings = {};
  RestState a = {};
  RestState b = {};
  RestState sum = {};            ///< the pair as one battery of all its cells; only where neither A nor B was read
  Estimate imbalance_volt = {};  ///< A − B; the common gain leaves only its share of the small difference
  double probability_imbalanced = nan;  ///< that |A − B| is above the healthy difference
  Estimate closure_volt = {};           ///< A + B − sum
  /// Only the sum read: the weaker battery may be as low as this while the other one is full [V].
  double weaker_may_be_volt = nan;
};

/// Two batteries of one kind in series, as on 24 V vehicles.
class Pair {
 public:
  struct Parts {
    Battery battery;                       ///< one of the two
    double healthy_difference_volt = nan;  ///< NaN: 0.05 V; source: `pair-imbalance`
  };
  /// Throws InvalidParameter where the healthy difference is not above 0.
  explicit Pair(Parts parts);

  [[nodiscard]] const Battery& battery() const noexcept { return battery_; }
  /// Both in series as one battery.
  [[nodiscard]] const Battery& both() const noexcept { return both_; }
  [[nodiscard]] double healthy_difference_volt() const noexcept { return healthy_difference_volt_; }
  [[nodiscard]] PairState at_rest(const PairReading& reading) const;

 private:
  Battery battery_;
  Battery both_;
  double healthy_difference_volt_;
};

}  // namespace ohmward::battery
