#include "ohmward/highvoltage/bonding.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace ohmward::highvoltage {
namespace {

using uncertainty::Part;
using uncertainty::Quantity;

bool usable(const Quantity& q) noexcept {
  return has_value(q.status) && q.censoring == Censoring::exact && std::isfinite(q.value);
}

double independent_part(const Quantity& q) noexcept {
  const double rest = q.standard_uncertainty() * q.standard_uncertainty() - q.parts[Part::gain] * q.parts[Part::gain];
  return rest < 0 ? 0 : std::sqrt(rest);
}

double median(std::vector<double>& values) noexcept {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return 0.5 * (*middle + *std::max_element(values.begin(), middle));
}

}  // namespace

Bonding bonding_resistance(const BondingReading& r, const BondingSettings& s) noexcept {
  const formula::JointState joint = formula::joint_state(r, s);
  Bonding bonding;
  bonding.remarks = joint.remarks;
  if (joint.current_too_low) bonding.findings.add(Finding::test_current_too_low);
  if (joint.null_missing) bonding.findings.add(Finding::null_missing);
  if (joint.has(BondingRemark::below_zero)) bonding.findings.add(Finding::null_below_zero);
  bonding.resistance.value = joint.resistance_ohm;
  bonding.resistance.censoring = joint.censoring;
  bonding.resistance.status = joint.status;
  if (!has_value(joint.status)) return bonding;
  bonding.resistance.parts.set(Part::reading, joint.reading_standard_uncertainty_ohm);
  bonding.resistance.parts.set(Part::null, joint.null_standard_uncertainty_ohm);
  bonding.resistance.parts.set(Part::gain, joint.gain_standard_uncertainty_ohm);
  return bonding;
}

Quantity chain_of_joints(std::span<const Quantity> joints) noexcept {
  Quantity chain;
  Status status = joints.empty() ? Status::missing_input : Status::sound;
  double sum = 0;
  double gain = 0;
  double rest = 0;
  bool above = false;
  bool below = false;
  for (const Quantity& joint : joints) {
    status = worse(status, joint.censoring == Censoring::overload ? Status::unknown_bound : joint.status);
    above = above || joint.censoring == Censoring::above;
    below = below || joint.censoring == Censoring::below;
    sum += joint.value;
    gain += joint.parts[Part::gain];
    rest += independent_part(joint) * independent_part(joint);
  }
  if (above && below) status = worse(status, Status::unknown_bound);
  chain.status = has_value(status) && !std::isfinite(sum) ? Status::missing_input : status;
  if (!has_value(chain.status)) return chain;
  if (above || below) chain.censoring = above ? Censoring::above : Censoring::below;
  chain.value = sum;
  chain.parts.set(Part::gain, gain);
  chain.parts.set(Part::reading, std::sqrt(rest));
  return chain;
}

std::vector<LikeJoint> compare_like_joints(std::span<const Quantity> joints, const LikeJointSettings& s) {
  constexpr double deviation_of_normal = 1.4826;  // standard deviation over median absolute deviation of a normal
  constexpr std::size_t least_others = 4;
  std::vector<LikeJoint> found(joints.size());
  for (std::size_t i = 0; i < joints.size(); ++i) {
    std::vector<double> others;
    for (std::size_t j = 0; j < joints.size(); ++j)
      if (j != i && usable(joints[j])) others.push_back(joints[j].value);
    if (others.size() < least_others || !usable(joints[i])) continue;
    const double typical = median(others);
    for (double& other : others) other = std::abs(other - typical);
    const double deviation = std::max(deviation_of_normal * median(others), joints[i].standard_uncertainty());
    const double distance = (joints[i].value - typical) / deviation;
    // Two-wire joints may read zero: the ratio is then formed to the joint's own uncertainty.
    const double ratio = joints[i].value / std::max(typical, joints[i].standard_uncertainty());
    found[i] = {.typical_ohm = typical,
                .ratio = ratio,
                .distance = distance,
                .stands_out = distance > s.distance && ratio > s.least_ratio};
  }
  return found;
}

PartToPart compare_part_to_part(const Quantity& between, const Quantity& first, const Quantity& second) noexcept {
  const std::array joints{first, second};
  const Quantity sum = chain_of_joints(joints);
  if (!usable(between) || !usable(sum)) return PartToPart::undecided;
  const double u = std::hypot(independent_part(between), independent_part(sum));
  if (!(u > 0)) return PartToPart::undecided;
  return between.value - sum.value > 2 * u ? PartToPart::too_high : PartToPart::consistent;
}

std::string_view text(PartToPart found) noexcept {
  switch (found) {
    case PartToPart::consistent: return "consistent: not above the two readings to chassis together";
    case PartToPart::too_high:
      return "too high: above the two readings to chassis together, so a probe or one of the three is wrong";
    case PartToPart::undecided: return "not decided: a reading or an uncertainty is missing";
  }
  return "unknown";
}

std::string_view text(BondingRemark remark) noexcept {
  switch (remark) {
#define OHMWARD_BONDING_REMARK_ENTRY(name, bit, text) \
  case BondingRemark::name: return text;
    OHMWARD_BONDING_REMARK_TABLE(OHMWARD_BONDING_REMARK_ENTRY)
#undef OHMWARD_BONDING_REMARK_ENTRY
  }
  return "unknown remark";
}

}  // namespace ohmward::highvoltage
