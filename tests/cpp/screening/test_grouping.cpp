#include <gtest/gtest.h>

#include <array>
#include <map>
#include <random>
#include <vector>

#include "screening/grouping.hpp"
#include "screening/robust.hpp"

namespace ohmward::screening {
namespace {

TEST(Grouping, EqualsAMapOfVectors) {
  std::mt19937_64 random(7);
  std::vector<std::uint64_t> keys(5000);
  for (std::uint64_t& key : keys)
    key = random() % 10 == 0
              ? no_key
              : key_of(static_cast<std::int32_t>(random() % 50), static_cast<std::int32_t>(random() % 2000000000));
  for (std::size_t i = 0; i < 2500; ++i) keys[i + 2500] = keys[i];
  std::map<std::uint64_t, std::vector<std::uint32_t>> expected;
  for (std::uint32_t row = 0; row < keys.size(); ++row)
    if (keys[row] != no_key) expected[keys[row]].push_back(row);
  const Grouping grouping(keys);
  ASSERT_EQ(grouping.size(), expected.size());
  std::size_t group = 0;
  for (const auto& [key, rows] : expected) {  // groups come in the order of their keys
    const auto found = grouping.rows(group);
    EXPECT_EQ(std::vector<std::uint32_t>(found.begin(), found.end()), rows);
    for (const std::uint32_t row : rows) EXPECT_EQ(grouping.of(row), static_cast<std::int32_t>(group));
    ++group;
  }
}

TEST(Grouping, NothingGivesNothing) {
  EXPECT_EQ(Grouping(std::vector<std::uint64_t>{}).size(), 0U);
  const Grouping none(std::vector<std::uint64_t>{no_key, no_key});
  EXPECT_EQ(none.size(), 0U);
  EXPECT_EQ(none.of(1), Grouping::none);
  EXPECT_TRUE(none.around(1).empty());
}

TEST(Robust, MedianAndSpreadOfAKnownSample) {
  // by hand: median of 1 1 2 2 4 6 9 is 2, deviations 1 1 0 0 2 4 7, their median 1
  std::array<double, 7> values{6, 2, 2, 1, 9, 4, 1};
  const Spread found = spread(values);
  EXPECT_EQ(found.centre, 2);
  EXPECT_DOUBLE_EQ(found.deviation, deviation_of_mad);
  std::array<double, 4> even{4, 1, 3, 2};
  EXPECT_EQ(median(even), 2.5);
  EXPECT_TRUE(std::isnan(median({})));
}

TEST(Robust, MedianWithoutOneEqualsTheMedianOfTheRest) {
  for (std::size_t n = 2; n < 9; ++n) {
    std::vector<double> sorted;
    for (std::size_t i = 0; i < n; ++i) sorted.push_back(static_cast<double>(i * i));
    for (std::size_t left_out = 0; left_out < n; ++left_out) {
      std::vector<double> rest = sorted;
      rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(left_out));
      EXPECT_EQ(median_without(sorted, left_out), median(rest));
    }
  }
  EXPECT_TRUE(std::isnan(median_without(std::array<double, 1>{1}, 0)));
}

}  // namespace
}  // namespace ohmward::screening
