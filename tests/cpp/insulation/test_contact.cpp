#include <gtest/gtest.h>

#include "ohmward/insulation/contact.hpp"

namespace ohmward::insulation {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

Quantity over_range() {
  return {.value = 4e9, .scale = Scale::log, .censoring = Censoring::above, .status = Status::bound_only};
}
Quantity farad(double value, double u) {
  Quantity quantity{.value = value, .status = Status::sound};
  quantity.parts.set(Part::reading, u);
  return quantity;
}

TEST(Contact, OverRangeAloneShowsNothing) {
  const Quantity reading = over_range();
  EXPECT_EQ(contact({.reading = reading}), Contact::not_shown);
  Quantity unknown = reading;
  unknown.censoring = Censoring::overload;
  EXPECT_EQ(contact({.reading = unknown}), Contact::not_shown);
  Quantity nothing = reading;
  nothing.censoring = Censoring::exact;
  nothing.value = nan;
  EXPECT_EQ(contact({.reading = nothing}), Contact::not_shown);
}

TEST(Contact, AReadingInRangeDrewACurrent) {
  const Quantity reading{.value = 2e9, .scale = Scale::log, .status = Status::sound};
  EXPECT_EQ(contact({.reading = reading}), Contact::by_reading);
}

TEST(Contact, EachPieceOfEvidenceCountsBeyondItsEdge) {
  const Quantity reading = over_range();
  EXPECT_EQ(contact({.reading = reading, .capacitance = farad(8e-9, 0.4e-9)}), Contact::by_capacitance);
  EXPECT_EQ(contact({.reading = reading, .capacitance = farad(1.5e-9, 0.4e-9)}), Contact::not_shown);
  EXPECT_EQ(contact({.reading = reading, .capacitance = farad(0.2e-9, 0.01e-9)}), Contact::not_shown);
  EXPECT_EQ(contact({.reading = reading, .known_resistor_ohm = 1e6, .reading_with_resistor_ohm = 0.97e6}),
            Contact::by_resistor);
  EXPECT_EQ(contact({.reading = reading, .known_resistor_ohm = 1e6, .reading_with_resistor_ohm = 4e9}),
            Contact::not_shown);
  EXPECT_EQ(contact({.reading = reading, .lead_ohm = 0.3}), Contact::by_lead);
  EXPECT_EQ(contact({.reading = reading, .lead_ohm = 40}), Contact::not_shown);
  EXPECT_EQ(contact({.reading = reading, .lead_ohm = -0.1}), Contact::not_shown);
  EXPECT_EQ(contact({.reading = reading, .charging_seen = true}), Contact::by_charging);
}

}  // namespace
}  // namespace ohmward::insulation
