#include <gtest/gtest.h>

#include "batch.hpp"
#include "ohmward/assessment/explain.hpp"

namespace ohmward::assessment {
namespace {

using testing::Workshop;

uncertainty::Quantity with(double value, double u, Scale scale, Censoring censoring = Censoring::exact) {
  uncertainty::Quantity quantity{.value = value, .scale = scale, .censoring = censoring, .status = Status::sound};
  quantity.parts.set(uncertainty::Part::reading, u);
  return quantity;
}

TEST(Shown, RoundedByItsUncertaintyWithPrefix) {
  EXPECT_EQ(shown(with(2.345e9, 0.036, Scale::log), QuantityKind::insulation_resistance), "2.345\u00a0GΩ");
  EXPECT_EQ(shown(with(2.345e9, 0.2, Scale::log), QuantityKind::insulation_resistance), "2.35\u00a0GΩ");
  EXPECT_EQ(shown(with(0.0812, 0.004, Scale::linear), QuantityKind::bonding_resistance), "81.2\u00a0mΩ");
  EXPECT_EQ(shown(with(12.613, 0.037, Scale::linear), QuantityKind::resting_voltage), "12.613\u00a0V");
  EXPECT_EQ(shown(with(4e9, 0.03, Scale::log, Censoring::above), QuantityKind::insulation_resistance), "> 4\u00a0GΩ");
  EXPECT_EQ(shown(nan, QuantityKind::dc_voltage), "no value");
}

TEST(Shown, IntervalOfTwoStandardUncertainties) {
  EXPECT_EQ(shown_interval(with(100e6, 0.1, Scale::log), QuantityKind::insulation_resistance), "82 … 122\u00a0MΩ");
  EXPECT_EQ(shown_interval(with(0.09, 0.005, Scale::linear), QuantityKind::bonding_resistance), "80.0 … 100.0\u00a0mΩ");
  EXPECT_EQ(shown_interval(with(0.09, nan, Scale::linear), QuantityKind::bonding_resistance), "");
}

TEST(Explain, TellsEveryStepFromTextToNextAction) {
  Workshop workshop;
  workshop.limits = {
      {.id = "floor", .lower = 1e6, .authority = Authority::maker, .source = "service sheet", .edition = "3"}};
  const readings::Table table =
      Workshop::read("T-1,m,motor,insulation_resistance,0.40,MΩ,2024-01-01,insulation,500,,,,,,,,,,,\n");
  const instruments::Instruments meters{workshop.meters};
  const PartKinds kinds{workshop.kinds};
  const std::vector<ExplanationStep> steps = explain(table, 0, {meters, workshop.limits, kinds, workshop.settings});
  std::string all;
  for (const ExplanationStep& step : steps) all += step.step + ": " + step.text + "\n";
  for (const char* part : {"reading: 0.40 MΩ as written", "meter insulation", "compared as read",
                           "at least 1\u00a0MΩ, floor, authority: maker", "edition 3", "guard band 1 × 2 · u",
                           "verdict: fail", "next: hold; clean and dry"})
    EXPECT_NE(all.find(part), std::string::npos) << part << "\n" << all;
}

}  // namespace
}  // namespace ohmward::assessment
