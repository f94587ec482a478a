#include <gtest/gtest.h>

#include "batch.hpp"

namespace ohmward::assessment {
namespace {

using testing::Workshop;

/// What counts of rows whose columns are part, from, to, day.
std::vector<std::uint8_t> current(const std::vector<std::array<std::string, 4>>& rows) {
  Workshop workshop;
  workshop.limits = {{.id = "floor", .lower = 1e6}};
  std::string text;
  for (const auto& [part, from, to, day] : rows) {
    text.append("T-1,").append(part).append(",cable,insulation_resistance,5.00,MΩ,2024-01-").append(day);
    text.append(",insulation,500,,,,,,,,").append(from).append(",").append(to).append(",,\n");
  }
  const readings::Table table = Workshop::read(text);
  const instruments::Instruments meters{workshop.meters};
  const PartKinds kinds{workshop.kinds};
  return assess(table, {meters, workshop.limits, kinds, workshop.settings}).current;
}

using Flags = std::vector<std::uint8_t>;

TEST(Current, ARowThatLeavesOutItsEndsIsOfTheOnlyPointOfItsPart) {
  EXPECT_EQ(current({{"main", "", "", "01"}, {"main", "core", "shield", "02"}}), (Flags{0, 1}));
  EXPECT_EQ(current({{"main", "core", "shield", "01"}, {"main", "core", "", "02"}}), (Flags{0, 1}));
}

TEST(Current, OfTwoPolesItIsReplacedOnceBothWereReadLater) {
  EXPECT_EQ(current({{"side", "", "", "01"}, {"side", "plus", "chassis", "02"}}), (Flags{0, 1}));
  EXPECT_EQ(current({{"side", "minus", "chassis", "01"}, {"side", "", "", "02"}, {"side", "plus", "chassis", "03"}}),
            (Flags{1, 1, 1}));
  EXPECT_EQ(current({{"side", "", "", "02"}, {"side", "plus", "chassis", "03"}, {"side", "minus", "chassis", "04"}}),
            (Flags{0, 1, 1}));
}

TEST(Current, TwoRowsWithoutEndsMayBeTheTwoPoles) {
  EXPECT_EQ(current({{"side", "plus", "chassis", "01"},
                     {"side", "minus", "chassis", "01"},
                     {"side", "", "", "02"},
                     {"side", "", "", "02"}}),
            (Flags{1, 1, 1, 1}));
}

TEST(Current, ARowWithoutItsPartIsReplacedOnceEveryPartOfItsKindWasReadLater) {
  EXPECT_EQ(
      current({{"", "core", "shield", "01"}, {"main", "core", "shield", "02"}, {"charge", "core", "shield", "03"}}),
      (Flags{0, 1, 1}));
  EXPECT_EQ(
      current({{"main", "core", "shield", "01"}, {"", "core", "shield", "02"}, {"charge", "core", "shield", "03"}}),
      (Flags{1, 1, 1}));
}

}  // namespace
}  // namespace ohmward::assessment
