#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include "arrays.hpp"
#include "ohmward/battery/acid.hpp"
#include "ohmward/battery/battery.hpp"
#include "ohmward/battery/pack.hpp"
#include "ohmward/battery/pair.hpp"
#include "ohmward/battery/relaxation.hpp"
#include "ohmward/battery/self_discharge.hpp"
#include "ohmward/battery/stand_out.hpp"

namespace ohmward::python {

using battery::Battery;
using battery::ChargePosterior;
using battery::ChargePrior;
using battery::Condition;
using battery::Pair;
using battery::PairState;
using battery::RestingReading;
using battery::RestState;

void bind_battery(py::module_& module);

namespace {

battery::OpenCircuitCurve own_curve(const std::string& name, const Array<double>& charge,
                                    const Array<double>& cell_volt, double volt_per_kelvin,
                                    double volt_per_kelvin_standard_uncertainty, double standard_uncertainty_volt,
                                    double reference_celsius) {
  return battery::OpenCircuitCurve({.name = name,
                                    .charge = view(charge),
                                    .cell_volt = view(cell_volt),
                                    .volt_per_kelvin = {&volt_per_kelvin, 1},
                                    .volt_per_kelvin_standard_uncertainty = volt_per_kelvin_standard_uncertainty,
                                    .standard_uncertainty_volt = standard_uncertainty_volt,
                                    .reference_celsius = reference_celsius});
}

py::tuple at_rest_batch(const Battery& self, const Array<double>& voltage_volt,
                        const Array<double>& standard_uncertainty_volt, const Array<double>& celsius,
                        const Array<double>& celsius_standard_uncertainty_kelvin, const Array<double>& rest_hour,
                        const Array<std::int8_t>& history, double level, unsigned threads) {
  const std::size_t rows = view(voltage_volt).size();
  auto median = new_array<double>(rows), low = new_array<double>(rows), high = new_array<double>(rows);
  auto condition = new_array<std::int8_t>(rows), status = new_array<std::int8_t>(rows);
  auto findings = new_array<std::uint64_t>(rows);
  const battery::RestStates states{.median = mutable_view(median),
                                   .low = mutable_view(low),
                                   .high = mutable_view(high),
                                   .condition = mutable_view(condition),
                                   .status = mutable_view(status),
                                   .findings = mutable_view(findings)};
  const battery::RestingReadings readings{
      .voltage_volt = view(voltage_volt),
      .standard_uncertainty_volt = view(standard_uncertainty_volt),
      .celsius = view(celsius),
      .celsius_standard_uncertainty_kelvin = view(celsius_standard_uncertainty_kelvin),
      .rest_hour = view(rest_hour),
      .history = view(history)};
  {
    const py::gil_scoped_release unlocked;
    self.at_rest(readings, level, states, threads);
  }
  return py::make_tuple(median, low, high, condition, status, findings);
}

void bind_curves(py::module_& module) {
  py::class_<battery::OpenCircuitCurve>(module, "OpenCircuitCurve",
                                        "Open-circuit voltage of one cell against charge, linear between its points.")
      .def(py::init(&own_curve), py::kw_only(), py::arg("name"), py::arg("charge").noconvert(),
           py::arg("cell_volt").noconvert(), py::arg("volt_per_kelvin"),
           py::arg("volt_per_kelvin_standard_uncertainty"), py::arg("standard_uncertainty_volt"),
           py::arg("reference_celsius"))
      .def_property_readonly("name", &battery::OpenCircuitCurve::name)
      .def_property_readonly(
          "charge",
          [](py::object self) { return borrowed(self.cast<const battery::OpenCircuitCurve&>().charge(), self); })
      .def_property_readonly(
          "cell_volt",
          [](py::object self) { return borrowed(self.cast<const battery::OpenCircuitCurve&>().cell_volt(), self); })
      .def_property_readonly("reference_celsius", &battery::OpenCircuitCurve::reference_celsius)
      .def("volt", py::overload_cast<double, double>(&battery::OpenCircuitCurve::volt, py::const_), py::arg("charge"),
           py::arg("celsius"))
      .def("slope", &battery::OpenCircuitCurve::slope, py::arg("charge"));
  module.def("shipped_curve", &battery::shipped_curve, py::arg("name"));
  module.def("shipped_curve_names", &battery::shipped_curve_names);
  module.def("shipped_type_names", [] {
    const auto names = battery::shipped_type_names();
    return std::vector<std::string_view>(names.begin(), names.end());
  });
}

void bind_posterior(py::module_& module) {
  py::class_<ChargePrior>(module, "ChargePrior",
                          "What is known of the charge before the reading; flat where made without arguments.")
      .def(py::init<>())
      .def_static(
          "normal",
          [](double mean, double u) { return ChargePrior::normal({.mean = mean, .standard_uncertainty = u}); },
          py::kw_only(), py::arg("mean"), py::arg("standard_uncertainty"))
      .def_static(
          "density",
          [](const Array<double>& charge, const Array<double>& density) {
            return ChargePrior::density(view(charge), view(density));
          },
          py::kw_only(), py::arg("charge").noconvert(), py::arg("density").noconvert())
      .def_static(
          "since",
          [](const RestState& earlier, double change, double u) {
            return Battery::prior_from(earlier, {.change = change, .standard_uncertainty = u});
          },
          py::arg("earlier"), py::kw_only(), py::arg("change"), py::arg("standard_uncertainty"));
  py::class_<ChargePosterior>(module, "ChargePosterior")
      .def_property_readonly("empty", &ChargePosterior::empty)
      .def("cumulative", &ChargePosterior::cumulative, py::arg("charge"))
      .def("density", &ChargePosterior::density, py::arg("charge"))
      .def("quantile", &ChargePosterior::quantile, py::arg("level"))
      .def_property_readonly("mean", &ChargePosterior::mean)
      .def_property_readonly("standard_uncertainty", &ChargePosterior::standard_uncertainty)
      .def_property_readonly("modes",
                             [](const ChargePosterior& self) {
                               py::list all;
                               for (const auto& mode : self.modes())
                                 all.append(py::make_tuple(mode.charge, mode.probability));
                               return all;
                             })
      .def_property_readonly("type_share_of_variance", &ChargePosterior::type_share_of_variance);
}

void bind_states(py::module_& module) {
  py::native_enum<Condition> condition(module, "Condition", "enum.IntEnum");
#define OHMWARD_CONDITION_ENTRY(name, number, text) condition.value(#name, Condition::name);
  OHMWARD_CONDITION_TABLE(OHMWARD_CONDITION_ENTRY)
#undef OHMWARD_CONDITION_ENTRY
  condition.finalize();
  py::native_enum<battery::History>(module, "History", "enum.IntEnum")
      .value("unknown", battery::History::unknown)
      .value("after_charge", battery::History::after_charge)
      .value("after_discharge", battery::History::after_discharge)
      .finalize();
  py::native_enum<battery::Position>(module, "Position", "enum.IntEnum")
      .value("below", battery::Position::below)
      .value("inside", battery::Position::inside)
      .value("above", battery::Position::above)
      .finalize();
  module.def("condition_text", [](Condition value) { return battery::text(value); }, py::arg("condition"));

  py::class_<battery::ConditionNote>(module, "ConditionNote")
      .def_readonly("condition", &battery::ConditionNote::condition)
      .def_readonly("type", &battery::ConditionNote::type)
      .def_readonly("probability", &battery::ConditionNote::probability)
      .def_readonly("reason", &battery::ConditionNote::reason)
      .def_readonly("next_action", &battery::ConditionNote::next_action);
  py::class_<RestState>(module, "RestState")
      .def_readonly("condition", &RestState::condition)
      .def_readonly("status", &RestState::status)
      .def_property_readonly("findings", [](const RestState& self) { return self.findings.bits(); })
      .def_readonly("charge", &RestState::charge)
      .def_property_readonly("voltage_uncertainty",
                             [](const RestState& self) {
                               py::dict causes;
                               causes["meter"] = self.uncertainty.meter_volt;
                               causes["relaxation"] = self.uncertainty.relaxation_volt;
                               causes["temperature"] = self.uncertainty.temperature_volt;
                               causes["hysteresis"] = self.uncertainty.hysteresis_volt;
                               causes["curve"] = self.uncertainty.curve_volt;
                               return causes;
                             })
      .def_property_readonly("candidates", [](const RestState& self) {
        py::list all;
        for (const auto& seen : self.candidates)
          all.append(py::make_tuple(seen.position, seen.conditions.headline(), seen.probability, seen.missing_cells));
        return all;
      });
}

RestingReading reading_of(double voltage_volt, double standard_uncertainty_volt, double celsius,
                          double celsius_standard_uncertainty_kelvin, double rest_hour, battery::History history) {
  return {.voltage_volt = voltage_volt,
          .standard_uncertainty_volt = standard_uncertainty_volt,
          .celsius = celsius,
          .celsius_standard_uncertainty_kelvin = celsius_standard_uncertainty_kelvin,
          .rest_hour = rest_hour,
          .history = history};
}

void bind_batteries(py::module_& module) {
  py::class_<RestingReading>(module, "RestingReading")
      .def(py::init(&reading_of), py::kw_only(), py::arg("voltage_volt"), py::arg("standard_uncertainty_volt"),
           py::arg("celsius"), py::arg("celsius_standard_uncertainty_kelvin"), py::arg("rest_hour"),
           py::arg("history"));
  py::class_<Battery>(module, "Battery")
      .def("at_rest", py::overload_cast<const RestingReading&, const ChargePrior&>(&Battery::at_rest, py::const_),
           py::arg("reading"), py::arg("prior"))
      .def("at_rest_batch", &at_rest_batch, py::kw_only(), py::arg("voltage_volt").noconvert(),
           py::arg("standard_uncertainty_volt").noconvert(), py::arg("celsius").noconvert(),
           py::arg("celsius_standard_uncertainty_kelvin").noconvert(), py::arg("rest_hour").noconvert(),
           py::arg("history").noconvert(), py::arg("level"), py::arg("threads"))
      .def("notes", &Battery::notes, py::arg("reading"), py::arg("state"))
      .def_property_readonly("candidates", [](const Battery& self) {
        py::list all;
        for (const auto& candidate : self.candidates()) {
          py::list curves;
          for (const auto& curve : candidate.type.curves) curves.append(*curve);
          all.append(py::make_tuple(candidate.type.name, candidate.cells, candidate.weight, curves));
        }
        return all;
      });
  module.def("lead_acid", &battery::lead_acid, py::arg("type"), py::kw_only(), py::arg("cells"));
  module.def("lithium", &battery::lithium, py::arg("type"), py::kw_only(), py::arg("cells"));
  module.def("unknown_12v", &battery::unknown_12v);
  module.def("with_curve", &battery::with_curve, py::arg("curve"), py::kw_only(), py::arg("behaves_like"),
             py::arg("cells"));
  module.def(
      "mixture",
      [](const std::vector<std::tuple<const Battery*, double>>& parts) {
        std::vector<battery::Candidate> all;
        for (const auto& [part, weight] : parts)
          for (battery::Candidate candidate : part->candidates()) {
            candidate.weight *= weight;
            all.push_back(std::move(candidate));
          }
        return Battery(std::move(all));
      },
      py::arg("parts"));
}

py::tuple estimate(const battery::Estimate& value) { return py::make_tuple(value.value, value.standard_uncertainty); }

void bind_pair(py::module_& module) {
  py::class_<PairState>(module, "PairState")
      .def_readonly("status", &PairState::status)
      .def_property_readonly("findings", [](const PairState& self) { return self.findings.bits(); })
      .def_readonly("a", &PairState::a)
      .def_readonly("b", &PairState::b)
      .def_readonly("sum", &PairState::sum)
      .def_property_readonly("imbalance_volt", [](const PairState& self) { return estimate(self.imbalance_volt); })
      .def_readonly("probability_imbalanced", &PairState::probability_imbalanced)
      .def_property_readonly("closure_volt", [](const PairState& self) { return estimate(self.closure_volt); })
      .def_readonly("weaker_may_be_volt", &PairState::weaker_may_be_volt);
  py::class_<Pair>(module, "Pair")
      .def(py::init([](const Battery& one, double difference) {
             return Pair({.battery = one, .healthy_difference_volt = difference});
           }),
           py::arg("battery"), py::kw_only(), py::arg("healthy_difference_volt"))
      .def_property_readonly("both", &Pair::both)
      .def_property_readonly("healthy_difference_volt", &Pair::healthy_difference_volt)
      .def(
          "at_rest",
          [](const Pair& self, double a, double b, double sum, double u, double gain, double celsius, double u_celsius,
             double rest_hour, battery::History history) {
            return self.at_rest({.a_volt = a,
                                 .b_volt = b,
                                 .sum_volt = sum,
                                 .standard_uncertainty_volt = u,
                                 .gain_relative_standard_uncertainty = gain,
                                 .celsius = celsius,
                                 .celsius_standard_uncertainty_kelvin = u_celsius,
                                 .rest_hour = rest_hour,
                                 .history = history});
          },
          py::kw_only(), py::arg("a_volt"), py::arg("b_volt"), py::arg("sum_volt"),
          py::arg("standard_uncertainty_volt"), py::arg("gain_relative_standard_uncertainty"), py::arg("celsius"),
          py::arg("celsius_standard_uncertainty_kelvin"), py::arg("rest_hour"), py::arg("history"));
}

py::tuple forecast(const battery::Forecast& value) { return py::make_tuple(value.median, value.low, value.high); }

void bind_rest(py::module_& module) {
  module.def(
      "relaxation",
      [](const Battery& one, const Array<double>& rest_hour, const Array<double>& voltage_volt, double u,
         battery::History history, double target_hour, double level, double tolerance_volt) {
        const battery::RelaxationState state = battery::relaxation(
            {.rest_hour = view(rest_hour),
             .voltage_volt = view(voltage_volt),
             .standard_uncertainty_volt = u,
             .history = history},
            one.candidates().front(), {.target_hour = target_hour, .level = level, .tolerance_volt = tolerance_volt});
        py::dict models;
        for (std::size_t i = 0; i < battery::relaxation_models.size(); ++i)
          models[py::str(battery::relaxation_models[i])] = state.model_median_volt[i];
        return py::make_tuple(state.status, estimate(state.slope_volt_per_hour), forecast(state.rested_volt),
                              forecast(state.left_volt), state.at_rest, models);
      },
      py::arg("battery"), py::kw_only(), py::arg("rest_hour").noconvert(), py::arg("voltage_volt").noconvert(),
      py::arg("standard_uncertainty_volt"), py::arg("history"), py::arg("target_hour"), py::arg("level"),
      py::arg("tolerance_volt"));
  module.def(
      "self_discharge",
      [](const battery::OpenCircuitCurve& curve, int cells, double first_volt, double second_volt, double u,
         double first_celsius, double second_celsius, double elapsed_hour, double capacity) {
        const battery::SelfDischarge result = battery::self_discharge({.first_volt = first_volt,
                                                                       .second_volt = second_volt,
                                                                       .standard_uncertainty_volt = u,
                                                                       .first_celsius = first_celsius,
                                                                       .second_celsius = second_celsius,
                                                                       .elapsed_hour = elapsed_hour,
                                                                       .capacity_ampere_hour = capacity},
                                                                      curve, cells);
        return py::make_tuple(result.status, estimate(result.charge_lost), estimate(result.current_ampere));
      },
      py::arg("curve"), py::kw_only(), py::arg("cells"), py::arg("first_volt"), py::arg("second_volt"),
      py::arg("standard_uncertainty_volt"), py::arg("first_celsius"), py::arg("second_celsius"),
      py::arg("elapsed_hour"), py::arg("capacity_ampere_hour"));
  module.def(
      "storage_time",
      [](double charge, double u_charge, double floor, double current, double u_current, double capacity) {
        const battery::StorageTime result = battery::storage_time({.charge = {charge, u_charge},
                                                                   .floor = floor,
                                                                   .current_ampere = {current, u_current},
                                                                   .capacity_ampere_hour = capacity});
        return py::make_tuple(result.status, estimate(result.hour));
      },
      py::kw_only(), py::arg("charge"), py::arg("charge_standard_uncertainty"), py::arg("floor"),
      py::arg("current_ampere"), py::arg("current_standard_uncertainty_ampere"), py::arg("capacity_ampere_hour"));
  module.def(
      "self_discharge_factor",
      [](double from, double to) { return battery::self_discharge_factor({.from_celsius = from, .to_celsius = to}); },
      py::kw_only(), py::arg("from_celsius"), py::arg("to_celsius"));
}

void bind_pack(py::module_& module) {
  py::native_enum<battery::ChargeDecision>(module, "ChargeDecision", "enum.IntEnum")
      .value("alike", battery::ChargeDecision::alike)
      .value("differs", battery::ChargeDecision::differs)
      .value("not_decidable", battery::ChargeDecision::not_decidable)
      .value("not_read", battery::ChargeDecision::not_read)
      .finalize();
  py::class_<battery::ModuleState>(module, "ModuleState")
      .def_property_readonly("difference_volt",
                             [](const battery::ModuleState& self) { return estimate(self.difference_volt); })
      .def_readonly("stands_out", &battery::ModuleState::stands_out)
      .def_property_readonly("charge_difference",
                             [](const battery::ModuleState& self) {
                               return py::make_tuple(self.charge_difference_median, self.charge_difference_low,
                                                     self.charge_difference_high);
                             })
      .def_readonly("probability_differs", &battery::ModuleState::probability_differs)
      .def_readonly("decision", &battery::ModuleState::decision);
  py::class_<battery::PackState>(module, "PackState")
      .def_readonly("status", &battery::PackState::status)
      .def_readonly("middle_volt", &battery::PackState::middle_volt)
      .def_readonly("spread_volt", &battery::PackState::spread_volt)
      .def_property_readonly("charge_spread",
                             [](const battery::PackState& self) {
                               return py::make_tuple(self.charge_spread_median, self.charge_spread_low,
                                                     self.charge_spread_high);
                             })
      .def_readonly("middle", &battery::PackState::middle)
      .def_readonly("modules", &battery::PackState::modules);
  module.def(
      "pack_at_rest",
      [](const Battery& one, const Array<double>& voltage_volt, double u, double gain, const Array<double>& celsius,
         double u_celsius, double pack_celsius, double rest_hour, battery::History history, double risk,
         double charge_difference, double level) {
        const py::gil_scoped_release unlocked;
        return battery::pack_at_rest({.voltage_volt = view(voltage_volt),
                                      .standard_uncertainty_volt = u,
                                      .gain_relative_standard_uncertainty = gain,
                                      .celsius = view(celsius),
                                      .celsius_standard_uncertainty_kelvin = u_celsius,
                                      .pack_celsius = pack_celsius,
                                      .rest_hour = rest_hour,
                                      .history = history},
                                     one, {.risk = risk, .charge_difference = charge_difference, .level = level});
      },
      py::arg("module"), py::kw_only(), py::arg("voltage_volt").noconvert(), py::arg("standard_uncertainty_volt"),
      py::arg("gain_relative_standard_uncertainty"), py::arg("celsius").noconvert(),
      py::arg("celsius_standard_uncertainty_kelvin"), py::arg("pack_celsius"), py::arg("rest_hour"), py::arg("history"),
      py::arg("risk"), py::arg("charge_difference"), py::arg("level"));
  module.def(
      "lag_test",
      [](const Array<double>& now, const Array<double>& earlier, double u) {
        const battery::LagTest result =
            battery::lag_test({.now_volt = view(now), .earlier_volt = view(earlier), .standard_uncertainty_volt = u});
        return py::make_tuple(result.status, result.lag, result.first_shifted, result.log_odds);
      },
      py::kw_only(), py::arg("now_volt").noconvert(), py::arg("earlier_volt").noconvert(),
      py::arg("standard_uncertainty_volt"));
  module.def(
      "stand_out",
      [](const Array<double>& values, double risk, double least_spread) {
        const battery::StandOut result = battery::stand_out(view(values), {.risk = risk, .least_spread = least_spread});
        return py::make_tuple(result.status, result.which, result.centre, result.spread);
      },
      py::arg("values").noconvert(), py::kw_only(), py::arg("risk"), py::arg("least_spread"));
}

void bind_acid(py::module_& module) {
  namespace acid = battery::acid;
  const auto checked = [](Checked<double> (*function)(double) noexcept) {
    return [function](double at) {
      const Checked<double> result = function(at);
      return py::make_tuple(result.value, result.status);
    };
  };
  module.def("molality", checked(&acid::molality), py::arg("specific_gravity"));
  module.def("specific_gravity", checked(&acid::specific_gravity), py::arg("molality"));
  module.def("cell_emf_volt", checked(&acid::cell_emf_volt), py::arg("molality"));
  module.def("specific_gravity_at_rest", checked(&acid::specific_gravity_at_rest), py::arg("cell_volt"));
  module.def("freezing_celsius", checked(&acid::freezing_celsius), py::arg("specific_gravity"));
  module.def("self_discharge_per_day", checked(&acid::self_discharge_per_day), py::arg("celsius"));
  module.def("cell_rule_volt", &acid::cell_rule_volt, py::arg("specific_gravity"));
  module.def(
      "corrected_specific_gravity",
      [](double gravity, double celsius) {
        return acid::corrected_specific_gravity({.specific_gravity = gravity, .celsius = celsius});
      },
      py::kw_only(), py::arg("specific_gravity"), py::arg("celsius"));
}

}  // namespace

void bind_battery(py::module_& module) {
  bind_curves(module);
  bind_posterior(module);
  bind_states(module);
  bind_batteries(module);
  bind_pair(module);
  bind_rest(module);
  bind_pack(module);
  bind_acid(module);
}

}  // namespace ohmward::python
