#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>

#include "ohmward/core/censoring.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/core/findings.hpp"
#include "ohmward/core/quantity_kind.hpp"
#include "ohmward/core/status.hpp"

namespace ohmward::python {

namespace py = pybind11;

void bind_core(py::module_& module);

void bind_core(py::module_& module) {
  py::register_local_exception<InvalidParameter>(module, "InvalidParameter", PyExc_ValueError);
  py::register_local_exception<UnreadableInput>(module, "UnreadableInput", PyExc_ValueError);

  py::native_enum<Status> status(module, "Status", "enum.IntEnum");
#define OHMWARD_STATUS_ENTRY(name, number, text) status.value(#name, Status::name);
  OHMWARD_STATUS_TABLE(OHMWARD_STATUS_ENTRY)
#undef OHMWARD_STATUS_ENTRY
  status.finalize();

  py::native_enum<Censoring>(module, "Censoring", "enum.IntEnum")
      .value("exact", Censoring::exact)
      .value("above", Censoring::above)
      .value("below", Censoring::below)
      .value("overload", Censoring::overload)
      .finalize();

  py::native_enum<Finding> finding(module, "Finding", "enum.IntEnum");
  for (const FindingFacts& entry : finding_facts) finding.value(entry.name.data(), entry.finding);
  finding.finalize();

  py::native_enum<QuantityKind> kind(module, "QuantityKind", "enum.IntEnum");
  for (const QuantityKindFacts& entry : quantity_kinds) kind.value(entry.name.data(), entry.kind);
  kind.finalize();

  module.def("status_text", [](int number) { return text(static_cast<Status>(number)); }, py::arg("number"));
  py::list findings;
  for (const FindingFacts& entry : finding_facts)
    findings.append(py::make_tuple(entry.name, entry.can_hide_a_bad_part, entry.text));
  module.attr("finding_table") = py::tuple(findings);
  py::list kinds;
  for (const QuantityKindFacts& entry : quantity_kinds)
    kinds.append(py::make_tuple(entry.name, entry.unit, entry.scale == Scale::log));
  module.attr("quantity_kind_table") = py::tuple(kinds);
}

}  // namespace ohmward::python
