#include "assessment/current.hpp"

#include <array>
#include <map>
#include <unordered_map>

namespace ohmward::assessment {
namespace {

using readings::NumberName;
using readings::TextName;

using Point = std::array<std::int32_t, 6>;

struct PointHash {
  std::size_t operator()(const Point& point) const noexcept {
    std::uint64_t hash = 1469598103934665603ULL;  // FNV-1a
    for (const std::int32_t code : point) hash = (hash ^ static_cast<std::uint32_t>(code)) * 1099511628211ULL;
    return static_cast<std::size_t>(hash);
  }
};

Point point_of(const readings::Table& table, std::size_t row) noexcept {
  return {table.column(TextName::object_id).code(row),    table.column(TextName::part).code(row),
          static_cast<std::int32_t>(table.quantity[row]), table.column(TextName::from_point).code(row),
          table.column(TextName::to_point).code(row),     table.column(TextName::circuit_side).code(row)};
}

/// Inside one job the step decides, since clocks are often not written down; else the time, else the line.
bool later(const readings::Table& table, std::size_t candidate, std::size_t present) noexcept {
  const std::int32_t job = table.column(TextName::job_id).code(candidate);
  if (job >= 0 && job == table.column(TextName::job_id).code(present)) {
    const double step = table.at(NumberName::step, candidate);
    const double other = table.at(NumberName::step, present);
    if (step > other) return true;
    if (step < other) return false;
  }
  const std::int64_t time = table.taken_at_second[candidate];
  const std::int64_t other_time = table.taken_at_second[present];
  return time != other_time ? time > other_time : candidate > present;
}

}  // namespace

std::vector<std::uint8_t> current_rows(const readings::Table& table) {
  const std::int32_t check = table.column(TextName::stage).code_of("meter_check");
  const std::int32_t searching = table.column(TextName::stage).code_of("fault_finding");
  std::unordered_map<Point, std::size_t, PointHash> latest;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const std::int32_t stage = table.column(TextName::stage).code(row);
    if (stage >= 0 && (stage == check || stage == searching)) continue;
    if (table.column(TextName::doubt).code(row) >= 0) continue;
    const auto [entry, first] = latest.try_emplace(point_of(table, row), row);
    if (!first && later(table, row, entry->second)) entry
    ->second = row;
  }
  std::vector<std::uint8_t> current(table.rows(), 0);
  for (const auto& [point, row] : latest) current[row] = 1;
  return current;
}

}  // namespace ohmward::assessment
