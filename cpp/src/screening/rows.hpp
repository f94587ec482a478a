#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "ohmward/readings/table.hpp"
#include "ohmward/screening/meter.hpp"
#include "screening/grouping.hpp"

namespace ohmward::screening {

using readings::NumberName;
using readings::Table;
using readings::TextColumn;
using readings::TextName;

/// What the marks ask of a table, made once.
class Rows {
 public:
  static constexpr std::int32_t no_day = INT32_MIN;

  Rows(const Table& readings, std::span<const Meter> known_meters);

  const Table& table;
  std::span<const Meter> meters;
  std::vector<double> decade;          ///< log10 of an exact value above zero, else NaN
  std::vector<double> bound;           ///< least value that an over-range row can have, else NaN
  std::vector<std::int32_t> day;       ///< days since 1970-01-01, or no_day
  std::vector<std::uint8_t> is_check;  ///< a reading of a known value, not of an object

  Grouping kind;       ///< part kind (part where it has none) and quantity
  Grouping history;    ///< object and kind
  Grouping point;      ///< object, part and quantity
  Grouping job;        ///< job_id, else object and day
  Grouping meter_day;  ///< instrument and day
  Grouping session;    ///< instrument (that of its job where not named), day, and taken_by, else job

  [[nodiscard]] std::size_t size() const noexcept { return day.size(); }
  [[nodiscard]] bool exact(std::size_t row) const noexcept { return table.censoring[row] == Censoring::exact; }
  [[nodiscard]] bool over_range(std::size_t row) const noexcept {
    return table.censoring[row] == Censoring::above || table.censoring[row] == Censoring::overload;
  }
  [[nodiscard]] std::string_view word(TextName name, std::size_t row) const noexcept {
    return table.column(name).word(row);
  }
  [[nodiscard]] std::int32_t code(TextName name, std::size_t row) const noexcept {
    return table.column(name).code(row);
  }
  [[nodiscard]] std::int32_t kind_code(std::size_t row) const noexcept { return kind_code_[row]; }

  /// The meter of a row on its day: the entry whose dates cover it, else the nearest; nullptr where it is not known.
  [[nodiscard]] const Meter* meter(std::size_t row) const noexcept;
  /// Display step of a reading of `value` on the row's meter at the row's test voltage; NaN where not known.
  [[nodiscard]] const MeterRange* range(std::size_t row) const noexcept;

 private:
  void read_meters();
  void read_kinds();
  void group();
  [[nodiscard]] std::vector<std::int32_t> likely_instruments() const;
  [[nodiscard]] double lowest_ceiling(std::size_t row) const noexcept;

  std::vector<std::int32_t> kind_code_;
  std::vector<std::vector<const Meter*>> meters_of_code_;
  double lowest_insulation_ceiling_ = nan;
};

/// Greatest value that a meter can show of a quantity at a test voltage. NaN as voltage: `pick` over all its voltages.
[[nodiscard]] double ceiling(const Meter& meter, QuantityKind quantity, double test_voltage_volt) noexcept;

}  // namespace ohmward::screening
