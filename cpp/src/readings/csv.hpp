#pragma once

#include <cstdint>
#include <deque>
#include <exception>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace ohmward::readings {

/// Splits CSV text into records and cells (RFC 4180; LF, CRLF or CR). Blank lines are skipped.
class CsvReader {
 public:
  CsvReader(std::string_view text, char separator) noexcept : text_(text), separator_(separator) {}

  /// Goes to the next record; false at the end of the text.
  /// @throws UnclosedQuote
  bool next();

  struct UnclosedQuote : std::exception {
    explicit UnclosedQuote(std::int64_t line_of_quote) noexcept : line(line_of_quote) {}
    std::int64_t line;
  };

  /// The cells of this record, without quotes; valid until the next call of `next`.
  [[nodiscard]] std::span<const std::string_view> cells() const noexcept { return cells_; }
  [[nodiscard]] std::string_view record() const noexcept { return record_; }  ///< as written, without its line end
  [[nodiscard]] std::int64_t line() const noexcept { return record_line_; }   ///< its first line, from 1
  /// Was there text between a closing quote and the next separator?
  [[nodiscard]] bool has_text_after_quote() const noexcept { return text_after_quote_; }

 private:
  void read_record();
  std::string_view read_cell();
  std::string_view read_quoted();
  [[nodiscard]] bool at_cell_end() const noexcept;
  void take_line_end() noexcept;

  std::string_view text_;
  char separator_;
  std::size_t at_ = 0;
  std::int64_t line_ = 1;
  std::int64_t record_line_ = 0;
  bool text_after_quote_ = false;
  std::string_view record_;
  std::vector<std::string_view> cells_;
  std::deque<std::string> unquoted_;  ///< cells with doubled quotes; a deque, so that views stay valid
};

}  // namespace ohmward::readings
