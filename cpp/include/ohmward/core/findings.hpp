#pragma once

#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <string_view>

/// Every finding of a judged row: name, bit, can it make a bad part look good (1) or not (0), text.
/// Bits never change meaning; new ones are appended. The headline of a row is its first finding in
/// `Findings::headline()`: those that can hide a bad part first, then by bit.
#define OHMWARD_FINDING_TABLE(entry) \
  entry(no_limit_applies, 0, 0, "no limit applies") \
  entry(contact_not_shown, 1, 1, "contact not shown: an over-range reading may be a reading of nothing") \
  entry(open_contactor_suspected, 2, 1, "whole reads above one of its parts: measured through an open contactor?") \
  entry(wrong_function_suspected, 3, 1, "value outside every range of the meter: wrong function or range?") \
  entry(copied_suspected, 4, 1, "the same vector of readings as in another job") \
  entry(source_check_missing, 5, 1, "meter not proven on a known source before and after") \
  entry(null_below_zero, 6, 1, "null taken on a bad contact: the session's floor lies below zero") \
  entry(whole_vehicle_minimum, 7, 1, "only a minimum of the whole vehicle applies; it can not pass a part") \
  entry(out_of_calibration_date, 8, 1, "instrument outside its calibration dates") \
  entry(at_reduced_voltage, 9, 1, "test voltage not reached: the source current limits it") \
  entry(test_voltage_too_low, 10, 1, "test voltage below the one required") \
  entry(test_current_too_low, 11, 1, "test current below the one required") \
  entry(can_not_show_more, 12, 0, "this part can not show a higher ratio") \
  entry(ratio_times_missing, 13, 1, "ratio without its two times: not read as polarisation index") \
  entry(unit_slip_suspected, 14, 1, "a power of 1000 away from its like: unit slip?") \
  entry(object_mistyped_suspected, 15, 1, "fits another vehicle's history better: mistyped?") \
  entry(ceiling_as_number_suspected, 16, 0, "equals the meter's ceiling: over-range written as a number?") \
  entry(monitor_connected_suspected, 17, 0, "one value on all vehicles of a type: isolation monitor left on?") \
  entry(null_not_taken_suspected, 18, 0, "the session's floor is raised: leads not nulled?") \
  entry(meter_drift_suspected, 19, 1, "meter differs from its check rows") \
  entry(unlike_its_like, 20, 0, "stands out from like readings") \
  entry(temperature_assumed, 21, 0, "part temperature missing: judged at both ends of the stated range") \
  entry(temperature_uncertainty_assumed, 22, 0, "uncertainty of the part temperature assumed") \
  entry(law_uncertainty_assumed, 23, 0, "uncertainty of the temperature law assumed") \
  entry(outside_fitted_range, 24, 0, "outside the fitted range of the temperature law") \
  entry(no_law_for_reference, 25, 0, "limit at a reference temperature, but no law holds for this part") \
  entry(corrected, 26, 0, "corrected to the limit's reference temperature") \
  entry(instrument_missing, 27, 0, "instrument not named: class bound, where there is one") \
  entry(sheet_missing, 28, 0, "no accuracy sheet for this reading: class bound, where there is one") \
  entry(outside_sheet_range, 29, 0, "outside the ranges of the accuracy sheet") \
  entry(test_voltage_missing, 30, 0, "test voltage not written down") \
  entry(ceiling_unknown, 31, 0, "over-range without a known ceiling") \
  entry(in_doubt, 32, 0, "marked by a person: do not use") \
  entry(stricter_of_two, 33, 0, "two limits fit equally; the stricter one decided") \
  entry(null_missing, 34, 0, "null value not written down") \
  entry(rest_time_missing, 35, 0, "time at rest missing") \
  entry(type_missing, 36, 0, "battery type missing: judged as a mixture of types") \
  entry(pair_not_examined, 37, 1, "only the sum of a pair: one weak battery stays hidden") \
  entry(being_charged, 38, 1, "voltage of a battery that is being charged or was just charged") \
  entry(loading_corrected, 39, 0, "corrected for the meter's input resistance") \
  entry(above_5_gigaohm, 40, 0, "polarisation index is no criterion above 5 gigaohm") \
  entry(poles_joined, 41, 0, "both poles read the same: joined on the load side, one reading, not two") \
  entry(surface_below_dew_point, 42, 0, "surface at or below the dew point") \
  entry(repeat_combined, 43, 0, "judged from several readings") \
  entry(superseded, 44, 0, "superseded by a later reading of the same point") \
  entry(ambient_outside_reference, 45, 0, "ambient outside the meter's reference range: uncertainty widened") \
  entry(leakage_of_leads_suspected, 46, 0, "the session's ceiling is low: leads or hands in the path?") \
  entry(not_settled, 47, 0, "read before it settled") \
  entry(imbalance, 48, 0, "the two batteries of a pair differ") \
  entry(wrong_test_voltage_suspected, 49, 1, "test voltage differs from the part's own") \
  entry(ratio_above_attainable, 50, 1, \
        "rises more than this part's own absorption can: cooling, drying or leftover charge?") \
  entry(ratio_alone, 51, 1, \
        "ratio without its resistances or the part's capacitance: what the part can show stays open") \
  entry(meter_drift_tolerated, 52, 0, \
        "meter differs from its check rows; the verdict holds with its uncertainty widened by as much") \
  entry(pair_not_named, 53, 1, \
        "voltage without the two points it was read between: one row does not stand for every pair")

