#pragma once

#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "ohmward/core/errors.hpp"
#include "ohmward/readings/moment_text.hpp"
#include "ohmward/readings/parse.hpp"

/// What must hold for arbitrary bytes. The fuzzers search for a violation; a test replays the corpus.
namespace ohmward::fuzz {

inline void require(bool holds) {
  if (!holds) std::abort();
}

/// First byte: quantity and decimal mark; then the text, and after a line end the unit.
inline void value_text(std::string_view bytes) {
  if (bytes.empty()) return;
  const auto choice = static_cast<unsigned char>(bytes[0]);
  bytes.remove_prefix(1);
  const std::size_t end = bytes.find('\n');
  const std::string_view text = bytes.substr(0, end);
  const std::string_view unit = end == std::string_view::npos ? std::string_view{} : bytes.substr(end + 1);
  const auto mark = static_cast<readings::DecimalMark>(choice / 64U);
  const readings::ParsedValue read =
      readings::parse_value({.text = text,
                             .unit = unit,
                             .unit_is_default = (choice & 32U) != 0,
                             .quantity = quantity_kinds[(choice & 31U) % quantity_kinds.size()].kind,
                             .decimal = mark});
  require(has_value(read.status) == std::isfinite(read.value));
  require(read.is_reading() == read.reason.empty());
  require((read.censoring == Censoring::overload) == (read.status == Status::unknown_bound));
  require(!(read.resolution <= 0) && read.resolution != infinity);

  const auto column = static_cast<readings::NumberName>(choice % readings::number_names.size());
  const readings::ParsedValue number = readings::parse_number(text, column, {}, mark);
  require(has_value(number.status) == std::isfinite(number.value));
  static_cast<void>(readings::parse_moment(text));
  static_cast<void>(readings::parse_moment(text, unit));
}

inline void check(const readings::Parsed& parsed) {
  const readings::Table& table = parsed.table;
  require(static_cast<std::int64_t>(table.rows() + parsed.rejected.size()) == parsed.rows);
  require(table.value_text.size() == table.rows() && table.taken_at_form.size() == table.rows());
  for (const readings::TextColumn& column : table.text)
    require(column.codes().empty() || column.codes().size() == table.rows());
  for (const auto& [name, column] : table.unknown) require(column.codes().size() == table.rows());
  for (const auto& numbers : table.number) require(numbers.empty() || numbers.size() == table.rows());
  for (const readings::Rejected& row : parsed.rejected) require(row.line >= 1 && !row.why.empty());
}

/// The bytes as a file, read as it is and through a wide column map.
inline void csv(std::string_view bytes) {
  try {
    check(readings::parse(bytes));
  } catch (const UnreadableInput&) {
  }
  readings::ColumnMap map;
  map.columns = {{.name = "object_id", .from = "v"},
                 {.name = "instrument_id", .constant = ""},
                 {.name = "taken_at", .from = "d", .format = "%d.%m.%Y"}};
  map.wide = {{.from = "a", .part = "battery_a", .quantity = QuantityKind::resting_voltage, .unit = "V"},
              {.from = "b", .part = "battery_b", .quantity = QuantityKind::resting_voltage, .unit = "V"}};
  try {
    check(readings::parse(bytes, map));
  } catch (const UnreadableInput&) {
  }
}

}  // namespace ohmward::fuzz
