#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace ohmward::screening {

/// Key of a row that belongs to no group.
inline constexpr std::uint64_t no_key = ~std::uint64_t{0};

[[nodiscard]] constexpr std::uint64_t key_of(std::int32_t high, std::int32_t low) noexcept {
  return high < 0 || low < 0 ? no_key : static_cast<std::uint64_t>(high) << 32U | static_cast<std::uint64_t>(low);
}

/// Rows with equal keys, numbered; groups by key, the rows of a group in the order of the table.
class Grouping {
 public:
  static constexpr std::int32_t none = -1;

  Grouping() = default;
  explicit Grouping(std::span<const std::uint64_t> keys);

  [[nodiscard]] std::size_t size() const noexcept { return first_.empty() ? 0 : first_.size() - 1; }
  [[nodiscard]] std::int32_t of(std::size_t row) const noexcept { return number_[row]; }
  [[nodiscard]] std::span<const std::uint32_t> rows(std::size_t group) const noexcept {
    return std::span(rows_).subspan(first_[group], first_[group + 1] - first_[group]);
  }
  /// The rows of the group of `row`; none where it belongs to none.
  [[nodiscard]] std::span<const std::uint32_t> around(std::size_t row) const noexcept {
    return number_[row] == none ? std::span<const std::uint32_t>{} : rows(static_cast<std::size_t>(number_[row]));
  }

 private:
  std::vector<std::int32_t> number_;
  std::vector<std::uint32_t> first_;
  std::vector<std::uint32_t> rows_;
};

}  // namespace ohmward::screening
