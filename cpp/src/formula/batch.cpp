#include "ohmward/formula/batch.hpp"

#include <array>
#include <string_view>

#include "formula/level_tables.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::formula {
namespace {

CorrectionLoop<Halving> loop(const Corrections& of, const Halving&) { return of.halving; }
CorrectionLoop<Thermosetting> loop(const Corrections& of, const Thermosetting&) { return of.thermosetting; }
CorrectionLoop<Arrhenius> loop(const Corrections& of, const Arrhenius&) { return of.arrhenius; }
CorrectionLoop<Conductor> loop(const Corrections& of, const Conductor&) { return of.conductor; }

/// Place of a law's correction in the table of formulas_of_level.cpp, and its constants in the order of the arguments.
constexpr std::size_t place(const Halving&) { return 0; }
constexpr std::size_t place(const Thermosetting&) { return 1; }
constexpr std::size_t place(const Arrhenius&) { return 2; }
constexpr std::size_t place(const Conductor&) { return 3; }

std::array<double, 4> constants(const Halving& law) {
  return {law.step_kelvin, law.reference_celsius, law.low_celsius, law.high_celsius};
}
std::array<double, 7> constants(const Thermosetting& law) {
  return {law.coefficient_below_kelvin,
          law.coefficient_above_kelvin,
          law.knot_celsius,
          law.zero_kelvin,
          law.reference_celsius,
          law.low_celsius,
          law.high_celsius};
}
std::array<double, 4> constants(const Arrhenius& law) {
  return {law.activation_energy_electronvolt, law.reference_celsius, law.low_celsius, law.high_celsius};
}
std::array<double, 4> constants(const Conductor& law) {
  return {law.tau_kelvin, law.reference_celsius, law.low_celsius, law.high_celsius};
}

void require_length(const char* column, std::size_t length, std::size_t expected) {
  if (length != expected)
    throw InvalidParameter(column, static_cast<double>(length), "as many elements as resistance_ohm");
}

void require_supported(numerics::InstructionLevel level) {
  if (!numerics::supported(level))
    throw InvalidParameter("level", numerics::text(level), "a level that this machine and build support");
}

/// Threads for so many elements: a short batch is done before a second thread has started.
int threads_for(std::size_t size, int threads) {
  return threads == 0 && size < 2 * numerics::elements_worth_a_thread ? 1 : threads;
}

}  // namespace

std::span<const numerics::Elementwise> formulas(numerics::InstructionLevel level) noexcept {
  const numerics::LevelTable table = OHMWARD_PICK_LEVEL(level, formulas_)();
  return {table.first, table.size};
}

template <class Law>
void to_reference(const UncertainReadings& readings, const Law& law, const CorrectedReadings& out,
                  const numerics::BatchOptions& options) {
  const std::size_t size = readings.resistance_ohm.size();
  require_length("celsius", readings.celsius.size(), size);
  require_length("relative_standard_uncertainty", readings.relative_standard_uncertainty.size(), size);
  require_length("standard_uncertainty_kelvin", readings.standard_uncertainty_kelvin.size(), size);
  require_length("out.resistance_ohm", out.resistance_ohm.size(), size);
  require_length("out.relative_standard_uncertainty", out.relative_standard_uncertainty.size(), size);
  require_length("out.status", out.status.size(), size);
  require_supported(options.level);
  const CorrectionLoop<Law> run = loop(OHMWARD_PICK_LEVEL(options.level, corrections_)(), law);
  const auto range = [&](std::size_t first, std::size_t last) {
    const double* const inputs[] = {readings.resistance_ohm.data() + first, readings.celsius.data() + first,
                                    readings.relative_standard_uncertainty.data() + first,
                                    readings.standard_uncertainty_kelvin.data() + first};
    run(last - first, inputs, law, out.resistance_ohm.data() + first, out.relative_standard_uncertainty.data() + first,
        reinterpret_cast<std::int8_t*>(out.status.data() + first));  // Status is an int8
  };
  numerics::in_parallel(size, threads_for(size, options.threads), range);
}

template <class Law>
void to_reference(std::span<const double> resistance_ohm, std::span<const double> celsius, const Law& law,
                  std::span<double> out_ohm, std::span<Status> status, const numerics::BatchOptions& options) {
  const std::size_t size = resistance_ohm.size();
  require_length("celsius", celsius.size(), size);
  require_length("out_ohm", out_ohm.size(), size);
  if (!status.empty()) require_length("status", status.size(), size);
  require_supported(options.level);
  const numerics::Elementwise& formula = formula::formulas(options.level)[place(law)];
  const auto parameters = constants(law);
  const auto range = [&](std::size_t first, std::size_t last) {
    const double* const inputs[] = {resistance_ohm.data() + first, celsius.data() + first};
    // The status first: the result may overwrite an input.
    if (!status.empty())
      formula.status(last - first, inputs, parameters.data(), reinterpret_cast<std::int8_t*>(status.data() + first));
    formula.value(last - first, inputs, parameters.data(), out_ohm.data() + first);
  };
  numerics::in_parallel(size, threads_for(size, options.threads), range);
}

#define OHMWARD_BATCH_OF(Law) \
  template void to_reference(const UncertainReadings&, const Law&, const CorrectedReadings&, \
                             const numerics::BatchOptions&); \
  template void to_reference(std::span<const double>, std::span<const double>, const Law&, std::span<double>, \
                             std::span<Status>, const numerics::BatchOptions&);
OHMWARD_BATCH_OF(Halving)
OHMWARD_BATCH_OF(Thermosetting)
OHMWARD_BATCH_OF(Arrhenius)
OHMWARD_BATCH_OF(Conductor)
#undef OHMWARD_BATCH_OF

}  // namespace ohmward::formula
