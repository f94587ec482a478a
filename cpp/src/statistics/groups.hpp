#pragma once

#include <concepts>
#include <cstddef>
#include <map>
#include <ranges>
#include <type_traits>
#include <unordered_map>
#include <vector>

namespace ohmward::statistics {

/// Labels as numbers 0, 1, ... in the order in which they come.
struct Groups {
  std::vector<std::size_t> of;  ///< one a unit
  std::size_t count = 0;
};

template <std::ranges::sized_range Labels>
Groups groups_of(const Labels& labels) {
  using Label = std::ranges::range_value_t<Labels>;
  std::conditional_t<std::integral<Label>, std::unordered_map<Label, std::size_t>, std::map<Label, std::size_t>>
      numbers;
  Groups groups;
  groups.of.reserve(labels.size());
  for (const auto& label : labels) groups.of.push_back(numbers.try_emplace(label, numbers.size()).first->second);
  groups.count = numbers.size();
  return groups;
}

}  // namespace ohmward::statistics
