#include "ohmward/highvoltage/order.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "ohmward/core/constants.hpp"

namespace ohmward::highvoltage {
namespace {

constexpr std::int64_t day = static_cast<std::int64_t>(seconds_per_day);

bool has_clock(const Place& place) noexcept { return place.taken_at.second != readings::Moment::missing; }

/// Days instead of seconds where some row has no time of day; nothing where some row has no date.
std::int64_t clock(const Place& place, std::int64_t unit) noexcept {
  const std::int64_t second = place.taken_at.second;
  return unit == 0 ? 0 : second / unit - (second % unit < 0 ? 1 : 0);
}

std::int64_t common_unit(std::span<const Place> places) noexcept {
  const auto all = [&](auto property) { return std::all_of(places.begin(), places.end(), property); };
  if (!all(has_clock)) return 0;
  return all([](const Place& place) { return place.taken_at.has_time; }) ? 1 : day;
}

}  // namespace

Order order_of(std::span<const Place> places) {
  const std::int64_t unit = common_unit(places);
  Order order;
  order.rows.resize(places.size());
  std::iota(order.rows.begin(), order.rows.end(), std::size_t{0});
  std::stable_sort(order.rows.begin(), order.rows.end(), [&](std::size_t a, std::size_t b) {
    const std::int64_t clock_a = clock(places[a], unit);
    const std::int64_t clock_b = clock(places[b], unit);
    return clock_a != clock_b ? clock_a < clock_b : places[a].line < places[b].line;
  });

  std::vector<std::size_t> stepped;
  for (const std::size_t row : order.rows)
    if (!std::isnan(places[row].step)) stepped.push_back(row);
  std::stable_sort(stepped.begin(), stepped.end(),
                   [&](std::size_t a, std::size_t b) { return places[a].step < places[b].step; });
  for (std::size_t i = 1; i < stepped.size(); ++i)
    if (unit != 0 && clock(places[stepped[i]], unit) < clock(places[stepped[i - 1]], unit))
      order.clock_contradicts_step = true;

  std::size_t next = 0;
  for (std::size_t& row : order.rows)
    if (!std::isnan(places[row].step)) row = stepped[next++];
  return order;
}

}  // namespace ohmward::highvoltage
