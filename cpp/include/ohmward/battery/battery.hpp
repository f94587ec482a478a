#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "ohmward/battery/battery_type.hpp"
#include "ohmward/battery/charge_posterior.hpp"
#include "ohmward/battery/condition.hpp"
#include "ohmward/core/findings.hpp"
#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::battery {

/// What the battery did before it rested.
enum class History : std::int8_t { unknown = 0, after_charge = 1, after_discharge = 2 };

/// One voltage read at rest.
struct RestingReading {
  double voltage_volt = nan;
  double standard_uncertainty_volt = nan;  ///< of the meter, at least 0
  double celsius = nan;                    ///< of the battery; NaN: assumed 15 ± 12 °C
  double celsius_standard_uncertainty_kelvin = 2;
  double rest_hour = nan;  ///< since the current stopped, at least 0; NaN: not known, which widens
  History history = History::unknown;
};

/// What the battery may be.
struct Candidate {
  BatteryType type;
  int cells;
  double weight = 1;  ///< relative to the other candidates, before the reading
};

/// Standard uncertainties of the resting voltage by cause [V of the whole battery], most probable candidate, at its
/// median charge.
struct VoltageUncertainty {
  double meter_volt = nan;
  double relaxation_volt = nan;
  double temperature_volt = nan;  ///< of the battery's temperature and of the temperature coefficient
  double hysteresis_volt = nan;
  double curve_volt = nan;  ///< spread of batteries of one type about one curve
  [[nodiscard]] double combined_volt() const noexcept;
};

/// Where a reading lies on the curves of one candidate.
enum class Position : std::int8_t { below = -1, inside = 0, above = 1 };

/// What is said of one candidate type.
struct CandidateState {
  Position position = Position::inside;
  Conditions conditions = {};
  double probability = nan;  ///< of the type among those whose curves hold the reading; NaN where none does
  int missing_cells = 0;     ///< that would explain the voltage; 0: none
};

/// State of a battery at rest: words, charge with interval, and what they rest on. No verdict.
///
/// `status` speaks of the charge: sound; assumed_input (time of rest or temperature not known, or a type not named);
/// wide (95 % interval above half of the range); missing_input; out_of_domain (a voltage no such battery can show,
/// negative rest time or uncertainty); outside_curve (more than 3 u above or below every curve, or above the curves of
/// one of several candidate types: it may be on charge); contradiction (prior and reading more than 4 u apart).
struct RestState {
  Condition condition = Condition::unknown;
  Status status = Status::missing_input;
  Findings findings = {};
  ChargePosterior charge = {};  ///< empty where the status is negative
  VoltageUncertainty uncertainty = {};
  std::vector<CandidateState> candidates = {};  ///< in the battery's order
};

/// Many readings. Spans other than the first two may be empty: not known anywhere.
struct RestingReadings {
  std::span<const double> voltage_volt;
  std::span<const double> standard_uncertainty_volt;
  std::span<const double> celsius = {};
  std::span<const double> celsius_standard_uncertainty_kelvin = {};
  std::span<const double> rest_hour = {};
  std::span<const std::int8_t> history = {};
};

/// Where the results go; every span as long as the readings.
struct RestStates {
  std::span<double> median;
  std::span<double> low;
  std::span<double> high;
  std::span<std::int8_t> condition;
  std::span<std::int8_t> status;
  std::span<std::uint64_t> findings;
};

/// A battery whose type is known, or one of several candidates.
///
/// The charge follows from p(s | V) ∝ p(s) Σ p(type) exp(−(V − OCV(s))² / 2u²)/u with
/// u² = u²(meter) + u²(relaxation) + u²(temperature) + u²(hysteresis) + u²(curve), on piecewise-linear curves without a
/// grid.
class Battery {
 public:
  /// Throws InvalidParameter for no candidate, cells below 1 or weights that are not above 0.
  explicit Battery(std::vector<Candidate> candidates);

  [[nodiscard]] std::span<const Candidate> candidates() const noexcept { return candidates_; }

  [[nodiscard]] RestState at_rest(const RestingReading& reading, const ChargePrior& prior = {}) const;

  /// The same for many readings, with the same digits. `threads` 0: one a core. The result does not depend on it.
  void at_rest(const RestingReadings& readings, double level, const RestStates& states, unsigned threads = 0) const;

  /// The words with their reasons and what would settle them.
  [[nodiscard]] std::vector<ConditionNote> notes(const RestingReading& reading, const RestState& state) const;

  /// A prior from an earlier state of the same battery, whose charge changed since by `change` with
  /// `standard_uncertainty` (at least 0.0025). Rests on 400 equal steps of charge. Errors that both readings share are
  /// taken as independent.
  struct Since {
    double change;
    double standard_uncertainty;
  };
  [[nodiscard]] static ChargePrior prior_from(const RestState& earlier, const Since& since);

 private:
  std::vector<Candidate> candidates_;
};

/// Six cells of flooded, enhanced_flooded, agm or gel; 12 V.
[[nodiscard]] Battery lead_acid(std::string_view type, int cells = 6);
/// nmc, nca or lfp.
[[nodiscard]] Battery lithium(std::string_view type, int cells);
/// A 12 V battery of unknown type: four lead-acid types of six cells and four lithium iron phosphate cells, equally
/// likely.
[[nodiscard]] Battery unknown_12v();
/// Cells with a curve of their own and the rest behaviour of a shipped type.
[[nodiscard]] Battery with_curve(OpenCircuitCurve curve, std::string_view behaves_like, int cells);

}  // namespace ohmward::battery
