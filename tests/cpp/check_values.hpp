#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <limits>
#include <map>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace ohmward::testing {

/// One row of tests/check_values/<name>.csv: cells by column name.
class CheckValue {
 public:
  explicit CheckValue(std::map<std::string, std::string> cells) : cells_(std::move(cells)) {}

  [[nodiscard]] const std::string& text(const std::string& column) const {
    const auto cell = cells_.find(column);
    if (cell == cells_.end()) throw std::out_of_range("check value has no column " + column);
    return cell->second;
  }
  /// An empty cell is NaN.
  [[nodiscard]] double number(const std::string& column) const {
    const std::string& cell = text(column);
    return cell.empty() ? std::numeric_limits<double>::quiet_NaN() : std::strtod(cell.c_str(), nullptr);
  }
  [[nodiscard]] std::string id() const { return text("id"); }

  /// Compares with column `expected` under `relative_tolerance` and `absolute_tolerance`; NaN equals NaN.
  void expect(double actual, const std::string& column = "expected") const {
    const double expected = number(column);
    if (std::isnan(expected)) {
      EXPECT_TRUE(std::isnan(actual)) << id() << ": " << column << " is " << actual << ", expected no value";
      return;
    }
    if (std::isinf(expected)) {
      EXPECT_EQ(actual, expected) << id() << ": " << column;
      return;
    }
    const double allowed = number("absolute_tolerance") + std::abs(expected) * number("relative_tolerance");
    EXPECT_LE(std::abs(actual - expected), allowed)
        << id() << ": " << column << " is " << actual << ", expected " << expected;
  }

 private:
  std::map<std::string, std::string> cells_;
};

inline std::vector<std::string> split_cells(const std::string& line) {
  std::vector<std::string> cells;
  std::string cell;
  bool quoted = false;
  for (const char c : line) {
    if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      cells.push_back(cell);
      cell.clear();
    } else if (c != '\r') {
      cell += c;
    }
  }
  cells.push_back(cell);
  return cells;
}

/// Reads tests/check_values/<name>.csv; lines that begin with # are comments.
inline std::vector<CheckValue> check_values(const std::string& name) {
  std::ifstream file(std::string(OHMWARD_CHECK_VALUES) + "/" + name + ".csv");
  if (!file) throw std::runtime_error("no check values " + name);
  std::vector<std::string> columns;
  std::vector<CheckValue> rows;
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line[0] == '#') continue;
    const std::vector<std::string> cells = split_cells(line);
    if (columns.empty()) {
      columns = cells;
      continue;
    }
    if (cells.size() != columns.size()) throw std::runtime_error(name + ": wrong number of cells in " + line);
    std::map<std::string, std::string> row;
    for (std::size_t i = 0; i < cells.size(); ++i) row[columns[i]] = cells[i];
    rows.emplace_back(std::move(row));
  }
  if (rows.empty()) throw std::runtime_error("no rows in check values " + name);
  return rows;
}

}  // namespace ohmward::testing
