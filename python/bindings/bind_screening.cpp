#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <algorithm>

#include "arrays.hpp"
#include "ohmward/screening/marks.hpp"

namespace ohmward::python {

namespace py = pybind11;
using namespace screening;

void bind_screening(py::module_& module);

namespace {

Array<std::int64_t> rows_of(const std::vector<std::size_t>& rows) {
  Array<std::int64_t> array = new_array<std::int64_t>(rows.size());
  std::ranges::transform(rows, array.mutable_data(), [](std::size_t row) { return static_cast<std::int64_t>(row); });
  return array;
}

void bind_meter(py::module_& module) {
  py::class_<MeterRange>(module, "MeterRange")
      .def(py::init([](QuantityKind quantity, double test_voltage_volt, double low, double high, double display_step,
                       double reading_bound, double counts) {
             return MeterRange{.quantity = quantity,
                               .test_voltage_volt = test_voltage_volt,
                               .low = low,
                               .high = high,
                               .display_step = display_step,
                               .reading_bound = reading_bound,
                               .counts = counts};
           }),
           py::kw_only(), py::arg("quantity"), py::arg("test_voltage_volt"), py::arg("low"), py::arg("high"),
           py::arg("display_step"), py::arg("reading_bound"), py::arg("counts"));
  py::class_<Meter>(module, "Meter")
      .def(py::init([](std::string id, std::int64_t from_day, std::int64_t until_day, double correction,
                       double source_ampere, std::vector<MeterRange> ranges) {
             return Meter{.id = std::move(id),
                          .from_day = from_day,
                          .until_day = until_day,
                          .correction = correction,
                          .source_ampere = source_ampere,
                          .ranges = std::move(ranges)};
           }),
           py::kw_only(), py::arg("id"), py::arg("from_day"), py::arg("until_day"), py::arg("correction"),
           py::arg("source_ampere"), py::arg("ranges"));
}

void bind_settings(py::module_& module) {
  py::class_<Settings> settings(module, "Settings");
  settings.def(py::init<>());
#define OHMWARD_SETTING(name) settings.def_readwrite(#name, &Settings::name);
  OHMWARD_SETTING(slip_probability)
  OHMWARD_SETTING(slip_share)
  OHMWARD_SETTING(outlier_share)
  OHMWARD_SETTING(outlier_span_decade)
  OHMWARD_SETTING(own_spread_decade)
  OHMWARD_SETTING(kind_spread_decade)
  OHMWARD_SETTING(tail_share)
  OHMWARD_SETTING(tail_decade)
  OHMWARD_SETTING(agreeing_decade)
  OHMWARD_SETTING(agreeing_day)
  OHMWARD_SETTING(copy_margin_bit)
  OHMWARD_SETTING(copy_fidelity)
  OHMWARD_SETTING(monitor_warm_celsius)
  OHMWARD_SETTING(monitor_low_ohm)
  OHMWARD_SETTING(monitor_high_ohm)
  OHMWARD_SETTING(monitor_ohm)
  OHMWARD_SETTING(monitor_fit_decade)
  OHMWARD_SETTING(monitor_drop_decade)
  OHMWARD_SETTING(monitor_spread_decade)
  OHMWARD_SETTING(null_raised_ohm)
  OHMWARD_SETTING(null_lowered_ohm)
  OHMWARD_SETTING(negative_ohm)
  OHMWARD_SETTING(open_jump_decade)
  OHMWARD_SETTING(whole_above_part)
  OHMWARD_SETTING(clip_rows)
  OHMWARD_SETTING(class_bound)
  OHMWARD_SETTING(settling_ratio)
  OHMWARD_SETTING(settling_second)
  OHMWARD_SETTING(unlike_deviations)
  OHMWARD_SETTING(unlike_object_deviations)
  OHMWARD_SETTING(joint_jump_ohm)
  OHMWARD_SETTING(pair_drift_volt)
  OHMWARD_SETTING(pair_jump_volt)
  OHMWARD_SETTING(unlike_part_decade)
  OHMWARD_SETTING(unlike_battery_share)
  OHMWARD_SETTING(low_battery_share)
#undef OHMWARD_SETTING
}

void bind_marks(py::module_& module) {
  py::class_<Evidence>(module, "Evidence")
      .def_property_readonly("finding", [](const Evidence& self) { return static_cast<int>(self.finding); })
      .def_property_readonly("rows", [](const Evidence& self) { return rows_of(self.rows); })
      .def_property_readonly("shown_by", [](const Evidence& self) { return rows_of(self.shown_by); })
      .def_readonly("statistic", &Evidence::statistic)
      .def_readonly("threshold", &Evidence::threshold)
      .def_readonly("sentence", &Evidence::sentence);
  py::class_<Marks>(module, "Marks")
      .def_property_readonly("findings",
                             [](const py::object& self) {
                               const Marks& marks = self.cast<const Marks&>();
                               return borrowed(std::span<const std::uint64_t>(marks.findings), self);
                             })
      .def_property_readonly("meter_factor",
                             [](const py::object& self) {
                               const Marks& marks = self.cast<const Marks&>();
                               return borrowed(std::span<const double>(marks.meter_factor), self);
                             })
      .def_property_readonly("evidence", [](const py::object& self) {
        py::list all;
        for (const Evidence& each : self.cast<const Marks&>().evidence)
          all.append(py::cast(&each, py::return_value_policy::reference_internal, self));
        return all;
      });
}

}  // namespace

void bind_screening(py::module_& module) {
  bind_meter(module);
  bind_settings(module);
  bind_marks(module);
  module.def(
      "marks",
      [](const readings::Table& table, const std::vector<Meter>& meters, const Settings& settings, int threads) {
        const py::gil_scoped_release unlocked;
        return marks(table, meters, settings, threads);
      },
      py::kw_only(), py::arg("table"), py::arg("meters"), py::arg("settings"), py::arg("threads"));
}

}  // namespace ohmward::python
