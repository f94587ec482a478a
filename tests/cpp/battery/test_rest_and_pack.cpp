#include <array>
#include <cmath>

#include "gtest/gtest.h"
#include "ohmward/battery/pack.hpp"
#include "ohmward/battery/relaxation.hpp"
#include "ohmward/battery/self_discharge.hpp"
#include "ohmward/battery/stand_out.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::battery {
namespace {

TEST(SelfDischarge, HandArithmetic) {
  const SelfDischarge found = self_discharge({.first_volt = 12.65,
                                              .second_volt = 12.59,
                                              .standard_uncertainty_volt = 0.005,
                                              .elapsed_hour = 720,
                                              .capacity_ampere_hour = 60},
                                             shipped_curve("flooded"), 6);
  EXPECT_EQ(found.status, Status::sound);
  EXPECT_NEAR(found.charge_lost.value, 0.075, 1e-6);
  EXPECT_NEAR(found.current_ampere.value, 6.25e-3, 1e-7);
  EXPECT_NEAR(found.current_ampere.standard_uncertainty, std::sqrt(2.0) * 0.005 / 0.8 * 60 / 720, 1e-8);
}

TEST(SelfDischarge, SenselessInputHasAStatus) {
  const OpenCircuitCurve flooded = shipped_curve("flooded");
  TwoRests rests{.first_volt = 12.5,
                 .second_volt = 12.4,
                 .standard_uncertainty_volt = 0.005,
                 .elapsed_hour = 24,
                 .capacity_ampere_hour = 60};
  EXPECT_THROW((void)self_discharge(rests, flooded, 0), InvalidParameter);
  rests.elapsed_hour = -1;
  EXPECT_EQ(self_discharge(rests, flooded, 6).status, Status::out_of_domain);
  rests.elapsed_hour = nan;
  EXPECT_EQ(self_discharge(rests, flooded, 6).status, Status::missing_input);
  const std::array charge{0.0, 0.5, 0.6, 1.0}, volt{2.0, 2.1, 2.05, 2.2};
  rests.elapsed_hour = 24;
  EXPECT_EQ(self_discharge(rests, OpenCircuitCurve({.charge = charge, .cell_volt = volt}), 6).status,
            Status::no_solution);
}

TEST(StorageTime, FirstOrder) {
  const StorageTime found =
      storage_time({.charge = {0.9, 0.03}, .floor = 0.7, .current_ampere = {0.01, 0.001}, .capacity_ampere_hour = 60});
  EXPECT_EQ(found.status, Status::sound);
  EXPECT_NEAR(found.hour.value, 1200, 1e-9);
  EXPECT_NEAR(found.hour.standard_uncertainty, 1200 * std::hypot(0.15, 0.1), 1e-9);
  EXPECT_EQ(storage_time({.charge = {0.6, 0.03}, .floor = 0.7, .current_ampere = {0.01, 0}, .capacity_ampere_hour = 60})
                .status,
            Status::no_solution);
  EXPECT_EQ(
      storage_time({.charge = {0.9, 0.03}, .floor = 0.7, .current_ampere = {0, 0}, .capacity_ampere_hour = 60}).status,
      Status::out_of_domain);
}

TEST(Relaxation, LeadAfterChargeIsRefusedAndLithiumIsNot) {
  const std::array hour{0.5, 1.0, 1.5, 2.0, 2.5, 3.0};
  std::array<double, 6> volt{};
  for (std::size_t i = 0; i < hour.size(); ++i) volt[i] = 13.0 + 0.1 * std::exp(-hour[i]);
  const RestRecord record{
      .rest_hour = hour, .voltage_volt = volt, .standard_uncertainty_volt = 0.001, .history = History::after_charge};
  EXPECT_EQ(relaxation(record, {.type = shipped_type("agm"), .cells = 6}, {}).status, Status::no_solution);
  const RelaxationState lithium = relaxation(record, {.type = shipped_type("lfp"), .cells = 4}, {});
  EXPECT_EQ(lithium.status, Status::sound);
  EXPECT_LE(lithium.rested_volt.low, 13.0);
  EXPECT_GE(lithium.rested_volt.high, 13.0);
  EXPECT_THROW((void)relaxation(record, {.type = shipped_type("lfp"), .cells = 4}, {.level = 95}), InvalidParameter);
}

TEST(Pack, ReadsTheSameMillivoltsByTheCurve) {
  std::array<double, 8> volt{};
  volt.fill(3.70);
  volt[2] -= 0.06;
  volt[5] = nan;
  const PackState pack =
      pack_at_rest({.voltage_volt = volt, .standard_uncertainty_volt = 0.001, .pack_celsius = 25, .rest_hour = 24},
                   lithium("nmc", 1), {});
  EXPECT_EQ(pack.status, Status::sound);
  EXPECT_EQ(pack.modules[2].decision, ChargeDecision::differs);
  EXPECT_TRUE(pack.modules[2].stands_out);
  EXPECT_EQ(pack.modules[0].decision, ChargeDecision::alike);
  EXPECT_EQ(pack.modules[5].decision, ChargeDecision::not_read);
  EXPECT_EQ(pack_at_rest({.voltage_volt = volt, .standard_uncertainty_volt = 0}, lithium("nmc", 1), {}).status,
            Status::out_of_domain);
}

TEST(LagTest, FindsOneValueTwice) {
  const std::array<double, 10> earlier{3.70, 3.71, 3.69, 3.72, 3.68, 3.705, 3.715, 3.695, 3.70, 3.71};
  std::array<double, 10> now = earlier;
  for (std::size_t i = 9; i > 3; --i) now[i] = earlier[i - 1];
  const LagTest found = lag_test({.now_volt = now, .earlier_volt = earlier, .standard_uncertainty_volt = 0.001});
  EXPECT_EQ(found.lag, 1);
  EXPECT_EQ(found.first_shifted, 4U);
  EXPECT_EQ(lag_test({.now_volt = earlier, .earlier_volt = earlier, .standard_uncertainty_volt = 0.001}).lag, 0);
}

}  // namespace
}  // namespace ohmward::battery
