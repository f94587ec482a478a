#include <gtest/gtest.h>

#include "batch.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::assessment {
namespace {

using testing::Workshop;

constexpr std::size_t part_kind_scope = 3;
constexpr std::size_t object_scope = 0;

LimitEntry scoped(std::string id, double lower, std::size_t column, std::string word) {
  LimitEntry entry
  {.id = std::move(id), .lower = lower};
  entry
  .applies_to[column] = std::move(word);
  return entry;
}

LimitMatcher::Match match(const std::vector<LimitEntry>& limits, std::int64_t day = 20000) {
  const readings::Table table =
      Workshop::read("T-1,motor_rear,motor,insulation_resistance,5,MΩ,2024-01-01,insulation,500,,,,,,,,,,,\n");
  return LimitMatcher(limits, table).match({.row = 0, .day = day, .quantity = table.quantity[0]});
}

TEST(LimitMatcher, TheMostSpecificScopeWins) {
  LimitEntry specific = scoped("b", 2e6, part_kind_scope, "motor");
  specific.applies_to[object_scope] = "T-1";
  EXPECT_EQ(match({{.id = "a", .lower = 1e6}, specific, scoped("c", 3e6, part_kind_scope, "motor")}).limit, 1);
  EXPECT_EQ(match({{.id = "a", .lower = 1e6}, scoped("other", 2e6, part_kind_scope, "heater")}).limit, 0);
}

TEST(LimitMatcher, ThenTheHigherAuthority) {
  LimitEntry standard{.id = "standard", .lower = 5e6, .authority = Authority::standard};
  LimitEntry maker{.id = "maker", .lower = 1e6, .authority = Authority::maker};
  const LimitMatcher::Match found = match({standard, maker});
  EXPECT_EQ(found.limit, 1);
  EXPECT_EQ(found.equal, LimitMatcher::none);
}

TEST(LimitMatcher, OfTwoEqualOnesTheStricterDecidesAndBothAreNamed) {
  const LimitMatcher::Match found = match({{.id = "a", .lower = 1e6}, {.id = "b", .lower = 3e6}});
  EXPECT_EQ(found.limit, 1);
  EXPECT_EQ(found.equal, 0);
}

TEST(LimitMatcher, ALimitPerVoltNeedsItsWorkingVoltage) {
  EXPECT_EQ(match({{.id = "per volt", .per_volt = 100}}).limit, LimitMatcher::none);
}

TEST(LimitMatcher, ALimitHoldsFromItsDate) {
  LimitEntry entry
  {.id = "new", .lower = 1e6, .valid_from_day = 20000};
  EXPECT_EQ(match({ entry }, 19999).limit, LimitMatcher::none);
  EXPECT_EQ(match({ entry }, 20000).limit, 0);
}

TEST(LimitEntry, SenselessOnesAreRefusedByName) {
  EXPECT_THROW(validate({.id = "x"}), InvalidParameter);
  EXPECT_THROW(validate({.id = "x", .lower = 2, .upper = 1}), InvalidParameter);
  EXPECT_THROW(validate({.id = "x", .lower = 1, .per_volt = 1}), InvalidParameter);
  EXPECT_THROW(validate({.id = "x", .lower = -1}), InvalidParameter);
  EXPECT_THROW(validate({.lower = 1}), InvalidParameter);
  EXPECT_NO_THROW(validate({.id = "x", .lower = 1}));
}

TEST(PartKinds, ALaterEntryReplacesAnEarlierOne) {
  const PartKinds kinds({{.id = "motor", .network = false}, {.id = "motor", .network = true}});
  EXPECT_EQ(kinds.size(), 1U);
  EXPECT_TRUE(kinds.find("motor")->network);
  EXPECT_EQ(kinds.find("heater"), nullptr);
  EXPECT_THROW(PartKinds({{.id = "m", .capacitance_low_farad = 2, .capacitance_high_farad = 1}}), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::assessment
