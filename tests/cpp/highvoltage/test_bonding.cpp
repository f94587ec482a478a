#include <gtest/gtest.h>

#include <cmath>

#include "ohmward/highvoltage/bonding.hpp"
#include "ohmward/highvoltage/winding.hpp"

namespace ohmward::highvoltage {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

BondingReading two_wire(double forward, double reverse = nan) {
  return {.forward_ohm = forward,
          .reverse_ohm = reverse,
          .null = {.ohm = 0.085, .standard_uncertainty_ohm = 0.004, .age_second = 600},
          .test_ampere = 0.2,
          .standard_uncertainty_ohm = 0.01};
}

TEST(Bonding, NullAndPolarities) {
  BondingReading r = two_wire(0.105, 0.095);
  r.null_subtracted = false;
  const Bonding b = bonding_resistance(r);
  EXPECT_NEAR(b.resistance.value, 0.015, 1e-15);
  EXPECT_NEAR(b.resistance.parts[Part::reading], 0.01 / std::sqrt(2.0), 1e-15);
  EXPECT_EQ(b.resistance.parts[Part::null], 0.004);
  EXPECT_EQ(b.remarks, 0U);
  EXPECT_TRUE(b.findings.empty());
  EXPECT_TRUE(bonding_resistance(two_wire(0.02)).has(BondingRemark::one_polarity));
  EXPECT_TRUE(bonding_resistance(two_wire(0.02, 0.08)).has(BondingRemark::polarities_differ));
}

TEST(Bonding, NullIsJudged) {
  BondingReading r = two_wire(0.02, 0.02);
  r.null.ohm = nan;
  const Bonding missing = bonding_resistance(r);
  EXPECT_TRUE(missing.findings.has(Finding::null_missing));
  EXPECT_EQ(missing.resistance.censoring, Censoring::below);
  r.null.ohm = infinity;  // the leads were open
  r.null_subtracted = false;
  const Bonding open = bonding_resistance(r);
  EXPECT_TRUE(open.findings.has(Finding::null_missing));
  EXPECT_EQ(open.resistance.status, Status::bound_only);
  EXPECT_EQ(open.resistance.value, 0.02);
  r.null_subtracted = true;
  r.null.ohm = 0.4;
  r.null.age_second = 100000;
  const Bonding odd = bonding_resistance(r);
  EXPECT_TRUE(odd.has(BondingRemark::null_implausible) && odd.has(BondingRemark::null_old));
  EXPECT_TRUE(bonding_resistance(two_wire(-0.05, -0.05)).findings.has(Finding::null_below_zero));
  r.four_wire = true;
  EXPECT_TRUE(bonding_resistance(r).findings.empty());
}

TEST(Bonding, CurrentAndOpenJoint) {
  BondingReading r = two_wire(0.02, 0.02);
  r.test_ampere = 0.199;
  EXPECT_TRUE(bonding_resistance(r).findings.has(Finding::test_current_too_low));
  r.test_ampere = nan;
  EXPECT_TRUE(bonding_resistance(r).has(BondingRemark::current_unknown));
  r.forward_ohm = infinity;
  EXPECT_EQ(bonding_resistance(r).resistance.censoring, Censoring::overload);
  r.forward_ohm = nan;
  EXPECT_EQ(bonding_resistance(r).resistance.status, Status::missing_input);
  r = two_wire(0.02, 0.02);
  r.standard_uncertainty_ohm = nan;
  EXPECT_TRUE(std::isnan(bonding_resistance(r).resistance.standard_uncertainty()));
}

Quantity joint(double ohm, double u = 0.001, double gain = 0) {
  Quantity q{.value = ohm, .status = Status::sound};
  q.parts.set(Part::reading, u);
  q.parts.set(Part::gain, gain);
  return q;
}

TEST(Bonding, ChainAddsGainLinearlyAndTheRestInQuadrature) {
  const std::vector<Quantity> joints{joint(0.003, 0.003, 0.01), joint(0.004, 0.004, 0.01)};
  const Quantity chain = chain_of_joints(joints);
  EXPECT_NEAR(chain.value, 0.007, 1e-15);
  EXPECT_NEAR(chain.parts[Part::reading], 0.005, 1e-15);
  EXPECT_NEAR(chain.parts[Part::gain], 0.02, 1e-15);
  EXPECT_EQ(chain_of_joints({}).status, Status::missing_input);
  std::vector<Quantity> open{joint(0.003), joint(20.0)};
  open[1].censoring = Censoring::above;
  EXPECT_EQ(chain_of_joints(open).censoring, Censoring::above);
  open[0].censoring = Censoring::below;  // at most and at least: together they say nothing
  EXPECT_EQ(chain_of_joints(open).status, Status::unknown_bound);
}

TEST(Bonding, AJointStandsOutLongBeforeTheLimit) {
  std::vector<Quantity> joints{joint(0.005), joint(0.007), joint(0.006), joint(0.004), joint(0.008), joint(0.040)};
  auto found = compare_like_joints(joints);
  EXPECT_TRUE(found[5].stands_out);  // 40 mΩ against a limit of 100 mΩ
  for (std::size_t i = 0; i < 5; ++i) EXPECT_FALSE(found[i].stands_out) << i;
  joints[5] = joint(0.010);
  EXPECT_FALSE(compare_like_joints(joints)[5].stands_out);
  joints.resize(4);
  EXPECT_TRUE(std::isnan(compare_like_joints(joints)[0].ratio));
}

TEST(Bonding, PartToPart) {
  EXPECT_EQ(compare_part_to_part(joint(0.009), joint(0.004), joint(0.006)), PartToPart::consistent);
  EXPECT_EQ(compare_part_to_part(joint(0.050), joint(0.004), joint(0.006)), PartToPart::too_high);
  EXPECT_EQ(compare_part_to_part(joint(0.050, 0), joint(0.004, 0), joint(0.006, 0)), PartToPart::undecided);
  EXPECT_TRUE(text(PartToPart::too_high).starts_with("too high"));
}

TEST(Winding, SymmetryWithTemperature) {
  const auto terminal = [](double ohm, double celsius = nan) {
    return TerminalReading{.ohm = ohm, .standard_uncertainty_ohm = 2e-5, .celsius = celsius};
  };
  const WindingSymmetry as_read =
      winding_symmetry({.uv = terminal(8.31e-3), .vw = terminal(8.33e-3), .wu = terminal(8.32e-3)});
  EXPECT_EQ(as_read.status, Status::sound);
  EXPECT_NEAR(as_read.imbalance.value, 0.01 / 8.32, 1e-12);
  EXPECT_NEAR(as_read.imbalance.standard_uncertainty(), 2e-5 * std::sqrt(6.0) / 3 / 8.32e-3, 1e-12);
  EXPECT_NEAR(as_read.phase_ohm[0], 4.15e-3, 1e-12);
  // Copper warms from 20 to 75 °C by the factor 1.21611: the same winding, read at two temperatures.
  const WindingSymmetry warm =
      winding_symmetry({.uv = terminal(8e-3, 20), .vw = terminal(8e-3 * 309.5 / 254.5, 75), .wu = terminal(8e-3, 20)});
  EXPECT_NEAR(warm.imbalance.value, 0, 1e-12);
  EXPECT_EQ(winding_symmetry({.uv = terminal(8e-3, 20), .vw = terminal(8e-3), .wu = terminal(8e-3)}).status,
            Status::assumed_input);
  EXPECT_EQ(winding_symmetry({.uv = terminal(8e-3), .vw = terminal(8e-3)}).status, Status::missing_input);
  EXPECT_EQ(winding_symmetry({.uv = terminal(8e-3), .vw = terminal(-1), .wu = terminal(8e-3)}).status,
            Status::out_of_domain);
}

}  // namespace
}  // namespace ohmward::highvoltage
