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
        seen_with_(of.units_with * window_),
        seen_without_(of.units_without * window_),
        share_(seen_with_ / (seen_with_ + of.odds * seen_without_)) {}

  [[nodiscard]] double at(std::size_t cell) const {
    const double with = seen_with_ * of_.with[cell] / width_, without = seen_without_ * of_.without[cell] / width_;
    const double all = with + without;
    if (!(all > 0)) return 0;
    const double ratio = 2 * (part(with, all * share_) + part(without, all * (1 - share_)));
    const double root = std::sqrt(std::max(0.0, ratio) / (of_.design_effect * within_sample(all)));
    return with > all * share_ ? root : -root;
  }

 private:
  /// Variance of the two class means over that of Poisson counts, both at equal weighted densities.
  [[nodiscard]] double within_sample(double all) const {
    if (!of_.odds_stated) return 1;
    const double density = all / (seen_with_ / of_.odds + seen_without_);
    const double counts = density * (of_.odds / seen_with_ + 1 / seen_without_);
    const double means = density * density * (1 / of_.units_with + 1 / of_.units_without);
    return std::max(least_share, 1 - means / counts);
  }

  const Crossing& of_;
  double width_, window_, seen_with_, seen_without_, share_;
};

}  // namespace

Ends threshold_interval(const Crossing& crossing, const Cells& cells, double at, double most) {
  const Evidence evidence(crossing, cells);
  const std::size_t last = cells.size() - 1;
  const auto place = static_cast<std::size_t>(std::clamp(at, 0.0, static_cast<double>(last)));
  // Where the root, times `sign`, reaches `most` between a cell that is held and the next that is not.
  const auto between = [&](std::size_t held, std::size_t beyond, double sign) {
    const double inner = sign * evidence.at(held), outer = sign * evidence.at(beyond);
    const double from = static_cast<double>(held), to = static_cast<double>(beyond);
    return cells.centre(from + (most - inner) / (outer - inner) * (to - from));
  };
  Ends ends{-infinity, infinity};
  for (std::size_t k = place + 1; k-- > 0;)
    if (evidence.at(k) < -most) {
      ends.low = k < place ? between(k + 1, k, -1) : cells.centre(at);
      break;
    }
  for (std::size_t k = place; k <= last; ++k)
    if (evidence.at(k) > most) {
      ends.high = k > place ? between(k - 1, k, 1) : cells.centre(at);
      break;
    }
  return ends;
}

}  // namespace ohmward::thresholds
