#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include "ohmward/instruments/sheet.hpp"

namespace ohmward::python {

namespace py = pybind11;
using namespace instruments;

void bind_instruments(py::module_& module);

void bind_instruments(py::module_& module) {
  py::class_<Range>(module, "Range")
      .def(py::init<>())
      .def_readwrite("quantity", &Range::quantity)
      .def_readwrite("test_voltage_volt", &Range::test_voltage_volt)
      .def_readwrite("low", &Range::low)
      .def_readwrite("high", &Range::high)
      .def_readwrite("display_step", &Range::display_step)
      .def_readwrite("reading_percent", &Range::reading_percent)
      .def_readwrite("counts", &Range::counts)
      .def_readwrite("range_percent", &Range::range_percent)
      .def_readwrite("gain_share", &Range::gain_share);

  py::native_enum<Statement::Kind>(module, "StatementKind", "enum.IntEnum")
      .value("bound", Statement::Kind::bound)
      .value("k", Statement::Kind::k)
      .value("level", Statement::Kind::level)
      .finalize();

  py::class_<CertificatePoint>(module, "CertificatePoint")
      .def(py::init<>())
      .def_readwrite("quantity", &CertificatePoint::quantity)
      .def_readwrite("test_voltage_volt", &CertificatePoint::test_voltage_volt)
      .def_readwrite("value", &CertificatePoint::value)
      .def_readwrite("correction", &CertificatePoint::correction)
      .def_readwrite("expanded_uncertainty", &CertificatePoint::expanded_uncertainty)
      .def_readwrite("coverage_factor", &CertificatePoint::coverage_factor);

  py::class_<Instrument>(module, "Instrument")
      .def(py::init<>())
      .def_readwrite("id", &Instrument::id)
      .def_readwrite("kind", &Instrument::kind)
      .def_readwrite("input_ohm", &Instrument::input_ohm)
      .def_readwrite("source_ampere", &Instrument::source_ampere)
      .def_property(
          "valid_from_day", [](const Instrument& self) { return self.valid.from_day; },
          [](Instrument& self, std::int64_t day) { self.valid.from_day = day; })
      .def_property(
          "valid_until_day", [](const Instrument& self) { return self.valid.until_day; },
          [](Instrument& self, std::int64_t day) { self.valid.until_day = day; })
      .def_property(
          "statement", [](const Instrument& self) { return py::make_tuple(self.statement.kind, self.statement.value); },
          [](Instrument& self, std::pair<Statement::Kind, double> statement) {
            self.statement = {statement.first, statement.second};
          })
      .def_readwrite("temperature_coefficient", &Instrument::temperature_coefficient)
      .def_readwrite("reads_zero_below", &Instrument::reads_zero_below)
      .def_readwrite("correction", &Instrument::correction)
      .def_readwrite("ranges", &Instrument::ranges)
      .def_readwrite("certificate", &Instrument::certificate)
      .def("validate", [](const Instrument& self) { validate(self); })
      .def(
          "ceiling",
          [](const Instrument& self, QuantityKind quantity, double test_voltage_volt) {
            return ceiling(self, quantity, test_voltage_volt);
          },
          py::arg("quantity"), py::arg("test_voltage_volt"))
      .def(
          "quantity",
          [](const Instrument& self, QuantityKind kind, double value, Censoring censoring, double resolution,
             double test_voltage_volt, double ambient_celsius, double decision_value) {
            const Measured measured = quantity(self, {.quantity = kind,
                                                      .value = value,
                                                      .censoring = censoring,
                                                      .resolution = resolution,
                                                      .test_voltage_volt = test_voltage_volt,
                                                      .ambient_celsius = ambient_celsius,
                                                      .decision_value = decision_value});
            py::dict parts;
            for (const uncertainty::PartFacts& part : uncertainty::part_facts)
              if (measured.quantity.parts[part.part] != 0)
                parts[py::str(part.name.data(), part.name.size())] = measured.quantity.parts[part.part];
            return py::make_tuple(measured.quantity.value, measured.quantity.censoring, measured.quantity.status,
                                  measured.quantity.scale == Scale::log, parts, measured.findings.bits());
          },
          py::kw_only(), py::arg("quantity"), py::arg("value"), py::arg("censoring"), py::arg("resolution"),
          py::arg("test_voltage_volt"), py::arg("ambient_celsius"), py::arg("decision_value"));

  py::class_<Instruments>(module, "Instruments")
      .def(py::init<std::vector<Instrument>>(), py::arg("instruments"))
      .def("find", &Instruments::find, py::arg("id"), py::arg("day"))
      .def("all",
           [](const Instruments& self) { return std::vector<Instrument>(self.all().begin(), self.all().end()); });
}

}  // namespace ohmward::python
