#include <pybind11/functional.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include "arrays.hpp"
#include "ohmward/conformity/plan.hpp"
#include "ohmward/conformity/risk.hpp"

namespace ohmward::python {

namespace py = pybind11;
using namespace conformity;
using uncertainty::Part;
using uncertainty::Quantity;

void bind_conformity(py::module_& module);

namespace {

Scale scale_of(bool log_scale) noexcept { return log_scale ? Scale::log : Scale::linear; }

/// value, standard uncertainty on the scale, degrees of freedom, censoring, status, log scale
using PlainQuantity = std::tuple<double, double, double, Censoring, Status, bool>;

Quantity quantity_of(const PlainQuantity& plain) {
  const auto& [value, u, dof, censoring, status, log_scale] = plain;
  Quantity quantity{.value = value,
                    .scale = scale_of(log_scale),
                    .censoring = censoring,
                    .status = status,
                    .degrees_of_freedom = dof};
  quantity.parts.set(Part::other, u);
  return quantity;
}

void bind_rules(py::module_& module) {
  py::class_<Rule>(module, "Rule")
      .def_property_readonly("is_simple", [](const Rule& self) { return self.kind == Rule::Kind::simple; })
      .def_readonly("multiple", &Rule::multiple)
      .def_readonly("coverage_factor", &Rule::coverage_factor)
      .def_property_readonly("guard_factor", &Rule::guard_factor);
  module.def("simple", &simple);
  module.def(
      "guarded", [](double multiple, double coverage_factor) { return guarded({multiple, coverage_factor}); },
      py::arg("multiple"), py::arg("coverage_factor"));
  module.def("rule_named", [](const std::string& name) { return rule_named(name); }, py::arg("name"));
  module.def("rule_for_risk", &rule_for_risk, py::arg("risk"), py::arg("degrees_of_freedom"));
  module.def("greatest_specific_risk", &greatest_specific_risk, py::arg("rule"));

  py::class_<Limit>(module, "Limit")
      .def(py::init([](double lower, double upper, bool strict, const Rule& rule) {
             const Limit limit{.lower = lower, .upper = upper, .strict = strict, .rule = rule};
             check(limit);
             return limit;
           }),
           py::arg("lower"), py::arg("upper"), py::arg("strict"), py::arg("rule"))
      .def_readonly("lower", &Limit::lower)
      .def_readonly("upper", &Limit::upper)
      .def_readonly("strict", &Limit::strict)
      .def_readonly("rule", &Limit::rule);
  module.def(
      "limit_about",
      [](double nominal, double below, double above, bool relative, bool strict, const Rule& rule) {
        return limit_about({nominal, below, above, relative, strict, rule});
      },
      py::arg("nominal"), py::arg("below"), py::arg("above"), py::arg("relative"), py::arg("strict"), py::arg("rule"));
  module.def(
      "acceptance_of",
      [](const Limit& limit, double u, bool log_scale) {
        const Acceptance of = acceptance_of(limit, u, scale_of(log_scale));
        return py::make_tuple(of.lower, of.upper);
      },
      py::arg("limit"), py::arg("standard_uncertainty"), py::arg("log_scale"));
  module.def(
      "judge",
      [](const PlainQuantity& plain, const Limit& limit) {
        const Quantity quantity = quantity_of(plain);
        const Judgement of = judge(quantity, limit);
        const double p = probability_of_conformity(quantity, limit);
        return py::make_tuple(text(of.verdict), text(of.undecided), text(of.reason), of.acceptance_lower,
                              of.acceptance_upper, p);
      },
      py::arg("quantity"), py::arg("limit"));
}

void bind_risks(py::module_& module) {
  py::class_<Prior>(module, "Prior")
      .def(py::init([](std::function<double(double)> density, double low, double high, double location, double scale) {
             return Prior{std::move(density), low, high, location, scale};
           }),
           py::arg("density"), py::arg("low"), py::arg("high"), py::arg("location"), py::arg("scale"))
      .def(
          "density", [](const Prior& self, double x) { return self.density(x); }, py::arg("x"))
      .def_readonly("location", &Prior::location)
      .def_readonly("scale", &Prior::scale);
  const auto prior = [&](const char* name, Prior (*make)(const LocationAndScale&)) {
    module.def(
        name, [make](double location, double scale) { return make({location, scale}); }, py::arg("location"),
        py::arg("scale"));
  };
  prior("normal_prior", normal_prior);
  prior("lognormal_prior", lognormal_prior);
  prior("rectangular_prior", rectangular_prior);
  module.def(
      "global_risks",
      [](const Prior& of, double u, bool log_scale, const Limit& limit) {
        const GlobalRisks r = global_risks(of, {u, scale_of(log_scale)}, limit);
        return py::make_tuple(r.conforming, r.accepted, r.consumer_joint, r.producer_joint, r.consumer_conditional,
                              r.producer_conditional);
      },
      py::arg("prior"), py::arg("standard_uncertainty"), py::arg("log_scale"), py::arg("limit"));
  module.def(
      "with_prior",
      [](const Prior& of, double u, bool log_scale, double reading, const Limit& limit) {
        const Posterior r = with_prior(of, {u, scale_of(log_scale)}, reading, limit);
        return py::make_tuple(r.mean, r.standard_deviation, r.probability_of_conformity);
      },
      py::arg("prior"), py::arg("standard_uncertainty"), py::arg("log_scale"), py::arg("reading"), py::arg("limit"));
  module.def(
      "rule_for_consumer_risk",
      [](const Prior& of, double u, bool log_scale, const Limit& limit, double risk) {
        return rule_for_consumer_risk(of, {u, scale_of(log_scale)}, limit, risk);
      },
      py::arg("prior"), py::arg("standard_uncertainty"), py::arg("log_scale"), py::arg("limit"), py::arg("risk"));
  module.def(
      "probability_of_acceptance",
      [](const Array<double>& true_values, double u, bool log_scale, const Limit& limit) {
        Array<double> out = new_array<double>(static_cast<std::size_t>(true_values.size()));
        const auto from = view(true_values);
        const auto to = mutable_view(out);
        for (std::size_t i = 0; i < from.size(); ++i)
          to[i] = probability_of_acceptance(from[i], {u, scale_of(log_scale)}, limit);
        return out;
      },
      py::arg("true_values"), py::arg("standard_uncertainty"), py::arg("log_scale"), py::arg("limit"));
  module.def("capability_index", &capability_index, py::arg("limit"), py::arg("standard_uncertainty"));
}

void bind_plans(py::module_& module) {
  module.def(
      "reading_to_pass",
      [](const Limit& limit, const std::function<PlainQuantity(double)>& meter, double low, double high) {
        const ReadingToPass of =
            reading_to_pass(limit, [&](double reading) { return quantity_of(meter(reading)); }, {low, high});
        return py::make_tuple(of.possible, of.at_least, of.at_most);
      },
      py::arg("limit"), py::arg("meter"), py::arg("low"), py::arg("high"));
  module.def(
      "standard_uncertainty_to_pass",
      [](double reading, const Limit& limit, bool log_scale) {
        return standard_uncertainty_to_pass(reading, limit, scale_of(log_scale));
      },
      py::arg("reading"), py::arg("limit"), py::arg("log_scale"));
  module.def(
      "standard_uncertainty_to_fail",
      [](double reading, const Limit& limit, bool log_scale) {
        return standard_uncertainty_to_fail(reading, limit, scale_of(log_scale));
      },
      py::arg("reading"), py::arg("limit"), py::arg("log_scale"));
  module.def(
      "repeats_to_pass",
      [](double reading, double repeat, double common, const Limit& limit, bool log_scale) {
        const Repeats of = repeats_to_pass(reading, {repeat, common}, limit, scale_of(log_scale));
        return py::make_tuple(static_cast<int>(of.outcome), of.count);
      },
      py::arg("reading"), py::arg("repeat"), py::arg("common"), py::arg("limit"), py::arg("log_scale"));
  module.def(
      "operating_uncertainty",
      [](double intrinsic, const std::vector<double>& influences) {
        return operating_uncertainty(intrinsic, influences);
      },
      py::arg("intrinsic"), py::arg("influences"));
  module.def(
      "worst_case_readings",
      [](const Limit& limit, double b) {
        const WorstCase of = worst_case_readings(limit, b);
        return py::make_tuple(of.lower, of.upper);
      },
      py::arg("limit"), py::arg("operating_uncertainty"));
}

}  // namespace

void bind_conformity(py::module_& module) {
  bind_rules(module);
  bind_risks(module);
  bind_plans(module);
}

}  // namespace ohmward::python
