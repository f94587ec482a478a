#include "screening/grouping.hpp"

#include <array>
#include <limits>
#include <string>
#include <utility>

#include "ohmward/core/errors.hpp"

namespace ohmward::screening {
namespace {

struct Item {
  std::uint64_t key;
  std::uint32_t row;
};

constexpr unsigned digit_bits = 11;
constexpr std::size_t digits = std::size_t{1} << digit_bits;

/// Stable radix sort by the key; digits that all keys share cost one counting pass.
void sort_by_key(std::vector<Item>& items) {
  std::vector<Item> other(items.size());
  for (unsigned shift = 0; shift < 64; shift += digit_bits) {
    const auto digit = [shift](const Item& item) { return static_cast<std::size_t>(item.key >> shift) & (digits - 1); };
    std::array<std::size_t, digits> place{};
    for (const Item& item : items) ++place[digit(item)];
    if (!items.empty() && place[digit(items.front())] == items.size()) continue;
    std::size_t next = 0;
    for (std::size_t& count : place) next += std::exchange(count, next);
    for (const Item& item : items) other[place[digit(item)]++] = item;
    items.swap(other);
  }
}

}  // namespace

Grouping::Grouping(std::span<const std::uint64_t> keys) : number_(keys.size(), none) {
  if (keys.size() > static_cast<std::size_t>(std::numeric_limits<std::int32_t>::max()))
    throw InvalidParameter("rows", std::to_string(keys.size()), "at most 2147483647");
  std::vector<Item> items;
  items.reserve(keys.size());
  for (std::size_t row = 0; row < keys.size(); ++row)
    if (keys[row] != no_key) items.push_back({keys[row], static_cast<std::uint32_t>(row)});
  sort_by_key(items);
  rows_.reserve(items.size());
  for (const Item& item : items) {
    if (first_.empty() || item.key != keys[rows_.back()]) first_.push_back(static_cast<std::uint32_t>(rows_.size()));
    number_[item.row] = static_cast<std::int32_t>(first_.size() - 1);
    rows_.push_back(item.row);
  }
  first_.push_back(static_cast<std::uint32_t>(rows_.size()));
}

}  // namespace ohmward::screening
