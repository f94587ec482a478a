#pragma once

#include <pybind11/pybind11.h>

#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::python {

/// (value, log scale?, censoring, status, {part: u}, degrees of freedom): what ohmward._quantity makes a Quantity of.
[[nodiscard]] inline pybind11::tuple as_tuple(const uncertainty::Quantity& quantity) {
  pybind11::dict parts;
  for (const uncertainty::PartFacts& facts : uncertainty::part_facts)
    if (quantity.parts[facts.part] != 0)
      parts[pybind11::str(facts.name.data(), facts.name.size())] = quantity.parts[facts.part];
  return pybind11::make_tuple(quantity.value, quantity.scale == Scale::log, quantity.censoring, quantity.status, parts,
                              quantity.degrees_of_freedom);
}

[[nodiscard]] inline uncertainty::Quantity as_quantity(const pybind11::tuple& fields) {
  uncertainty::Quantity quantity{.value = fields[0].cast<double>(),
                                 .scale = fields[1].cast<bool>() ? Scale::log : Scale::linear,
                                 .censoring = static_cast<Censoring>(fields[2].cast<int>()),
                                 .status = static_cast<Status>(fields[3].cast<int>()),
                                 .degrees_of_freedom = fields[5].cast<double>()};
  for (const auto& [name, value] : fields[4].cast<pybind11::dict>()) {
    bool known = false;
    for (const uncertainty::PartFacts& facts : uncertainty::part_facts)
      if (facts.name == name.cast<std::string_view>()) {
        quantity.parts.set(facts.part, value.cast<double>());
        known = true;
      }
    if (!known) throw pybind11::value_error("no such part of an uncertainty: " + name.cast<std::string>());
  }
  return quantity;
}

}  // namespace ohmward::python
