#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/statistics/roc.hpp"
#include "thresholds/cells.hpp"

namespace ohmward::thresholds {

/// Weights with and without the event.
struct Pair {
  double with = 0, without = 0;

  void add(bool event, double weight) noexcept { (event ? with : without) += weight; }
};

/// Weights of both classes by cell, in a sample or replicate.
struct Weighed {
  std::vector<double> in_cell;        ///< those with the event, then those without
  std::vector<double> with, without;  ///< the same, spread by the kernel
  Pair total{};
};

/// Units with an outcome and a score, a bound standing at its bound; by cells as wide as the sample allows.
///
/// What is drawn is a group: a cluster, or a unit alone. Each group keeps the cells it fills as stretches, so that a
/// replicate is a sum over groups however many units they have.
class SortedUnits {
 public:
  explicit SortedUnits(const statistics::ScoredUnits& scored);

  [[nodiscard]] std::size_t groups() const noexcept { return groups_; }
  [[nodiscard]] bool clustered() const noexcept { return clustered_; }
  [[nodiscard]] std::size_t fewest() const noexcept { return std::min(with_, without_); }
  [[nodiscard]] Pair total() const noexcept { return up_to_.back(); }
  [[nodiscard]] const Cells& cells() const noexcept { return cells_; }

  /// As many units of equal weight.
  [[nodiscard]] Pair equal_units() const noexcept { return equal_units_; }

  /// Group g counts times[g] times.
  [[nodiscard]] Weighed weighed(std::span<const std::uint32_t> times) const;

  /// What lies above a threshold in a replicate; and in the sample.
  [[nodiscard]] Pair above(double threshold, std::span<const std::uint32_t> times, const Weighed& weighed) const;
  [[nodiscard]] Pair above(double threshold) const;

  /// The neighbouring scores of a threshold: the lowest above it and the highest that is not; infinite if none.
  [[nodiscard]] double next_above(double threshold) const;
  [[nodiscard]] double next_below(double threshold) const;

  /// Variance of the difference of densities in the cell of a threshold (of the median, if that flags none or all),
  /// those with the event times `odds`, over that of independent units of equal weight; not below 1.
  /// @param own the sample itself
  /// @param from_means whether each class counts from its own mean there, as where the classes were drawn apart
  [[nodiscard]] double design_effect(double threshold, const Weighed& own, double odds, bool from_means) const;

 private:
  struct Unit {
    double score, weight;
    std::uint32_t group;
    bool event;
  };
  /// Cells that follow each other, of one class, in one group.
  struct Stretch {
    std::size_t cell, first_value, length;
  };

  [[nodiscard]] std::vector<Unit>::const_iterator first_above(double threshold) const;
  /// Standard deviation of a class, or that by quartiles where it is less: a heavy tail shall not widen the kernel. NaN
  /// of one unit.
  [[nodiscard]] double scale(bool event) const;
  /// Silverman's rule for the narrower class and the smaller number of units, with a power of -1/4 in place of -1/5:
  /// less smooth than is best for a density, so that the bias stays below the scatter of a threshold.
  [[nodiscard]] double bandwidth() const;
  void set_totals();
  /// Over all scores, or if these do not fit from the lowest score with the event to the highest without: elsewhere no
  /// threshold can be best.
  void set_cells();
  void set_stretches();
  void narrow_values();
  template <class Value>
  void add_up(std::span<const std::uint32_t> times, const std::vector<Value>& values,
              std::vector<Value>& in_cell) const;

  std::vector<Unit> units_;              ///< rising
  std::vector<Pair> up_to_;              ///< of the first 0, 1, ... of them
  std::vector<std::size_t> up_to_cell_;  ///< units in this cell and below
  std::vector<std::size_t> first_;       ///< stretch of each group, and their number
  std::vector<Stretch> stretches_;
  std::vector<double> values_;                ///< of the stretches, one a cell
  std::vector<std::uint16_t> narrow_values_;  ///< the same, where no replicate's sum of whole numbers exceeds 16 bits
  Cells cells_{0, 0, 1, 1};                   ///< until there are units of both classes
  Pair equal_units_{};
  std::size_t with_ = 0, without_ = 0, groups_ = 0;
  bool weighted_ = false, clustered_ = false;
};

}  // namespace ohmward::thresholds
