#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <utility>
#include <vector>

#include "arrays.hpp"
#include "ohmward/temperature/fit_law.hpp"
#include "ohmward/temperature/law.hpp"
#include "ohmward/temperature/to_reference.hpp"
#include "quantity.hpp"

namespace ohmward::python {

namespace py = pybind11;
using namespace temperature;

void bind_temperature(py::module_& module);

namespace {

using Points = std::vector<std::pair<double, double>>;

void bind_laws(py::module_& module) {
  py::native_enum<LawKind>(module, "LawKind", "enum.IntEnum")
      .value("none", LawKind::none)
      .value("halving", LawKind::halving)
      .value("thermosetting", LawKind::thermosetting)
      .value("arrhenius", LawKind::arrhenius)
      .value("table", LawKind::table)
      .value("conductor", LawKind::conductor)
      .finalize();
  py::class_<Law>(module, "Law")
      .def(py::init<>())
      .def_readonly("kind", &Law::kind)
      .def_readonly("constant", &Law::constant)
      .def_readonly("relative_standard_uncertainty", &Law::relative_standard_uncertainty)
      .def_readonly("fitted_low_celsius", &Law::fitted_low_celsius)
      .def_readonly("fitted_high_celsius", &Law::fitted_high_celsius);
  module.def(
      "halving",
      [](double step_kelvin, double u_kelvin, double low, double high) {
        return law(Halving{step_kelvin, u_kelvin, {low, high}});
      },
      py::kw_only(), py::arg("step_kelvin"), py::arg("step_standard_uncertainty_kelvin"), py::arg("fitted_low_celsius"),
      py::arg("fitted_high_celsius"));
  module.def(
      "arrhenius",
      [](double activation, double u, double low, double high) { return law(Arrhenius{activation, u, {low, high}}); },
      py::kw_only(), py::arg("activation_energy_electronvolt"),
      py::arg("activation_energy_standard_uncertainty_electronvolt"), py::arg("fitted_low_celsius"),
      py::arg("fitted_high_celsius"));
  module.def(
      "conductor", [](double tau, double u, double low, double high) { return law(Conductor{tau, u, {low, high}}); },
      py::kw_only(), py::arg("tau_kelvin"), py::arg("tau_standard_uncertainty_kelvin"), py::arg("fitted_low_celsius"),
      py::arg("fitted_high_celsius"));
  module.def(
      "thermosetting", [](double u) { return law(Thermosetting{u}); }, py::kw_only(),
      py::arg("relative_standard_uncertainty"));
  module.def(
      "factor_table",
      [](const Points& points, double u) {
        FactorTable table{.points = {}, .relative_standard_uncertainty = u};
        for (const auto& [celsius, factor] : points) table.points.push_back({celsius, factor});
        return law(table);
      },
      py::kw_only(), py::arg("points"), py::arg("relative_standard_uncertainty"));
  module.def("oil_immersed", &oil_immersed);
  module.def("solid", &solid);
  module.def("copper", &copper);
}

Conditions conditions(const Law& law, double part, double u_kelvin, double reference, double default_u_kelvin,
                      double default_relative_u) {
  return {.law = law,
          .part_celsius = part,
          .standard_uncertainty_kelvin = u_kelvin,
          .reference_celsius = reference,
          .defaults = {.standard_uncertainty_kelvin = default_u_kelvin,
                       .relative_standard_uncertainty = default_relative_u}};
}

void bind_corrections(py::module_& module) {
  constexpr Defaults defaults{};
  module.def(
      "relative_standard_uncertainty", [](const Law& law) { return relative_standard_uncertainty(law); },
      py::arg("law"));
  module.def(
      "factors_to_reference",
      [](const Law& law, const Array<double>& part_celsius, double reference_celsius) {
        const auto celsius = view(part_celsius);
        Array<double> factor = new_array<double>(celsius.size());
        Array<std::int8_t> status = new_array<std::int8_t>(celsius.size());
        const auto f = mutable_view(factor);
        const auto s = mutable_view(status);
        {
          const py::gil_scoped_release unlocked;
          for (std::size_t i = 0; i < celsius.size(); ++i) {
            const Factor one =
                factor_to_reference({.law = law, .part_celsius = celsius[i], .reference_celsius = reference_celsius});
            f[i] = one.value;
            s[i] = static_cast<std::int8_t>(one.status);
          }
        }
        return py::make_tuple(std::move(factor), std::move(status));
      },
      py::arg("law"), py::arg("part_celsius").noconvert(), py::kw_only(), py::arg("reference_celsius"));
  module.def(
      "to_reference",
      [](const py::tuple& quantity, const Law& law, double part, double u_kelvin, double reference,
         double default_u_kelvin, double default_relative_u) {
        return as_tuple(to_reference(as_quantity(quantity),
                                     conditions(law, part, u_kelvin, reference, default_u_kelvin, default_relative_u)));
      },
      py::arg("quantity"), py::kw_only(), py::arg("law"), py::arg("part_celsius"),
      py::arg("standard_uncertainty_kelvin"), py::arg("reference_celsius"),
      py::arg("default_standard_uncertainty_kelvin") = defaults.standard_uncertainty_kelvin,
      py::arg("default_relative_standard_uncertainty") = defaults.relative_standard_uncertainty);
  py::native_enum<FitReason>(module, "FitReason", "enum.IntEnum")
      .value("fitted", FitReason::fitted)
      .value("too_few_readings", FitReason::too_few_readings)
      .value("span_too_small", FitReason::span_too_small)
      .value("does_not_fall", FitReason::does_not_fall)
      .value("scatters_too_much", FitReason::scatters_too_much)
      .finalize();
  module.def(
      "fit_law",
      [](const py::list& resistance, const Array<double>& celsius, const Array<double>& u_kelvin, LawKind kind,
         double least_span_kelvin, double level) {
        std::vector<ReadingAt> readings;
        for (std::size_t i = 0; i < view(celsius).size(); ++i)
          readings.push_back({as_quantity(resistance[i].cast<py::tuple>()), view(celsius)[i], view(u_kelvin)[i]});
        const LawFit fit = fit_law(readings, {.kind = kind, .least_span_kelvin = least_span_kelvin, .level = level});
        return py::make_tuple(fit.law, fit.status, fit.reason, fit.chi_squared, fit.degrees_of_freedom,
                              fit.ln_at_reference, fit.reference_celsius);
      },
      py::arg("resistance"), py::arg("celsius").noconvert(), py::arg("standard_uncertainty_kelvin").noconvert(),
      py::kw_only(), py::arg("kind"), py::arg("least_span_kelvin"), py::arg("level"));
}

}  // namespace

void bind_temperature(py::module_& module) {
  bind_laws(module);
  bind_corrections(module);
}

}  // namespace ohmward::python
