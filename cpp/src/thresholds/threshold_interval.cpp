#include "thresholds/threshold_interval.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/numerics/elementary.hpp"

namespace ohmward::thresholds {
namespace {

/// The variance of a count in a wide window is less than a Poisson count's; a heap of equal scores would leave none.
constexpr double least_share = 0.1;

double part(double count, double expected) noexcept { return count > 0 ? count * numerics::log(count / expected) : 0; }

/// Signed roots of the likelihood ratio, positive where there are too many with the event for a best threshold.
class Evidence {
 public:
  Evidence(const Crossing& of, const Cells& cells)
      : of_(of),
        cells_a_window_(2 * std::sqrt(std::numbers::pi) * cells.bandwidth() / cells.width()),
        share_(of.units_with / (of.units_with + of.odds * of.units_without)) {}

  /// In the window around a cell, as wide as one over the integral of the squared kernel.
  [[nodiscard]] double near(std::size_t cell) const {
    return of_shares(of_.with[cell] * cells_a_window_, of_.without[cell] * cells_a_window_);
  }

  /// Of the share of each class that lies in a window or stretch.
  [[nodiscard]] double of_shares(double of_with, double of_without) const {
    const double with = of_.units_with * of_with, without = of_.units_without * of_without;
    const double all = with + without;
    if (!(all > 0)) return 0;
    const double ratio = 2 * (part(with, all * share_) + part(without, all * (1 - share_)));
    const double root = std::sqrt(std::max(0.0, ratio) / (of_.design_effect * within_sample(all)));
    return std::copysign(root, with - all * share_);
  }

 private:
  /// Variance of the two shares, weighed alike, over that of Poisson counts.
  [[nodiscard]] double within_sample(double all) const {
    if (!of_.odds_stated) return 1;
    const double weighed = all / (of_.units_with / of_.odds + of_.units_without);
    const double counts = of_.odds / of_.units_with + 1 / of_.units_without;
    return std::max(least_share, 1 - weighed * (1 / of_.units_with + 1 / of_.units_without) / counts);
  }

  const Crossing& of_;
  double cells_a_window_, share_;
};

/// The furthest place to one side that is not denied: neither by the slope of the cost there, of which the window
/// tells, nor by the cost itself, of which the stretch up to there tells. Infinite where flagging none, or all, is not
/// dearer.
double furthest(const Evidence& evidence, const Crossing& of, const Cells& cells, std::size_t place, double sign,
                double most) {
  const auto cell_at = [&](std::size_t step) { return sign > 0 ? place + step : place - step; };
  const std::size_t steps = sign > 0 ? cells.size() - 1 - place : place;
  double with = 0, without = 0;
  std::size_t held = 0;
  bool dearer = false;
  for (std::size_t step = 0; step <= steps; ++step) {
    const std::size_t cell = cell_at(step);
    dearer = sign * evidence.of_shares(with, without) > most;
    if (!dearer && std::abs(evidence.near(cell)) <= most) held = step;
    with += of.with[cell];
    without += of.without[cell];
  }
  if (!dearer) return sign * infinity;
  const double inner = std::abs(evidence.near(cell_at(held))), outer = std::abs(evidence.near(cell_at(held + 1)));
  const double part_of_cell = outer > most && inner < most ? (most - inner) / (outer - inner) : 1;
  return cells.centre(static_cast<double>(place) + sign * (static_cast<double>(held) + part_of_cell));
}

}  // namespace

Ends threshold_interval(const Crossing& crossing, const Cells& cells, double at, double most) {
  const Evidence evidence(crossing, cells);
  const auto place = static_cast<std::size_t>(std::clamp(at, 0.0, static_cast<double>(cells.size() - 1)));
  const Ends ends{furthest(evidence, crossing, cells, place, -1, most),
                  furthest(evidence, crossing, cells, place, 1, most)};
  // The place chosen belongs to it, whatever the cell in which it lies says.
  return {std::min(ends.low, cells.centre(at)), std::max(ends.high, cells.centre(at))};
}

}  // namespace ohmward::thresholds
