#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <algorithm>
#include <vector>

#include "arrays.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/bootstrap.hpp"
#include "ohmward/statistics/proportion.hpp"

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

}  // namespace

void bind_statistics(py::module_& module) {
  bind_proportions(module);
  bind_bootstrap(module);
}

}  // namespace ohmward::python
