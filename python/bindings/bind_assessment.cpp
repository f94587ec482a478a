#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include "arrays.hpp"
#include "ohmward/assessment/assess.hpp"
#include "ohmward/assessment/explain.hpp"
#include "ohmward/assessment/together.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::python {

namespace py = pybind11;
using namespace assessment;

void bind_assessment(py::module_& module);

namespace {

/// Everything that a table was judged with, kept alive together.
struct Judging {
  instruments::Instruments instruments;
  std::vector<LimitEntry> limits;
  PartKinds part_kinds;
  Settings settings;

  [[nodiscard]] Context context() const { return {instruments, limits, part_kinds, settings}; }
};

using Marks = std::optional<Array<std::uint64_t>>;
using MeterFactors = std::optional<Array<double>>;

template <class T>
std::span<const T> column_view(const std::optional<Array<T>>& values, const char* name, const readings::Table& table) {
  if (!values) return {};
  if (static_cast<std::size_t>(values->size()) != table.rows())
    throw py::value_error(std::string(name) + " needs one entry a row");
  return view(*values);
}

Screened screened(const Marks& marks, const MeterFactors& factors, const readings::Table& table) {
  return {.findings = column_view(marks, "marks", table), .meter_factor = column_view(factors, "meter_factor", table)};
}

py::list row_list(const std::vector<std::size_t>& rows) {
  py::list all;
  for (const std::size_t row : rows) all.append(row);
  return all;
}

template <class T, class Owner>
py::array column(const std::vector<T>& values, const Owner& owner) {
  return borrowed(std::span<const T>(values), owner);
}

/// Enumerations are handed out as their int8 or uint8.
template <class Raw, class Enum>
py::array raw_column(const std::vector<Enum>& values, py::handle owner) {
  static_assert(sizeof(Raw) == sizeof(Enum));
  return borrowed(std::span<const Raw>(reinterpret_cast<const Raw*>(values.data()), values.size()), owner);
}

void bind_results(py::module_& module) {
  py::class_<Results>(module, "Results")
      .def_property_readonly("rows", &Results::rows)
      .def_property_readonly("derived",
                             [](const Results& self) {
                               py::list all;
                               for (const Derived& each : self.derived)
                                 all.append(py::make_tuple(static_cast<int>(each.kind), row_list(each.rows), each.place,
                                                           each.times.late_second, each.times.early_second));
                               return all;
                             })
      .def("columns", [](const py::object& self) {
        const Results& r = self.cast<const Results&>();
        py::dict columns;
        columns["verdict"] = raw_column<std::int8_t>(r.verdict, self);
        columns["undecided"] = raw_column<std::int8_t>(r.undecided, self);
        columns["reason"] = raw_column<std::int8_t>(r.reason, self);
        columns["findings"] = column(r.findings, self);
        columns["action"] = raw_column<std::uint8_t>(r.action, self);
        columns["cause"] = column(r.cause, self);
        columns["status"] = raw_column<std::int8_t>(r.status, self);
        columns["censoring"] = raw_column<std::int8_t>(r.censoring, self);
        columns["value"] = column(r.value, self);
        columns["standard_uncertainty"] = column(r.standard_uncertainty, self);
        columns["compared"] = column(r.compared, self);
        columns["compared_standard_uncertainty"] = column(r.compared_standard_uncertainty, self);
        columns["acceptance"] = column(r.acceptance, self);
        columns["probability_of_conformity"] = column(r.probability_of_conformity, self);
        columns["limit"] = column(r.limit, self);
        columns["instrument"] = column(r.instrument, self);
        columns["condition"] = raw_column<std::int8_t>(r.condition, self);
        columns["charge_low"] = column(r.charge_low, self);
        columns["charge_median"] = column(r.charge_median, self);
        columns["charge_high"] = column(r.charge_high, self);
        columns["current"] = column(r.current, self);
        return columns;
      });
}

py::dict ratio_dict(const uncertainty::Quantity& ratio) {
  py::dict told;
  told["value"] = ratio.value;
  told["standard_uncertainty"] = ratio.standard_uncertainty();
  told["censoring"] = static_cast<int>(ratio.censoring);
  told["status"] = static_cast<int>(ratio.status);
  told["shown"] = shown(ratio, QuantityKind::insulation_ratio);
  told["interval"] = shown_interval(ratio, QuantityKind::insulation_ratio);
  return told;
}

py::dict run_dict(const RunSummary& run) {
  py::dict told;
  told["rows"] = row_list(run.rows);
  told["place"] = run.place;
  told["capacitance_low_farad"] = run.capacitance.low_farad;
  told["capacitance_high_farad"] = run.capacitance.high_farad;
  told["settling"] = static_cast<int>(run.settling.state);
  py::list ratios;
  for (const RunRatio& ratio : run.ratios) {
    py::dict each = ratio_dict(ratio.quantity);
    each["late_second"] = ratio.times.late_second;
    each["early_second"] = ratio.times.early_second;
    each["attainable"] = ratio.attainable.value;
    ratios.append(std::move(each));
  }
  told["ratios"] = std::move(ratios);
  return told;
}

void bind_limits(py::module_& module) {
  py::native_enum<Authority>(module, "Authority", "enum.IntEnum")
      .value("regulation", Authority::regulation)
      .value("standard", Authority::standard)
      .value("workshop", Authority::workshop)
      .value("maker", Authority::maker)
      .finalize();
  py::native_enum<Repeats>(module, "Repeats", "enum.IntEnum")
      .value("last", Repeats::last)
      .value("mean", Repeats::mean)
      .value("worst", Repeats::worst)
      .finalize();
  py::class_<LimitEntry>(module, "LimitEntry")
      .def(py::init<>())
      .def_readwrite("id", &LimitEntry::id)
      .def_readwrite("quantity", &LimitEntry::quantity)
      .def_property(
          "applies_to",
          [](const LimitEntry& self) {
            py::dict scope;
            for (std::size_t i = 0; i < scope_columns.size(); ++i)
              if (!self.applies_to[i].empty())
                scope[py::str(std::string{readings::text(scope_columns[i])})] = self.applies_to[i];
            return scope;
          },
          [](LimitEntry& self, const std::map<std::string, std::string>& scope) {
            self.applies_to = {};
            for (const auto& [name, word] : scope) {
              std::size_t i = 0;
              while (i < scope_columns.size() && readings::text(scope_columns[i]) != name) ++i;
              if (i == scope_columns.size())
                throw InvalidParameter("limit.applies_to", name, "a column that a scope may name");
              self.applies_to[i] = word;
            }
          })
      .def_readwrite("lower", &LimitEntry::lower)
      .def_readwrite("upper", &LimitEntry::upper)
      .def_readwrite("per_volt", &LimitEntry::per_volt)
      .def_readwrite("working_volt", &LimitEntry::working_volt)
      .def_readwrite("strict", &LimitEntry::strict)
      .def_readwrite("reference_celsius", &LimitEntry::reference_celsius)
      .def_readwrite("required_test_voltage_volt", &LimitEntry::required_test_voltage_volt)
      .def_readwrite("required_test_ampere", &LimitEntry::required_test_ampere)
      .def_property(
          "late_second", [](const LimitEntry& self) { return self.times.late_second; },
          [](LimitEntry& self, double second) { self.times.late_second = second; })
      .def_property(
          "early_second", [](const LimitEntry& self) { return self.times.early_second; },
          [](LimitEntry& self, double second) { self.times.early_second = second; })
      .def_readwrite("repeats", &LimitEntry::repeats)
      .def_property(
          "guard_factors",
          [](const LimitEntry& self) { return py::make_tuple(self.rule.multiple, self.rule.coverage_factor); },
          [](LimitEntry& self, std::optional<std::pair<double, double>> factors) {
            self.rule = factors ? conformity::guarded({.multiple = factors->first, .coverage_factor = factors->second})
                                : conformity::simple();
          })
      .def_readwrite("authority", &LimitEntry::authority)
      .def_readwrite("whole", &LimitEntry::whole)
      .def_readwrite("source", &LimitEntry::source)
      .def_readwrite("edition", &LimitEntry::edition)
      .def_readwrite("valid_from_day", &LimitEntry::valid_from_day)
      .def_property_readonly("lower_value", &LimitEntry::lower_value)
      .def("validate", [](const LimitEntry& self) { validate(self); });
}

void bind_part_kinds(py::module_& module) {
  py::class_<PartKind>(module, "PartKind")
      .def(py::init<>())
      .def_readwrite("id", &PartKind::id)
      .def_readwrite("law", &PartKind::law)
      .def_readwrite("capacitance_low_farad", &PartKind::capacitance_low_farad)
      .def_readwrite("capacitance_high_farad", &PartKind::capacitance_high_farad)
      .def_readwrite("allowed_test_voltage_volt", &PartKind::allowed_test_voltage_volt)
      .def_readwrite("network", &PartKind::network)
      .def_readwrite("whole", &PartKind::whole)
      .def_readwrite("source", &PartKind::source);
  py::class_<PartKinds>(module, "PartKinds").def(py::init<std::vector<PartKind>>(), py::arg("kinds"));
}

template <class Enum, std::size_t count, class Text>
py::tuple texts(Text text) {
  py::list all;
  for (std::size_t i = 0; i < count; ++i) all.append(std::string{text(static_cast<Enum>(i))});
  return py::tuple(all);
}

}  // namespace

