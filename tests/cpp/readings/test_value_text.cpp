#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/readings/value_text.hpp"
#include "readings/number_text.hpp"

namespace ohmward::readings {
namespace {

QuantityKind quantity_of(const std::string& name) {
  for (const QuantityKindFacts& entry : quantity_kinds)
    if (entry.name == name) return entry
  .kind;
  throw std::out_of_range("no quantity " + name);
}

DecimalMark decimal_of(const std::string& name) {
  for (const DecimalMark mark : {DecimalMark::not_seen, DecimalMark::point, DecimalMark::comma, DecimalMark::mixed})
    if (name == text(mark)) return mark;
  throw std::out_of_range("no decimal mark " + name);
}

class ValueTextCase : public ::testing::TestWithParam<ohmward::testing::CheckValue> {};

TEST_P(ValueTextCase, IsReadAsWritten) {
  const auto& check = GetParam();
  const ParsedValue read = parse_value({.text = check.text("text"),
                                        .unit = check.text("unit"),
                                        .quantity = quantity_of(check.text("quantity")),
                                        .decimal = decimal_of(check.text("decimal"))});
  check.expect(read.value);
  check.expect(read.resolution, "resolution");
  EXPECT_EQ(text(read.censoring), check.text("censoring"));
  EXPECT_EQ(static_cast<int>(read.status), static_cast<int>(check.number("status"))) << read.reason;
  EXPECT_EQ(read.is_reading(), read.reason.empty()) << read.reason;
}

INSTANTIATE_TEST_SUITE_P(CheckValues, ValueTextCase, ::testing::ValuesIn(ohmward::testing::check_values("value_text")));

TEST(ValueText, UnitOfAWholeColumnYieldsToTheCellsOwn) {
  const ParsedValue read = parse_value({.text = "480k", .unit = "MΩ", .unit_is_default = true});
  EXPECT_EQ(read.value, 480e3);
}

TEST(ValueText, WorkshopWordsOutrankTheStandardMeaning) {
  const std::string over_range[] = {"1.", "--", "n/a"};
  const std::string missing[] = {"entfällt", "OL"};
  const Words words{over_range, missing};
  EXPECT_EQ(parse_value({.text = "1.", .unit = "MΩ"}, words).censoring, Censoring::overload);
  EXPECT_EQ(parse_value({.text = "--"}, words).censoring, Censoring::overload);
  EXPECT_EQ(parse_value({.text = "N/A"}, words).censoring, Censoring::overload);
  EXPECT_EQ(parse_value({.text = "Entfällt"}, words).status, Status::missing_input);
  EXPECT_EQ(parse_value({.text = "ol"}, words).status, Status::missing_input);
}

TEST(ValueText, AWordInBothListsIsRefused) {
  const std::string word[] = {"xx"};
  EXPECT_THROW(Words(word, word), InvalidParameter);
  const std::string blank[] = {" "};
  EXPECT_THROW(Words(blank, {}), InvalidParameter);
}

TEST(ValueText, ReasonsNameWhatWasExpected) {
  EXPECT_NE(parse_value({.text = "2.3 V"}).reason.find("expected Ω"), std::string::npos);
  EXPECT_NE(parse_value({.text = "1,234", .unit = "MΩ"}).reason.find("'1,234'"), std::string::npos);
}

TEST(NumberColumn, ReadsTheUnitOfItsNameAndOthersOfTheSameDimension) {
  EXPECT_EQ(parse_number("500", NumberName::test_voltage_volt).value, 500);
  EXPECT_EQ(parse_number("1 kV", NumberName::test_voltage_volt).value, 1000);
  EXPECT_EQ(parse_number("8,2", NumberName::capacitance_farad, "nF").value, 8.2e-9);
  EXPECT_EQ(parse_number("200 mA", NumberName::test_ampere).value, 0.2);
  EXPECT_EQ(parse_number("10 min", NumberName::elapsed_second).value, 600);
  EXPECT_EQ(parse_number("90 min", NumberName::rest_hour).value, 1.5);
  EXPECT_EQ(parse_number("3", NumberName::rest_hour).value, 3);
  EXPECT_EQ(parse_number("85 %", NumberName::humidity_percent).value, 85);
}

TEST(NumberColumn, RefusesWhatCanNotBe) {
  EXPECT_EQ(parse_number("-274", NumberName::part_celsius).status, Status::out_of_domain);
  EXPECT_EQ(parse_number("101", NumberName::humidity_percent).status, Status::out_of_domain);
  EXPECT_EQ(parse_number("-1", NumberName::rest_hour).status, Status::out_of_domain);
  EXPECT_EQ(parse_number("nan", NumberName::step).status, Status::unreadable_text);
  EXPECT_EQ(parse_number("OL", NumberName::applied_volt).status, Status::unreadable_text);
  EXPECT_EQ(parse_number("1,234", NumberName::applied_volt).status, Status::ambiguous_text);
  EXPECT_EQ(parse_number("12 V", NumberName::capacitance_farad).status, Status::unreadable_text);
  EXPECT_EQ(parse_number("-", NumberName::applied_volt).status, Status::missing_input);
  EXPECT_TRUE(std::isnan(parse_number("", NumberName::applied_volt).value));
}

// The short way (one exact product or quotient) must agree with the long one for every power it takes.
TEST(DecimalToDouble, IsTheNearestDouble) {
  for (int power = -40; power <= 40; ++power)
    for (const std::uint64_t digits :
         {1ULL, 7ULL, 23ULL, 12345678901234567ULL, 9007199254740993ULL, 9999999999999999999ULL}) {
      const double expected = std::strtod((std::to_string(digits) + "e" + std::to_string(power)).c_str(), nullptr);
      EXPECT_EQ(decimal_to_double(digits, power), expected) << digits << "e" << power;
    }
}

}  // namespace
}  // namespace ohmward::readings
