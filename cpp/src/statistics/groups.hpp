#pragma once

#include <cstddef>
#include <map>
#include <span>
#include <vector>

namespace ohmward::statistics {

/// Labels as numbers 0, 1, ... in the order in which they come.
struct Groups {
  std::vector<std::size_t> of;  ///< one a unit
  std::size_t count = 0;
};

inline Groups groups_of(std::span<const long> labels) {
  std::map<long, std::size_t> numbers;
  Groups groups;
  groups.of.reserve(labels.size());
  for (const long label : labels) groups.of.push_back(numbers.try_emplace(label, numbers.size()).first->second);
  groups.count = numbers.size();
  return groups;
}

}  // namespace ohmward::statistics
