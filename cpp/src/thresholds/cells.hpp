#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace ohmward::thresholds {

/// A row of equal cells along the score, and a normal kernel that spreads what lies in one cell over its neighbours.
class Cells {
 public:
  /// @param from, to where units are told apart; what lies outside counts in a cell out of reach of the kernel
  /// @param fineness cells a bandwidth
  Cells(double from, double to, double bandwidth, std::size_t fineness);

  /// Whether cells as fine as wanted fit between; if not, they and the kernel are wider.
  [[nodiscard]] static bool fit(double from, double to, double bandwidth, std::size_t fineness) noexcept;

  [[nodiscard]] std::size_t size() const noexcept { return size_; }
  [[nodiscard]] double width() const noexcept { return width_; }
  [[nodiscard]] double bandwidth() const noexcept { return width_ * static_cast<double>(fineness_); }
  [[nodiscard]] double centre(double cell) const noexcept { return first_centre_ + cell * width_; }
  [[nodiscard]] std::size_t of(double score) const noexcept;

  /// Share of what lies in a cell that the kernel puts into another; 0 beyond its reach.
  [[nodiscard]] double kernel(std::size_t cell, std::size_t other) const noexcept;

  void spread(double mass, std::size_t cell, std::span<double> over) const noexcept;

 private:
  [[nodiscard]] std::size_t reach() const noexcept { return kernel_.size() / 2; }

  std::size_t fineness_;
  double first_centre_, width_;
  std::size_t size_;
  std::vector<double> kernel_;  ///< sums to 1
};

}  // namespace ohmward::thresholds
