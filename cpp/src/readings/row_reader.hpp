#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "ohmward/readings/parse.hpp"

namespace ohmward::readings {

/// Where the header of a table stands, for messages.
struct Header {
  std::span<const std::string_view> names;
  std::string_view file;
  std::int64_t line = 1;
};

/// Columns that this map would find among `names`; tells which separator splits a header well.
[[nodiscard]] std::size_t known_columns(std::span<const std::string_view> names, const ColumnMap& map);

/// Turns rows of cells into the table, one row at a time: read whole or rejected whole.
class RowReader {
 public:
  /// @throws UnreadableInput where a needed column is missing or one is doubled
  RowReader(const Header& header, const ColumnMap& map, Parsed& out);

  [[nodiscard]] std::size_t width() const noexcept { return headers_.size(); }
  /// Counts what the number cells of one row show of the decimal mark.
  void look_for_decimal_mark(std::span<const std::string_view> cells);
  /// To be called after all rows were looked at and before the first is read.
  void settle_decimal_mark() noexcept;

  void read(std::int64_t line, std::span<const std::string_view> cells);
  /// A row whose cells can not even be told apart.
  void reject_row(std::int64_t line, std::string_view record, const std::string& why);

 private:
  /// A column of the file or a constant; neither: absent.
  struct Source {
    std::int32_t index = -1;
    std::string_view constant = {};
    bool present = false;
    std::string_view unit = {};
    std::string_view format = {};
    std::string_view name = {};
  };
  using Cells = std::span<const std::string_view>;
  struct Problem {
    std::string_view column;
    std::string_view text;
    std::string why;
  };
  using MaybeProblem = std::optional<Problem>;
  struct Row {
    std::int64_t line = 0;
    Moment taken_at = {};
    std::array<double, number_names.size()> numbers{};
  };
  struct Reading {
    QuantityKind quantity = QuantityKind::insulation_resistance;
    std::string_view part;
    std::string_view text;
    std::string_view text_column;
    std::string_view unit;
    bool unit_is_default = false;
    ParsedValue parsed = {};
  };

  void find_headers(const Header& header);
  [[nodiscard]] Source find(std::string_view name, const Header& header);
  void need(const Source& source, std::string_view name, const Header& header) const;
  void find_columns(const Header& header);
  void find_wide(const Header& header);
  void keep_unknown_columns();

  [[nodiscard]] static std::string_view cell(const Source& source, Cells cells) noexcept;
  [[nodiscard]] std::string_view word(const Source& source, Cells cells) const;
  [[nodiscard]] std::string_view shown_name(const Source& source) const noexcept;

  [[nodiscard]] MaybeProblem check_lengths(Cells cells) const;
  [[nodiscard]] MaybeProblem read_shared(Row& row, Cells cells) const;
  [[nodiscard]] MaybeProblem read_moment(Row& row, Cells cells) const;
  [[nodiscard]] MaybeProblem read_long(Reading& reading, Cells cells) const;
  [[nodiscard]] MaybeProblem read_value(Reading& reading) const;
  [[nodiscard]] MaybeProblem read_reference(Row& row, const Reading& reading, Cells cells) const;
  [[nodiscard]] MaybeProblem check_id(std::string_view id) const;

  void read_wide(Row row, const MaybeProblem& shared, Cells cells);
  void finish(Row& row, Reading& reading, std::string_view id, Cells cells, MaybeProblem problem);
  void reject(std::int64_t line, const Problem& problem);
  void append(const Row& row, const Reading& reading, std::string_view id, Cells cells);
  void append_texts(const Reading& reading, Cells cells);

  const ColumnMap& map_;
  Parsed& out_;
  std::vector<std::string> headers_;
  std::vector<bool> used_;
  Source reading_id_, quantity_, value_, unit_, taken_at_;
  std::array<Source, text_names.size()> texts_;
  std::array<Source, number_names.size()> numbers_;
  std::vector<std::int32_t> wide_;                            ///< header index of each wide column
  std::vector<std::pair<std::size_t, std::size_t>> unknown_;  ///< header index, index into Table::unknown
  std::vector<std::size_t> number_cells_;
};

}  // namespace ohmward::readings
