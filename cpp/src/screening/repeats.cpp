#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "screening/kinds_of_marks.hpp"
#include "screening/wholes.hpp"
#include "screening/wording.hpp"

namespace ohmward::screening {

Found joined_poles(const Rows& rows, const Settings&) {
  const TextColumn& points = rows.table.column(TextName::from_point);
  const std::int32_t plus = points.code_of("hv_plus");
  const std::int32_t minus = points.code_of("hv_minus");
  Found found;
  if (plus < 0 || minus < 0) return found;
  for (std::size_t job = 0; job < rows.job.size(); ++job) {
    std::map<std::tuple<std::int32_t, double, std::int32_t>, std::uint32_t> of_plus;  // point, value, connected
    const auto key = [&](std::uint32_t row) {
      return std::tuple{rows.history.of(row), rows.table.value[row], rows.code(TextName::connected, row)};
    };
    const auto is_pole = [&](std::uint32_t row, std::int32_t pole) {
      return points.code(row) == pole && is_whole(rows, row) && rows.exact(row);
    };
    for (const std::uint32_t row : rows.job.rows(job))
      if (is_pole(row, plus)) of_plus[key(row)] = row;
    if (of_plus.empty()) continue;
    for (const std::uint32_t row : rows.job.rows(job)) {
      if (!is_pole(row, minus)) continue;
      for (const auto& [known, other] : of_plus) {
        const auto& [history, value, connected] = known;
        const auto [own_history, own_value, own_connected] = key(row);
        if (history != own_history || value != own_value ||
            (connected != own_connected && connected >= 0 && own_connected >= 0))
          continue;
        found.push_back({.finding = Finding::poles_joined,
                         .rows = {std::min<std::size_t>(row, other), std::max<std::size_t>(row, other)},
                         .shown_by = {},
                         .statistic = 0,
                         .threshold = rows.table.resolution[row],
                         .sentence = sentence("both poles read ", with_unit(value, QuantityKind::insulation_resistance),
                                              ": joined on the load side, one reading and not two")});
        break;
      }
    }
  }
  return found;
}

namespace {

/// Time to charge the part's capacitance with the source's whole current, C·U/I. Source: `screening-practice`.
double charging_second(const Rows& rows, std::size_t row) noexcept {
  const Meter* const meter = rows.meter(row);
  if (meter == nullptr) return nan;
  return rows.table.at(NumberName::capacitance_farad, row) * rows.table.at(NumberName::test_voltage_volt, row) /
         meter->source_ampere;
}

bool is_spot(const Rows& rows, std::size_t row) noexcept {
  return rows.table.quantity[row] == QuantityKind::insulation_resistance && !rows.is_check[row] &&
         rows.code(TextName::run_id, row) < 0 && rows.point.of(row) != Grouping::none;
}

}  // namespace

Found unsettled_readings(const Rows& rows, const Settings& settings) {
  Found found;
  for (std::size_t row = 0; row < rows.size(); ++row) {
    if (!is_spot(rows, row)) continue;
    const double needed = charging_second(rows, row) + settings.settling_second;
    const double elapsed = rows.table.at(NumberName::elapsed_second, row);
    if (!(elapsed < needed)) continue;
    found.push_back({.finding = Finding::not_settled,
                     .rows = {row},
                     .shown_by = {},
                     .statistic = elapsed,
                     .threshold = needed,
                     .sentence = sentence("read after ", number(elapsed), " s; charging the part takes about ",
                                          number(needed - settings.settling_second), " s")});
  }
  for (std::size_t job = 0; job < rows.job.size(); ++job) {
    std::map<std::tuple<std::int32_t, std::int32_t, std::int32_t, std::int32_t>, std::uint32_t> last;
    for (const std::uint32_t row : rows.job.rows(job)) {
      if (!is_spot(rows, row) || std::isnan(rows.decade[row]) || rows.code(TextName::from_point, row) < 0 ||
          rows.code(TextName::stage, row) < 0)
        continue;
      const auto [place, is_new] =
          last.try_emplace({rows.point.of(row), rows.code(TextName::from_point, row), rows.code(TextName::stage, row),
                            rows.code(TextName::connected, row)},
                           row);
      if (is_new) continue;
      const std::uint32_t first = place->second;
      place->second = row;
      const double ratio = rows.table.value[row] / rows.table.value[first];
      const bool dried = rows.code(TextName::surface, row) != rows.code(TextName::surface, first);
      if (!(ratio >= settings.settling_ratio) || dried || rows.code(TextName::pair_id, row) >= 0) continue;
      found.push_back({.finding = Finding::not_settled,
                       .rows = {first},
                       .shown_by = {row},
                       .statistic = ratio,
                       .threshold = settings.settling_ratio,
                       .sentence = sentence("read again in the same job it shows ", number(ratio), " times as much")});
    }
  }
  return found;
}

}  // namespace ohmward::screening
