#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "ohmward/core/quantity_kind.hpp"
#include "ohmward/readings/words.hpp"

namespace ohmward::readings {

/// Where one column of the readings table comes from.
struct ColumnSource {
  std::string name;                      ///< column of the readings table
  std::optional<std::string> from = {};  ///< header in the file; not given: the name itself
  std::string unit = {};                 ///< unit of cells that name none: `MΩ` for value, `nF` for capacitance_farad
  std::string format = {};               ///< of taken_at: `%d.%m.%Y %H:%M`; empty: ISO 8601
  std::optional<std::string> constant = {};  ///< instead of a column: the same text for every row
};

/// One column of a wide file (one row a vehicle, one column a point): each cell is a reading.
struct WideColumn {
  std::string from;  ///< header in the file
  std::string part;
  QuantityKind quantity = QuantityKind::insulation_resistance;
  std::string unit = {};  ///< of cells that name none
};

/// Turns a workshop's headers, units, words and wide forms into the readings table.
struct ColumnMap {
  std::vector<ColumnSource> columns;
  std::vector<WideColumn> wide;
  Words words;
  std::map<std::string, std::string, std::less<>> parts;    ///< part -> part_kind, where the row gives none
  std::map<std::string, std::string, std::less<>> objects;  ///< object_id -> object_kind, where the row gives none

  /// @throws InvalidParameter for an unknown or doubled name, a unit or format where none belongs, a unit that does not
  ///         fit, `from` together with `constant`, or a wide form together with value, unit, quantity or part.
  void check() const;

  [[nodiscard]] const ColumnSource* find(std::string_view name) const noexcept;
};

}  // namespace ohmward::readings
