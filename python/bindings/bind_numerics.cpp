#include <pybind11/native_enum.h>
#include <pybind11/pybind11.h>

#include "arrays.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/elementwise.hpp"
#include "ohmward/numerics/interpolation.hpp"
#include "ohmward/numerics/parallel.hpp"
#include "ohmward/numerics/quantile.hpp"
#include "ohmward/numerics/random.hpp"
#include "ufuncs.hpp"

namespace ohmward::python {

void bind_numerics(py::module_& module);

namespace {

using numerics::InstructionLevel;

template <auto fill>
py::array drawn(std::size_t size, std::uint64_t seed, std::uint64_t block, std::uint64_t first) {
  Array<double> out = new_array<double>(size);
  const auto values = mutable_view(out);
  {
    const py::gil_scoped_release unlocked;
    fill(values, {.seed = seed, .block = block}, first);
  }
  return out;
}

/// Values and statuses of a table at many points.
template <auto interpolate>
py::tuple interpolated(const Array<double>& x, const Array<double>& y, const Array<double>& at) {
  const auto points = view(at);
  Array<double> values = new_array<double>(points.size());
  Array<std::int8_t> statuses = new_array<std::int8_t>(points.size());
  const auto value = mutable_view(values);
  const auto status = mutable_view(statuses);
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Checked<double> found = interpolate(view(x), view(y), points[i]);
    value[i] = found.value;
    status[i] = static_cast<std::int8_t>(found.status);
  }
  return py::make_tuple(std::move(values), std::move(statuses));
}

}  // namespace

void bind_numerics(py::module_& module) {
  import_numpy_ufuncs();
  py::native_enum<InstructionLevel>(module, "InstructionLevel", "enum.IntEnum")
      .value("baseline", InstructionLevel::baseline)
      .value("x86_64_v3", InstructionLevel::x86_64_v3)
      .value("x86_64_v4", InstructionLevel::x86_64_v4)
      .finalize();
  module.def("supported", &numerics::supported, py::arg("level"));
  module.def("instruction_level", &numerics::instruction_level);
  module.def("level_text", [](InstructionLevel level) { return numerics::text(level); }, py::arg("level"));
  add_ufuncs(module, numerics::functions(numerics::instruction_level()));

  module.def("uniform", &drawn<numerics::fill_uniform>, py::arg("size"), py::kw_only(), py::arg("seed"),
             py::arg("block") = 0, py::arg("first") = 0);
  module.def("normal", &drawn<numerics::fill_normal>, py::arg("size"), py::kw_only(), py::arg("seed"),
             py::arg("block") = 0, py::arg("first") = 0);
  module.def("interpolate_linear", &interpolated<numerics::interpolate_linear>, py::kw_only(), py::arg("x").noconvert(),
             py::arg("y").noconvert(), py::arg("at").noconvert());
  module.def("interpolate_monotone", &interpolated<numerics::interpolate_monotone>, py::kw_only(),
             py::arg("x").noconvert(), py::arg("y").noconvert(), py::arg("at").noconvert());
  module.def(
      "quantiles",
      [](const Array<double>& values, const Array<double>& levels) {
        Array<double> out = new_array<double>(static_cast<std::size_t>(levels.size()));
        const auto given = view(values);
        const auto wanted = view(levels);
        const auto to = mutable_view(out);
        {
          const py::gil_scoped_release unlocked;
          numerics::quantiles(given, wanted, to);
        }
        return out;
      },
      py::arg("values").noconvert(), py::arg("levels").noconvert());
}

}  // namespace ohmward::python
