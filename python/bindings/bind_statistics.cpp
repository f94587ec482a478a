#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <algorithm>
#include <type_traits>
#include <vector>

#include "arrays.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/bootstrap.hpp"
#include "ohmward/statistics/censored_sample.hpp"
#include "ohmward/statistics/proportion.hpp"
#include "ohmward/statistics/robust_slope.hpp"
#include "ohmward/statistics/survival.hpp"
#include "ohmward/statistics/two_way_components.hpp"

namespace ohmward::python {

void bind_statistics(py::module_& module);

namespace {

using namespace statistics;
using Doubles = Array<double>;

Doubles array_of(const std::vector<double>& values) {
  Doubles array = new_array<double>(values.size());
  std::ranges::copy(values, array.mutable_data());
  return array;
}

template <auto interval>
py::tuple proportion(std::int64_t events, std::int64_t trials, double level) {
  const Proportion of = interval({.events = events, .trials = trials}, level);
  return py::make_tuple(of.value, of.low, of.high, of.status);
}

void bind_proportions(py::module_& module) {
  module.def("clopper_pearson", &proportion<clopper_pearson>, py::kw_only(), py::arg("events"), py::arg("trials"),
             py::arg("level"));
  module.def("wilson", &proportion<wilson>, py::kw_only(), py::arg("events"), py::arg("trials"), py::arg("level"));
}

/// A Python statistic: takes an array of how often each unit counts, gives an array of estimates. Copies in and out, so
/// that nothing it keeps can dangle.
WeightedStatistic from_python(const py::object& statistic) {
  return [&statistic](std::span<const std::uint32_t> times, std::span<double> estimates) {
    const py::gil_scoped_acquire locked;
    const auto made =
        py::cast<Doubles>(statistic(Array<std::uint32_t>(static_cast<py::ssize_t>(times.size()), times.data())));
    if (static_cast<std::size_t>(made.size()) != estimates.size())
      throw InvalidParameter("statistic", static_cast<double>(made.size()), "as many numbers each time as at first");
    std::copy_n(made.data(), estimates.size(), estimates.begin());
  };
}

void bind_bootstrap(py::module_& module) {
  py::native_enum<BootstrapInterval>(module, "BootstrapInterval", "enum.IntEnum")
      .value("percentile", BootstrapInterval::percentile)
      .value("bias_corrected", BootstrapInterval::bias_corrected)
      .finalize();
  module.def(
      "bootstrap",
      [](const py::object& statistic, std::size_t units, const std::vector<long>& clusters, std::size_t estimates,
         std::size_t replicates, double level, BootstrapInterval interval, std::uint64_t seed, int threads) {
        const WeightedStatistic call = from_python(statistic);
        std::vector<BootstrapEstimate> found;
        {
          const py::gil_scoped_release unlocked;
          found = bootstrap(
              call, units, clusters, estimates,
              {.replicates = replicates, .level = level, .interval = interval, .seed = seed, .threads = threads});
        }
        py::list out;
        for (const BootstrapEstimate& of : found)
          out.append(py::make_tuple(of.value, of.standard_deviation, of.low, of.high, of.undefined,
                                    array_of(of.replicates), of.status));
        return out;
      },
      py::arg("statistic"), py::kw_only(), py::arg("units"), py::arg("clusters"), py::arg("estimates"),
      py::arg("replicates"), py::arg("level"), py::arg("interval"), py::arg("seed"), py::arg("threads"));
}

std::vector<Lifetime> lifetimes_of(const Doubles& entry, const Doubles& until, const Array<bool>& failed) {
  if (entry.size() != until.size() || failed.size() != until.size())
    throw py::value_error("entry, until and failed have different lengths");
  std::vector<Lifetime> out;
  for (std::size_t i = 0; i < view(until).size(); ++i)
    out.push_back({
      .entry
      = view(entry)[i], .until = view(until)[i], .failed = view(failed)[i]
    });
  return out;
}

/// One member of all steps as an array.
template <auto member>
auto column(const SurvivalCurve& curve) {
  using Value = std::remove_cvref_t<decltype(curve.steps.front().*member)>;
  auto out = new_array<Value>(curve.steps.size());
  std::ranges::transform(curve.steps, out.mutable_data(), [](const SurvivalStep& step) { return step.*member; });
  return out;
}

void bind_survival(py::module_& module) {
  py::class_<SurvivalCurve>(module, "SurvivalCurve")
      .def_readonly("last_time", &SurvivalCurve::last_time)
      .def_readonly("status", &SurvivalCurve::status)
      .def_property_readonly("time", &column<&SurvivalStep::time>)
      .def_property_readonly("at_risk", &column<&SurvivalStep::at_risk>)
      .def_property_readonly("failed", &column<&SurvivalStep::failed>)
      .def_property_readonly("survival", &column<&SurvivalStep::survival>)
      .def_property_readonly("standard_uncertainty", &column<&SurvivalStep::standard_uncertainty>)
      .def_property_readonly("low", &column<&SurvivalStep::low>)
      .def_property_readonly("high", &column<&SurvivalStep::high>)
      .def(
          "at",
          [](const SurvivalCurve& curve, double time) {
            const SurvivalStep of = curve.at(time);
            return py::make_tuple(of.survival, of.standard_uncertainty, of.low, of.high);
          },
          py::arg("time"));
  module.def(
      "kaplan_meier",
      [](const Doubles& entry, const Doubles& until, const Array<bool>& failed, double level) {
        return kaplan_meier(lifetimes_of(entry, until, failed), level);
      },
      py::kw_only(), py::arg("entry").noconvert(), py::arg("until").noconvert(), py::arg("failed").noconvert(),
      py::arg("level"));
  module.def(
      "log_rank",
      [](const Doubles& entry, const Doubles& until, const Array<bool>& failed, const std::vector<long>& groups) {
        const LogRank of = log_rank(lifetimes_of(entry, until, failed), groups);
        py::list rows;
        for (const LogRankGroup& group : of.groups)
          rows.append(py::make_tuple(group.label, group.units, group.failed, group.expected));
        return py::make_tuple(rows, of.chi_squared, of.degrees_of_freedom, of.p_value, of.status);
      },
      py::kw_only(), py::arg("entry").noconvert(), py::arg("until").noconvert(), py::arg("failed").noconvert(),
      py::arg("groups"));
}

template <auto fit>
py::tuple censored(const Doubles& low, const Doubles& high) {
  if (low.size() != high.size()) throw py::value_error("low and high have different lengths");
  std::vector<Bounds> observations;
  for (std::size_t i = 0; i < view(low).size(); ++i)
    observations.push_back({.low = view(low)[i], .high = view(high)[i]});
  const CensoredSample of = fit(observations);
  return py::make_tuple(of.mean, of.standard_deviation, of.mean_standard_uncertainty,
                        of.standard_deviation_standard_uncertainty, of.correlation, of.log_likelihood, of.exact,
                        of.bounded, of.missing, of.status);
}

void bind_censored(py::module_& module) {
  module.def("censored_normal", &censored<censored_normal>, py::kw_only(), py::arg("low").noconvert(),
             py::arg("high").noconvert());
  module.def("censored_lognormal", &censored<censored_lognormal>, py::kw_only(), py::arg("low").noconvert(),
             py::arg("high").noconvert());
}

py::tuple as_tuple(const Component& of) { return py::make_tuple(of.variance, of.standard_deviation, of.levels); }

py::tuple as_tuple(const TwoWayComponents& of) {
  return py::make_tuple(of.mean, of.standard_uncertainty, as_tuple(of.first), as_tuple(of.second),
                        as_tuple(of.interaction), as_tuple(of.within), of.status);
}

void bind_components(py::module_& module) {
  module.def(
      "nested_components",
      [](const Doubles& readings, const std::vector<long>& outer, const std::vector<long>& inner) {
        return as_tuple(nested_components(view(readings), outer, inner));
      },
      py::arg("readings").noconvert(), py::kw_only(), py::arg("outer"), py::arg("inner"));
  module.def(
      "crossed_components",
      [](const Doubles& readings, const std::vector<long>& first, const std::vector<long>& second, bool interaction) {
        return as_tuple(crossed_components(view(readings), first, second, interaction));
      },
      py::arg("readings").noconvert(), py::kw_only(), py::arg("first"), py::arg("second"), py::arg("interaction"));
}

void bind_slope(py::module_& module) {
  module.def(
      "robust_slope",
      [](const Doubles& x, const Doubles& y, const Array<std::int8_t>& censoring, double level) {
        if (y.size() != x.size() || censoring.size() != x.size())
          throw py::value_error("x, y and censoring have different lengths");
        std::vector<Observation> observations;
        for (std::size_t i = 0; i < view(y).size(); ++i)
          observations.push_back({.y = view(y)[i], .censoring = static_cast<Censoring>(view(censoring)[i])});
        const RobustSlope of = robust_slope(view(x), observations, level);
        return py::make_tuple(of.slope, of.low, of.high, of.intercept, of.status);
      },
      py::arg("x").noconvert(), py::arg("y").noconvert(), py::arg("censoring").noconvert(), py::kw_only(),
      py::arg("level"));
}

}  // namespace

void bind_statistics(py::module_& module) {
  bind_proportions(module);
  bind_bootstrap(module);
  bind_survival(module);
  bind_censored(module);
  bind_components(module);
  bind_slope(module);
}

}  // namespace ohmward::python
