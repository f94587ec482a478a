#include "ufuncs.hpp"

#define PY_ARRAY_UNIQUE_SYMBOL ohmward_array_api
#define PY_UFUNC_UNIQUE_SYMBOL ohmward_ufunc_api
#include <numpy/arrayobject.h>
#include <numpy/ufuncobject.h>

#include <algorithm>
#include <array>
#include <cfenv>
#include <cstring>
#include <string>

namespace ohmward::python {
namespace {

namespace py = pybind11;
using numerics::Elementwise;

constexpr std::size_t largest_arity = 12;
constexpr std::size_t block = 512;
constexpr npy_intp double_step = sizeof(double);

double load(const char* from) noexcept {
  double value;
  std::memcpy(&value, from, sizeof value);
  return value;
}

void run(const Elementwise& formula, std::size_t size, const double* const* inputs, const double* parameters,
         double* out) noexcept {
  formula.value(size, inputs, parameters, out);
}
void run(const Elementwise& formula, std::size_t size, const double* const* inputs, const double* parameters,
         std::int8_t* out) noexcept {
  formula.status(size, inputs, parameters, out);
}

/// The arguments of one inner loop of NumPy: where each begins and how far its elements are apart.
template <class Out>
class InnerLoop {
 public:
  InnerLoop(const Elementwise& formula, char** arguments, std::size_t size, const npy_intp* steps) noexcept
      : formula_(formula),
        arguments_(arguments),
        size_(size),
        steps_(steps),
        out_(formula.inputs + formula.parameters) {}

  void run() noexcept {
    if (size_ == 0) return;
    if (parameters_vary()) {
      for (std::size_t i = 0; i < size_; ++i) run_block(i, 1);
    } else if (contiguous()) {
      run_block(0, size_);
    } else {
      for (std::size_t i = 0; i < size_; i += block) run_block(i, std::min(block, size_ - i));
    }
  }

 private:
  [[nodiscard]] bool parameters_vary() const noexcept {
    return std::any_of(steps_ + formula_.inputs, steps_ + out_, [](npy_intp step) { return step != 0; });
  }
  [[nodiscard]] bool contiguous() const noexcept {
    return std::all_of(steps_, steps_ + formula_.inputs, [](npy_intp step) { return step == double_step; }) &&
           steps_[out_] == static_cast<npy_intp>(sizeof(Out));
  }
  [[nodiscard]] char* at(std::size_t argument, std::size_t i) const noexcept {
    return arguments_[argument] + static_cast<npy_intp>(i) * steps_[argument];
  }

  void run_block(std::size_t first, std::size_t count) noexcept {
    std::array<double, largest_arity> parameters;
    for (std::size_t k = 0; k < formula_.parameters; ++k) parameters[k] = load(at(formula_.inputs + k, first));
    std::array<const double*, largest_arity> inputs;
    for (std::size_t k = 0; k < formula_.inputs; ++k) inputs[k] = packed(k, first, count);
    const bool direct = count == 1 || steps_[out_] == static_cast<npy_intp>(sizeof(Out));
    Out* const to = direct ? reinterpret_cast<Out*>(at(out_, first)) : out_buffer_.data();
    python::run(formula_, count, inputs.data(), parameters.data(), to);
    if (direct) return;
    for (std::size_t i = 0; i < count; ++i) std::memcpy(at(out_, first + i), &out_buffer_[i], sizeof(Out));
  }

  const double* packed(std::size_t k, std::size_t first, std::size_t count) noexcept {
    if (count == 1 || steps_[k] == double_step) return reinterpret_cast<const double*>(at(k, first));
    for (std::size_t i = 0; i < count; ++i) buffers_[k][i] = load(at(k, first + i));
    return buffers_[k].data();
  }

  const Elementwise& formula_;
  char** arguments_;
  std::size_t size_;
  const npy_intp* steps_;
  std::size_t out_;
  std::array<std::array<double, block>, 5> buffers_;  // no formula has more inputs
  std::array<Out, block> out_buffer_;
};

template <class Out>
void inner_loop(char** arguments, const npy_intp* dimensions, const npy_intp* steps, void* data) {
  InnerLoop<Out>(*static_cast<const Elementwise*>(data), arguments, static_cast<std::size_t>(dimensions[0]), steps)
      .run();
  std::feclearexcept(FE_ALL_EXCEPT);
}

/// What NumPy keeps a pointer to for the life of the process.
struct Registration {
  std::string name;
  std::string documentation;
  std::array<PyUFuncGenericFunction, 1> loops;
  std::array<void*, 1> data;
  std::array<char, largest_arity + 1> types;
};

template <class Out>
void add_ufunc(py::module_& module, const Elementwise& formula, std::string name, std::string documentation,
               char type) {
  // NumPy never frees a ufunc's tables, so neither do we: this belongs to the ufunc, which lives as long as the module.
  auto* const kept = new Registration{
      std::move(name), std::move(documentation), {inner_loop<Out>}, {const_cast<Elementwise*>(&formula)}, {}};
  const std::size_t arity = formula.inputs + formula.parameters;
  kept->types.fill(NPY_DOUBLE);
  kept->types[arity] = type;
  PyObject* const ufunc =
      PyUFunc_FromFuncAndData(kept->loops.data(), kept->data.data(), kept->types.data(), 1, static_cast<int>(arity), 1,
                              PyUFunc_None, kept->name.c_str(), kept->documentation.c_str(), 0);
  if (ufunc == nullptr) throw py::error_already_set();
  module.attr(kept->name.c_str()) = py::reinterpret_steal<py::object>(ufunc);
}

}  // namespace

void import_numpy_ufuncs() {
  if (_import_array() < 0 || _import_umath() < 0) throw py::error_already_set();
}

void add_ufuncs(py::module_& module, std::span<const Elementwise> table) {
  for (const Elementwise& formula : table) {
    const std::string about = std::string(formula.formula) + "\n\nArguments: " + formula.arguments;
    add_ufunc<double>(module, formula, formula.name, about, NPY_DOUBLE);
    if (formula.status != nullptr)
      add_ufunc<std::int8_t>(module, formula, std::string(formula.name) + "_status", "Status of " + about, NPY_INT8);
  }
}

}  // namespace ohmward::python
