#include <gtest/gtest.h>

#include <cmath>

#include "batch.hpp"
#include "ohmward/assessment/explain.hpp"
#include "ohmward/assessment/together.hpp"

namespace ohmward::assessment {
namespace {

using conformity::Undecided;
using conformity::Verdict;
using testing::Workshop;

/// Rows under a header of their own, and what they are judged with.
struct Batch {
  explicit Batch(std::string_view rows, Workshop with) : workshop(std::move(with)) {
    std::string text =
        "object_id,part,part_kind,quantity,value,unit,taken_at,instrument_id,test_voltage_volt,part_celsius,"
        "capacitance_farad,stage,job_id,step,run_id,elapsed_second,early_second,pair_id,from_point,to_point,"
        "connected\n";
    readings::Parsed parsed = readings::parse(text.append(rows));
    if (!parsed.rejected.empty())
      throw std::runtime_error(parsed.rejected.front().column + ": " + parsed.rejected.front().why);
    table = std::move(parsed.table);
    meters = instruments::Instruments{workshop.meters};
    kinds = PartKinds{workshop.kinds};
  }
  [[nodiscard]] Context context() const { return {meters, workshop.limits, kinds, workshop.settings}; }
  [[nodiscard]] Results results(const Screened& screened = {}) const { return assess(table, context(), screened); }
  [[nodiscard]] RowAssessment row(std::size_t index) const { return assess_row(table, index, context()); }

