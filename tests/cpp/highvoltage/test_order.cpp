#include <gtest/gtest.h>

#include <random>

#include "ohmward/highvoltage/order.hpp"

namespace ohmward::highvoltage {
namespace {

using Rows = std::vector<std::size_t>;

Place at(double step, std::int64_t second, std::int64_t line, bool has_time = true) {
  return {.step = step, .taken_at = {.second = second, .has_time = has_time}, .line = line};
}

TEST(Order, StepBeforeClockBeforeLine) {
  const std::vector<Place> steps{at(3, 100, 1), at(1, 300, 2), at(2, 200, 3)};
  EXPECT_EQ(order_of(steps).rows, (Rows{1, 2, 0}));
  EXPECT_TRUE(order_of(steps).clock_contradicts_step);
  const std::vector<Place> clocks{at(nan, 300, 1), at(nan, 100, 2), at(nan, 200, 3)};
  EXPECT_EQ(order_of(clocks).rows, (Rows{1, 2, 0}));
  EXPECT_FALSE(order_of(clocks).clock_contradicts_step);
  const std::vector<Place> lines{at(nan, readings::Moment::missing, 9), at(nan, readings::Moment::missing, 4)};
  EXPECT_EQ(order_of(lines).rows, (Rows{1, 0}));
}

TEST(Order, DateOnlyRowsAreNotMidnight) {
  // The second row's time is known, the first row's is not: on one day only the line tells their order.
  const std::vector<Place> places{at(nan, 86400 + 43200, 1), at(nan, 86400, 2, false), at(nan, 0, 3, false)};
  EXPECT_EQ(order_of(places).rows, (Rows{2, 0, 1}));
}

TEST(Order, RowsWithoutStepKeepTheirSlot) {
  const std::vector<Place> places{at(2, 100, 1), at(nan, 200, 2), at(1, 300, 3)};
  EXPECT_EQ(order_of(places).rows, (Rows{2, 1, 0}));
}

TEST(Order, NoClockEverBeatsAStep) {
  std::mt19937 random(1);
  for (int job = 0; job < 5000; ++job) {
    std::vector<Place> places(1 + random() % 12);
    for (std::size_t i = 0; i < places.size(); ++i)
      places[i] = at(random() % 3 ? static_cast<double>(random() % 8) : nan,
                     static_cast<std::int64_t>(random() % 100000), static_cast<std::int64_t>(i), random() % 4 != 0);
    const Order order = order_of(places);
    double last = -1;
    std::vector<int> seen(places.size());
    for (const std::size_t row : order.rows) {
      ++seen[row];
      if (places[row].step != places[row].step) continue;
      EXPECT_LE(last, places[row].step);
      last = places[row].step;
    }
    EXPECT_EQ(seen, std::vector<int>(places.size(), 1));
  }
}

}  // namespace
}  // namespace ohmward::highvoltage
