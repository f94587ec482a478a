#include <pybind11/pybind11.h>

#include "arrays.hpp"
#include "ohmward/formula/batch.hpp"
#include "ufuncs.hpp"

namespace ohmward::python {

void bind_formula(py::module_& module);

namespace {

using numerics::InstructionLevel;

template <class Law>
py::tuple corrected(const Array<double>& resistance_ohm, const Array<double>& celsius,
                    const Array<double>& relative_standard_uncertainty,
                    const Array<double>& standard_uncertainty_kelvin, const Law& law, int threads,
                    InstructionLevel level) {
  const auto size = static_cast<std::size_t>(resistance_ohm.size());
  Array<double> value = new_array<double>(size);
  Array<double> uncertainty = new_array<double>(size);
  Array<std::int8_t> status = new_array<std::int8_t>(size);
  const formula::UncertainReadings readings{view(resistance_ohm), view(celsius), view(relative_standard_uncertainty),
                                            view(standard_uncertainty_kelvin)};
  const formula::CorrectedReadings out{
      mutable_view(value), mutable_view(uncertainty), {reinterpret_cast<Status*>(status.mutable_data()), size}};
  {
    const py::gil_scoped_release unlocked;
    formula::to_reference(readings, law, out, {.threads = threads, .level = level});
  }
  return py::make_tuple(std::move(value), std::move(uncertainty), std::move(status));
}

/// One fused batch call: four columns, the constants of the law that `make` takes, threads and level.
template <class Law, class... Constant, class... Name>
void add_correction(py::module_& module, const char* name, Law (*make)(Constant...), const Name&... names) {
  module.def(
      name,
      [make](const Array<double>& resistance_ohm, const Array<double>& celsius,
             const Array<double>& relative_standard_uncertainty, const Array<double>& standard_uncertainty_kelvin,
             Constant... constants, int threads, InstructionLevel level) {
        return corrected(resistance_ohm, celsius, relative_standard_uncertainty, standard_uncertainty_kelvin,
                         make(constants...), threads, level);
      },
      py::arg("resistance_ohm").noconvert(), py::arg("celsius").noconvert(),
      py::arg("relative_standard_uncertainty").noconvert(), py::arg("standard_uncertainty_kelvin").noconvert(),
      py::kw_only(), names..., py::arg("threads") = 0, py::arg("level") = numerics::instruction_level());
}

formula::Halving halving(double step, double reference, double low, double high, double u) {
  return {step, reference, low, high, u};
}
formula::Thermosetting thermosetting(double below, double above, double knot, double zero, double reference, double low,
                                     double high, double u) {
  return {below, above, knot, zero, reference, low, high, u};
}
formula::Arrhenius arrhenius(double energy, double reference, double low, double high, double u) {
  return {energy, reference, low, high, u};
}
formula::Conductor conductor(double tau, double reference, double low, double high, double u) {
  return {tau, reference, low, high, u};
}

}  // namespace

void bind_formula(py::module_& module) {
  add_ufuncs(module, formula::formulas(numerics::instruction_level()));
  const auto reference = py::arg("reference_celsius");
  const auto low = py::arg("low_celsius");
  const auto high = py::arg("high_celsius");
  add_correction(module, "halving_correction", halving, py::arg("step_kelvin"), reference, low, high,
                 py::arg("step_standard_uncertainty_kelvin"));
  add_correction(module, "thermosetting_correction", thermosetting, py::arg("coefficient_below_kelvin"),
                 py::arg("coefficient_above_kelvin"), py::arg("knot_celsius"), py::arg("zero_kelvin"), reference, low,
                 high, py::arg("coefficient_relative_standard_uncertainty"));
  add_correction(module, "arrhenius_correction", arrhenius, py::arg("activation_energy_electronvolt"), reference, low,
                 high, py::arg("activation_energy_standard_uncertainty_electronvolt"));
  add_correction(module, "conductor_correction", conductor, py::arg("tau_kelvin"), reference, low, high,
                 py::arg("tau_standard_uncertainty_kelvin"));
  constexpr formula::Thermosetting ieee = formula::thermosetting_ieee_43;
  module.attr("thermosetting_ieee_43") =
      py::make_tuple(ieee.coefficient_below_kelvin, ieee.coefficient_above_kelvin, ieee.knot_celsius, ieee.zero_kelvin);
  constexpr formula::Magnus over_water;  // the constants that dew_point_celsius takes
  module.attr("magnus_over_water") =
      py::make_tuple(over_water.factor, over_water.offset_kelvin, over_water.low_celsius, over_water.high_celsius);
}

}  // namespace ohmward::python