void bind_assessment(py::module_& module) {
  bind_limits(module);
  bind_part_kinds(module);
  bind_results(module);

  py::class_<Settings>(module, "Settings")
      .def(py::init<>())
      .def_readwrite("missing_low_celsius", &Settings::missing_low_celsius)
      .def_readwrite("missing_high_celsius", &Settings::missing_high_celsius)
      .def_readwrite("law", &Settings::law)
      .def_readwrite("overrides_law", &Settings::overrides_law)
      .def_readwrite("threads", &Settings::threads)
      .def_readwrite("dead", &Settings::dead)
      .def_readwrite("repeats", &Settings::repeats)
      .def_property(
          "class_bound", [](const Settings& self) { return self.instruments.class_bound; },
          [](Settings& self, double bound) { self.instruments.class_bound = bound; });

  py::class_<Judging>(module, "Judging")
      .def(py::init([](instruments::Instruments instruments, std::vector<LimitEntry> limits, PartKinds kinds,
                       Settings settings) {
             for (const LimitEntry& limit : limits) validate(limit);
             return Judging{std::move(instruments), std::move(limits), std::move(kinds), std::move(settings)};
           }),
           py::kw_only(), py::arg("instruments"), py::arg("limits"), py::arg("part_kinds"), py::arg("settings"))
      .def(
          "assess",
          [](const Judging& self, const readings::Table& table, const Marks& marks, const MeterFactors& factors) {
            const Screened seen = screened(marks, factors, table);
            const py::gil_scoped_release unlocked;
            return assess(table, self.context(), seen);
          },
          py::arg("table"), py::kw_only(), py::arg("marks"), py::arg("meter_factor"))
      .def(
          "explain",
          [](const Judging& self, const readings::Table& table, std::size_t row, const Marks& marks,
             const MeterFactors& factors) {
            std::vector<std::pair<std::string, std::string>> steps;
            for (ExplanationStep& step : explain(table, row, self.context(), screened(marks, factors, table)))
              steps.emplace_back(std::move(step.step), std::move(step.text));
            return steps;
          },
          py::arg("table"), py::arg("row"), py::kw_only(), py::arg("marks"), py::arg("meter_factor"))
      .def(
          "runs",
          [](const Judging& self, const readings::Table& table) {
            py::list all;
            for (const RunSummary& run : runs(table, self.context())) all.append(run_dict(run));
            return all;
          },
          py::arg("table"))
      .def(
          "pairs",
          [](const Judging& self, const readings::Table& table) {
            py::list all;
            for (const PairSummary& pair : pairs(table, self.context()))
              all.append(
                  py::make_tuple(pair.before, pair.after, ratio_dict(pair.ratio), std::string{text(pair.change)}));
            return all;
          },
          py::arg("table"));

  module.def(
      "shown_value", [](double value, QuantityKind kind) { return shown(value, kind); }, py::arg("value"),
      py::arg("quantity"));
  module.def(
      "shown_quantity",
      [](double value, double standard_uncertainty, Censoring censoring, QuantityKind kind) {
        uncertainty::Quantity quantity{
            .value = value, .scale = facts(kind).scale, .censoring = censoring, .status = Status::sound};
        quantity.parts.set(uncertainty::Part::other, standard_uncertainty);
        return py::make_tuple(shown(quantity, kind), shown_interval(quantity, kind));
      },
      py::kw_only(), py::arg("value"), py::arg("standard_uncertainty"), py::arg("censoring"), py::arg("quantity"));
  py::dict conditions;
#define OHMWARD_CONDITION_ENTRY(name, number, text) conditions[py::int_(number)] = py::make_tuple(#name, text);
  OHMWARD_CONDITION_TABLE(OHMWARD_CONDITION_ENTRY)
#undef OHMWARD_CONDITION_ENTRY
  module.attr("condition_table") = conditions;
  module.attr("verdict_names") = texts<conformity::Verdict, 6>([](conformity::Verdict v) { return text(v); });
  module.attr("undecided_names") = texts<conformity::Undecided, 5>([](conformity::Undecided v) { return text(v); });
  module.attr("reason_texts") = texts<conformity::Reason, 8>([](conformity::Reason v) { return text(v); });
  module.attr("action_texts") = texts<NextAction, 33>([](NextAction v) { return text(v); });
  py::list actions;
#define OHMWARD_NEXT_ACTION_ENTRY(name, number, text) actions.append(#name);
  OHMWARD_NEXT_ACTION_TABLE(OHMWARD_NEXT_ACTION_ENTRY)
#undef OHMWARD_NEXT_ACTION_ENTRY
  module.attr("action_names") = py::tuple(actions);
  py::list scope;
  for (const readings::TextName name : scope_columns) scope.append(std::string{readings::text(name)});
  module.attr("scope_names") = py::tuple(scope);
  module.attr("authority_names") = texts<Authority, 4>([](Authority v) { return text(v); });
}

}  // namespace ohmward::python
