#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include "arrays.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/crossed_mean.hpp"
#include "ohmward/statistics/degrees_of_freedom.hpp"
#include "ohmward/statistics/straight_line.hpp"
#include "ohmward/statistics/type_a.hpp"
#include "ohmward/uncertainty/monte_carlo.hpp"
#include "ohmward/uncertainty/rounding.hpp"
#include "ohmward/uncertainty/rows.hpp"

namespace ohmward::python {

namespace py = pybind11;
using namespace uncertainty;

void bind_uncertainty(py::module_& module);

namespace {

std::vector<double> copied(const Array<double>& array) {
  const auto values = view(array);
  return {values.begin(), values.end()};
}

void bind_inputs(py::module_& module) {
  py::class_<Input>(module, "Input")
      .def_property_readonly("shape", [](const Input& self) { return text(self.shape); })
      .def_readonly("estimate", &Input::estimate)
      .def_readonly("standard_uncertainty", &Input::standard_uncertainty)
      .def_readonly("degrees_of_freedom", &Input::degrees_of_freedom);
  module.def(
      "normal", [](double mean, double u, double dof) { return normal({mean, u, dof}); }, py::arg("mean"),
      py::arg("standard_uncertainty"), py::arg("degrees_of_freedom"));
  module.def(
      "student_t", [](double location, double scale, double dof) { return student_t({location, scale, dof}); },
      py::arg("location"), py::arg("scale"), py::arg("degrees_of_freedom"));
  module.def(
      "student_t_with_standard_uncertainty",
      [](double mean, double u, double dof) { return student_t_with_standard_uncertainty({mean, u, dof}); },
      py::arg("mean"), py::arg("standard_uncertainty"), py::arg("degrees_of_freedom"));
  const auto centred = [&](const char* name, Input (*make)(const RectangularParameters&)) {
    module.def(
        name, [make](double centre, double half_width, double dof) { return make({centre, half_width, dof}); },
        py::arg("centre"), py::arg("half_width"), py::arg("degrees_of_freedom"));
  };
  centred("rectangular", rectangular);
  centred("triangular", triangular);
  centred("arcsine", arcsine);
  module.def(
      "asymmetric",
      [](double estimate, double below, double above, double dof) { return asymmetric({estimate, below, above, dof}); },
      py::arg("estimate"), py::arg("below"), py::arg("above"), py::arg("degrees_of_freedom"));
  module.def(
      "trapezoidal",
      [](double centre, double half_width, double top_fraction, double dof) {
        return trapezoidal({centre, half_width, top_fraction, dof});
      },
      py::arg("centre"), py::arg("half_width"), py::arg("top_fraction"), py::arg("degrees_of_freedom"));
  module.def(
      "curvilinear_trapezoidal",
      [](double centre, double half_width, double limit_half_width, double dof) {
        return curvilinear_trapezoidal({centre, half_width, limit_half_width, dof});
      },
      py::arg("centre"), py::arg("half_width"), py::arg("limit_half_width"), py::arg("degrees_of_freedom"));
  module.def(
      "lognormal", [](double median, double u, double dof) { return lognormal({median, u, dof}); }, py::arg("median"),
      py::arg("standard_uncertainty_of_ln"), py::arg("degrees_of_freedom"));
  module.def("exponential", &exponential, py::arg("mean"));
  module.def("gamma", &uncertainty::gamma, py::arg("counted_events"));
  module.def("sample", [](const Array<double>& values) { return sample(view(values)); }, py::arg("values"));
  module.def(
      "standard_uncertainty_from",
      [](double expanded_uncertainty, double coverage_factor, double level, double dof) {
        return standard_uncertainty_from({expanded_uncertainty, coverage_factor, level, dof});
      },
      py::arg("expanded"), py::arg("coverage_factor"), py::arg("level"), py::arg("degrees_of_freedom"));
  module.def("standard_uncertainty_of_display", &standard_uncertainty_of_display, py::arg("step"));
}

void bind_budget(py::module_& module) {
  py::class_<Budget>(module, "Budget")
      .def(py::init<>())
      .def("add", &Budget::add, py::arg("name"), py::arg("input"))
      .def("correlate", &Budget::correlate, py::arg("first"), py::arg("second"), py::arg("correlation"))
      .def(
          "add_observed_together",
          [](Budget& self, const std::vector<std::string>& names, const Array<double>& observations, std::size_t sets) {
            self.add_observed_together(names, view(observations), sets);
          },
          py::arg("names"), py::arg("observations"), py::arg("sets"))
      .def("check", &Budget::check)
      .def_property_readonly("names", [](const Budget& self) { return self.names(); })
      .def_property_readonly("inputs", [](const Budget& self) { return self.inputs(); })
      .def_property_readonly("correlation", &Budget::correlation)
      .def_property_readonly("is_correlated", &Budget::is_correlated);

  py::class_<Output>(module, "Output")
      .def_readonly("value", &Output::value)
      .def_readonly("standard_uncertainty", &Output::standard_uncertainty)
      .def_readonly("degrees_of_freedom", &Output::degrees_of_freedom)
      .def_readonly("second_order_variance", &Output::second_order_variance)
      .def_readonly("sensitivities", &Output::sensitivities)
      .def_readonly("contributions", &Output::contributions)
      .def_readonly("shares", &Output::shares);

  module.def(
      "propagate",
      [](const Budget& budget, const Array<double>& values, const Array<double>& gradient, const Array<double>& mixed,
         const Array<double>& third) {
        const Propagation result = propagate(budget, {.inputs = budget.size(),
                                                      .values = copied(values),
                                                      .gradient = copied(gradient),
                                                      .mixed = copied(mixed),
                                                      .third = copied(third)});
        return py::make_tuple(result.outputs, result.covariance);
      },
      py::arg("budget"), py::arg("values"), py::arg("gradient"), py::arg("mixed"), py::arg("third"));
  module.def("coverage_factor_t", &coverage_factor_t, py::arg("level"), py::arg("degrees_of_freedom"));
  module.def("coverage_factor_trapezoid", &coverage_factor_trapezoid, py::arg("level"), py::arg("top_fraction"));
  module.def("coverage_factor_rectangle_and_normal", &coverage_factor_rectangle_and_normal, py::arg("level"),
             py::arg("ratio"));
  module.def("coverage_factor_of_shape", &coverage_factor_of_shape, py::arg("budget"), py::arg("output"),
             py::arg("level"));
  module.def("coverage_factor_ellipsoid", &coverage_factor_ellipsoid, py::arg("level"), py::arg("outputs"));
  module.def(
      "expanded",
      [](const Output& output, double factor, double level, bool log_scale) {
        const Expanded of = expanded(output, factor, level, log_scale ? Scale::log : Scale::linear);
        return py::make_tuple(of.expanded_uncertainty, of.interval.low, of.interval.high);
      },
      py::arg("output"), py::arg("coverage_factor"), py::arg("level"), py::arg("log_scale"));
  module.def(
      "rounded",
      [](double value, double u, int digits) {
        const Rounded of = rounded(value, u, digits);
        return py::make_tuple(of.value, of.uncertainty, text(of));
      },
      py::arg("value"), py::arg("uncertainty"), py::arg("digits"));
}

void bind_type_a(py::module_& module) {
  const auto as_tuple = [](const statistics::MeanOfReadings& of) {
    return py::make_tuple(of.mean, of.standard_deviation, of.standard_uncertainty, of.degrees_of_freedom, of.readings,
                          of.missing, of.status);
  };
  module.def(
      "mean_of",
      [as_tuple](const Array<double>& readings, double display_step) {
        return as_tuple(statistics::mean_of(view(readings), display_step));
      },
      py::arg("readings"), py::arg("display_step"));
  module.def(
      "mean_of_autocorrelated",
      [as_tuple](const Array<double>& readings) {
        return as_tuple(statistics::mean_of_autocorrelated(view(readings)));
      },
      py::arg("readings"));
  module.def(
      "pooled",
      [](const Array<double>& deviations, const Array<double>& dof) {
        const statistics::Pooled of = statistics::pooled(view(deviations), view(dof));
        return py::make_tuple(of.standard_deviation, of.degrees_of_freedom);
      },
      py::arg("standard_deviations"), py::arg("degrees_of_freedom"));
  module.def(
      "variance_components",
      [](const Array<double>& readings, const std::vector<long>& groups, double display_step) {
        const statistics::VarianceComponents of = statistics::variance_components(view(readings), groups, display_step);
        return py::make_tuple(of.mean, of.within, of.between, of.standard_uncertainty, of.degrees_of_freedom,
                              of.f_ratio, of.status);
      },
      py::arg("readings"), py::arg("groups"), py::arg("display_step"));
  module.def(
      "crossed_mean",
      [](const Array<double>& readings, const std::vector<long>& days, const std::vector<long>& operators,
         double display_step) {
        const statistics::CrossedMean of = statistics::crossed_mean(view(readings), {days, operators}, display_step);
        return py::make_tuple(of.mean, of.repeat, of.interaction, of.between_days, of.between_operators,
                              of.standard_uncertainty, of.degrees_of_freedom, of.status);
      },
      py::arg("readings"), py::arg("days"), py::arg("operators"), py::arg("display_step"));
  module.def(
      "straight_line",
      [](const Array<double>& x, const Array<double>& y, double origin) {
        const statistics::StraightLine of = statistics::straight_line(view(x), view(y), origin);
        return py::make_tuple(of.intercept, of.slope, of.intercept_standard_uncertainty, of.slope_standard_uncertainty,
                              of.correlation, of.standard_deviation, of.degrees_of_freedom, of.status);
      },
      py::arg("x"), py::arg("y"), py::arg("origin"));
  module.def("whole_degrees_of_freedom", &statistics::whole_degrees_of_freedom, py::arg("degrees_of_freedom"));
  module.def("type_b_degrees_of_freedom", &statistics::type_b_degrees_of_freedom, py::arg("relative_uncertainty_of_u"));
}

/// A Python model over many draws: takes a tuple of arrays, returns one array, outputs × draws. Copies in and out, so
/// that nothing the model keeps can dangle.
BatchModel from_python(const py::object& model) {
  return [&model](std::span<const double> inputs, std::size_t count, std::span<double> outputs) {
    const py::gil_scoped_acquire locked;
    const std::size_t n = inputs.size() / count;
    py::tuple columns(n);
    for (std::size_t i = 0; i < n; ++i)
      columns[i] = Array<double>(static_cast<py::ssize_t>(count), inputs.data() + i * count);
    const auto made = py::cast<Array<double>>(model(columns));
    if (static_cast<std::size_t>(made.size()) != outputs.size())
      throw InvalidParameter("model", static_cast<double>(made.size()), "one number a draw and output");
    std::copy_n(made.data(), outputs.size(), outputs.begin());
  };
}

void bind_monte_carlo(py::module_& module) {
  py::class_<MonteCarlo>(module, "MonteCarlo")
      .def_readonly("level", &MonteCarlo::level)
      .def_readonly("draws", &MonteCarlo::draws)
      .def_readonly("status", &MonteCarlo::status)
      .def_readonly("covariance", &MonteCarlo::covariance)
      .def_property_readonly("values",
                             [](const py::object& self) {
                               const auto& values = py::cast<const MonteCarlo&>(self).values;
                               return borrowed<double>(values, self);
                             })
      .def(
          "output",
          [](const MonteCarlo& self, std::size_t number) {
            const OutputOfDraws& of = self.outputs.at(number);
            return py::make_tuple(of.mean, of.standard_uncertainty, of.symmetric.low, of.symmetric.high,
                                  of.shortest.low, of.shortest.high);
          },
          py::arg("number"))
      .def("joint_region", [](const MonteCarlo& self) {
        const JointRegion of = joint_region(self);
        return py::make_tuple(of.ellipsoid_factor, of.box_factor);
      });
  module.def(
      "monte_carlo_fixed",
      [](const Budget& budget, const py::object& model, std::size_t outputs, std::uint64_t draws, double level,
         std::uint64_t seed, int threads, bool keep_values) {
        const BatchModel call = from_python(model);
        const py::gil_scoped_release unlocked;
        return monte_carlo(
            budget, call, outputs,
            FixedDraws{.draws = draws, .level = level, .seed = seed, .threads = threads, .keep_values = keep_values});
      },
      py::arg("budget"), py::arg("model"), py::arg("outputs"), py::arg("draws"), py::arg("level"), py::arg("seed"),
      py::arg("threads"), py::arg("keep_values"));
  module.def(
      "monte_carlo_adaptive",
      [](const Budget& budget, const py::object& model, std::size_t outputs, int digits, double level,
         std::uint64_t seed, std::uint64_t most_draws, int threads, bool keep_values) {
        const BatchModel call = from_python(model);
        const py::gil_scoped_release unlocked;
        return monte_carlo(budget, call, outputs,
                           AdaptiveDraws{.digits = digits,
                                         .level = level,
                                         .seed = seed,
                                         .most_draws = most_draws,
                                         .threads = threads,
                                         .keep_values = keep_values});
      },
      py::arg("budget"), py::arg("model"), py::arg("outputs"), py::arg("digits"), py::arg("level"), py::arg("seed"),
      py::arg("most_draws"), py::arg("threads"), py::arg("keep_values"));
  module.def("numerical_tolerance", &numerical_tolerance, py::arg("standard_uncertainty"), py::arg("digits"));
  module.def(
      "symmetric_interval",
      [](const Array<double>& values, double level) {
        const Interval of = symmetric_interval(view(values), level);
        return py::make_tuple(of.low, of.high);
      },
      py::arg("values"), py::arg("level"));
  module.def(
      "shortest_interval",
      [](const Array<double>& values, double level) {
        const Interval of = shortest_interval(view(values), level);
        return py::make_tuple(of.low, of.high);
      },
      py::arg("values"), py::arg("level"));
}

using Columns = std::vector<std::tuple<Array<double>, Array<double>, Array<double>>>;

/// Columns that are there already, to write into; `shares` one component after the other.
struct RowBuffers {
  Array<double>& value;
  Array<double>& standard_uncertainty;
  Array<double>& degrees_of_freedom;
  Array<double>& shares;
  Array<std::int8_t>& status;
};

void write_rows(const std::string& name, const Columns& columns, const Array<double>& constants,
                const Array<double>& gain, const Array<double>& gain_dof, RowBuffers to, int threads,
                numerics::InstructionLevel level) {
  std::vector<RowInput> inputs;
  for (const auto& [value, u, dof] : columns) inputs.push_back({view(value), view(u), view(dof)});
  const std::span<std::int8_t> status = mutable_view(to.status);
  const RowOutputs out{.value = mutable_view(to.value),
                       .standard_uncertainty = mutable_view(to.standard_uncertainty),
                       .degrees_of_freedom = mutable_view(to.degrees_of_freedom),
                       .shares = mutable_view(to.shares),
                       .status = {reinterpret_cast<Status*>(status.data()), status.size()}};
  const py::gil_scoped_release unlocked;
  propagate_rows(row_formula(name, level), inputs, view(constants), {view(gain), view(gain_dof)}, out,
                 {.threads = threads, .level = level});
}

void bind_rows(py::module_& module) {
  module.def("row_formulas", [] {
    py::list all;
    for (const RowFormula& of : row_formulas())
      all.append(py::make_tuple(of.name, of.inputs, of.constants, of.one_for_all, of.has_common_gain));
    return all;
  });
  module.def(
      "propagate_rows",
      [](const std::string& name, const Columns& columns, const Array<double>& constants, const Array<double>& gain,
         const Array<double>& gain_dof, Array<double> value, Array<double> u, Array<double> dof, Array<double> shares,
         Array<std::int8_t> status, int threads, numerics::InstructionLevel level) {
        write_rows(name, columns, constants, gain, gain_dof, {value, u, dof, shares, status}, threads, level);
      },
      py::arg("formula"), py::arg("inputs"), py::arg("constants"), py::arg("gain"), py::arg("gain_degrees_of_freedom"),
      py::kw_only(), py::arg("value").noconvert(), py::arg("standard_uncertainty").noconvert(),
      py::arg("degrees_of_freedom").noconvert(), py::arg("shares").noconvert(), py::arg("status").noconvert(),
      py::arg("threads") = 0, py::arg("level") = numerics::instruction_level());
}

}  // namespace

void bind_uncertainty(py::module_& module) {
  bind_inputs(module);
  bind_budget(module);
  bind_type_a(module);
  bind_monte_carlo(module);
  bind_rows(module);
}

}  // namespace ohmward::python
