#pragma once

/// @file
/// Straight lines through points that come one by one, in fixed memory.
///
/// Weighted moments about the mean are updated with each point, so that nothing cancels and two parts can be joined.

#include <cstddef>
#include <cstdint>

#include "ohmward/numerics/elementary.hpp"

namespace ohmward::formula {
inline namespace OHMWARD_LEVEL {

/// Weighted moments of points (x, y).
class LineSums {
 public:
  constexpr void add(double x, double y, double weight = 1) noexcept {
    weight_ += weight;
    const double share = weight / weight_;
    const double dx = x - mean_x_, dy = y - mean_y_;
    mean_x_ += share * dx;
    mean_y_ += share * dy;
    xx_ += weight * dx * (x - mean_x_);
    xy_ += weight * dx * (y - mean_y_);
    yy_ += weight * dy * (y - mean_y_);
    ++count_;
  }

  constexpr void merge(const LineSums& other) noexcept {
    if (other.count_ == 0) return;
    if (count_ == 0) {
      *this = other;
      return;
    }
    const double weight = weight_ + other.weight_;
    const double share = other.weight_ / weight;
    const double dx = other.mean_x_ - mean_x_, dy = other.mean_y_ - mean_y_;
    const double between = weight_ * share;
    xx_ += other.xx_ + dx * dx * between;
    xy_ += other.xy_ + dx * dy * between;
    yy_ += other.yy_ + dy * dy * between;
    mean_x_ += share * dx;
    mean_y_ += share * dy;
    weight_ = weight;
    count_ += other.count_;
  }

  /// Plain sums of equally weighted points near one point.
  struct Plain {
    double x = 0, y = 0;  ///< that point
    double sum_x = 0, sum_y = 0, sum_xx = 0, sum_xy = 0, sum_yy = 0;
    std::uint32_t count = 0;
  };
  [[nodiscard]] static constexpr LineSums of(const Plain& p) noexcept {
    LineSums sums;
    if (p.count == 0) return sums;
    sums.weight_ = p.count;
    const double dx = p.sum_x / sums.weight_, dy = p.sum_y / sums.weight_;
    sums.mean_x_ = p.x + dx;
    sums.mean_y_ = p.y + dy;
    sums.xx_ = p.sum_xx - p.sum_x * dx;
    sums.xy_ = p.sum_xy - p.sum_x * dy;
    sums.yy_ = p.sum_yy - p.sum_y * dy;
    sums.count_ = p.count;
    return sums;
  }

  [[nodiscard]] constexpr std::uint32_t count() const noexcept { return count_; }
  [[nodiscard]] constexpr double weight() const noexcept { return weight_; }
  [[nodiscard]] constexpr double mean_x() const noexcept { return mean_x_; }
  [[nodiscard]] constexpr double mean_y() const noexcept { return mean_y_; }
  [[nodiscard]] constexpr double xx() const noexcept { return xx_; }
  [[nodiscard]] constexpr double slope() const noexcept { return xy_ / xx_; }
  [[nodiscard]] constexpr double at(double x) const noexcept { return mean_y_ + slope() * (x - mean_x_); }
  /// Weighted sum of squared distances from the line.
  [[nodiscard]] constexpr double residual() const noexcept {
    const double rest = yy_ - xy_ * slope();
    return rest > 0 ? rest : 0;
  }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.weight_, self.mean_x_, self.mean_y_, self.xx_, self.xy_, self.yy_, self.count_);
  }

 private:
  double weight_ = 0;
  double mean_x_ = 0;
  double mean_y_ = 0;
  double xx_ = 0;
  double xy_ = 0;
  double yy_ = 0;
  std::uint32_t count_ = 0;
};

/// A line that can be cut in halves afterwards: points gather in at most 16 blocks of equal number; when these are
/// full, neighbours are joined. Up to 16 points the halves are those of the points, later they are cut at a block.
class HalvedLineSums {
 public:
  constexpr void add(double x, double y, double weight = 1) noexcept {
    if (blocks_ == 0 || block_[last()].count() == block_size_) begin_block();
    block_[last()].add(x, y, weight);
  }

  [[nodiscard]] constexpr std::uint32_t count() const noexcept {
    return blocks_ == 0 ? 0 : (blocks_ - 1) * block_size_ + block_[last()].count();
  }
  [[nodiscard]] constexpr LineSums whole() const noexcept { return joined(0, blocks_); }
  [[nodiscard]] constexpr LineSums early_half() const noexcept { return joined(0, blocks_ / 2); }
  [[nodiscard]] constexpr LineSums late_half() const noexcept { return joined(blocks_ / 2, blocks_); }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.blocks_, self.block_size_);
    for (auto& block : self.block_) LineSums::each_field(block, visit);
  }
  /// Does the content of a saved record make sense?
  [[nodiscard]] constexpr bool consistent() const noexcept { return blocks_ <= most_blocks && block_size_ > 0; }

 private:
  static constexpr std::uint32_t most_blocks = 16;

  [[nodiscard]] constexpr std::uint32_t last() const noexcept { return blocks_ - 1; }

  constexpr void begin_block() noexcept {
    if (blocks_ == most_blocks) {
      for (std::size_t i = 0; i < most_blocks / 2; ++i) {
        LineSums pair = block_[2 * i];
        pair.merge(block_[2 * i + 1]);
        block_[i] = pair;
      }
      blocks_ = most_blocks / 2;
      block_size_ *= 2;
    }
    block_[blocks_] = {};
    ++blocks_;
  }

  [[nodiscard]] constexpr LineSums joined(std::uint32_t begin, std::uint32_t end) const noexcept {
    LineSums sums;
    for (std::uint32_t i = begin; i < end; ++i) sums.merge(block_[i]);
    return sums;
  }

  LineSums block_[most_blocks] = {};
  std::uint32_t blocks_ = 0;
  std::uint32_t block_size_ = 1;
};

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
