#include "thresholds/threshold_interval.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "ohmward/core/floating_point.hpp"

namespace ohmward::thresholds {
namespace {

/// The variance of a count in a wide window is less than a Poisson count's; a heap of equal scores would leave none.
constexpr double least_share = 0.1;

double part(double count, double expected) noexcept { return count > 0 ? count * std::log(count / expected) : 0; }

/// Signed roots of the likelihood ratio, positive where there are too many with the event for a best threshold.
class Evidence {
 public:
  Evidence(const Crossing& of, const Cells& cells)
      : of_(of),
        width_(cells.width()),
        window_(2 * std::sqrt(std::numbers::pi) * cells.bandwidth()),  // one over the integral of the squared kernel
        share_(of.units_with / (of.units_with + of.odds * of.units_without)) {}

  /// In the window around a cell.
  [[nodiscard]] double near(std::size_t cell) const {
    const double densities = window_ / width_;
    const double with = of_.units_with * of_.with[cell] * densities;
    const double without = of_.units_without * of_.without[cell] * densities;
    return root(with, without) / std::sqrt(of_.design_effect * within_sample(with + without));
  }

  /// Over a whole stretch, of the shares of each class that lie in it.
  [[nodiscard]] double over(double with, double without) const {
    return root(of_.units_with * with, of_.units_without * without) / std::sqrt(of_.design_effect);
  }

 private:
  [[nodiscard]] double root(double with, double without) const {
    const double all = with + without;
    if (!(all > 0)) return 0;
    const double ratio = 2 * (part(with, all * share_) + part(without, all * (1 - share_)));
    return std::copysign(std::sqrt(std::max(0.0, ratio)), with - all * share_);
  }

  /// Variance of the two class means over that of Poisson counts, both at equal weighted densities.
  [[nodiscard]] double within_sample(double all) const {
    if (!of_.odds_stated) return 1;
    const double density = all / (window_ * (of_.units_with / of_.odds + of_.units_without));
    const double counts = density * (of_.odds / of_.units_with + 1 / of_.units_without) / window_;
    const double means = density * density * (1 / of_.units_with + 1 / of_.units_without);
    return counts > 0 ? std::max(least_share, 1 - means / counts) : 1;
  }

  const Crossing& of_;
  double width_, window_, share_;
};

}  // namespace

Ends threshold_interval(const Crossing& crossing, const Cells& cells, double at, double most) {
  const Evidence evidence(crossing, cells);
  const std::size_t last = cells.size() - 1;
  const auto place = static_cast<std::size_t>(std::clamp(at, 0.0, static_cast<double>(last)));
  // Where the root in the window, times `sign`, reaches `most` between a cell that is held and the next that is not.
  const auto between = [&](std::size_t held, std::size_t beyond, double sign) {
    const double inner = sign * evidence.near(held), outer = sign * evidence.near(beyond);
    const double from = static_cast<double>(held), to = static_cast<double>(beyond);
    return cells.centre(outer > most ? from + (most - inner) / (outer - inner) * (to - from) : to);
  };
  Ends ends{-infinity, infinity};
  double with = 0, without = 0;
  for (std::size_t k = place + 1; k-- > 0;) {
    if (evidence.near(k) < -most || evidence.over(with, without) < -most) {
      ends.low = k < place ? between(k + 1, k, -1) : cells.centre(at);
      break;
    }
    with += crossing.with[k];
    without += crossing.without[k];
  }
  with = without = 0;
  for (std::size_t k = place; k <= last; ++k) {
    if (evidence.near(k) > most || evidence.over(with, without) > most) {
      ends.high = k > place ? between(k - 1, k, 1) : cells.centre(at);
      break;
    }
    with += crossing.with[k];
    without += crossing.without[k];
  }
  return ends;
}

}  // namespace ohmward::thresholds
