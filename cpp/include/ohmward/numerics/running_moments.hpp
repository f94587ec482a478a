#pragma once

/// @file
/// Mean and spread of numbers that come one by one, in fixed memory.

#include "ohmward/core/status.hpp"
#include "ohmward/numerics/elementary.hpp"

namespace ohmward::numerics {
inline namespace OHMWARD_LEVEL {
namespace detail {

/// A sum that keeps what its rounding lost (Neumaier): as good as twice the digits over any number of terms.
struct Sum {
  double high = 0;
  double low = 0;

  constexpr void add(double x) noexcept {
    const double sum = high + x;
    low += absolute(high) >= absolute(x) ? (high - sum) + x : (x - sum) + high;
    high = sum;
  }
  [[nodiscard]] constexpr double value() const noexcept { return high + low; }
};

}  // namespace detail

/// Count, mean and sum of squared deviations (Welford), the sums compensated. A NaN or infinite number would stay for
/// ever: keep it out.
///
/// Accuracy, held by tests: after 3.2e8 numbers (a year at 10 Hz) the mean is within 4 ulp of the exact one; the merge
/// of two halves is within 4 ulp of the whole in the mean and 1e-14 in the standard deviation.
class RunningMoments {
 public:
  constexpr void add(double x) noexcept {
    count_ += 1;
    const double before = (x - mean_.high) - mean_.low;
    mean_.add(before / count_);
    squares_.add(before * ((x - mean_.high) - mean_.low));
  }

  /// Joins the numbers of another one.
  constexpr void merge(const RunningMoments& other) noexcept {
    if (other.count_ == 0) return;
    if (count_ == 0) {
      *this = other;
      return;
    }
    const double count = count_ + other.count_;
    const double apart = (other.mean_.high - mean_.high) + (other.mean_.low - mean_.low);
    mean_.add(apart * (other.count_ / count));
    squares_.add(other.squares_.value());
    squares_.add(apart * apart * (count_ * (other.count_ / count)));
    count_ = count;
  }

  [[nodiscard]] constexpr double count() const noexcept { return count_; }
  [[nodiscard]] constexpr double mean() const noexcept { return count_ > 0 ? mean_.value() : nan; }
  [[nodiscard]] constexpr double squares() const noexcept { return squares_.value(); }  ///< of the deviations, summed
  [[nodiscard]] constexpr double degrees_of_freedom() const noexcept { return count_ - 1; }

  /// Of one number; NaN below two.
  [[nodiscard]] double standard_deviation() const noexcept {
    if (!(count_ > 1)) return nan;
    const double square = squares_.value() / degrees_of_freedom();
    return sqrt(square > 0 ? square : 0);
  }

  /// Every member in a fixed order, for a saved record.
  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.count_, self.mean_.high, self.mean_.low, self.squares_.high, self.squares_.low);
  }

 private:
  double count_ = 0;
  detail::Sum mean_ = {};
  detail::Sum squares_ = {};
};

/// A mean of repeated readings with its standard uncertainty.
struct MeanEstimate {
  double mean = nan;
  double standard_deviation = nan;    ///< of one reading
  double standard_uncertainty = nan;  ///< of the mean
  double degrees_of_freedom = nan;
  Status status = Status::too_few_points;
};

/// Mean of independent readings (JCGM 100:2008 4.2). `display_step` above 0 sets a floor of step/sqrt(12), which does
/// not shrink with the number of readings: the rounding error repeats with the display (JCGM 100:2008 F.2.2.1).
/// Status: sound; few_points: one reading and a floor; too_few_points: no spread is known, a mean may be. Source:
/// `gum`.
[[nodiscard]] inline MeanEstimate mean_estimate(const RunningMoments& of, double display_step = 0) noexcept {
  MeanEstimate result;
  result.mean = of.mean();
  if (of.count() >= 2) {
    result.status = Status::sound;
    result.standard_deviation = of.standard_deviation();
    result.degrees_of_freedom = of.degrees_of_freedom();
    result.standard_uncertainty = result.standard_deviation / sqrt(of.count());
  }
  const double floor = display_step / sqrt(12.0);
  if (!(floor > 0) || of.count() < 1 || result.standard_deviation >= floor) return result;
  result.status = of.count() < 2 ? Status::few_points : Status::sound;
  result.standard_deviation = floor;
  result.standard_uncertainty = floor;
  result.degrees_of_freedom = infinity;
  return result;
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::numerics
