#include <gtest/gtest.h>

#include <cmath>

#include "batch.hpp"

namespace ohmward::assessment {
namespace {

using conformity::Undecided;
using conformity::Verdict;
using testing::Workshop;

LimitEntry insulation_limit(double lower) { return {.id = "floor", .lower = lower}; }

Workshop insulation(LimitEntry limit) {
  Workshop workshop;
  workshop.limits = {std::move(limit)};
  return workshop;
}

TEST(Assess, InsulationIsComparedAsReadWhereTheLimitNamesNoReference) {
  const RowAssessment row =
      insulation(insulation_limit(1e6))
          .judge_one("T-1,motor_rear,motor,insulation_resistance,5.00,MΩ,2024-01-01,insulation,500,60,,,,,,,,,,\n");
  EXPECT_EQ(row.judgement.verdict, Verdict::pass);
  EXPECT_EQ(row.compared.value, 5e6);
  EXPECT_FALSE(row.findings.has(Finding::corrected));
  EXPECT_EQ(row.action, NextAction::none);
}

// 15 MΩ at 70 °C is 120 MΩ at 40 °C under the halving law with a step of 10 K.
TEST(Assess, CorrectedToTheReferenceOfTheLimit) {
  LimitEntry limit = insulation_limit(100e6);
  limit.reference_celsius = 40;
  const RowAssessment row = insulation(limit).judge_one(
      "T-1,motor_rear,motor,insulation_resistance,15.00,MΩ,2024-01-01,insulation,500,70,1,,,,,,,,,\n");
  EXPECT_NEAR(row.compared.value, 120e6, 1e-6);
  EXPECT_TRUE(row.findings.has(Finding::corrected));
  // Parts: meter (3 % + 2·10 kΩ/15 MΩ)/√3, temperature ln 2/10 · 1 K, law ln 2 · 30 K/10 K · 0.1.
  const double meter = (0.03 + 2e4 / 15e6) / std::sqrt(3.0);
  const double expected =
      std::sqrt(meter * meter + std::pow(std::log(2.0) / 10, 2) + std::pow(std::log(2.0) * 3 * 0.1, 2));
  EXPECT_NEAR(row.compared.standard_uncertainty(), expected, 1e-12);
  EXPECT_EQ(row.judgement.verdict, Verdict::conditional_pass);
}

TEST(Assess, WithoutALawALimitAtAReferenceDecidesNothing) {
  LimitEntry limit = insulation_limit(1e6);
  limit.reference_celsius = 40;
  const RowAssessment row = insulation(limit).judge_one(
      "T-1,inverter,converter,insulation_resistance,900,MΩ,2024-01-01,insulation,500,20,,,,,,,,,,\n");
  EXPECT_EQ(row.judgement.verdict, Verdict::undetermined);
  EXPECT_TRUE(row.findings.has(Finding::no_law_for_reference));
  EXPECT_EQ(row.action, NextAction::ask_for_law);
}

TEST(Assess, AMissingTemperatureIsBoundedByBothEnds) {
  LimitEntry limit = insulation_limit(5e6);
  limit.reference_celsius = 40;
  const Workshop workshop = insulation(limit);
  const auto verdict = [&](const std::string& value) {
    return workshop.judge_one("T-1,m,motor,insulation_resistance," + value + ",2024-01-01,insulation,1000,,,,,,,,,,,\n")
        .judgement;
  };
  EXPECT_EQ(verdict("3.90,GΩ").verdict, Verdict::pass);           // 86 MΩ at the cold end
  EXPECT_EQ(verdict("100.0,MΩ").verdict, Verdict::undetermined);  // 2.2 MΩ cold, 800 MΩ warm
  EXPECT_EQ(verdict("100.0,MΩ").undecided, Undecided::missing_context);
  EXPECT_EQ(verdict("0.20,MΩ").verdict, Verdict::fail);
}

TEST(Assess, AWholeVehicleMinimumCanFailAPartButNeverPassOne) {
  LimitEntry limit{.id = "vehicle", .per_volt = 100, .working_volt = 650, .whole = true};
  const Workshop workshop = insulation(limit);
  const auto row = [&](const std::string& kind, const std::string& value) {
    return workshop.judge_one("T-1,p," + kind + ",insulation_resistance," + value +
                              ",2024-01-01,insulation,500,,,,,,,,,,,\n");
  };
  EXPECT_EQ(row("converter", "5.00,MΩ").judgement.verdict, Verdict::undetermined);
  EXPECT_EQ(row("converter", "5.00,MΩ").action, NextAction::ask_for_limit);
  EXPECT_EQ(row("converter", "10.0,kΩ").judgement.verdict, Verdict::fail);
  EXPECT_EQ(row("whole_system", "5.00,MΩ").judgement.verdict, Verdict::pass);
}

TEST(Assess, AnOverRangeReadingNeedsContact) {
  const Workshop workshop = insulation(insulation_limit(1e6));
  const auto row = [&](const std::string& capacitance) {
    return workshop.judge_one("T-1,m,motor,insulation_resistance,OL,,2024-01-01,insulation,500,,,," + capacitance +
                              ",,,,,,,\n");
  };
  EXPECT_EQ(row("").judgement.verdict, Verdict::conditional_pass);
  EXPECT_TRUE(row("").findings.has(Finding::contact_not_shown));
  EXPECT_EQ(row("").action, NextAction::show_contact);
  EXPECT_EQ(row("10e-9").judgement.verdict, Verdict::pass);
  EXPECT_EQ(row("0.05e-9").judgement.verdict, Verdict::conditional_pass);
}

TEST(Assess, AKnownResistorOfTheSameDayShowsContact) {
  const std::vector<RowAssessment> rows =
      insulation(insulation_limit(1e6))
          .judge(
              "S-1,check_resistor,,insulation_resistance,10.0,MΩ,2024-01-01,insulation,500,,,,,meter_check,,,,,10,\n"
              "T-1,m,motor,insulation_resistance,OL,,2024-01-01,insulation,500,,,,,,,,,,,\n"
              "T-1,m,motor,insulation_resistance,OL,,2024-01-02,insulation,500,,,,,,,,,,,\n");
  EXPECT_EQ(rows[0].judgement.verdict, Verdict::none);
  EXPECT_EQ(rows[1].judgement.verdict, Verdict::pass);
  EXPECT_EQ(rows[2].judgement.verdict, Verdict::conditional_pass);
}

TEST(Assess, OverRangeWithoutMeterOrTestVoltageDecidesNothing) {
  const Workshop workshop = insulation(insulation_limit(1e6));
  for (const std::string row : {"T-1,m,motor,insulation_resistance,OL,,2024-01-01,,500,,,,,,,,,,,\n",
                                "T-1,m,motor,insulation_resistance,OL,,2024-01-01,insulation,,,,,,,,,,,,\n"})
    EXPECT_EQ(workshop.judge_one(row).judgement.verdict, Verdict::undetermined) << row;
}

TEST(Assess, TheRequiredTestVoltageHasToBeReached) {
  LimitEntry limit = insulation_limit(0.2e6);
  limit.required_test_voltage_volt = 500;
  const Workshop workshop = insulation(limit);
  const auto row = [&](const std::string& value, const std::string& volt) {
    return workshop.judge_one("T-1,m,motor,insulation_resistance," + value + ",MΩ,2024-01-01,insulation," + volt +
                              ",,,,,,,,,,,\n");
  };
  EXPECT_EQ(row("5.00", "500").judgement.verdict, Verdict::pass);
  EXPECT_EQ(row("5.00", "").judgement.verdict, Verdict::undetermined);
  // 0.4 MΩ at 1 mA holds 400 V only.
  EXPECT_EQ(row("0.40", "500").judgement.verdict, Verdict::undetermined);
  EXPECT_EQ(row("0.40", "500").action, NextAction::read_at_required_voltage);
  EXPECT_EQ(row("0.01", "500").judgement.verdict, Verdict::fail);
}

Workshop bonding() {
  Workshop workshop;
  workshop.limits = {{.id = "bond",
                      .quantity = QuantityKind::bonding_resistance,
                      .upper = 0.1,
                      .strict = true,
                      .required_test_ampere = 0.2}};
  return workshop;
}

TEST(Assess, BondingOnALinearScale) {
  const Workshop workshop = bonding();
  const auto row = [&](const std::string& value, const std::string& ampere) {
    return workshop.judge_one("T-1,h,housing,bonding_resistance," + value + ",Ω,2024-01-01,bonding,,,," + ampere +
                              ",,,,,,,,\n");
  };
  EXPECT_EQ(row("0.020", "").judgement.verdict, Verdict::pass);
  EXPECT_EQ(row("-0.003", "").judgement.verdict, Verdict::pass);
  EXPECT_EQ(row("0.099", "").judgement.verdict, Verdict::conditional_pass);
  EXPECT_EQ(row("0.100", "").judgement.verdict, Verdict::conditional_fail);  // "below" 0.1 Ω
  EXPECT_EQ(row("0.200", "").judgement.verdict, Verdict::fail);
  EXPECT_EQ(row("0.200", "").action, NextAction::remake_joint);
  EXPECT_EQ(row("OL", "").judgement.verdict, Verdict::fail);
  EXPECT_EQ(row("0.020", "0.001").judgement.verdict, Verdict::undetermined);
  EXPECT_EQ(row("0.020", "0.001").action, NextAction::read_at_required_current);
}

TEST(Assess, ADeadCheckCountsOnlyBetweenTwoGoodChecks) {
  Workshop workshop;
  workshop.limits = {{.id = "near-zero", .quantity = QuantityKind::dc_voltage, .upper = 6}};
  const std::string before = "T-1,known_source,,dc_voltage,25.1,V,2024-01-01,volt,,,,,,meter_check,J-1,1,,,25.1,\n";
  const std::string dead = "T-1,hv_bus,hv_bus,dc_voltage,0.10,V,2024-01-01,volt,,,,,,,J-1,2,hv_plus,hv_minus,,\n";
  const std::string after = "T-1,known_source,,dc_voltage,25.1,V,2024-01-01,volt,,,,,,meter_check,J-1,3,,,25.1,\n";
  const std::string failed = "T-1,known_source,,dc_voltage,0.00,V,2024-01-01,volt,,,,,,meter_check,J-1,3,,,25.1,\n";
  EXPECT_EQ(workshop.judge(before + dead + after)[1].judgement.verdict, Verdict::pass);
  EXPECT_EQ(workshop.judge(before + dead)[1].judgement.verdict, Verdict::undetermined);
  EXPECT_EQ(workshop.judge(dead + after)[0].judgement.verdict, Verdict::undetermined);
  EXPECT_EQ(workshop.judge(before + dead + failed)[1].judgement.verdict, Verdict::undetermined);
  EXPECT_EQ(workshop.judge(before + dead + failed)[1].action, NextAction::prove_meter);
}

/// With the probes exchanged a live pair reads below zero: its size decides, not its sign.
TEST(Assess, AVoltageWithExchangedProbesIsNoLess) {
  Workshop workshop;
  workshop.limits = {{.id = "near-zero", .quantity = QuantityKind::dc_voltage, .upper = 6}};
  const std::string source = "T-1,known_source,,dc_voltage,25.1,V,2024-01-01,volt,,,,,,meter_check,J-1,,,,25.1,\n";
  const auto between = [&](const std::string& shown) {
    const std::string dead =
        "T-1,hv_bus,hv_bus,dc_voltage," + shown + ",V,2024-01-01,volt,,,,,,,J-1,,hv_plus,hv_minus,,\n";
    return workshop.judge(source + dead + source)[1];
  };
  EXPECT_EQ(between("-400").judgement.verdict, Verdict::fail);
  EXPECT_EQ(between("-400").judgement.verdict, between("400").judgement.verdict);
  EXPECT_EQ(between("-400").measured.value, -400);
  EXPECT_EQ(between("-0.10").judgement.verdict, Verdict::pass);
}

TEST(Assess, ABatteryOnChargeNeverPasses) {
  Workshop workshop;
  workshop.limits = {{.id = "rest", .quantity = QuantityKind::resting_voltage, .lower = 12.0}};
  const auto row = [&](const std::string& value) {
    return workshop.judge_one("T-1,battery_a,battery_12v,resting_voltage," + value +
                              ",V,2024-01-01,volt,,,,,,,,,,,,\n");
  };
  EXPECT_EQ(row("12.60").judgement.verdict, Verdict::pass);
  EXPECT_EQ(row("14.10").judgement.verdict, Verdict::undetermined);
  EXPECT_TRUE(row("14.10").findings.has(Finding::being_charged));
}

TEST(Assess, DoubtMarksAndNoLimitGiveNoVerdict) {
  Workshop workshop = bonding();
  EXPECT_EQ(workshop.judge_one("T-1,h,housing,bonding_resistance,0.02,Ω,2024-01-01,bonding,,,,,,,,,,,,wrong point\n")
                .judgement.verdict,
            Verdict::none);
  workshop.limits.clear();
  const RowAssessment row =
      workshop.judge_one("T-1,h,housing,bonding_resistance,0.02,Ω,2024-01-01,bonding,,,,,,,,,,,,\n");
  EXPECT_EQ(row.judgement.verdict, Verdict::none);
  EXPECT_TRUE(row.findings.has(Finding::no_limit_applies));
}

TEST(Assess, ASuspicionTakesBackAPassButNotAFail) {
  const Workshop workshop = bonding();
  const readings::Table table = Workshop::read(
      "T-1,h,housing,bonding_resistance,0.02,Ω,2024-01-01,bonding,,,,,,,,,,,,\n"
      "T-1,h,housing,bonding_resistance,5.0,Ω,2024-01-01,bonding,,,,,,,,,,,,\n");
  const instruments::Instruments meters{workshop.meters};
  const PartKinds kinds{workshop.kinds};
  const Context context{meters, workshop.limits, kinds, workshop.settings};
  const std::vector<std::uint64_t> marks(2, Findings{Finding::copied_suspected}.bits());
  const Results results = assess(table, context, {.findings = marks});
  EXPECT_EQ(results.verdict[0], Verdict::undetermined);
  EXPECT_EQ(results.verdict[1], Verdict::fail);
  EXPECT_EQ(results.action[0], NextAction::repeat_inspection);
}

TEST(Assess, TheResultDoesNotDependOnThreads) {
  Workshop workshop = bonding();
  std::string rows;
  for (int i = 0; i < 60000; ++i)
    rows +=
        "T-1,h,housing,bonding_resistance," + std::to_string(0.001 * (i % 150)) + ",Ω,2024-01-01,bonding,,,,,,,,,,,,\n";
  const readings::Table table = Workshop::read(rows);
  const instruments::Instruments meters{workshop.meters};
  const PartKinds kinds{workshop.kinds};
  const auto run = [&](int threads) {
    workshop.settings.threads = threads;
    return assess(table, {meters, workshop.limits, kinds, workshop.settings});
  };
  const Results one = run(1);
  for (const int threads : {2, 3, 7}) {
    const Results many = run(threads);
    EXPECT_EQ(one.verdict, many.verdict) << threads;
    EXPECT_EQ(one.probability_of_conformity, many.probability_of_conformity) << threads;
  }
}

TEST(Assess, TheLatestReadingOfAPointIsCurrent) {
  const Workshop workshop = bonding();
  const readings::Table table = Workshop::read(
      "T-1,h,housing,bonding_resistance,5.0,Ω,2024-01-01,bonding,,,,,,as_found,J-1,2,,,,\n"
      "T-1,h,housing,bonding_resistance,0.02,Ω,2024-01-01,bonding,,,,,,after_work,J-1,3,,,,\n"
      "T-1,h,housing,bonding_resistance,0.03,Ω,2023-01-01,bonding,,,,,,,,,,,,\n"
      "T-1,h,housing,bonding_resistance,9.9,Ω,2024-02-01,bonding,,,,,,fault_finding,,,,,,\n");
  const instruments::Instruments meters{workshop.meters};
  const PartKinds kinds{workshop.kinds};
  const Results results = assess(table, {meters, workshop.limits, kinds, workshop.settings});
  EXPECT_EQ(results.current, (std::vector<std::uint8_t>{0, 1, 0, 0}));
}

}  // namespace
}  // namespace ohmward::assessment
