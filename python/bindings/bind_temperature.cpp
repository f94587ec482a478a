#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <utility>
#include <vector>

#include "ohmward/temperature/law.hpp"

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
      [](double activation, double u, double low, double high) {
        return law(Arrhenius{activation, u, {low, high}});
      },
      py::kw_only(), py::arg("activation_energy_electronvolt"), py::arg("activation_energy_standard_uncertainty_electronvolt"),
      py::arg("fitted_low_celsius"), py::arg("fitted_high_celsius"));
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

}  // namespace

void bind_temperature(py::module_& module) { bind_laws(module); }

}  // namespace ohmward::python
