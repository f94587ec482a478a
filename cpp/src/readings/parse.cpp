#include "ohmward/readings/parse.hpp"

#include <algorithm>
#include <utility>

#include "ohmward/core/errors.hpp"
#include "readings/csv.hpp"
#include "readings/row_reader.hpp"
#include "readings/utf8.hpp"

namespace ohmward::readings {
namespace {

constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

std::string place(std::string_view file, std::int64_t line) {
  return std::string{file.empty() ? std::string_view{"readings"} : file} + ", line " + std::to_string(line) + ": ";
}

std::string hexadecimal(char byte) {
  constexpr std::string_view digits = "0123456789ABCDEF";
  const auto value = static_cast<unsigned char>(byte);
  return {'0', 'x', digits[value / 16U], digits[value % 16U]};
}

/// Line of a position, counting LF, CRLF and CR.
std::int64_t line_at(std::string_view bytes, std::size_t position) {
  std::int64_t line = 1;
  for (std::size_t i = 0; i < position; ++i)
    line += bytes[i] == '\n' || (bytes[i] == '\r' && (i + 1 == bytes.size() || bytes[i + 1] != '\n'));
  return line;
}

void check_utf8(std::string_view bytes, std::string_view file) {
  const std::size_t bad = first_bad_utf8(bytes);
  if (bad == std::string_view::npos) return;
  throw UnreadableInput(place(file, line_at(bytes, bad)) + "byte " + hexadecimal(bytes[bad]) +
                        " is no UTF-8, expected a file in UTF-8 or its encoding named");
}

/// The header's record under this separator; false where there is none.
bool read_header(CsvReader& reader, std::string_view file) {
  try {
    return reader.next();
  } catch (const CsvReader::UnclosedQuote& quote) {
    throw UnreadableInput(place(file, quote.line) + "quote opened and never closed, expected a second quote");
  }
}

/// The separator under which the header shows more known columns; of two alike the one that splits more.
char find_separator(std::string_view text, const ColumnMap& map, std::string_view file) {
  const auto score = [&](char separator) {
    CsvReader reader{text, separator};
    read_header(reader, file);
    return std::pair{known_columns(reader.cells(), map), reader.cells().size()};
  };
  return score(';') > score(',') ? ';' : ',';
}

template <class Row>
void for_each_row(CsvReader& reader, std::string_view file, const Row& row) {
  while (read_header(reader, file)) row(reader);
}

void read_row(RowReader& rows, const CsvReader& record) {
  if (record.has_text_after_quote())
    return rows.reject_row(record.line(), record.record(), "text after a closing quote, expected a separator");
  const std::size_t count = record.cells().size();
  if (count != rows.width())
    return rows.reject_row(record.line(), record.record(),
                           std::to_string(count) + " cells, expected " + std::to_string(rows.width()) +
                               (count > rows.width() ? "; a text with a separator in it needs quotes" : ""));
  rows.read(record.line(), record.cells());
}

void check_cells(const TextCells& column, std::size_t rows, std::string_view file) {
  const auto fail = [&](const std::string& what) {
    throw UnreadableInput(place(file, 1) + "column '" + std::string{column.name} + "': " + what);
  };
  if (column.offsets.size() != rows + 1)
    fail(std::to_string(column.offsets.size()) + " offsets, expected " + std::to_string(rows + 1) +
         " as in the first column");
  const bool inside = column.offsets.front() >= 0 && std::cmp_less_equal(column.offsets.back(), column.bytes.size());
  if (!inside || !std::ranges::is_sorted(column.offsets)) fail("offsets outside the bytes or not ascending");
  for (std::size_t row = 0; row < rows; ++row) {
    const auto begin = static_cast<std::size_t>(column.offsets[row]);
    if (first_bad_utf8(column.bytes.substr(begin, static_cast<std::size_t>(column.offsets[row + 1]) - begin)) !=
        std::string_view::npos)
      throw UnreadableInput(place(file, static_cast<std::int64_t>(row) + 2) + "column '" + std::string{column.name} +
                            "' holds bytes that are no UTF-8");
  }
}

}  // namespace

Parsed parse(std::string_view bytes, const ColumnMap& columns, std::string_view file) {
  columns.check();
  check_utf8(bytes, file);
  Parsed out;
  out.table.file = file;
  out.dialect.byte_order_mark = bytes.starts_with(byte_order_mark);
  if (out.dialect.byte_order_mark) bytes.remove_prefix(byte_order_mark.size());
  out.dialect.separator = find_separator(bytes, columns, file);

  CsvReader first_pass{bytes, out.dialect.separator};
  if (!read_header(first_pass, file))
    throw UnreadableInput(place(file, 1) + "empty, expected a header with column names");
  RowReader rows{{.names = first_pass.cells(), .file = file, .line = first_pass.line()}, columns, out};
  for_each_row(first_pass, file, [&](const CsvReader& record) { rows.look_for_decimal_mark(record.cells()); });
  rows.settle_decimal_mark();

  CsvReader second_pass{bytes, out.dialect.separator};
  second_pass.next();
  for_each_row(second_pass, file, [&](const CsvReader& record) { read_row(rows, record); });
  return out;
}

Parsed from_columns(std::span<const TextCells> cells, const ColumnMap& columns, std::string_view file) {
  columns.check();
  if (cells.empty() || cells.front().offsets.empty())
    throw UnreadableInput(place(file, 1) + "no columns, expected the columns of the readings table");
  const std::size_t row_count = cells.front().offsets.size() - 1;
  for (const TextCells& column : cells) check_cells(column, row_count, file);
  Parsed out;
  out.table.file = file;
  std::vector<std::string_view> row;
  for (const TextCells& column : cells) row.push_back(column.name);
  RowReader rows{{.names = row, .file = file, .line = 1}, columns, out};
  const auto gather = [&](std::size_t at) {
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const auto begin = static_cast<std::size_t>(cells[i].offsets[at]);
      row[i] = cells[i].bytes.substr(begin, static_cast<std::size_t>(cells[i].offsets[at + 1]) - begin);
    }
  };
  for (std::size_t at = 0; at < row_count; ++at) {
    gather(at);
    rows.look_for_decimal_mark(row);
  }
  rows.settle_decimal_mark();
  for (std::size_t at = 0; at < row_count; ++at) {
    gather(at);
    rows.read(static_cast<std::int64_t>(at) + 2, row);
  }
  return out;
}

}  // namespace ohmward::readings
