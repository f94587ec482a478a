#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "ohmward/uncertainty/coverage.hpp"

namespace ohmward::uncertainty {

/// Counts of draws too many to keep. Bins lie between two numbers; what falls outside is counted too and is taken to
/// lie evenly up to the farthest value seen.
class Histogram {
 public:
  Histogram(double low, double high);

  void add(std::span<const double> values) noexcept;
  [[nodiscard]] Interval symmetric(double level) const;
  [[nodiscard]] Interval shortest(double level) const;

 private:
  [[nodiscard]] double edge(std::size_t bin) const noexcept;  ///< lower edge; one past the last bin is the top
  [[nodiscard]] double quantile(double share) const;

  double low_;
  double high_;
  double farthest_low_;
  double farthest_high_;
  std::uint64_t total_ = 0;
  std::vector<std::uint64_t> counts_;
};

}  // namespace ohmward::uncertainty
