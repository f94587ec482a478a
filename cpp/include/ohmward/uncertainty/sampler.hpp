#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "ohmward/uncertainty/budget.hpp"

namespace ohmward::uncertainty {

/// Draws the inputs of a budget from their distributions (JCGM 101:2008 6.4). A draw depends on the seed, the input and
/// its number alone, never on how the work is cut.
///
/// Correlated inputs must all be normal; quantities observed together are drawn from their multivariate t.
/// Source: `jcgm-101`.
class Sampler {
 public:
  /// @throws InvalidParameter for correlated inputs of other shapes, or an impossible correlation
  explicit Sampler(const Budget& budget);

  [[nodiscard]] std::size_t inputs() const noexcept { return inputs_.size(); }

  /// Draws first, first + 1, ...; `out` holds one input after the other, `count` draws each.
  void draw(std::uint64_t seed, std::uint64_t first, std::size_t count, std::span<double> out) const;

 private:
  /// Inputs that are drawn together: standard normal draws mixed by a lower triangle, over √(χ²/ν) for a t.
  struct Joint {
    std::vector<std::size_t> members;
    std::vector<double> triangle;
    double degrees_of_freedom;
  };
  void add_joint(std::vector<std::size_t> members, const std::vector<double>& correlation, double degrees_of_freedom);

  std::vector<Input> inputs_;
  std::vector<bool> joint_input_;
  std::vector<Joint> joints_;
};

}  // namespace ohmward::uncertainty
