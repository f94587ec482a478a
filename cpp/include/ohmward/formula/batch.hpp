#pragma once

/// @file
/// The formulas over many values: same bits as one at a time, at every instruction level and for any number of threads.

#include <span>

#include "ohmward/formula/temperature.hpp"
#include "ohmward/numerics/elementwise.hpp"
#include "ohmward/numerics/parallel.hpp"

namespace ohmward::formula {

/// Every formula of this room as a loop. Its names are those of the scalar functions; a law's constants follow the
/// inputs.
[[nodiscard]] std::span<const numerics::Elementwise> formulas(numerics::InstructionLevel level) noexcept;

/// Columns of readings with standard uncertainties, of one length; see UncertainResistanceAt.
struct UncertainReadings {
  std::span<const double> resistance_ohm;
  std::span<const double> celsius;
  std::span<const double> relative_standard_uncertainty;
  std::span<const double> standard_uncertainty_kelvin;
};

/// Columns to write, of the same length; see CorrectedResistance.
struct CorrectedReadings {
  std::span<double> resistance_ohm;
  std::span<double> relative_standard_uncertainty;
  std::span<Status> status;
};

/// Corrects every reading to the law's reference temperature: value, uncertainty and status in one pass.
///
/// Outputs may be the inputs themselves but may not overlap them in part.
/// @throws InvalidParameter if the lengths differ, threads < 0 or the level is not supported.
template <class Law>
void to_reference(const UncertainReadings& readings, const Law& law, const CorrectedReadings& out,
                  const numerics::BatchOptions& options = {});
extern template void to_reference(const UncertainReadings&, const Halving&, const CorrectedReadings&,
                                  const numerics::BatchOptions&);
extern template void to_reference(const UncertainReadings&, const Thermosetting&, const CorrectedReadings&,
                                  const numerics::BatchOptions&);
extern template void to_reference(const UncertainReadings&, const Arrhenius&, const CorrectedReadings&,
                                  const numerics::BatchOptions&);
extern template void to_reference(const UncertainReadings&, const Conductor&, const CorrectedReadings&,
                                  const numerics::BatchOptions&);

/// The same without uncertainties; `status` may be empty.
template <class Law>
void to_reference(std::span<const double> resistance_ohm, std::span<const double> celsius, const Law& law,
                  std::span<double> out_ohm, std::span<Status> status, const numerics::BatchOptions& options = {});
extern template void to_reference(std::span<const double>, std::span<const double>, const Halving&, std::span<double>,
                                  std::span<Status>, const numerics::BatchOptions&);
extern template void to_reference(std::span<const double>, std::span<const double>, const Thermosetting&,
                                  std::span<double>, std::span<Status>, const numerics::BatchOptions&);
extern template void to_reference(std::span<const double>, std::span<const double>, const Arrhenius&, std::span<double>,
                                  std::span<Status>, const numerics::BatchOptions&);
extern template void to_reference(std::span<const double>, std::span<const double>, const Conductor&, std::span<double>,
                                  std::span<Status>, const numerics::BatchOptions&);

}  // namespace ohmward::formula
