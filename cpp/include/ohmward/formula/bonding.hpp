#pragma once

/// @file
/// Resistance of a joint from one or two polarities and the null of the leads.

#include <cstdint>

#include "ohmward/core/censoring.hpp"
#include "ohmward/formula/outcome.hpp"

namespace ohmward::formula {

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

/// A joint's resistance with its standard uncertainty in parts.
struct JointState {
  double resistance_ohm = nan;
  double reading_standard_uncertainty_ohm = nan;
  double null_standard_uncertainty_ohm = 0;
  double gain_standard_uncertainty_ohm = 0;
  Censoring censoring = Censoring::exact;
  Status status = Status::missing_input;
  bool null_missing = false;
  bool current_too_low = false;
  std::uint32_t remarks = 0;

  [[nodiscard]] constexpr bool has(BondingRemark remark) const noexcept {
    return (remarks >> static_cast<unsigned>(remark) & 1U) != 0;
  }
};

inline namespace OHMWARD_LEVEL {
namespace outcome {

/// A two-wire reading less the null of its leads; below zero where the null is too large.
[[nodiscard]] constexpr Outcome above_null(double displayed_ohm, double null_ohm) noexcept {
  return detail::judged({.missing = detail::any_missing(displayed_ohm, null_ohm),
                         .possible = detail::all(detail::finite(displayed_ohm), detail::finite(null_ohm)),
                         .over_range = detail::any_over_range(displayed_ohm, null_ohm)},
                        displayed_ohm - null_ohm, true);
}

}  // namespace outcome

/// A two-wire reading less the null of its leads [ohm]. Status: sound; missing_input; unknown_bound for an open joint;
/// out_of_domain for a reading of minus infinity.
[[nodiscard]] constexpr Checked<double> above_null_ohm(double displayed_ohm, double null_ohm) noexcept {
  return outcome::above_null(displayed_ohm, null_ohm).checked();
}

/// Of all parts together.
[[nodiscard]] inline double joint_standard_uncertainty_ohm(const JointState& j) noexcept {
  return numerics::sqrt(j.reading_standard_uncertainty_ohm * j.reading_standard_uncertainty_ohm +
                        j.null_standard_uncertainty_ohm * j.null_standard_uncertainty_ohm +
                        j.gain_standard_uncertainty_ohm * j.gain_standard_uncertainty_ohm);
}

/// The mean of both polarities cancels a constant voltage in the loop. Without a null a two-wire reading keeps the
/// leads: its value stays, an upper bound (censoring `below`). Open (infinite) is over-range.
/// Status: sound; bound_only without a null; missing_input; unknown_bound for an open joint. Source: `gum`.
[[nodiscard]] inline JointState joint_state(const BondingReading& r, const BondingSettings& s) noexcept {
  JointState joint;
  const auto remark = [&joint](BondingRemark which) { joint.remarks |= 1U << static_cast<unsigned>(which); };
  if (detail::missing(r.test_ampere))
    remark(BondingRemark::current_unknown);
  else
    joint.current_too_low = !(r.test_ampere >= s.least_test_ampere);
  if (detail::missing(r.forward_ohm)) return joint;
  const bool both = !detail::missing(r.reverse_ohm);
  if (!detail::finite(r.forward_ohm) || (both && !detail::finite(r.reverse_ohm))) {
    joint.censoring = Censoring::overload;
    joint.status = Status::unknown_bound;
    return joint;
  }
  joint.resistance_ohm = both ? 0.5 * (r.forward_ohm + r.reverse_ohm) : r.forward_ohm;
  joint.status = Status::sound;
  const double root2 = numerics::sqrt(2.0);
  if (!both)
    remark(BondingRemark::one_polarity);
  else if (numerics::detail::absolute(r.forward_ohm - r.reverse_ohm) >
           s.polarity_factor * (root2 * r.standard_uncertainty_ohm))
    remark(BondingRemark::polarities_differ);
  joint.reading_standard_uncertainty_ohm = both ? r.standard_uncertainty_ohm / root2 : r.standard_uncertainty_ohm;
  if (!r.four_wire) {
    if (!detail::finite(r.null.ohm)) {  // leads that were open when nulled are no null
      joint.null_missing = true;
      joint.censoring = Censoring::below;
      joint.status = Status::bound_only;
    } else {
      if (!(r.null.ohm >= s.null_low_ohm && r.null.ohm <= s.null_high_ohm)) remark(BondingRemark::null_implausible);
      if (detail::missing(r.null.age_second))
        remark(BondingRemark::null_age_unknown);
      else if (!(r.null.age_second >= 0 && r.null.age_second <= s.greatest_age_second))
        remark(BondingRemark::null_old);
      if (!r.null_subtracted) joint.resistance_ohm -= r.null.ohm;
      joint.null_standard_uncertainty_ohm = r.null.standard_uncertainty_ohm;
    }
  }
  joint.gain_standard_uncertainty_ohm =
      numerics::detail::absolute(joint.resistance_ohm) * r.gain_relative_standard_uncertainty;
  if (joint.resistance_ohm + 2 * joint_standard_uncertainty_ohm(joint) < 0) remark(BondingRemark::below_zero);
  return joint;
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
