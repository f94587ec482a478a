#pragma once

#include <functional>
#include <vector>

#include "ohmward/thresholds/rates.hpp"
#include "thresholds/study_units.hpp"

namespace ohmward::thresholds {

/// How far a unit belongs to those counted, and which part of it counts as a hit: 0, 1/2 or 1.
struct Member {
  double in = 0;
  double hit = 0;
};
using Membership = std::function<Member(std::size_t unit)>;

/// A share of units with what its uncertainty rests on.
struct MeasuredShare {
  double value = nan;
  double units = 0;                 ///< weight of all that belong
  double effective = nan;           ///< independent units that would know as much
  double degrees_of_freedom = nan;  ///< infinite where units are independent and unweighted
  std::vector<double> influence;    ///< one a cluster; sums to 0

  [[nodiscard]] double variance() const noexcept { return value * (1 - value) / effective; }
};

[[nodiscard]] MeasuredShare measured_share(const StudyUnits& units, const Membership& member);

struct Ends {
  double low = nan;
  double high = nan;
};
[[nodiscard]] Ends interval_of(const MeasuredShare& share, const RatesOptions& options);

/// Covariance of two shares of the same units, 0 where units are independent and the classes apart.
[[nodiscard]] double covariance_of(const MeasuredShare& first, const MeasuredShare& second);

}  // namespace ohmward::thresholds
