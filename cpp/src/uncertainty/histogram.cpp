#include "uncertainty/histogram.hpp"

#include <algorithm>

namespace ohmward::uncertainty {
namespace {

constexpr std::size_t bins = (std::size_t{1} << 18) + 2;  // the first and the last take what lies outside

}  // namespace

Histogram::Histogram(double low, double high)
    : low_(low), high_(high), farthest_low_(low), farthest_high_(high), counts_(bins, 0) {}

void Histogram::add(std::span<const double> values) noexcept {
  const double per_width = static_cast<double>(bins - 2) / (high_ - low_);
  for (const double x : values) {
    const double place = std::clamp((x - low_) * per_width + 1, 0.0, static_cast<double>(bins - 1));
    ++counts_[static_cast<std::size_t>(place)];
    farthest_low_ = std::min(farthest_low_, x);
    farthest_high_ = std::max(farthest_high_, x);
  }
  total_ += values.size();
}

double Histogram::edge(std::size_t bin) const noexcept {
  if (bin == 0) return farthest_low_;
  if (bin == bins) return farthest_high_;
  return low_ + static_cast<double>(bin - 1) * (high_ - low_) / static_cast<double>(bins - 2);
}

double Histogram::quantile(double share) const {
  double wanted = share * static_cast<double>(total_);
  for (std::size_t bin = 0; bin < bins; ++bin) {
    const double here = static_cast<double>(counts_[bin]);
    if (wanted <= here && here > 0) return edge(bin) + (edge(bin + 1) - edge(bin)) * (wanted / here);
    wanted -= here;
  }
  return farthest_high_;
}

Interval Histogram::symmetric(double level) const {
  return {.low = quantile((1 - level) / 2), .high = quantile((1 + level) / 2)};
}

/// Lower ends are tried at every edge of a bin; the upper end follows, since both only move up.
Interval Histogram::shortest(double level) const {
  const double wanted = level * static_cast<double>(total_);
  Interval best{.low = farthest_low_, .high = farthest_high_};
  std::size_t top = 0;
  double up_to_top = 0;    // count below edge(top)
  double up_to_start = 0;  // count below edge(start)
  for (std::size_t start = 0; start < bins; ++start) {
    while (top < bins && up_to_top + static_cast<double>(counts_[top]) < up_to_start + wanted)
      up_to_top += static_cast<double>(counts_[top++]);
    if (top == bins) break;
    const double within = (up_to_start + wanted - up_to_top) / static_cast<double>(counts_[top]);
    const double high = edge(top) + (edge(top + 1) - edge(top)) * within;
    if (high - edge(start) < best.high - best.low) best = {.low = edge(start), .high = high};
    up_to_start += static_cast<double>(counts_[start]);
  }
  return best;
}

}  // namespace ohmward::uncertainty
