#pragma once

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "ohmward/core/findings.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::highvoltage {

/// Lead null of a two-wire meter, as displayed with the leads shorted.
struct LeadNull {
  double ohm = nan;
  double standard_uncertainty_ohm = nan;  ///< contact and display of the null reading
  double age_second = nan;                ///< between null and reading; NaN where not written down
};

/// A low-resistance reading as displayed.
struct BondingReading {
  double forward_ohm = nan;
  double reverse_ohm = nan;  ///< polarity reversed; NaN where not read
  bool four_wire = false;
  LeadNull null{};              ///< not used for four-wire
  bool null_subtracted = true;  ///< the display already lies above its null; false: take the null off here
  double test_ampere = nan;
  double standard_uncertainty_ohm = nan;          ///< independent from reading to reading
  double gain_relative_standard_uncertainty = 0;  ///< acts on the difference from the null only
};

/// What a null and a current should be. All of them are data.
struct BondingSettings {
  double least_test_ampere = 0.2;  ///< Source: `un-r100-bonding`.
  double null_low_ohm = 0.02;  ///< two usual leads; below: plausible only for short ones. Source: `lead-null-range`.
  double null_high_ohm = 0.2;  ///< above: a bad contact was nulled away. Source: `lead-null-range`.
  double greatest_age_second = 28800;  ///< one shift. Source: `lead-null-range`.
  double polarity_factor = 3;          ///< forward and reverse apart by more than this many u of their difference
};

/// Remarks on a bonding reading: name, bit, text. Bits never change meaning.
#define OHMWARD_BONDING_REMARK_TABLE(entry) \
  entry(null_old, 0, "lead null older than a shift") \
  entry(null_age_unknown, 1, "age of the lead null not written down") \
  entry(null_implausible, 2, "lead null outside what two leads show: was a bad contact nulled?") \
  entry(one_polarity, 3, "one polarity only: a constant voltage in the loop is not excluded") \
  entry(polarities_differ, 4, "polarities differ: a voltage in the loop, or an unsteady contact") \
  entry(current_unknown, 5, "test current not written down") \
  entry(below_zero, 6, "below zero with its uncertainty: the null is too large")

enum class BondingRemark : std::uint8_t {
#define OHMWARD_BONDING_REMARK_ENTRY(name, bit, text) name = bit,
  OHMWARD_BONDING_REMARK_TABLE(OHMWARD_BONDING_REMARK_ENTRY)
#undef OHMWARD_BONDING_REMARK_ENTRY
};

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
