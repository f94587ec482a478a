#include "thresholds/cells.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "ohmward/numerics/elementary.hpp"

namespace ohmward::thresholds {
namespace {

constexpr std::size_t bandwidths = 4;  ///< that the kernel reaches; its density there is 3e-4 of its peak
/// Scores that need more cells span more powers of ten than a straight scale can tell apart.
constexpr double most = 65536;

}  // namespace

Cells::Cells(double from, double to, double bandwidth, std::size_t fineness)
    : fineness_(fineness),
      width_(std::max(bandwidth / static_cast<double>(fineness), (to - from) / most)),
      kernel_(2 * bandwidths * fineness + 1) {
  if (!(width_ > 0)) width_ = 1;  // one score alone: any width does
  // The kernel of the lowest unit reaches once below it, and what lies further out must not reach there.
  const std::size_t margin = 3 * reach();
  first_centre_ = from - static_cast<double>(margin) * width_;
  size_ = static_cast<std::size_t>((to - from) / width_) + 2 * margin + 2;
  for (std::size_t j = 0; j < kernel_.size(); ++j) {
    const double deviate = (static_cast<double>(j) - static_cast<double>(reach())) / static_cast<double>(fineness);
    kernel_[j] = numerics::exp(-0.5 * deviate * deviate);
  }
  const double sum = std::accumulate(kernel_.begin(), kernel_.end(), 0.0);
  for (double& each : kernel_) each /= sum;
}

bool Cells::fit(double from, double to, double bandwidth, std::size_t fineness) noexcept {
  return to - from <= most * bandwidth / static_cast<double>(fineness);
}

std::size_t Cells::of(double score) const noexcept {
  const double place = std::floor((score - first_centre_) / width_ + 0.5);
  return static_cast<std::size_t>(
      std::clamp(place, static_cast<double>(reach()), static_cast<double>(size_ - 1 - reach())));
}

double Cells::kernel(std::size_t cell, std::size_t other) const noexcept {
  const std::size_t apart = cell > other ? cell - other : other - cell;
  return apart <= reach() ? kernel_[reach() + apart] : 0;
}

void Cells::spread(double mass, std::size_t cell, std::span<double> over) const noexcept {
  double* const first = over.data() + (cell - reach());
  for (std::size_t j = 0; j < kernel_.size(); ++j) first[j] += mass * kernel_[j];
}

}  // namespace ohmward::thresholds
