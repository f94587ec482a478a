#include "screening/visits.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "screening/robust.hpp"

namespace ohmward::screening {

std::vector<Visit> visits(const Rows& rows, std::span<const std::uint32_t> members,
                          std::span<const double> value_of_row) {
  std::vector<std::tuple<std::int32_t, std::int32_t, std::uint32_t>> ordered;  // day, job, row
  for (const std::uint32_t row : members)
    if (!std::isnan(value_of_row[row])) ordered.emplace_back(rows.day[row], rows.job.of(row), row);
  std::ranges::sort(ordered);
  std::vector<Visit> all;
  for (const auto& [day, job, row] : ordered) {
    const bool joins = !all.empty() && job != Grouping::none && all.back().job == job && all.back().day == day;
    if (!joins) all.push_back({.day = day, .job = job});
    all.back().rows.push_back(row);
  }
  std::vector<double> values;
  for (Visit& visit : all) {
    values.clear();
    for (const std::size_t row : visit.rows) values.push_back(value_of_row[row]);
    visit.value = median(values);
  }
  return all;
}

}  // namespace ohmward::screening
