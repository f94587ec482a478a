#pragma once

#include <cstdint>
#include <string_view>

#include "ohmward/core/checked.hpp"
#include "ohmward/core/findings.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::highvoltage {

enum class Pole : std::int8_t { unknown = 0, plus = 1, minus = 2 };

[[nodiscard]] std::string_view text(Pole pole) noexcept;

/// One meter carried from pole to pole, or two left in place.
enum class Meters : std::int8_t { moved = 0, fixed = 1 };

/// A voltage and the part of its standard uncertainty that is independent from reading to reading.
/// A gain common to all four readings cancels in the result and does not belong here.
struct Voltage {
  double volt = nan;
  double standard_uncertainty_volt = nan;
};

/// Isolation by voltmeter and known resistor. The sign of a voltage is that of the probes and is not used.
struct VoltmeterReadings {
  Voltage pack{};      ///< pole to pole
  Voltage negative{};  ///< negative pole to chassis
  Voltage positive{};  ///< positive pole to chassis
  Voltage loaded{};    ///< the larger of the two once more, with the resistor across it
  double resistor_ohm = nan;
  double resistor_relative_standard_uncertainty = nan;
  double meter_ohm =
      nan;  ///< input resistance; needed for fixed meters, and to explain poles that add up to less than the pack
  double meter_relative_standard_uncertainty = 0;
  Meters meters = Meters::moved;
  Pole loaded_pole = Pole::unknown;    ///< where the resistor was; unknown: taken to be at the larger voltage
  double required_ohm_per_volt = nan;  ///< for the remark on the resistor's size; NaN: none
};

/// Remarks on an isolation result: name, bit, text. Bits never change meaning.
#define OHMWARD_ISOLATION_REMARK_TABLE(entry) \
  entry(sides_alike, 0, "the sides can not be told apart: either may be the weaker one") \
  entry(resistor_size, 1, "known resistor more than 20 % from required ohm per volt times pack voltage") \
  entry(loading_corrected, 2, "freed of the meters left in place") \
  entry(poles_do_not_add_up, 3, "pole voltages do not add up to the pack voltage beyond what the meter explains") \
  entry(loaded_inside_noise, 4, "voltage with the resistor lies inside the meter's noise: only a lower bound") \
  entry(drop_inside_noise, 5, "drop by the resistor lies inside the meter's noise: use a smaller resistor") \
  entry(wrong_pole_loaded, 6, "the resistor was not at the pole of the larger voltage: poles swapped, or read again")

enum class IsolationRemark : std::uint8_t {
#define OHMWARD_ISOLATION_REMARK_ENTRY(name, bit, text) name = bit,
  OHMWARD_ISOLATION_REMARK_TABLE(OHMWARD_ISOLATION_REMARK_ENTRY)
#undef OHMWARD_ISOLATION_REMARK_ENTRY
};

[[nodiscard]] std::string_view text(IsolationRemark remark) noexcept;

struct VoltmeterIsolation {
  uncertainty::Quantity weak{};       ///< smaller side [ohm], log scale, parts reading, resistor, loading
  double lower_bound_ohm = nan;       ///< the smaller side is at least this at 95 %, one-sided
  double by_pole_voltages_ohm = nan;  ///< the other published form, for comparison
  double strong_ohm = nan;            ///< larger side
  Pole weak_pole = Pole::unknown;
  double best_resistor_ohm = nan;  ///< resistor of least uncertainty for a repeat
  std::uint32_t remarks = 0;       ///< bits by IsolationRemark

  [[nodiscard]] bool has(IsolationRemark remark) const noexcept {
    return (remarks >> static_cast<unsigned>(remark) & 1U) != 0;
  }
};

/// Smaller side of a system's isolation from four voltages and a known resistor.
///
/// The value is formula::isolation_by_pack_voltage_ohm, freed of fixed meters. With A = Ro·Vb·(V - V') and B = V·V' the
/// lower bound R solves A - R·B = k·u(A - R·B), a quadratic, so that neither a small V' nor a small drop is linearised;
/// k = 1.7 covers 95 % one-sided for normal errors (1.645) and for any sum of rectangles (1.68 at most).
///
/// Status: sound; bound_only: V' below 2 u, the value is the lower bound, censoring `above`; inside_noise: the drop is
/// below 2 u; contradiction: V' above V, pole voltages that do not add up, a resistor told to be at the other pole, a
/// fixed-meter result above the meter's own resistance; missing_input, out_of_domain, unknown_bound as the formula. A
/// lacking uncertainty leaves the value and an unknown uncertainty, which can not pass. Accuracy: law of the bound in
/// tests IsolationBound.*. Source: `un-r100-isolation-annex`.
[[nodiscard]] VoltmeterIsolation isolation_by_voltmeter(const VoltmeterReadings& readings) noexcept;

/// A circuit whose sides are known or guessed.
struct Sides {
  double weak_ohm;
  double strong_ohm;
  double meter_ohm = infinity;
};

/// Resistor that gives the result the least uncertainty where all voltages carry the same one [ohm].
///
/// u(R)/R = u·√(1 + x⁴)/(V x (1 - x)) with x = V'/V is least at x = 0.4746; with the sides and the moved meter in
/// parallel P this is Ro = 0.9034·P. Source: `computed-best-resistor`.
[[nodiscard]] Checked<double> best_resistor_ohm(const Sides& sides) noexcept;

/// Isolation by an insulation tester, each pole to chassis.
struct TesterReadings {
  uncertainty::Quantity plus{};  ///< log scale
  uncertainty::Quantity minus{};
  double display_step_ohm = 0;  ///< readings that differ by no more are the same to the digit
  double working_volt = nan;
  bool whole = false;  ///< of the whole vehicle: isolation per volt has a meaning
  double test_voltage_volt = nan;
  double required_test_voltage_volt = nan;  ///< data of the rule that applies; NaN: none
};

struct TesterIsolation {
  uncertainty::Quantity weak{};                               ///< smaller pole
  Pole weak_pole = Pole::unknown;                             ///< unknown where the poles are joined
  bool poles_joined = false;                                  ///< one reading, not two: says nothing of the side
  Checked<double> ohm_per_volt{nan, Status::not_applicable};  ///< of the whole vehicle only
  Findings findings{};  ///< poles_joined, test_voltage_too_low, test_voltage_missing
};

/// Smaller pole, joined poles told, isolation per volt of a whole vehicle. A missing pole is missing_input: a reading
/// of one pole is none of the system. Source: `iso-6469-3-test-voltage` for the required test voltage.
[[nodiscard]] TesterIsolation isolation_by_tester(const TesterReadings& readings) noexcept;

}  // namespace ohmward::highvoltage
