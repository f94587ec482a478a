#include "ohmward_bindings.hpp"

PYBIND11_MODULE(_core, module, pybind11::mod_gil_not_used()) {
  module.doc() = "Compiled part of ohmward; its documented front is the package itself.";
  module.attr("__version__") = OHMWARD_VERSION;
  ohmward::python::bind_all(module);
}
