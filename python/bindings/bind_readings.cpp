#include <pybind11/pybind11.h>
#include <pybind11/stl.h>

#include <algorithm>
#include <string>
#include <tuple>
#include <vector>

#include "arrays.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/readings/parse.hpp"
#include "ohmward/readings/timed_series.hpp"

namespace ohmward::python {

namespace py = pybind11;
using namespace readings;

void bind_readings(py::module_& module);

namespace {

using Text = std::optional<std::string>;
using ColumnRow = std::tuple<std::string, Text, std::string, std::string, Text>;
using WideRow = std::tuple<std::string, std::string, std::string, std::string>;

QuantityKind quantity_named(const std::string& name, const std::string& field) {
  const auto* const entry
  = std::ranges::find(quantity_kinds, name, &QuantityKindFacts::name);
  if (entry != quantity_kinds.end()) return entry
  ->kind;
  std::string known;
  for (const QuantityKindFacts& each : quantity_kinds) known.append(known.empty() ? "" : ", ").append(each.name);
  throw InvalidParameter(field, name, "one of " + known);
}

ColumnMap make_map(const std::vector<ColumnRow>& columns, const std::vector<WideRow>& wide,
                   const std::vector<std::string>& over_range, const std::vector<std::string>& missing,
                   std::map<std::string, std::string, std::less<>> parts,
                   std::map<std::string, std::string, std::less<>> objects) {
  ColumnMap map;
  for (const auto& [name, from, unit, format, constant] : columns)
    map.columns.push_back({.name = name, .from = from, .unit = unit, .format = format, .constant = constant});
  for (const auto& [from, part, quantity, unit] : wide)
    map.wide.push_back(
        {.from = from, .part = part, .quantity = quantity_named(quantity, "wide." + from + ".quantity"), .unit = unit});
  map.words = Words{over_range, missing};
  map.parts = std::move(parts);
  map.objects = std::move(objects);
  map.check();
  return map;
}

DecimalMark decimal_named(const std::string& name) {
  for (const DecimalMark mark : {DecimalMark::not_seen, DecimalMark::point, DecimalMark::comma, DecimalMark::mixed})
    if (name == text(mark)) return mark;
  throw InvalidParameter("decimal", name, "not seen, point, comma or mixed");
}

template <class T>
py::array column(const std::vector<T>& values, const py::object& owner) {
  return borrowed(std::span<const T>(values), owner);
}

/// Enumerations are handed out as their int8.
template <class Enum>
py::array raw_column(const std::vector<Enum>& values, const py::object& owner) {
  static_assert(sizeof(Enum) == sizeof(std::int8_t));
  return borrowed(std::span<const std::int8_t>(reinterpret_cast<const std::int8_t*>(values.data()), values.size()),
                  owner);
}

/// Codes as a view and the words that they number; None where the column is absent.
py::object words_of(const TextColumn& text_column, const py::object& owner) {
  if (text_column.codes().empty()) return py::none();
  py::list words;
  for (const std::string& word : text_column.words()) words.append(py::str(word));
  return py::make_tuple(borrowed(text_column.codes(), owner), std::move(words));
}

const TextColumn* text_column_named(const Table& table, const std::string& name) {
  if (name == "reading_id") return &table.reading_id;
  if (name == "unit") return &table.unit;
  const auto* const found = std::ranges::find(text_names, name);
  if (found != text_names.end()) return &table.text[static_cast<std::size_t>(found - text_names.begin())];
  const auto unknown = std::ranges::find(table.unknown, name, &std::pair<std::string, TextColumn>::first);
  return unknown == table.unknown.end() ? nullptr : &unknown->second;
}

py::object numbers_named(const Table& table, const std::string& name, const py::object& owner) {
  const auto* const found = std::ranges::find(number_names, name);
  if (found == number_names.end()) throw InvalidParameter("name", name, "a number column of the readings table");
  const std::vector<double>& numbers = table.number[static_cast<std::size_t>(found - number_names.begin())];
  if (numbers.empty()) return py::none();
  return column(numbers, owner);
}

void bind_table(py::module_& module) {
  const auto view_of = [](auto member) {
    return [member](const py::object& self) { return column(self.cast<const Table&>().*member, self); };
  };
  const auto raw_of = [](auto member) {
    return [member](const py::object& self) { return raw_column(self.cast<const Table&>().*member, self); };
  };
  py::class_<Table>(module, "Table")
      .def_property_readonly("rows", &Table::rows)
      .def_readonly("file", &Table::file)
      .def_property_readonly("line", view_of(&Table::line))
      .def_property_readonly("quantity", raw_of(&Table::quantity))
      .def_property_readonly("value", view_of(&Table::value))
      .def_property_readonly("censoring", raw_of(&Table::censoring))
      .def_property_readonly("resolution", view_of(&Table::resolution))
      .def_property_readonly("taken_at_second", view_of(&Table::taken_at_second))
      .def_property_readonly("taken_at_form", view_of(&Table::taken_at_form))
      .def_property_readonly("unknown",
                             [](const Table& self) {
                               py::list names;
                               for (const auto& [name, cells] : self.unknown) names.append(py::str(name));
                               return names;
                             })
      .def(
          "numbers",
          [](const py::object& self, const std::string& name) {
            return numbers_named(self.cast<const Table&>(), name, self);
          },
          py::arg("name"))
      .def(
          "words",
          [](const py::object& self, const std::string& name) -> py::object {
            const TextColumn* const found = text_column_named(self.cast<const Table&>(), name);
            if (found == nullptr) return py::none();
            return words_of(*found, self);
          },
          py::arg("name"))
      .def("value_text",
           [](const py::object& self) {
             const RawText& cells = self.cast<const Table&>().value_text;
             const auto bytes = cells.bytes();
             return py::make_tuple(borrowed(cells.offsets(), self),
                                   borrowed(std::span<const std::uint8_t>(
                                                reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()),
                                            self));
           })
      .def(
          "id",
          [](const Table& self, std::size_t row) {
            if (row >= self.rows()) throw py::index_error("row");
            return self.id(row);
          },
          py::arg("row"))
      .def("row_of", &Table::row_of, py::arg("wanted_id"));
}

void bind_parsed(py::module_& module) {
  py::class_<Parsed>(module, "Parsed")
      .def_readonly("table", &Parsed::table)
      .def_readonly("rows", &Parsed::rows)
      .def_property_readonly("separator", [](const Parsed& self) { return std::string{self.dialect.separator}; })
      .def_property_readonly("decimal", [](const Parsed& self) { return text(self.dialect.decimal); })
      .def_property_readonly("decimal_points", [](const Parsed& self) { return self.dialect.decimal_points; })
      .def_property_readonly("decimal_commas", [](const Parsed& self) { return self.dialect.decimal_commas; })
      .def_property_readonly("byte_order_mark", [](const Parsed& self) { return self.dialect.byte_order_mark; })
      .def_property_readonly("rejected_count", [](const Parsed& self) { return self.rejected.size(); })
      .def("rejected", [](const Parsed& self) {
        py::list rows;
        for (const Rejected& row : self.rejected) rows.append(py::make_tuple(row.line, row.column, row.text, row.why));
        return rows;
      });
}

Parsed parse_bytes(const py::bytes& bytes, const ColumnMap& map, const std::string& file) {
  const auto content = static_cast<std::string_view>(bytes);
  const py::gil_scoped_release unlocked;
  return parse(content, map, file);
}

using Cells = std::tuple<std::string, Array<std::int64_t>, Array<std::uint8_t>>;

Parsed parse_columns(const std::vector<Cells>& columns, const ColumnMap& map, const std::string& file) {
  std::vector<TextCells> cells;
  for (const auto& [name, offsets, bytes] : columns)
    cells.push_back({.name = name,
                     .offsets = view(offsets),
                     .bytes = {reinterpret_cast<const char*>(bytes.data()), static_cast<std::size_t>(bytes.size())}});
  const py::gil_scoped_release unlocked;
  return from_columns(cells, map, file);
}

py::tuple parse_one(const std::string& written, const std::string& unit, bool unit_is_default,
                    const std::string& quantity, const std::string& decimal, const ColumnMap& map) {
  const ParsedValue read = parse_value({.text = written,
                                        .unit = unit,
                                        .unit_is_default = unit_is_default,
                                        .quantity = quantity_named(quantity, "quantity"),
                                        .decimal = decimal_named(decimal)},
                                       map.words);
  return py::make_tuple(read.value, static_cast<int>(read.censoring), read.resolution, static_cast<int>(read.status),
                        read.reason);
}

py::list series_of(const Table& table) {
  py::list all;
  for (const TimedSeries& series : timed_series(table)) {
    Array<std::int64_t> rows = new_array<std::int64_t>(series.rows.size());
    std::ranges::transform(series.rows, rows.mutable_data(),
                           [](std::size_t row) { return static_cast<std::int64_t>(row); });
    all.append(
        py::make_tuple(py::str(std::string{series.object_id}), py::str(std::string{series.run_id}), std::move(rows)));
  }
  return all;
}

template <class Names>
py::tuple names_of(const Names& names) {
  py::list list;
  for (const std::string_view name : names) list.append(py::str(std::string{name}));
  return py::tuple(list);
}

}  // namespace

void bind_readings(py::module_& module) {
  bind_table(module);
  bind_parsed(module);
  py::class_<ColumnMap>(module, "ColumnMap")
      .def(py::init(&make_map), py::kw_only(), py::arg("columns") = std::vector<ColumnRow>{},
           py::arg("wide") = std::vector<WideRow>{}, py::arg("over_range") = std::vector<std::string>{},
           py::arg("missing") = std::vector<std::string>{},
           py::arg("parts") = std::map<std::string, std::string, std::less<>>{},
           py::arg("objects") = std::map<std::string, std::string, std::less<>>{});
  module.def("parse", &parse_bytes, py::arg("bytes"), py::arg("columns"), py::arg("file"));
  module.def("from_columns", &parse_columns, py::arg("cells"), py::arg("columns"), py::arg("file"));
  module.def("parse_value", &parse_one, py::kw_only(), py::arg("text"), py::arg("unit"), py::arg("unit_is_default"),
             py::arg("quantity"), py::arg("decimal"), py::arg("columns"));
  module.def("timed_series", &series_of, py::arg("table"));
  module.attr("own_form_names") = names_of(own_form_names);
  module.attr("text_names") = names_of(text_names);
  module.attr("number_names") = names_of(number_names);
}

}  // namespace ohmward::python
