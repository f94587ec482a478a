#include <array>
#include <cmath>

#include "gtest/gtest.h"
#include "ohmward/battery/battery.hpp"
#include "ohmward/battery/pair.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::battery {
namespace {

RestState at_rest(const Battery& battery, double volt, double rest_hour = 24, double celsius = 20) {
  return battery.at_rest(
      {.voltage_volt = volt, .standard_uncertainty_volt = 0.01, .celsius = celsius, .rest_hour = rest_hour});
}

TEST(Condition, WordsOfAFloodedBattery) {
  const Battery battery = lead_acid("flooded");
  EXPECT_EQ(at_rest(battery, 12.55).condition, Condition::rested);
  EXPECT_EQ(at_rest(battery, 12.30).condition, Condition::low);
  EXPECT_EQ(at_rest(battery, 11.95).condition, Condition::discharged);
  EXPECT_EQ(at_rest(battery, 11.20).condition, Condition::discharged);  // below the curve, no cell's worth
  EXPECT_EQ(at_rest(battery, 10.30).condition, Condition::cell_missing_suspected);
  EXPECT_EQ(at_rest(battery, 12.95).condition, Condition::not_rested);
  EXPECT_EQ(at_rest(battery, 13.60).condition, Condition::on_charge);
  EXPECT_EQ(at_rest(battery, 12.55, 2).condition, Condition::not_rested);
  EXPECT_EQ(at_rest(battery, 11.95, 24, -18).condition, Condition::freezing_risk);
  EXPECT_NE(at_rest(battery, 12.60, 24, -18).condition, Condition::freezing_risk);
}

TEST(Condition, OutsideTheCurveThereIsNoCharge) {
  for (const double volt : {10.3, 11.2, 12.95, 13.6}) {
    const RestState state = at_rest(lead_acid("flooded"), volt);
    EXPECT_EQ(state.status, Status::outside_curve) << volt;
    EXPECT_TRUE(state.charge.empty());
    EXPECT_TRUE(std::isnan(state.charge.median()));
  }
}

TEST(Condition, FourIronPhosphateCellsAreNotJudgedAsLead) {
  const Battery battery = lithium("lfp", 4);
  for (const double volt : {13.0, 13.1, 13.2, 13.3}) {
    EXPECT_EQ(at_rest(battery, volt).condition, Condition::rested) << volt;
    EXPECT_TRUE(has_value(at_rest(battery, volt).status));
  }
  EXPECT_EQ(at_rest(battery, 12.6).condition, Condition::low);
  EXPECT_LT(at_rest(battery, 12.6).charge.quantile(0.975), 0.3);
  EXPECT_EQ(at_rest(battery, 13.9).condition, Condition::on_charge);
  EXPECT_EQ(at_rest(battery, 9.8).condition, Condition::cell_missing_suspected);
}

TEST(Condition, UnknownTypeIsAMixture) {
  const Battery unknown = unknown_12v();
  const RestState plain = at_rest(unknown, 12.30);
  const ChargeInterval interval = plain.charge.interval(0.95);
  EXPECT_GT(interval.high - interval.low, 0.3);  // about ±25 % of charge: type unknown
  EXPECT_TRUE(plain.findings.has(Finding::type_missing));
  const RestState plateau = at_rest(unknown, 13.20);
  EXPECT_EQ(plateau.condition, Condition::not_rested);
  EXPECT_EQ(plateau.status, Status::outside_curve);
  EXPECT_EQ(plateau.candidates[4].conditions.headline(), Condition::rested);
  double sum = 0;
  for (const CandidateState& seen : plain.candidates) sum += std::isnan(seen.probability) ? 0 : seen.probability;
  EXPECT_NEAR(sum, 1, 1e-12);
  EXPECT_EQ(at_rest(unknown, 10.3).condition, Condition::cell_missing_suspected);
}

TEST(Rest, MissingRestTimeWidensAndNeverNarrows) {
  for (const Battery& battery : {lead_acid("flooded"), lead_acid("agm"), lithium("nmc", 4), unknown_12v()}) {
    const double volt =
        battery.candidates().front().cells * battery.candidates().front().type.curves.front()->volt(0.5);
    const ChargeInterval missing = at_rest(battery, volt, nan).charge.interval(0.95);
    for (const double hour : {1.0, 3.0, 8.0, 24.0, 200.0}) {
      const ChargeInterval known = at_rest(battery, volt, hour).charge.interval(0.95);
      EXPECT_GE(missing.high - missing.low, known.high - known.low - 1e-9) << hour;
    }
  }
}

TEST(Rest, HistoryMovesTheValueTheRightWay) {
  const Battery battery = lead_acid("flooded");
  RestingReading reading{.voltage_volt = 12.4, .standard_uncertainty_volt = 0.01, .celsius = 25, .rest_hour = 8};
  const double unknown = battery.at_rest(reading).charge.median();
  reading.history = History::after_discharge;  // it still rises
  EXPECT_GT(battery.at_rest(reading).charge.median(), unknown);
  reading.history = History::after_charge;  // it still falls
  EXPECT_LT(battery.at_rest(reading).charge.median(), unknown);
}

TEST(BadInput, HasAStatusAndAReason) {
  const Battery battery = lead_acid("flooded");
  const auto status = [&](const RestingReading& reading) { return battery.at_rest(reading).status; };
  EXPECT_EQ(status({.voltage_volt = 24.9, .standard_uncertainty_volt = 0.01}), Status::out_of_domain);
  EXPECT_EQ(status({.voltage_volt = -12.5, .standard_uncertainty_volt = 0.01}), Status::out_of_domain);
  EXPECT_EQ(status({.voltage_volt = 12.5, .standard_uncertainty_volt = 0.01, .rest_hour = -1}), Status::out_of_domain);
  EXPECT_EQ(status({.voltage_volt = 12.5, .standard_uncertainty_volt = -0.01}), Status::out_of_domain);
  EXPECT_EQ(status({.voltage_volt = 12.5, .standard_uncertainty_volt = 0.01, .celsius = -300}), Status::out_of_domain);
  EXPECT_EQ(status({.voltage_volt = infinity, .standard_uncertainty_volt = 0.01}), Status::out_of_domain);
  EXPECT_EQ(status({.voltage_volt = nan, .standard_uncertainty_volt = 0.01}), Status::missing_input);
  EXPECT_EQ(status({.voltage_volt = 12.5}), Status::missing_input);
  const RestingReading twice{.voltage_volt = 24.9, .standard_uncertainty_volt = 0.01};
  EXPECT_NE(battery.notes(twice, battery.at_rest(twice)).front().reason.find("two in series"), std::string::npos);
  EXPECT_THROW((void)lead_acid("flooded", 0), InvalidParameter);
  EXPECT_THROW((void)lead_acid("lfp"), InvalidParameter);
  EXPECT_THROW((void)lithium("agm", 4), InvalidParameter);
  EXPECT_THROW(Battery({}), InvalidParameter);
}

TEST(Batch, EqualsSingleReadingsInAnyNumberOfThreads) {
  const Battery battery = unknown_12v();
  std::vector<double> volt, u, celsius, rest;
  for (int i = 0; i < 997; ++i) {
    volt.push_back(9 + 0.006 * i);
    u.push_back(0.005 + 0.0001 * (i % 13));
    celsius.push_back(i % 5 == 0 ? nan : -20 + i % 50);
    rest.push_back(i % 3 == 0 ? nan : i % 30);
  }
  volt[3] = nan;
  u[5] = -1;
  const std::size_t n = volt.size();
  std::array<std::vector<double>, 2> median, low, high;
  std::vector<std::int8_t> condition(n), status(n);
  std::vector<std::uint64_t> findings(n);
  for (unsigned run = 0; run < 2; ++run) {
    for (auto* all : {&median[run], &low[run], &high[run]}) all->resize(n);
    battery.at_rest({.voltage_volt = volt, .standard_uncertainty_volt = u, .celsius = celsius, .rest_hour = rest}, 0.9,
                    {median[run], low[run], high[run], condition, status, findings}, run == 0 ? 1 : 7);
  }
  for (std::size_t i = 0; i < n; ++i) {
    const RestState one = battery.at_rest(
        {.voltage_volt = volt[i], .standard_uncertainty_volt = u[i], .celsius = celsius[i], .rest_hour = rest[i]});
    EXPECT_EQ(static_cast<std::int8_t>(one.status), status[i]) << i;
    EXPECT_EQ(static_cast<std::int8_t>(one.condition), condition[i]) << i;
    EXPECT_EQ(one.findings.bits(), findings[i]) << i;
    EXPECT_EQ(std::isnan(median[0][i]), !has_value(one.status)) << i;
    if (!has_value(one.status)) continue;
    EXPECT_EQ(one.charge.median(), median[1][i]);
    EXPECT_EQ(median[0][i], median[1][i]);
    EXPECT_EQ(one.charge.interval(0.9).low, low[0][i]);
    EXPECT_EQ(one.charge.interval(0.9).high, high[1][i]);
  }
  EXPECT_THROW(battery.at_rest({.voltage_volt = volt, .standard_uncertainty_volt = u, .celsius = {celsius.data(), 3}},
                               0.9, {median[0], low[0], high[0], condition, status, findings}, 1),
               InvalidParameter);
}

TEST(Pair, SumAloneLeavesThePairUnexamined) {
  const Pair pair({.battery = lead_acid("flooded")});
  const PairState state =
      pair.at_rest({.sum_volt = 24.90, .standard_uncertainty_volt = 0.01, .celsius = 20, .rest_hour = 24});
  EXPECT_EQ(state.status, Status::bound_only);
  EXPECT_TRUE(state.findings.has(Finding::pair_not_examined));
  EXPECT_NEAR(state.weaker_may_be_volt, 12.25, 1e-8);  // the tables carry nine decimals a cell
  EXPECT_TRUE(std::isnan(state.imbalance_volt.value));
}

TEST(Pair, CommonGainCancelsInTheDifference) {
  const Pair pair({.battery = lead_acid("flooded")});
  const PairState state = pair.at_rest({.a_volt = 12.62,
                                        .b_volt = 12.28,
                                        .standard_uncertainty_volt = 0.005,
                                        .gain_relative_standard_uncertainty = 0.003,
                                        .celsius = 20,
                                        .rest_hour = 24});
  EXPECT_NEAR(state.imbalance_volt.value, 0.34, 1e-12);
  EXPECT_NEAR(state.imbalance_volt.standard_uncertainty, std::hypot(0.005 * std::sqrt(2.0), 0.003 * 0.34), 1e-12);
  EXPECT_TRUE(state.findings.has(Finding::imbalance));
  EXPECT_GT(state.probability_imbalanced, 0.999);
  const PairState healthy = pair.at_rest(
      {.a_volt = 12.56, .b_volt = 12.54, .standard_uncertainty_volt = 0.005, .celsius = 20, .rest_hour = 24});
  EXPECT_FALSE(healthy.findings.has(Finding::imbalance));
}

TEST(Pair, SumGivesTheOtherBattery) {
  const Pair pair({.battery = lead_acid("flooded")});
  const PairState state = pair.at_rest(
      {.a_volt = 12.60, .sum_volt = 22.80, .standard_uncertainty_volt = 0.01, .celsius = 20, .rest_hour = 24});
  EXPECT_EQ(state.b.condition, Condition::cell_missing_suspected);
  EXPECT_NEAR(state.imbalance_volt.value, 2.4, 1e-12);
  EXPECT_NEAR(state.imbalance_volt.standard_uncertainty, 0.01 * std::sqrt(5.0), 1e-12);
}

TEST(Pair, ReadingsThatDoNotAddUpContradict) {
  const Pair pair({.battery = lead_acid("flooded")});
  EXPECT_EQ(pair.at_rest({.a_volt = 12.6, .b_volt = 12.6, .sum_volt = 25.4, .standard_uncertainty_volt = 0.01}).status,
            Status::contradiction);
  EXPECT_EQ(pair.at_rest({.a_volt = 12.6, .b_volt = 12.6, .sum_volt = 25.21, .standard_uncertainty_volt = 0.01}).status,
            Status::sound);
  EXPECT_EQ(pair.at_rest({.standard_uncertainty_volt = 0.01}).status, Status::missing_input);
}

}  // namespace
}  // namespace ohmward::battery