  Workshop workshop;
  readings::Table table;
  instruments::Instruments meters;
  PartKinds kinds;
};

Workshop plant(double gain_share = 0) {
  Workshop workshop;
  for (instruments::Range& range : workshop.meters[0].ranges) {
    range.high = 100e9;
    range.counts = 0;
    range.gain_share = gain_share;
  }
  workshop.kinds = {{.id = "large",
                     .law = temperature::law(temperature::Halving{.step_kelvin = 10}),
                     .capacitance_low_farad = 100e-9,
                     .capacitance_high_farad = 500e-9},
                    {.id = "traction",
                     .law = temperature::law(temperature::Halving{.step_kelvin = 10}),
                     .capacitance_low_farad = 3e-9,
                     .capacitance_high_farad = 20e-9},
                    {.id = "unknown capacitance"}};
  workshop.limits = {{.id = "index",
                      .quantity = QuantityKind::insulation_ratio,
                      .lower = 2,
                      .times = {.late_second = 600, .early_second = 60}}};
  return workshop;
}

std::string reading(std::string_view kind, std::string_view value, int second, std::string_view celsius = "40") {
  return std::string("M-1,winding,")
      .append(kind)
      .append(",insulation_resistance,")
      .append(value)
      .append(",GΩ,2024-01-01,insulation,1000,")
      .append(celsius)
      .append(",,,,,R-1,")
      .append(std::to_string(second))
      .append(",,,,,\n");
}

std::string run(std::string_view kind, std::string_view early, std::string_view late, std::string_view celsius = "40") {
  return reading(kind, early, 60, celsius) + reading(kind, late, 600, celsius);
}

RowAssessment index_of(std::string_view rows, const Workshop& workshop = plant()) {
  const Batch batch(rows, workshop);
  EXPECT_EQ(batch.results().derived.size(), 1U);
  return batch.row(batch.table.rows());
}

TEST(RunRatio, IsJudgedAgainstTheLimitOfItsTimes) {
  EXPECT_EQ(index_of(run("large", "1.00", "2.50")).judgement.verdict, Verdict::pass);
  EXPECT_EQ(index_of(run("large", "1.00", "2.02")).judgement.verdict, Verdict::conditional_pass);
  EXPECT_EQ(index_of(run("large", "1.00", "1.50")).judgement.verdict, Verdict::fail);
  Workshop other = plant();
  other.limits[0].times = {.late_second = 60, .early_second = 30};
  EXPECT_TRUE(Batch(run("large", "1.00", "2.50"), other).results().derived.empty());
}

// u of one reading: 3 %/√3 = 1.732 %; of a ratio without a common share √2 times that, with g = 0.8 cancelled
// √2·√(1 − 0.64) times that.
TEST(RunRatio, TheDeclaredCommonShareCancels) {
  const double one = 0.03 / std::sqrt(3.0);
  EXPECT_NEAR(index_of(run("large", "1.00", "2.50")).measured.standard_uncertainty(), std::sqrt(2.0) * one, 1e-12);
  EXPECT_NEAR(index_of(run("large", "1.00", "2.50"), plant(0.8)).measured.standard_uncertainty(),
              std::sqrt(2.0 * 0.36) * one, 1e-12);
}

// ln R straight in ln t: halfway in ln t between 100 s and 900 s lies 300 s.
TEST(RunRatio, BetweenReadingsTheLogarithmRunsStraightInTheLogarithmOfTime) {
  Workshop workshop = plant();
  workshop.limits[0].times = {.late_second = 300, .early_second = 60};
  const std::string rows = reading("large", "1.00", 60) + reading("large", "2.00", 100) + reading("large", "8.00", 900);
  EXPECT_NEAR(index_of(rows, workshop).measured.value, 4.0, 1e-12);
}

TEST(RunRatio, ACensoredEndIsABound) {
  const RowAssessment above = index_of(run("large", "1.00", ">4"));
  EXPECT_EQ(above.measured.censoring, Censoring::above);
  EXPECT_NEAR(above.measured.value, 4.0, 1e-12);
  EXPECT_EQ(above.judgement.verdict, Verdict::pass);
  EXPECT_EQ(index_of(run("large", "1.00", ">1.5")).judgement.verdict, Verdict::undetermined);
}

// 20 nF at 0.5 GΩ: R_a = 600/(2π·20e-9·0.2) = 23.9 GΩ, so at most about 1.02.
TEST(RunRatio, APartThatCouldNotShowTheLimitNeitherPassesNorFails) {
  for (const char* late : {"0.50", "1.50"}) {
    const RowAssessment index = index_of(run("traction", "0.50", late));
    EXPECT_EQ(index.judgement.verdict, Verdict::undetermined) << late;
    EXPECT_EQ(index.judgement.undecided, Undecided::not_decidable);
    EXPECT_TRUE(index.findings.has(Finding::can_not_show_more));
    EXPECT_EQ(index.action, NextAction::nothing_to_learn);
    EXPECT_NEAR(index.attainable.value, 1.02, 0.002);
  }
}

TEST(RunRatio, AboveFiveGigaohmTheIndexIsNoCriterion) {
  EXPECT_EQ(index_of(run("large", "6.00", "6.60")).judgement.verdict, Verdict::none);
  EXPECT_TRUE(index_of(run("large", "6.00", "6.60")).findings.has(Finding::above_5_gigaohm));
  // 4 GΩ at 50 °C are 8 GΩ at 40 °C: only one of the two lies above.
  const RowAssessment one = index_of(run("large", "4.00", "4.40", "50"));
  EXPECT_EQ(one.judgement.verdict, Verdict::undetermined);
  EXPECT_EQ(one.judgement.undecided, Undecided::not_decidable);
  // Without a part temperature both ends have to agree: 1 GΩ at 70 °C would be 8 GΩ, 0.6 GΩ would be 4.8 GΩ.
  EXPECT_EQ(index_of(run("large", "1.00", "1.10", "")).action, NextAction::write_temperature);
  EXPECT_EQ(index_of(run("large", "0.60", "0.61", "")).judgement.verdict, Verdict::fail);
}

// 100 nF … 500 nF, 0.04 GΩ: at 500 nF R_a is 0.955 GΩ, so at most about 1.04; a limit of 1.02 could be shown.
TEST(RunRatio, ARiseThatAbsorptionCanNotExplainDoesNotPass) {
  Workshop workshop = plant();
  workshop.limits[0].lower = 1.02;
  const RowAssessment index = index_of(run("large", "0.04", "0.06"), workshop);
  EXPECT_TRUE(index.findings.has(Finding::ratio_above_attainable));
  EXPECT_EQ(index.judgement.verdict, Verdict::undetermined);
  EXPECT_EQ(index.action, NextAction::run_again);
}

TEST(RunRatio, WithoutACapacitanceWhatThePartCanShowStaysOpen) {
  const RowAssessment index = index_of(run("unknown capacitance", "1.00", "2.50"));
  EXPECT_EQ(index.judgement.verdict, Verdict::undetermined);
  EXPECT_TRUE(index.findings.has(Finding::ratio_alone));
}

TEST(RunRatio, TheRowAtOneMinuteStandsForTheRunAndAWrittenRatioGivesWay) {
  const std::string written =
      "M-1,winding,large,insulation_ratio,2.6,,2024-01-01,insulation,1000,40,,,,,R-1,600,60,,,,\n"
      "M-1,winding,large,insulation_ratio,2.6,,2024-01-01,insulation,1000,40,,,,,R-1,,,,,,\n";
  const Batch batch(run("large", "1.00", "2.50") + written, plant());
  const Results results = batch.results();
  EXPECT_EQ(results.current, (std::vector<std::uint8_t>{1, 0, 0, 0, 1}));
  EXPECT_EQ(results.verdict[2], Verdict::pass);  // with the uncertainty of its run
  EXPECT_EQ(results.verdict[3], Verdict::undetermined);
  EXPECT_TRUE(Findings{results.findings[3]}.has(Finding::ratio_times_missing));
}

TEST(RunRatio, AnUnpluggingLadderIsNoRun) {
  std::string rows = run("large", "1.00", "2.50");
  rows.insert(rows.find('\n'), "motor+heater");
  rows.insert(rows.rfind('\n'), "motor");
  EXPECT_TRUE(Batch(rows, plant()).results().derived.empty());
}

TEST(RunRatio, ExplainsWhatThePartCouldShow) {
  const Batch batch(run("traction", "0.50", "0.50"), plant());
  std::string all;
  for (const ExplanationStep& step : explain(batch.table, 2, batch.context()))
    all += step.step + ": " + step.text + "\n";
  for (const char* part : {"600 s over 60 s of run R-1, 2 readings", "this part can not show more", "up to 1.02"})
    EXPECT_NE(all.find(part), std::string::npos) << part << "\n" << all;
}

// Repeats
// --------------------------------------------------------------------------------------------------------------

Workshop repeated(std::optional<Repeats> rule) {
  Workshop workshop;
  workshop.limits = {{.id = "bonding",
                      .quantity = QuantityKind::bonding_resistance,
                      .upper = 0.1,
                      .repeats = rule,
                      .rule = conformity::simple()}};
  return workshop;
}

std::string bonding(std::string_view value, int step) {
  return std::string("T-1,strap,housing,bonding_resistance,")
      .append(value)
      .append(",Ω,2024-01-01,bonding,,,,after_work,J-1,")
      .append(std::to_string(step))
      .append(",,,,,,,\n");
}

std::string three_readings() { return bonding("0.080", 1) + bonding("0.110", 2) + bonding("0.095", 3); }

TEST(Repeats, TheLastDecidesUnlessSomethingElseIsSaid) {
  const Results results = Batch(three_readings(), repeated({})).results();
  EXPECT_TRUE(results.derived.empty());
  EXPECT_EQ(results.current, (std::vector<std::uint8_t>{0, 0, 1}));
}

TEST(Repeats, TheWorstDecidesWhereItsLimitSaysSo) {
  const Results results = Batch(three_readings(), repeated(Repeats::worst)).results();
  EXPECT_EQ(results.current, (std::vector<std::uint8_t>{0, 1, 0}));
  EXPECT_TRUE(Findings{results.findings[1]}.has(Finding::repeat_combined));
}

// Mean 0.095, s = 0.015, s/√3 = 8.66 mΩ; meter at its least certain reading: (1 % · 0.110 + 2 mΩ)/√3.
TEST(Repeats, AMeanCarriesItsScatterBesideTheMeter) {
  const Batch batch(three_readings(), repeated(Repeats::mean));
  const Results results = batch.results();
  ASSERT_EQ(results.derived.size(), 1U);
  EXPECT_EQ(results.current, (std::vector<std::uint8_t>{0, 0, 0, 1}));
  const RowAssessment mean = batch.row(3);
  EXPECT_NEAR(mean.measured.value, 0.095, 1e-12);
  EXPECT_NEAR(mean.measured.parts[uncertainty::Part::repeat], 0.015 / std::sqrt(3.0), 1e-12);
  EXPECT_NEAR(mean.measured.parts[uncertainty::Part::reading], 0.0031 / std::sqrt(3.0), 1e-12);
  EXPECT_TRUE(mean.findings.has(Finding::repeat_combined));
}

// Three equal displays of 1 mΩ steps tell no less than step/√12 a reading (JCGM 100:2008 F.2.2.1).
TEST(Repeats, EqualDisplaysKeepTheFloorOfTheDisplayStep) {
  const Batch batch(bonding("0.080", 1) + bonding("0.080", 2) + bonding("0.080", 3), repeated(Repeats::mean));
  const double repeat = batch.row(3).measured.parts[uncertainty::Part::repeat];
  EXPECT_GE(repeat, 0.001 / std::sqrt(12.0) / std::sqrt(3.0));
  EXPECT_LE(repeat, 0.001 / std::sqrt(12.0));
}

TEST(Repeats, TheSettingsSpeakWhereTheLimitDoesNot) {
  Workshop workshop = repeated({});
  workshop.settings.repeats = Repeats::mean;
  EXPECT_EQ(Batch(three_readings(), workshop).results().derived.size(), 1U);
  workshop.limits[0].repeats = Repeats::last;
  EXPECT_TRUE(Batch(three_readings(), workshop).results().derived.empty());
}

TEST(Repeats, ARowThatWasEnteredTwiceRepeatsNothing) {
  EXPECT_TRUE(Batch(bonding("0.080", 1) + bonding("0.080", 1), repeated(Repeats::mean)).results().derived.empty());
}

TEST(Repeats, ABoundAmongThemMakesTheMeanABound) {
  Workshop workshop;
  workshop.limits = {{.id = "floor", .lower = 1e6, .repeats = Repeats::mean}};
  const auto row = [](std::string_view value, int step) {
    return std::string("T-1,m,motor,insulation_resistance,")
        .append(value)
        .append(",MΩ,2024-01-01,insulation,500,,,,J-1,")
        .append(std::to_string(step))
        .append(",,,,,,,\n");
  };
  const Batch batch(row("100.00", 1) + row(">400.00", 2), workshop);
  const RowAssessment mean = batch.row(2);
  EXPECT_EQ(mean.measured.censoring, Censoring::above);
  EXPECT_NEAR(mean.measured.value, 200e6, 1);
}

// Pairs
// ----------------------------------------------------------------------------------------------------------------

std::string dried(std::string_view value, int step) {
  return std::string("T-1,heater,large,insulation_resistance,")
      .append(value)
      .append(",GΩ,2024-01-01,insulation,1000,,,,J-1,")
      .append(std::to_string(step))
      .append(",,,,P-1,,,\n");
}

TEST(Pairs, TheRatioIsFreeOfTheCommonShare) {
  const Batch batch(dried("1.50", 2) + dried("1.00", 1), plant(0.8));
  const std::vector<PairSummary> found = pairs(batch.table, batch.context());
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].before, 1U);
  EXPECT_NEAR(found[0].ratio.value, 1.5, 1e-12);
  EXPECT_NEAR(found[0].ratio.standard_uncertainty(), std::sqrt(2.0 * 0.36) * 0.03 / std::sqrt(3.0), 1e-12);
  EXPECT_EQ(found[0].change, Change::rose);
}

