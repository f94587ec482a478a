#include "ohmward/readings/timed_series.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <map>
#include <tuple>
#include <utility>

namespace ohmward::readings {
namespace {

constexpr std::uint8_t has_time_bit = 1;

double known_first(double number) noexcept { return std::isnan(number) ? infinity : number; }

auto order(const Table& table, std::size_t row) noexcept {
  const bool timed = (table.taken_at_form[row] & has_time_bit) != 0;
  return std::tuple{
      known_first(table.at(NumberName::step, row)), known_first(table.at(NumberName::elapsed_second, row)),
      timed ? table.taken_at_second[row] : std::numeric_limits<std::int64_t>::max(), table.line[row], row};
}

}  // namespace

std::vector<TimedSeries> timed_series(const Table& table) {
  const TextColumn& object = table.column(TextName::object_id);
  const TextColumn& run = table.column(TextName::run_id);
  std::map<std::pair<std::int32_t, std::int32_t>, std::size_t> place;
  std::vector<TimedSeries> all;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    if (run.code(row) == TextColumn::missing) continue;
    const auto [found, is_new] = place.try_emplace({object.code(row), run.code(row)}, all.size());
    if (is_new) all.push_back({.object_id = object.word(row), .run_id = run.word(row), .rows = {}});
    all[found->second].rows.push_back(row);
  }
  for (TimedSeries& series : all)
    std::ranges::sort(series.rows, {}, [&table](std::size_t row) { return order(table, row); });
  return all;
}

}  // namespace ohmward::readings
