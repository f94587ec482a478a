#pragma once

/// @file
/// Turns a table of elementwise formulas into genuine NumPy ufuncs.
///
/// A value ufunc has one float64 output; its twin `<name>_status` has one int8 output. Contiguous arrays go straight
/// through the loop of the instruction level, others through small blocks; a parameter that varies is handled element
/// by element. The bits never depend on the way. Floating-point flags are cleared: the status says what they would.

#include <pybind11/pybind11.h>

#include <span>

#include "ohmward/numerics/elementwise.hpp"

namespace ohmward::python {

/// Loads NumPy's C interface; call once before the next one. Throws the Python error if that fails.
void import_numpy_ufuncs();

/// Adds every formula of the table and its status twin to the module. The table must live as long as the process.
void add_ufuncs(pybind11::module_& module, std::span<const numerics::Elementwise> table);

}  // namespace ohmward::python