TEST(Pairs, ADifferenceWithinTheMeterIsNone) {
  const auto change = [](std::string_view after) {
    const Batch batch(dried("1.00", 1) + dried(after, 2), plant());
    return pairs(batch.table, batch.context())[0].change;
  };
  EXPECT_EQ(change("1.04"), Change::within_uncertainty);
  EXPECT_EQ(change("1.06"), Change::rose);  // 2u = 4.9 %
  EXPECT_EQ(change("0.90"), Change::fell);
  EXPECT_EQ(change(">2"), Change::rose);
  EXPECT_EQ(change(">0.5"), Change::not_known);
}

// A drifting meter
// -----------------------------------------------------------------------------------------------------

struct Drifted {
  Verdict verdict;
  Findings findings;
};
Drifted drifted(std::string_view value, std::optional<double> factor) {
  Workshop workshop;
  workshop.limits = {{.id = "floor", .lower = 1e6}};
  const Batch batch(std::string("T-1,m,motor,insulation_resistance,")
                        .append(value)
                        .append(",MΩ,2024-01-01,insulation,500,,,,,,,,,,,,\n"),
                    workshop);
  const std::vector<std::uint64_t> marks{Findings{Finding::meter_drift_suspected}.bits()};
  const std::vector<double> factors{factor.value_or(1)};
  Screened screened{.findings = marks};
  if (factor) screened.meter_factor = factors;
  const Results results = batch.results(screened);
  return {results.verdict[0], Findings{results.findings[0]}};
}

TEST(DriftingMeter, AVerdictThatHoldsWithItsUncertaintyWidenedStays) {
  const Drifted far = drifted("500.00", 7);
  EXPECT_EQ(far.verdict, Verdict::pass);
  EXPECT_TRUE(far.findings.has(Finding::meter_drift_tolerated));
  EXPECT_FALSE(far.findings.has(Finding::meter_drift_suspected));
}

TEST(DriftingMeter, APassThatDoesNotHoldIsTakenBack) {
  const Drifted near = drifted("1.10", 7);  // 5 % u(ln R) wide, 3.5 % by the sheet
  EXPECT_EQ(near.verdict, Verdict::conditional_pass);
  EXPECT_TRUE(near.findings.has(Finding::meter_drift_suspected));
}

TEST(DriftingMeter, AFailIsNeverTakenBack) { EXPECT_EQ(drifted("0.90", 7).verdict, Verdict::fail); }

TEST(DriftingMeter, WithoutAFactorItCanNotPass) {
  EXPECT_EQ(drifted("500.00", std::nullopt).verdict, Verdict::undetermined);
}

}  // namespace
}  // namespace ohmward::assessment
