#pragma once

#include <cstddef>
#include <map>
#include <ranges>
#include <vector>

namespace ohmward::statistics {

/// Labels as numbers 0, 1, ... in the order in which they come.
struct Groups {
  std::vector<std::size_t> of;  ///< one a unit
  std::size_t count = 0;
};

template <std::ranges::sized_range Labels>
Groups groups_of(const Labels& labels) {
  std::map<std::ranges::range_value_t<Labels>, std::size_t> numbers;
  Groups groups;
  groups.of.reserve(labels.size());
  for (const auto& label : labels) groups.of.push_back(numbers.try_emplace(label, numbers.size()).first->second);
  groups.count = numbers.size();
  return groups;
}

}  // namespace ohmward::statistics
