#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <tuple>

#include "ohmward/formula/highvoltage.hpp"
#include "ohmward/highvoltage/bonding.hpp"
#include "ohmward/highvoltage/discharge.hpp"
#include "ohmward/highvoltage/isolation.hpp"
#include "ohmward/highvoltage/leak.hpp"
#include "ohmward/highvoltage/order.hpp"
#include "ohmward/highvoltage/proving_dead.hpp"
#include "ohmward/highvoltage/winding.hpp"

namespace ohmward::python {

namespace py = pybind11;
using namespace highvoltage;
using uncertainty::Part;
using uncertainty::Quantity;

void bind_highvoltage(py::module_& module);

namespace {

/// Value, independent part, gain part and censoring, as the Python front hands a quantity over.
using PlainQuantity = std::tuple<double, double, double, Censoring>;

Quantity quantity(const PlainQuantity& plain, Scale scale) {
  const auto& [value, independent, gain, censoring] = plain;
  const bool known = value == value || censoring == Censoring::overload;
  Quantity q{
      .value = value, .scale = scale, .censoring = censoring, .status = known ? Status::sound : Status::missing_input};
  q.parts.set(Part::reading, independent);
  q.parts.set(Part::gain, gain);
  return q;
}

std::vector<Quantity> quantities(const std::vector<PlainQuantity>& plain, Scale scale) {
  std::vector<Quantity> all;
  for (const PlainQuantity& one : plain) all.push_back(quantity(one, scale));
  return all;
}

py::dict as_dict(const Quantity& q) {
  using namespace py::literals;
  py::dict parts;
  for (const auto& facts : uncertainty::part_facts)
    if (q.parts[facts.part] != 0) parts[py::str(facts.name.data(), facts.name.size())] = q.parts[facts.part];
  return py::dict("value"_a = q.value, "standard_uncertainty"_a = q.standard_uncertainty(), "parts"_a = parts,
                  "censoring"_a = q.censoring, "status"_a = q.status);
}

py::tuple ends(const Interval& interval) { return py::make_tuple(interval.low, interval.high); }

/// Texts of the bits that are set.
template <class Remark>
py::tuple texts(std::uint32_t bits) {
  py::list all;
  for (unsigned bit = 0; bit < 32; ++bit)
    if (bits >> bit & 1U) all.append(py::str(std::string{text(static_cast<Remark>(bit))}));
  return py::tuple(all);
}

py::tuple finding_names(Findings findings) {
  py::list all;
  for (const FindingFacts& entry : finding_facts)
    if (findings.has(entry.finding)) all.append(py::str(entry.name.data(), entry.name.size()));
  return py::tuple(all);
}

py::tuple checked(const Checked<double>& result) { return py::make_tuple(result.value, result.status); }

py::dict as_dict(const Leak& leak) {
  using namespace py::literals;
  return py::dict("ohm"_a = leak.ohm, "interval"_a = ends(leak.interval), "share"_a = leak.share,
                  "share_interval"_a = ends(leak.share_interval), "probability_of_leak"_a = leak.probability_of_leak,
                  "status"_a = leak.status);
}

void bind_proving_dead(py::module_& module) {
  using namespace py::literals;
  py::native_enum<Function>(module, "Function", "enum.IntEnum")
      .value("unknown", Function::unknown)
      .value("dc", Function::dc)
      .value("ac", Function::ac)
      .finalize();
  py::native_enum<Side>(module, "Side", "enum.IntEnum")
      .value("unknown", Side::unknown)
      .value("load", Side::load)
      .value("battery", Side::battery)
      .finalize();
  py::native_enum<Pair> pair(module, "Pair", "enum.IntEnum");
#define OHMWARD_PAIR_ENTRY(name, number, text) pair.value(#name, Pair::name);
  OHMWARD_PAIR_TABLE(OHMWARD_PAIR_ENTRY)
#undef OHMWARD_PAIR_ENTRY
  pair.finalize();
  module.def(
      "pair_of", [](const std::string& from, const std::string& to) { return pair_of(from, to); }, "from_point"_a,
      "to_point"_a);
  module.def("side_of", [](const std::string& word) { return side_of(word); }, "word"_a);

  py::class_<VoltageRow>(module, "VoltageRow",
                         "One row of a voltmeter: a reading of the circuit or a check of the meter.")
      .def(py::init<>())
      .def_readwrite("is_check", &VoltageRow::is_check)
      .def_readwrite("instrument", &VoltageRow::instrument)
      .def_readwrite("function", &VoltageRow::function)
      .def_readwrite("range", &VoltageRow::range)
      .def_readwrite("value_volt", &VoltageRow::value_volt)
      .def_readwrite("censoring", &VoltageRow::censoring)
      .def_readwrite("standard_uncertainty_volt", &VoltageRow::standard_uncertainty_volt)
      .def_readwrite("zero_volt", &VoltageRow::zero_volt)
      .def_readwrite("input_ohm", &VoltageRow::input_ohm)
      .def_readwrite("reference_volt", &VoltageRow::reference_volt)
      .def_readwrite("pair", &VoltageRow::pair)
      .def_readwrite("side", &VoltageRow::side)
      .def_readwrite("superseded", &VoltageRow::superseded);

  py::class_<DeadPolicy>(module, "DeadPolicy",
                         "What a proof of dead expects: limits, pairs and sides; all of it is data.")
      .def(py::init<>())
      .def_readwrite("near_zero_volt", &DeadPolicy::near_zero_volt)
      .def_readwrite("hazardous_dc_volt", &DeadPolicy::hazardous_dc_volt)
      .def_readwrite("hazardous_ac_volt", &DeadPolicy::hazardous_ac_volt)
      .def_readwrite("coverage_factor", &DeadPolicy::coverage_factor)
      .def_readwrite("check_tolerance", &DeadPolicy::check_tolerance)
      .def_readwrite("pairs", &DeadPolicy::pairs)
      .def_readwrite("sides", &DeadPolicy::sides);

  module.def(
      "prove_dead",
      [](const std::vector<VoltageRow>& rows, const DeadPolicy& policy) {
        const ProofOfDead proof = prove_dead(rows, policy);
        py::list judged;
        for (std::size_t i = 0; i < rows.size(); ++i) {
          const JudgedVoltage& row = proof.rows[i];
          const auto shown = rows[i].is_check ? text(row.check) : text(row.tier);
          judged.append(py::dict("text"_a = std::string{shown}, "tier"_a = static_cast<int>(row.tier),
                                 "bracket"_a = rows[i].is_check ? "" : std::string{text(row.bracket)},
                                 "good"_a = rows[i].is_check && row.check == CheckResult::good, "counts"_a = row.counts,
                                 "contradicts"_a = row.contradicts, "opening_check"_a = row.opening_check,
                                 "closing_check"_a = row.closing_check, "findings"_a = finding_names(row.findings)));
        }
        py::list pairs;
        for (const PairFinding& found : proof.pairs)
          pairs.append(py::dict("pair"_a = std::string{text(found.pair)}, "side"_a = std::string{text(found.side)},
                                "state"_a = std::string{text(found.state)}, "row"_a = found.row));
        return py::dict("rows"_a = judged, "pairs"_a = pairs, "worst"_a = std::string{text(proof.worst)},
                        "proven"_a = proof.worst == PairState::near_zero,
                        "cautions"_a = texts<DeadCaution>(proof.cautions));
      },
      "rows"_a, "policy"_a);

  module.def(
      "reading_through_leak_volt",
      [](double source_volt, double leak_ohm, double meter_ohm) {
        return checked(
            reading_through_leak_volt({.source_volt = source_volt, .leak_ohm = leak_ohm, .meter_ohm = meter_ohm}));
      },
      py::kw_only(), "source_volt"_a, "leak_ohm"_a, "meter_ohm"_a);
  module.def(
      "unseen_leak_ohm",
      [](double source_volt, double shown_volt, double meter_ohm) {
        return checked(unseen_leak_ohm(source_volt, shown_volt, meter_ohm));
      },
      py::kw_only(), "source_volt"_a, "shown_volt"_a, "meter_ohm"_a);
  module.def(
      "hidden_source",
      [](double first_volt, double first_ohm, double second_volt, double second_ohm) {
        const HiddenSource found = hidden_source(first_volt, first_ohm, second_volt, second_ohm);
        return py::make_tuple(found.source_volt, found.leak_ohm, found.status);
      },
      py::kw_only(), "first_volt"_a, "first_ohm"_a, "second_volt"_a, "second_ohm"_a);

  module.def(
      "order_of",
      [](const std::vector<double>& step, const std::vector<std::int64_t>& second, const std::vector<bool>& has_time) {
        std::vector<Place> places(step.size());
        for (std::size_t i = 0; i < step.size(); ++i)
          places[i] = {.step = step[i],
                       .taken_at = {.second = second.at(i), .has_time = has_time.at(i)},
                       .line = static_cast<std::int64_t>(i)};
        const Order order = order_of(places);
        return py::make_tuple(order.rows, order.clock_contradicts_step);
      },
      py::kw_only(), "step"_a, "second"_a, "has_time"_a);
}

void bind_isolation(py::module_& module) {
  using namespace py::literals;
  py::native_enum<Pole>(module, "Pole", "enum.IntEnum")
      .value("unknown", Pole::unknown)
      .value("plus", Pole::plus)
      .value("minus", Pole::minus)
      .finalize();
  using PlainVoltage = std::pair<double, double>;
  module.def(
      "isolation_by_voltmeter",
      [](PlainVoltage pack, PlainVoltage negative, PlainVoltage positive, PlainVoltage loaded, double resistor_ohm,
         double resistor_relative_standard_uncertainty, double meter_ohm, double meter_relative_standard_uncertainty,
         bool fixed, Pole loaded_pole, double required_ohm_per_volt) {
        const auto voltage = [](PlainVoltage v) { return Voltage{v.first, v.second}; };
        const VoltmeterIsolation found =
            isolation_by_voltmeter({.pack = voltage(pack),
                                    .negative = voltage(negative),
                                    .positive = voltage(positive),
                                    .loaded = voltage(loaded),
                                    .resistor_ohm = resistor_ohm,
                                    .resistor_relative_standard_uncertainty = resistor_relative_standard_uncertainty,
                                    .meter_ohm = meter_ohm,
                                    .meter_relative_standard_uncertainty = meter_relative_standard_uncertainty,
                                    .meters = fixed ? Meters::fixed : Meters::moved,
                                    .loaded_pole = loaded_pole,
                                    .required_ohm_per_volt = required_ohm_per_volt});
        return py::dict("weak"_a = as_dict(found.weak), "lower_bound_ohm"_a = found.lower_bound_ohm,
                        "by_pole_voltages_ohm"_a = found.by_pole_voltages_ohm, "strong_ohm"_a = found.strong_ohm,
                        "weak_pole"_a = std::string{text(found.weak_pole)},
                        "best_resistor_ohm"_a = found.best_resistor_ohm,
                        "remarks"_a = texts<IsolationRemark>(found.remarks));
      },
      py::kw_only(), "pack"_a, "negative"_a, "positive"_a, "loaded"_a, "resistor_ohm"_a,
      "resistor_relative_standard_uncertainty"_a, "meter_ohm"_a, "meter_relative_standard_uncertainty"_a, "fixed"_a,
      "loaded_pole"_a, "required_ohm_per_volt"_a);
  module.def(
      "best_resistor_ohm",
      [](double weak_ohm, double strong_ohm, double meter_ohm) {
        return checked(best_resistor_ohm({.weak_ohm = weak_ohm, .strong_ohm = strong_ohm, .meter_ohm = meter_ohm}));
      },
      py::kw_only(), "weak_ohm"_a, "strong_ohm"_a, "meter_ohm"_a);
  module.def(
      "isolation_by_tester",
      [](const PlainQuantity& plus, const PlainQuantity& minus, double display_step_ohm, double working_volt,
         bool whole, double test_voltage_volt, double required_test_voltage_volt) {
        const TesterIsolation found = isolation_by_tester({.plus = quantity(plus, Scale::log),
                                                           .minus = quantity(minus, Scale::log),
                                                           .display_step_ohm = display_step_ohm,
                                                           .working_volt = working_volt,
                                                           .whole = whole,
                                                           .test_voltage_volt = test_voltage_volt,
                                                           .required_test_voltage_volt = required_test_voltage_volt});
        return py::dict("weak"_a = as_dict(found.weak), "weak_pole"_a = std::string{text(found.weak_pole)},
                        "poles_joined"_a = found.poles_joined, "ohm_per_volt"_a = checked(found.ohm_per_volt),
                        "findings"_a = finding_names(found.findings));
      },
      py::kw_only(), "plus"_a, "minus"_a, "display_step_ohm"_a, "working_volt"_a, "whole"_a, "test_voltage_volt"_a,
      "required_test_voltage_volt"_a);
}

void bind_leak(py::module_& module) {
  using namespace py::literals;
  module.def(
      "leak_of_removed_part",
      [](const PlainQuantity& before, const PlainQuantity& after, double level) {
        return as_dict(leak_of_removed_part(quantity(before, Scale::log), quantity(after, Scale::log), level));
      },
      py::kw_only(), "before"_a, "after"_a, "level"_a);
  module.def(
      "ladder",
      [](const std::vector<PlainQuantity>& readings, double level) {
        const Ladder found = ladder(quantities(readings, Scale::log), level);
        py::list leaks;
        for (const Leak& leak : found.leaks) leaks.append(as_dict(leak));
        return py::dict("leaks"_a = leaks, "share_of_whole"_a = found.share_of_whole, "largest"_a = found.largest,
                        "remaining_share"_a = found.remaining_share);
      },
      py::kw_only(), "readings"_a, "level"_a);
  module.def(
      "parts_explain_whole",
      [](const std::vector<PlainQuantity>& parts, const PlainQuantity& whole, double level, std::uint64_t seed) {
        const PartsAndWhole found =
            parts_explain_whole(quantities(parts, Scale::log), quantity(whole, Scale::log), level, seed);
        return py::dict("text"_a = std::string{text(found.explained)},
                        "explained"_a = found.explained == Explained::yes, "parts_ohm"_a = found.parts_ohm,
                        "unexplained_ohm"_a = found.unexplained_ohm,
                        "unexplained_siemens"_a = ends(found.unexplained_siemens), "status"_a = found.status);
      },
      py::kw_only(), "parts"_a, "whole"_a, "level"_a, "seed"_a);
  module.def(
      "without_declared_path",
      [](const PlainQuantity& reading, const PlainQuantity& path, bool declared, double level) {
        const WithoutPath freed = without_declared_path(
            {.reading = quantity(reading, Scale::log), .path = quantity(path, Scale::log), .declared = declared},
            level);
        return py::dict("resistance"_a = as_dict(freed.resistance), "interval"_a = ends(freed.interval));
      },
      py::kw_only(), "reading"_a, "path"_a, "declared"_a, "level"_a);
  module.def(
      "parallel_budget",
      [](const std::vector<PlainQuantity>& parts) { return as_dict(parallel_budget(quantities(parts, Scale::log))); },
      py::kw_only(), "parts"_a);
  module.def(
      "ratio_after_before",
      [](const PlainQuantity& before, const PlainQuantity& after) {
        return as_dict(ratio_after_before(quantity(before, Scale::log), quantity(after, Scale::log)));
      },
      py::kw_only(), "before"_a, "after"_a);
}

void bind_discharge(py::module_& module) {
  using namespace py::literals;
  module.def(
      "fit_decay",
      [](const std::vector<std::tuple<double, double, double>>& points, double threshold_volt,
         double gain_relative_standard_uncertainty, double coverage_factor) {
        std::vector<DecayPoint> all;
        for (const auto& [second, volt, u] : points) all.push_back({second, volt, u});
        const Decay d = fit_decay(all, {.threshold_volt = threshold_volt,
                                        .gain_relative_standard_uncertainty = gain_relative_standard_uncertainty,
                                        .coverage_factor = coverage_factor});
        return py::dict("initial_volt"_a = d.initial_volt, "time_constant_second"_a = d.time_constant_second,
                        "time_constant_standard_uncertainty_second"_a = d.time_constant_standard_uncertainty_second,
                        "threshold_second"_a = d.threshold_second, "threshold_interval"_a = ends(d.threshold_interval),
                        "chi_square"_a = d.chi_square, "degrees_of_freedom"_a = d.degrees_of_freedom,
                        "stuck"_a = d.has(DecayRemark::stuck), "remarks"_a = texts<DecayRemark>(d.remarks),
                        "status"_a = d.status);
      },
      py::kw_only(), "points"_a, "threshold_volt"_a, "gain_relative_standard_uncertainty"_a, "coverage_factor"_a);
  module.def(
      "volt_after_touch",
      [](double volt, double capacitance_farad, double resistance_ohm, double meter_ohm, double second) {
        return checked(volt_after_touch({.volt = volt,
                                         .capacitance_farad = capacitance_farad,
                                         .resistance_ohm = resistance_ohm,
                                         .meter_ohm = meter_ohm,
                                         .second = second}));
      },
      py::kw_only(), "volt"_a, "capacitance_farad"_a, "resistance_ohm"_a, "meter_ohm"_a, "second"_a);
}

void bind_bonding(py::module_& module) {
  using namespace py::literals;
  module.def(
      "bonding_resistance",
      [](double forward_ohm, double reverse_ohm, bool four_wire, const std::tuple<double, double, double>& null,
         bool null_subtracted, double test_ampere, double standard_uncertainty_ohm,
         double gain_relative_standard_uncertainty) {
        const Bonding b =
            bonding_resistance({.forward_ohm = forward_ohm,
                                .reverse_ohm = reverse_ohm,
                                .four_wire = four_wire,
                                .null = {std::get<0>(null), std::get<1>(null), std::get<2>(null)},
                                .null_subtracted = null_subtracted,
                                .test_ampere = test_ampere,
                                .standard_uncertainty_ohm = standard_uncertainty_ohm,
                                .gain_relative_standard_uncertainty = gain_relative_standard_uncertainty});
        return py::dict("resistance"_a = as_dict(b.resistance), "findings"_a = finding_names(b.findings),
                        "remarks"_a = texts<BondingRemark>(b.remarks));
      },
      py::kw_only(), "forward_ohm"_a, "reverse_ohm"_a, "four_wire"_a, "null"_a, "null_subtracted"_a, "test_ampere"_a,
      "standard_uncertainty_ohm"_a, "gain_relative_standard_uncertainty"_a);
  module.def(
      "chain_of_joints",
      [](const std::vector<PlainQuantity>& joints) {
        return as_dict(chain_of_joints(quantities(joints, Scale::linear)));
      },
      py::kw_only(), "joints"_a);
  module.def(
      "compare_part_to_part",
      [](const PlainQuantity& between, const PlainQuantity& first_to_chassis, const PlainQuantity& second_to_chassis) {
        const PartToPart found =
            compare_part_to_part(quantity(between, Scale::linear), quantity(first_to_chassis, Scale::linear),
                                 quantity(second_to_chassis, Scale::linear));
        return std::string{text(found)};
      },
      py::kw_only(), "between"_a, "first_to_chassis"_a, "second_to_chassis"_a);
  module.def(
      "compare_like_joints",
      [](const std::vector<PlainQuantity>& joints) {
        py::list all;
        for (const LikeJoint& joint : compare_like_joints(quantities(joints, Scale::linear)))
          all.append(py::dict("typical_ohm"_a = joint.typical_ohm, "ratio"_a = joint.ratio,
                              "distance"_a = joint.distance, "stands_out"_a = joint.stands_out));
        return all;
      },
      py::kw_only(), "joints"_a);
  module.def(
      "winding_symmetry",
      [](const std::vector<std::tuple<double, double, double, double>>& terminals, double tau_kelvin,
         double reference_celsius) {
        if (terminals.size() != 3) throw py::value_error("a winding has three terminal resistances: UV, VW, WU");
        const auto terminal = [&](std::size_t i) {
          const auto& [ohm, u, celsius, u_celsius] = terminals[i];
          return TerminalReading{ohm, u, celsius, u_celsius};
        };
        const WindingSymmetry w = winding_symmetry({.uv = terminal(0), .vw = terminal(1), .wu = terminal(2)},
                                                   {.tau_kelvin = tau_kelvin, .reference_celsius = reference_celsius});
        return py::dict("referred_ohm"_a = w.referred_ohm, "phase_ohm"_a = w.phase_ohm,
                        "imbalance"_a = as_dict(w.imbalance), "status"_a = w.status);
      },
      py::kw_only(), "terminals"_a, "tau_kelvin"_a, "reference_celsius"_a);
}

}  // namespace

void bind_highvoltage(py::module_& module) {
  bind_proving_dead(module);
  bind_isolation(module);
  bind_leak(module);
  bind_discharge(module);
  bind_bonding(module);
  module.attr("copper_tau_kelvin") = formula::copper_tau_kelvin;
}

}  // namespace ohmward::python
