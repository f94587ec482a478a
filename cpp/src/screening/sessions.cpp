#include "screening/sessions.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/numerics/elementary.hpp"
#include "screening/kinds_of_marks.hpp"
#include "screening/robust.hpp"
#include "screening/visits.hpp"
#include "screening/wording.hpp"

namespace ohmward::screening {
namespace {

constexpr std::size_t least_rows = 3;
/// A joint above this has a story of its own; the floor of a session is that of its good joints.
constexpr double good_joint_ohm = 0.3;

/// Each row against the median of the other visits to its point, or of its kind where there are too few.
std::vector<double> residuals(const Rows& rows) {
  std::vector<double> residual(rows.size(), nan);
  std::vector<double> of_kind(rows.kind.size(), nan);
  std::vector<double> values;
  for (std::size_t kind = 0; kind < rows.kind.size(); ++kind) {
    values.clear();
    for (const std::uint32_t row : rows.kind.rows(kind))
      if (is_bonding(rows, row)) values.push_back(rows.table.value[row]);
    of_kind[kind] = median(values);
  }
  std::vector<double> value(rows.size(), nan);
  for (std::size_t row = 0; row < rows.size(); ++row)
    if (is_bonding(rows, row)) value[row] = rows.table.value[row];
  for (std::size_t point = 0; point < rows.point.size(); ++point) {
    if (rows.table.quantity[rows.point.rows(point).front()] != QuantityKind::bonding_resistance) continue;
    const std::vector<Visit> all = visits(rows, rows.point.rows(point), value);
    values.clear();
    for (const Visit& visit : all) values.push_back(visit.value);
    std::ranges::sort(values);
    for (const Visit& visit : all) {
      const auto place = static_cast<std::size_t>(std::ranges::lower_bound(values, visit.value) - values.begin());
      for (const std::size_t row : visit.rows)
        residual[row] = value[row] - (all.size() >= least_rows ? median_without(values, place)
                                                               : of_kind[static_cast<std::size_t>(rows.kind.of(row))]);
    }
  }
  return residual;
}

Evidence evidence_of(Finding finding, std::vector<std::size_t> session, double statistic, double threshold,
                     std::string text) {
  return {.finding = finding,
          .rows = std::move(session),
          .shown_by = {},
          .statistic = statistic,
          .threshold = threshold,
          .sentence = std::move(text)};
}

}  // namespace

bool is_bonding(const Rows& rows, std::size_t row) noexcept {
  return rows.table.quantity[row] == QuantityKind::bonding_resistance && rows.exact(row) && !rows.is_check[row] &&
         rows.point.of(row) != Grouping::none;
}

std::vector<SessionOffset> bonding_offsets(const Rows& rows) {
  const std::vector<double> residual = residuals(rows);
  std::vector<SessionOffset> offsets(rows.session.size());
  std::vector<double> values;
  for (std::size_t session = 0; session < offsets.size(); ++session) {
    SessionOffset& offset = offsets[session];
    values.clear();
    for (const std::uint32_t row : rows.session.rows(session)) {
      if (std::isnan(residual[row])) continue;
      values.push_back(residual[row]);
      offset.negative += rows.table.value[row] < 0 ? 1U : 0U;
      if (!(rows.table.value[row] >= offset.lowest_ohm)) offset.lowest_ohm = rows.table.value[row];
    }
    offset.compared = values.size();
    if (values.size() >= least_rows) offset.ohm = median(values);
  }
  return offsets;
}

Found nulls_of_sessions(const Rows& rows, const Settings& settings) {
  const std::vector<SessionOffset> offsets = bonding_offsets(rows);
  Found found;
  for (std::size_t session = 0; session < offsets.size(); ++session) {
    const SessionOffset& offset = offsets[session];
    if (offset.compared == 0) continue;
    std::vector<std::size_t> members;
    for (const std::uint32_t row : rows.session.rows(session))
      if (rows.table.quantity[row] == QuantityKind::bonding_resistance && rows.exact(row) &&
          rows.table.value[row] < good_joint_ohm)
        members.push_back(row);
    if (members.empty()) continue;
    const QuantityKind quantity = QuantityKind::bonding_resistance;
    if (offset.ohm >= settings.null_raised_ohm && offset.lowest_ohm >= settings.null_raised_ohm)
      found.push_back(evidence_of(
          Finding::null_not_taken_suspected, members, offset.ohm, settings.null_raised_ohm,
          sentence("the session reads ", with_unit(offset.ohm, quantity),
                   " above what its points usually show, nothing below ", with_unit(offset.lowest_ohm, quantity))));
    const bool lowered = offset.ohm <= -settings.null_lowered_ohm && 2 * offset.negative >= offset.compared;
    if (lowered || offset.lowest_ohm <= -settings.negative_ohm)
      found.push_back(evidence_of(Finding::null_below_zero, members, offset.lowest_ohm, -settings.negative_ohm,
                                  sentence("the session's lowest reading is ", with_unit(offset.lowest_ohm, quantity),
                                           lowered ? ", and all read low" : "")));
  }
  return found;
}

namespace {

/// Rows of a tester-day whose points usually are over range, now shown as numbers.
constexpr double pile_width_decade = 0.1;
/// A lead of this many times a reading still changes it by a tenth.
constexpr double lead_over_reading = 10;

}  // namespace

Found leads_in_the_path(const Rows& rows, const Settings&) {
  Found found;
  std::vector<double> over_share(rows.point.size(), nan);
  for (std::size_t point = 0; point < over_share.size(); ++point) {
    std::size_t over = 0;
    for (const std::uint32_t row : rows.point.rows(point)) over += rows.over_range(row) ? 1U : 0U;
    over_share[point] = static_cast<double>(over) / static_cast<double>(rows.point.rows(point).size());
  }
  std::vector<double> values;
  for (std::size_t session = 0; session < rows.session.size(); ++session) {
    std::vector<std::size_t> members;
    std::size_t over_now = 0;
    for (const std::uint32_t row : rows.session.rows(session)) {
      if (rows.table.quantity[row] != QuantityKind::insulation_resistance) continue;
      over_now += rows.over_range(row) ? 1U : 0U;
      if (rows.point.of(row) != Grouping::none && !std::isnan(rows.decade[row]) &&
          over_share[static_cast<std::size_t>(rows.point.of(row))] > 0.5)
        members.push_back(row);
    }
    if (members.size() < least_rows || over_now > 0) continue;
    values.clear();
    for (const std::size_t row : members) values.push_back(rows.decade[row]);
    const auto [least, greatest] = std::ranges::minmax_element(values);
    if (*greatest - *least > pile_width_decade) continue;
    const double ceiling_ohm = rows.table.value[members.front()];
    found.push_back(evidence_of(Finding::leakage_of_leads_suspected, std::move(members), *greatest - *least,
                                pile_width_decade,
                                sentence("points that usually are over range all read about ",
                                         with_unit(ceiling_ohm, QuantityKind::insulation_resistance))));
  }
  for (std::size_t row = 0; row < rows.size(); ++row) {
    if (rows.word(TextName::part, row) != "leads_open" || std::isnan(rows.decade[row]) ||
        rows.table.quantity[row] != QuantityKind::insulation_resistance)
      continue;
    const double leads_ohm = rows.table.value[row];
    const MeterRange* const range = rows.range(row);
    if (range != nullptr && leads_ohm >= range->high) continue;  // over range, written as a number
    std::vector<std::size_t> members{row};
    for (const std::uint32_t other : rows.meter_day.around(row))
      if (rows.exact(other) && !rows.is_check[other] &&
          rows.table.quantity[other] == QuantityKind::insulation_resistance &&
          rows.table.value[other] * lead_over_reading >= leads_ohm)
        members.push_back(other);
    found.push_back(
        evidence_of(Finding::leakage_of_leads_suspected, std::move(members), leads_ohm, nan,
                    sentence("open leads read ", with_unit(leads_ohm, QuantityKind::insulation_resistance))));
  }
  return found;
}

}  // namespace ohmward::screening
