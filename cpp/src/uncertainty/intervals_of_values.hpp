#pragma once

#include <cstddef>
#include <span>
#include <utility>
#include <vector>

#include "ohmward/uncertainty/coverage.hpp"

namespace ohmward::uncertainty {

/// Order statistics that coverage intervals need, without sorting the middle of the values.
class SortedTails {
 public:
  /// @param values at least two finite values; they stay as they are
  /// @param rough_order two numbers between which most values lie: they only decide how fast this is
  /// @param threads as in BatchOptions; the result never depends on it
  SortedTails(std::span<const double> values, double level, std::span<const double> rough_order, int threads = 1);

  [[nodiscard]] Interval symmetric() const;
  [[nodiscard]] Interval shortest() const;

 private:
  [[nodiscard]] static std::pair<double, double> lines(std::span<const double> values, std::size_t tail,
                                                       std::span<const double> edges, int threads);
  [[nodiscard]] double order_statistic(std::size_t rank) const;  ///< from 1

  std::size_t count_;
  std::size_t held_ = 0;        ///< q: values from one end of an interval to the other
  std::vector<double> low_{};   ///< the M − q smallest, sorted
  std::vector<double> high_{};  ///< the M − q largest, sorted
};

}  // namespace ohmward::uncertainty
