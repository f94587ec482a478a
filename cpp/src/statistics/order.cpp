#include "statistics/order.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <numeric>

namespace ohmward::statistics {
namespace {

struct Keyed {
  std::uint64_t key;
  std::uint32_t index;
};

/// Unsigned integers in the order of the doubles; both zeros are one value and get one key.
std::uint64_t key_of(double value) noexcept {
  const auto bits = std::bit_cast<std::uint64_t>(value + 0.0);
  const std::uint64_t sign = std::uint64_t{1} << 63;
  return (bits & sign) != 0 ? ~bits : bits | sign;
}

constexpr unsigned digit_bits = 11;
constexpr unsigned digits = 6;  // 6 * 11 bits hold 64
constexpr std::size_t digit_values = std::size_t{1} << digit_bits;

std::size_t digit(std::uint64_t key, unsigned number) noexcept {
  return static_cast<std::size_t>(key >> (number * digit_bits)) & (digit_values - 1);
}

using Counts = std::array<std::size_t, digit_values>;

void pass(std::span<const Keyed> from, std::span<Keyed> to, Counts& counts, unsigned number) {
  std::exclusive_scan(counts.begin(), counts.end(), counts.begin(), std::size_t{0});
  for (const Keyed& each : from) to[counts[digit(each.key, number)]++] = each;
}

/// Below this a comparison sort is quicker than clearing the counts.
constexpr std::size_t few = 2000;

}  // namespace

std::vector<std::uint32_t> rising_order(std::span<const double> values) {
  std::vector<Keyed> rows(values.size());
  for (std::size_t i = 0; i < rows.size(); ++i) rows[i] = {key_of(values[i]), static_cast<std::uint32_t>(i)};
  if (rows.size() < few) {
    std::ranges::stable_sort(rows, {}, &Keyed::key);
  } else {
    std::vector<Counts> counts(digits, Counts{});
    for (const Keyed& row : rows)
      for (unsigned d = 0; d < digits; ++d) ++counts[d][digit(row.key, d)];
    std::vector<Keyed> other(rows.size());
    for (unsigned d = 0; d < digits; ++d) {
      if (counts[d][digit(rows[0].key, d)] == rows.size()) continue;  // all alike in this digit
      pass(rows, other, counts[d], d);
      rows.swap(other);
    }
  }
  std::vector<std::uint32_t> order(rows.size());
  std::ranges::transform(rows, order.begin(), &Keyed::index);
  return order;
}

}  // namespace ohmward::statistics
