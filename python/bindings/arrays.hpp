#pragma once

#include <pybind11/numpy.h>
#include <pybind11/pybind11.h>

#include <cstdint>
#include <span>

namespace ohmward::python {

namespace py = pybind11;

/// Contiguous arrays of exactly this type or not at all: the Python front has decided what may become a double.
template <class T>
using Array = py::array_t<T, py::array::c_style>;

template <class T>
[[nodiscard]] std::span<const T> view(const Array<T>& array) {
  return {array.data(), static_cast<std::size_t>(array.size())};
}

template <class T>
[[nodiscard]] std::span<T> mutable_view(Array<T>& array) {
  return {array.mutable_data(), static_cast<std::size_t>(array.size())};
}

/// A new array of `size` elements.
template <class T>
[[nodiscard]] Array<T> new_array(std::size_t size) {
  return Array<T>(static_cast<py::ssize_t>(size));
}

/// A read-only NumPy view of memory that `owner` keeps alive.
template <class T>
[[nodiscard]] py::array borrowed(std::span<const T> values, py::handle owner) {
  py::array array(py::dtype::of<T>(), {static_cast<py::ssize_t>(values.size())}, {static_cast<py::ssize_t>(sizeof(T))},
                  values.data(), owner);
  array.attr("flags").attr("writeable") = false;
  return array;
}

}  // namespace ohmward::python
