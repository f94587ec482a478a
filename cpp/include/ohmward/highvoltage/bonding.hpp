#pragma once

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "ohmward/core/findings.hpp"
#include "ohmward/formula/bonding.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::highvoltage {

using formula::BondingReading;
using formula::BondingRemark;
using formula::BondingSettings;
using formula::LeadNull;

[[nodiscard]] std::string_view text(BondingRemark remark) noexcept;

struct Bonding {
  uncertainty::Quantity resistance{};  ///< linear scale, parts reading, gain, null
  Findings findings{};                 ///< null_missing, null_below_zero, test_current_too_low
  std::uint32_t remarks = 0;

  [[nodiscard]] bool has(BondingRemark remark) const noexcept {
    return (remarks >> static_cast<unsigned>(remark) & 1U) != 0;
  }
};

/// Joint resistance from one or two polarities and the lead null.
///
/// The mean of both polarities cancels a constant voltage in the loop. Without a null a two-wire reading keeps the
/// leads: its value stays, an upper bound (censoring `below`, finding null_missing). Open (+inf) is over-range.
/// Status: sound; bound_only without a null; missing_input; unknown_bound for an open joint. Source: `gum`.
[[nodiscard]] Bonding bonding_resistance(const BondingReading& reading, const BondingSettings& settings = {}) noexcept;

/// Joints in a chain, one after the other: a gain part is common to all, the rest independent.
[[nodiscard]] uncertainty::Quantity chain_of_joints(std::span<const uncertainty::Quantity> joints) noexcept;

/// How a joint compares with joints like it.
struct LikeJoint {
  double typical_ohm = nan;  ///< median of the others
  double ratio = nan;        ///< joint over typical
  double distance = nan;     ///< (joint - typical) in robust standard deviations of the others, not below its own u
  bool stands_out = false;
};

struct LikeJointSettings {
  double distance = 3.5;   ///< Source: `robust-outlier-distance`.
  double least_ratio = 3;  ///< and at least this many times the typical joint. Source: `like-joint-ratio`.
};

/// Joints that stand out among their like, long before the limit: each against median and median absolute deviation of
/// the others, at least four of them; fewer give no comparison.
[[nodiscard]] std::vector<LikeJoint> compare_like_joints(std::span<const uncertainty::Quantity> joints,
                                                         const LikeJointSettings& settings = {});

/// A direct reading between two parts against their two readings to chassis.
enum class PartToPart : std::int8_t {
  consistent = 0,  ///< at most the sum of both: a parallel path may lower it
  too_high = 1,    ///< above the sum by more than 2 u: a probe or one of the three readings is wrong
  undecided = 2,
};
[[nodiscard]] std::string_view text(PartToPart found) noexcept;
[[nodiscard]] PartToPart compare_part_to_part(const uncertainty::Quantity& between,
                                              const uncertainty::Quantity& first_to_chassis,
                                              const uncertainty::Quantity& second_to_chassis) noexcept;

}  // namespace ohmward::highvoltage
