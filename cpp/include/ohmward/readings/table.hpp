#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "ohmward/core/censoring.hpp"
#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/quantity_kind.hpp"
#include "ohmward/core/status.hpp"
#include "ohmward/readings/schema.hpp"

namespace ohmward::readings {

/// Words by code. A code below 0 is a missing cell.
class TextColumn {
 public:
  static constexpr std::int32_t missing = -1;

  void append(std::string_view word);  ///< An empty word is a missing cell.
  void append_missing(std::size_t count = 1);

  [[nodiscard]] std::int32_t code(std::size_t row) const noexcept {
    return row < codes_.size() ? codes_[row] : missing;
  }
  [[nodiscard]] std::string_view word(std::size_t row) const noexcept { return word_of_code(code(row)); }
  [[nodiscard]] std::string_view word_of_code(std::int32_t code) const noexcept {
    return code < 0 ? std::string_view{} : std::string_view{words_[static_cast<std::size_t>(code)]};
  }
  [[nodiscard]] std::int32_t code_of(std::string_view word) const noexcept;  ///< missing where the word never occurs
  [[nodiscard]] std::span<const std::int32_t> codes() const noexcept { return codes_; }
  [[nodiscard]] std::span<const std::string> words() const noexcept { return words_; }

 private:
  [[nodiscard]] std::size_t slot_of(std::string_view word) const noexcept;
  void grow();

  std::vector<std::int32_t> codes_;
  std::vector<std::string> words_;
  std::vector<std::int32_t> slots_;  ///< open addressing: a code or `missing`; a power of two, at most half full
};

/// Text that is kept as typed, one piece after the other.
class RawText {
 public:
  void append(std::string_view text);
  [[nodiscard]] std::string_view operator[](std::size_t row) const noexcept {
    return std::string_view{bytes_}.substr(ends_[row], ends_[row + 1] - ends_[row]);
  }
  [[nodiscard]] std::size_t size() const noexcept { return ends_.size() - 1; }
  [[nodiscard]] std::span<const std::uint64_t> offsets() const noexcept { return ends_; }
  [[nodiscard]] std::string_view bytes() const noexcept { return bytes_; }

 private:
  std::string bytes_;
  std::vector<std::uint64_t> ends_{0};
};

/// When a reading was taken.
struct Moment {
  static constexpr std::int64_t missing = INT64_MIN;
  std::int64_t second = missing;  ///< seconds since 1970-01-01: UTC where an offset was given, local time otherwise
  bool has_time = false;          ///< false: only the date is known and `second` is its midnight
  bool has_offset = false;
};

/// The id of a reading that was given none: `R-` and the line number, at least five digits.
[[nodiscard]] std::string id_of_line(std::int64_t line);

/// The readings table by columns. Every vector has `rows()` elements, or none where the column is absent.
struct Table {
  std::string file;  ///< name for messages; empty where the table came from memory

  std::vector<std::int64_t> line;  ///< line in the file of each accepted row, from 1
  TextColumn reading_id;           ///< kept where given; see `id(row)`
  std::vector<QuantityKind> quantity;
  std::vector<double> value;  ///< SI; the bound where censored; NaN where the bound is not known
  std::vector<Censoring> censoring;
  std::vector<double> resolution;             ///< SI size of the last digit written down; NaN where none was
  RawText value_text;                         ///< as typed
  TextColumn unit;                            ///< as typed
  std::vector<std::int64_t> taken_at_second;  ///< Moment::second
  std::vector<std::uint8_t> taken_at_form;    ///< bit 0: has time; bit 1: has offset

  std::array<TextColumn, text_names.size()> text;
  std::array<std::vector<double>, number_names.size()> number;
  std::vector<std::pair<std::string, TextColumn>> unknown;  ///< columns that the schema does not know, kept

  [[nodiscard]] std::size_t rows() const noexcept { return value.size(); }
  [[nodiscard]] const TextColumn& column(TextName name) const noexcept { return text[static_cast<std::size_t>(name)]; }
  [[nodiscard]] double at(NumberName name, std::size_t row) const noexcept {
    const std::vector<double>& cells = number[static_cast<std::size_t>(name)];
    return cells.empty() ? nan : cells[row];
  }
  [[nodiscard]] std::string id(std::size_t row) const;  ///< as given, else `id_of_line`
  [[nodiscard]] std::optional<std::size_t> row_of(std::string_view wanted_id) const;
};

/// A row that could not be read: nothing is dropped without a reason.
struct Rejected {
  std::int64_t line;   ///< line in the file, from 1
  std::string column;  ///< column that could not be read; empty where the whole row is meant
  std::string text;    ///< as typed
  std::string why;     ///< what was expected
};

}  // namespace ohmward::readings
