#pragma once

/// @file
/// Capacitance of a part from the time in which a tester charges it, in fixed memory.

#include <cstdint>

#include "ohmward/formula/contact.hpp"
#include "ohmward/formula/outcome.hpp"

namespace ohmward::formula {

/// What the charging phase shows. The charge that the insulation let through meanwhile is taken off.
struct ChargingState {
  double capacitance_farad = nan;  ///< conduction taken off as last seen
  double low_farad = nan;          ///< conduction taken off as seen when the voltage was reached
  double high_farad = nan;         ///< nothing taken off
  double reached_second = nan;     ///< when the test voltage was reached
  double readings = 0;             ///< of the rise
  Status status = Status::too_few_points;
};

inline namespace OHMWARD_LEVEL {

/// Charge and voltage of the rise, by trapezoids, until the voltage reaches 95 % of the test voltage.
///
///     C = (integral of i dt - G integral of u dt) / (u_end - u_first),  G = i/u after the rise                    (K1)
///
/// Source: `circuit-laws`, computed. Readings need voltage and current; times must rise.
class ChargingSums {
 public:
  constexpr ChargingSums() noexcept = default;
  explicit constexpr ChargingSums(double test_voltage_volt) noexcept : test_volt_(test_voltage_volt) {}

  constexpr void push(double second, double volt, double ampere) noexcept {
    if (!detail::not_negative(second) || !detail::not_negative(volt) || !detail::not_negative(ampere)) return;
    if (!detail::positive(test_volt_) || (readings_ > 0 && !(second > last_second_))) return;
    const bool at_voltage = volt >= reached_share * test_volt_;
    if (reached_) {
      if (!at_voltage) return;
      const double siemens = ampere / volt;
      siemens_ = siemens < siemens_ ? siemens : siemens_;
      return;
    }
    if (readings_ == 0) {
      first_volt_ = volt;
    } else {
      const double half = 0.5 * (second - last_second_);
      coulomb_ += half * (last_ampere_ + ampere);
      volt_second_ += half * (last_volt_ + volt);
    }
    if (readings_ < most_readings) ++readings_;
    last_second_ = second;
    last_volt_ = volt;
    last_ampere_ = ampere;
    if (at_voltage) {
      reached_ = true;
      siemens_ = first_siemens_ = ampere / volt;
    }
  }

  /// Status: sound; few_points: fewer than 4 readings of the rise; at_reduced_voltage: the test voltage is not reached
  /// (yet), what was charged so far; too_few_points: no rise seen, or by less than half of the test voltage;
  /// contradiction: less charge came in than the insulation alone would take.
  [[nodiscard]] constexpr ChargingState state() const noexcept {
    ChargingState s;
    s.readings = readings_;
    const double rise = last_volt_ - first_volt_;
    if (readings_ < 2 || !(rise >= 0.5 * test_volt_)) return s;
    const double siemens = reached_ ? siemens_ : 0, first = reached_ ? first_siemens_ : 0;
    s.capacitance_farad = (coulomb_ - siemens * volt_second_) / rise;
    s.low_farad = (coulomb_ - first * volt_second_) / rise;
    s.high_farad = coulomb_ / rise;
    if (!(s.low_farad >= 0)) s.low_farad = 0;
    if (reached_) s.reached_second = last_second_;
    s.status = !reached_ ? Status::at_reduced_voltage : (readings_ < 4 ? Status::few_points : Status::sound);
    if (!(s.capacitance_farad > 0)) {
      s.capacitance_farad = nan;
      s.status = Status::contradiction;
    }
    return s;
  }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    visit(self.test_volt_, self.first_volt_, self.last_second_, self.last_volt_, self.last_ampere_, self.coulomb_,
          self.volt_second_, self.siemens_, self.first_siemens_, self.readings_, self.reached_);
  }

 private:
  static constexpr double reached_share = 0.95;
  static constexpr std::uint32_t most_readings = ~std::uint32_t{0};

  double test_volt_ = nan;
  double first_volt_ = 0;
  double last_second_ = 0;
  double last_volt_ = 0;
  double last_ampere_ = 0;
  double coulomb_ = 0;
  double volt_second_ = 0;
  double siemens_ = 0;
  double first_siemens_ = 0;
  std::uint32_t readings_ = 0;
  bool reached_ = false;
};

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
