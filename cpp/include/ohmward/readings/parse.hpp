#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "ohmward/readings/column_map.hpp"
#include "ohmward/readings/table.hpp"
#include "ohmward/readings/value_text.hpp"

namespace ohmward::readings {

/// How a file turned out to be written.
struct Dialect {
  char separator = ',';
  DecimalMark decimal = DecimalMark::not_seen;
  std::int64_t decimal_points = 0;  ///< number cells that can only be read with a decimal point
  std::int64_t decimal_commas = 0;
  bool byte_order_mark = false;
};

/// Every row is in one of the two: `table.rows() + rejected.size() == rows`.
struct Parsed {
  Table table;
  std::vector<Rejected> rejected;  ///< in the order of the file
  std::int64_t rows = 0;           ///< rows of the file; of a wide file its cells
  Dialect dialect;
};

/// Reads the bytes of a CSV file (RFC 4180; `,` or `;`; LF, CRLF or CR; with or without byte order mark).
///
/// A row that can not be read is rejected with line, column, text and reason; it never throws. Blank lines are no rows.
/// Rows need object_id, quantity, value and taken_at; a blank part or instrument_id is missing context.
///
/// @param bytes    the file, UTF-8
/// @param columns  how its headers, units and words are meant
/// @param file     name for messages
/// @throws UnreadableInput  no header, no UTF-8, a needed column missing, a column doubled, a quote never closed
/// @throws InvalidParameter a senseless column map
[[nodiscard]] Parsed parse(std::string_view bytes, const ColumnMap& columns = {}, std::string_view file = {});

/// One column of text cells, one after the other, as in an Arrow string array; null cells are empty.
struct TextCells {
  std::string_view name;
  std::span<const std::int64_t> offsets;  ///< rows + 1, ascending, into bytes
  std::string_view bytes;                 ///< UTF-8
};

/// The same from columns in memory. Lines count as if a header stood on line 1.
/// @throws as `parse`; also UnreadableInput where columns differ in length or offsets lie outside the bytes
[[nodiscard]] Parsed from_columns(std::span<const TextCells> cells, const ColumnMap& columns = {},
                                  std::string_view file = {});

}  // namespace ohmward::readings
