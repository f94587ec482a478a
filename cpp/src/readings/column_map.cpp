#include "ohmward/readings/column_map.hpp"

#include <algorithm>
#include <array>
#include <set>
#include <string_view>

#include "ohmward/core/errors.hpp"
#include "ohmward/readings/moment_text.hpp"
#include "ohmward/readings/schema.hpp"
#include "readings/unit_text.hpp"

namespace ohmward::readings {
namespace {

template <class Names>
bool holds(const Names& names, std::string_view name) {
  return std::ranges::find(names, name) != names.end();
}

bool is_unit_of_a_quantity(std::string_view unit) {
  return std::ranges::any_of(quantity_kinds, [unit](const QuantityKindFacts& entry) {
    return parse_unit(unit, dimension(entry.kind)).has_value();
  });
}

void check_unit(const ColumnSource& source, std::string_view field) {
  if (source.unit.empty()) return;
  if (source.name == "value") {
    if (!is_unit_of_a_quantity(source.unit)) throw InvalidParameter(field, source.unit, "a unit such as MΩ, V or °C");
    return;
  }
  const auto* const number = std::ranges::find(number_names, source.name);
  if (number == number_names.end() || source.name == "reference_value")
    throw InvalidParameter(field, source.unit, "no unit: only value and number columns have one of their own");
  const Dimension wanted = dimension(static_cast<NumberName>(number - number_names.begin()));
  if (!parse_unit(source.unit, wanted)) throw InvalidParameter(field, source.unit, expected_units(wanted));
}

void check_source(const ColumnSource& source, bool wide) {
  const std::string field = "columns." + source.name;
  if (!holds(own_form_names, source.name) && !holds(text_names, source.name) && !holds(number_names, source.name))
    throw InvalidParameter(field, source.name, "the name of a column of the readings table");
  if (source.from && source.constant) throw InvalidParameter(field, "both from and constant", "one of them");
  if (wide && holds(std::array<std::string_view, 4>{"value", "unit", "quantity", "part"}, source.name))
    throw InvalidParameter(field, "given beside a wide form", "part, quantity and unit from each wide column");
  if (!source.format.empty() && source.name != "taken_at")
    throw InvalidParameter(field + ".format", source.format, "no format: only taken_at has one");
  if (!source.format.empty() && !is_moment_format(source.format))
    throw InvalidParameter(field + ".format", source.format,
                           "%d %m %Y (or %y), with %H %M %S %z where there is a time");
  check_unit(source, field + ".unit");
}

void check_wide(const WideColumn& column) {
  const std::string field = "wide." + column.from;
  if (column.from.empty()) throw InvalidParameter("wide.from", "blank", "the header of a column");
  if (!column.unit.empty() && !parse_unit(column.unit, dimension(column.quantity)))
    throw InvalidParameter(field + ".unit", column.unit, expected_units(dimension(column.quantity)));
}

}  // namespace

const ColumnSource* ColumnMap::find(std::string_view name) const noexcept {
  const auto found = std::ranges::find(columns, name, &ColumnSource::name);
  return found == columns.end() ? nullptr : &*found;
}

void ColumnMap::check() const {
  std::set<std::string_view> names;
  for (const ColumnSource& source : columns) {
    check_source(source, !wide.empty());
    if (!names.insert(source.name).second) throw InvalidParameter("columns", source.name, "each column once");
  }
  std::set<std::string_view> headers;
  for (const WideColumn& column : wide) {
    check_wide(column);
    if (!headers.insert(column.from).second) throw InvalidParameter("wide.from", column.from, "each header once");
  }
}

}  // namespace ohmward::readings
