#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "thresholds/cells.hpp"
#include "thresholds/study_units.hpp"

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

  [[nodiscard]] double median() const noexcept { return units_[units_.size() / 2].score; }

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

  /// Variance of the difference of densities at a place, those with the event times `odds`, over that of independent
  /// units of equal weight; not below 1.
  /// @param from_means whether each class counts from its own mean there, as where the classes were drawn apart
  [[nodiscard]] double design_effect(double at, double odds, bool from_means) const;

 private:
  struct Unit {
    double score, weight;
    std::size_t group;
    bool event;
  };
  /// Cells that follow each other, of one class, in one group.
  struct Stretch {
    std::size_t cell, first_value, length;
  };

  [[nodiscard]] std::vector<Unit>::const_iterator first_above(double threshold) const;
  void set_totals();
  void set_stretches();

  std::vector<Unit> units_;              ///< rising
  std::vector<Pair> up_to_;              ///< of the first 0, 1, ... of them
  std::vector<std::size_t> up_to_cell_;  ///< units in this cell and below
  std::vector<std::size_t> first_;       ///< stretch of each group, and their number
  std::vector<Stretch> stretches_;
  std::vector<double> values_;
  Cells cells_{0, 0, 1, 1};  ///< until there are units of both classes
  Pair equal_units_{};
  std::size_t with_ = 0, without_ = 0, groups_ = 0;
  bool weighted_ = false, clustered_ = false;
};

}  // namespace ohmward::thresholds