namespace ohmward {

enum class Finding : std::uint8_t {
#define OHMWARD_FINDING_ENTRY(name, bit, hides, text) name = bit,
  OHMWARD_FINDING_TABLE(OHMWARD_FINDING_ENTRY)
#undef OHMWARD_FINDING_ENTRY
};

struct FindingFacts {
  Finding finding;
  std::string_view name;
  bool can_hide_a_bad_part;
  std::string_view text;
};

inline constexpr std::array finding_facts{
#define OHMWARD_FINDING_ENTRY(name, bit, hides, text) FindingFacts{Finding::name, #name, hides != 0, text},
    OHMWARD_FINDING_TABLE(OHMWARD_FINDING_ENTRY)
#undef OHMWARD_FINDING_ENTRY
};

[[nodiscard]] constexpr const FindingFacts& facts(Finding finding) noexcept {
  return finding_facts[static_cast<std::size_t>(finding)];
}

/// The set of findings of one row.
class Findings {
 public:
  constexpr Findings() noexcept = default;
  constexpr explicit Findings(std::uint64_t bits) noexcept : bits_(bits) {}
  constexpr Findings(Finding finding) noexcept
      : bits_(bit(finding)) {}  // NOLINT(google-explicit-constructor): a finding is a set of one

  constexpr void add(Finding finding) noexcept { bits_ |= bit(finding); }
  constexpr void add(Findings others) noexcept { bits_ |= others.bits_; }
  [[nodiscard]] constexpr bool has(Finding finding) const noexcept { return (bits_ & bit(finding)) != 0; }
  [[nodiscard]] constexpr bool empty() const noexcept { return bits_ == 0; }
  [[nodiscard]] constexpr std::uint64_t bits() const noexcept { return bits_; }
  [[nodiscard]] constexpr Findings without(Finding finding) const noexcept { return Findings{bits_ & ~bit(finding)}; }
  [[nodiscard]] constexpr Findings those_in(Findings others) const noexcept { return Findings{bits_ & others.bits_}; }

  /// Those that can make a bad part look good.
  [[nodiscard]] constexpr Findings hiding() const noexcept { return those_in(all_hiding()); }

  /// First by weight: one that can hide a bad part, else the one with the lowest bit. Only for a set that is not empty.
  [[nodiscard]] constexpr Finding headline() const noexcept {
    const std::uint64_t first = hiding().empty() ? bits_ : hiding().bits_;
    return static_cast<Finding>(std::countr_zero(first));
  }

  friend constexpr bool operator==(Findings, Findings) noexcept = default;

 private:
  static constexpr std::uint64_t bit(Finding finding) noexcept {
    return std::uint64_t{1} << static_cast<unsigned>(finding);
  }
  static constexpr Findings all_hiding() noexcept {
    Findings all;
    for (const FindingFacts& entry : finding_facts)
      if (entry.can_hide_a_bad_part) all.add(entry.finding);
    return all;
  }

  std::uint64_t bits_ = 0;
};

}  // namespace ohmward
