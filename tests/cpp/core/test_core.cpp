#include <gtest/gtest.h>

#include <set>
#include <string>

#include "ohmward/core/checked.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/core/findings.hpp"
#include "ohmward/core/quantity_kind.hpp"

namespace ohmward {
namespace {

TEST(Status, OnlyNegativeNumbersHaveNoValue) {
  EXPECT_TRUE(has_value(Status::sound));
  EXPECT_TRUE(has_value(Status::bound_only));
  EXPECT_FALSE(has_value(Status::missing_input));
}

TEST(Status, WorsePrefersNoValueOverDoubt) {
  EXPECT_EQ(worse(Status::sound, Status::few_points), Status::few_points);
  EXPECT_EQ(worse(Status::few_points, Status::no_law), Status::no_law);
  EXPECT_EQ(worse(Status::no_law, Status::missing_input), Status::no_law);
  EXPECT_EQ(worse(Status::sound, Status::sound), Status::sound);
}

TEST(Status, EveryNumberIsUsedOnce) {
  std::set<int> numbers;
  int count = 0;
#define OHMWARD_STATUS_ENTRY(name, number, text) \
  numbers.insert(number); \
  ++count;
  OHMWARD_STATUS_TABLE(OHMWARD_STATUS_ENTRY)
#undef OHMWARD_STATUS_ENTRY
  EXPECT_EQ(numbers.size(), static_cast<std::size_t>(count));
}

TEST(Status, UnknownNumberHasText) { EXPECT_STREQ(text(static_cast<Status>(101)), "unknown status"); }

TEST(Findings, TableIsInOrderOfBits) {
  for (std::size_t i = 0; i < finding_facts.size(); ++i)
    EXPECT_EQ(static_cast<std::size_t>(finding_facts[i].finding), i) << finding_facts[i].name;
  EXPECT_LE(finding_facts.size(), 64U);
}

TEST(Findings, HeadlineIsTheOneThatCanHideABadPart) {
  Findings set = Finding::ceiling_unknown;
  EXPECT_EQ(set.headline(), Finding::ceiling_unknown);
  set.add(Finding::corrected);
  EXPECT_EQ(set.headline(), Finding::corrected);
  set.add(Finding::meter_drift_suspected);
  EXPECT_EQ(set.headline(), Finding::meter_drift_suspected);
  EXPECT_EQ(set.hiding(), Findings(Finding::meter_drift_suspected));
}

TEST(QuantityKind, TableIsInOrderOfNumbers) {
  for (std::size_t i = 0; i < quantity_kinds.size(); ++i)
    EXPECT_EQ(static_cast<std::size_t>(quantity_kinds[i].kind), i) << quantity_kinds[i].name;
}

TEST(InvalidParameter, NamesFieldValueAndExpectation) {
  const InvalidParameter error("step_kelvin", -1.0, "above 0");
  EXPECT_STREQ(error.what(), "step_kelvin is -1, expected above 0");
}

}  // namespace
}  // namespace ohmward
