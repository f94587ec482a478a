#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "ohmward/numerics/elementary.hpp"
#include "screening/kinds_of_marks.hpp"
#include "screening/robust.hpp"
#include "screening/visits.hpp"
#include "screening/wholes.hpp"
#include "screening/wording.hpp"

namespace ohmward::screening {
namespace {

constexpr std::size_t least_objects = 2;

double log10_of(double value) noexcept { return numerics::log2(value) * 0.30102999566398119521; }
double tenfold(double decades) noexcept { return numerics::exp2(decades * 3.3219280948873623479); }

/// Decades of a whole: exact, or the least that an over-range reading can be.
std::vector<double> decades_of_wholes(const Rows& rows) {
  std::vector<double> decade(rows.size(), nan);
  for (std::size_t row = 0; row < rows.size(); ++row) {
    if (!is_whole(rows, row)) continue;
    decade[row] = rows.over_range(row) && rows.bound[row] > 0 ? log10_of(rows.bound[row]) : rows.decade[row];
  }
  return decade;
}

/// What each whole's object shows at other visits; its kind where it has no other.
std::vector<double> usual_decades(const Rows& rows, const std::vector<double>& decade) {
  std::vector<double> usual(rows.size(), nan);
  std::vector<double> values;
  std::vector<double> kind_centre(rows.kind.size(), nan);
  for (std::size_t kind = 0; kind < rows.kind.size(); ++kind) {
    values.clear();
    for (const std::uint32_t row : rows.kind.rows(kind))
      if (!std::isnan(decade[row])) values.push_back(decade[row]);
    kind_centre[kind] = median(values);
  }
  for (std::size_t group = 0; group < rows.history.size(); ++group) {
    const std::vector<Visit> all = visits(rows, rows.history.rows(group), decade);
    values.clear();
    for (const Visit& visit : all) values.push_back(visit.value);
    std::ranges::sort(values);
    for (const Visit& visit : all) {
      const auto place = static_cast<std::size_t>(std::ranges::lower_bound(values, visit.value) - values.begin());
      const double others = median_without(values, place);
      for (const std::size_t row : visit.rows)
        usual[row] = std::isnan(others) ? kind_centre[static_cast<std::size_t>(rows.kind.of(row))] : others;
    }
  }
  return usual;
}

/// Rows of wholes that jump up against their history, by meter and day, where several objects do so together.
using SessionPiles = std::map<std::pair<std::int32_t, std::int32_t>, std::vector<std::size_t>>;

SessionPiles piles_without_contact(const Rows& rows, const Settings& settings, const std::vector<double>& decade,
                                   const std::vector<double>& usual) {
  SessionPiles piles;
  for (std::size_t row = 0; row < rows.size(); ++row)
    if (rows.over_range(row) && decade[row] - usual[row] >= settings.open_jump_decade && rows.day[row] != Rows::no_day)
      piles[{rows.day[row], rows.code(TextName::instrument_id, row)}].push_back(row);
  std::erase_if(piles, [&](const auto& pile) {
    std::set<std::int32_t> objects;
    for (const std::size_t row : pile.second) objects.insert(rows.code(TextName::object_id, row));
    return static_cast<double>(pile.second.size()) < settings.clip_rows || objects.size() < least_objects;
  });
  return piles;
}

/// Greatest reading of each contained part in a job; the whole can not lie above the least of them.
struct LeastPart {
  double ohm = nan;
  std::vector<std::size_t> rows{};
};

LeastPart least_part(const Rows& rows, std::span<const std::uint32_t> job) {
  std::map<std::int32_t, LeastPart> greatest;
  for (const std::uint32_t row : job) {
    if (rows.table.quantity[row] != QuantityKind::insulation_resistance || rows.code(TextName::run_id, row) >= 0 ||
        !is_one_of(rows.word(TextName::part_kind, row), contained_kinds))
      continue;
    // a new part was not in the vehicle yet
    const std::string_view stage = rows.word(TextName::stage, row);
    if (stage.empty() || stage == "incoming_part") continue;
    LeastPart& part = greatest[rows.kind_code(row)];
    const double value = rows.exact(row) ? rows.table.value[row] : infinity;
    if (!(value <= part.ohm)) part.ohm = value;
    part.rows.push_back(row);
  }
  LeastPart least;
  for (auto& [kind, part] : greatest)
    if (!(part.ohm >= least.ohm)) least = std::move(part);
  return least;
}

}  // namespace

Found sessions_without_contact(const Rows& rows, const Settings& settings) {
  const std::vector<double> decade = decades_of_wholes(rows);
  const std::vector<double> usual = usual_decades(rows, decade);
  Found found;
  for (auto& [key, members] : piles_without_contact(rows, settings, decade, usual)) {
    const double count = static_cast<double>(members.size());
    found.push_back(
        {.finding = Finding::contact_not_shown,
         .rows = members,
         .shown_by = {},
         .statistic = count,
         .threshold = settings.clip_rows,
         .sentence = sentence(std::to_string(members.size()), " readings of several vehicles on ", date(key.first),
                              " are over range with one meter, where each usually shows a tenth or less")});
  }
  return found;
}

Found open_contactors(const Rows& rows, const Settings& settings) {
  const std::vector<double> decade = decades_of_wholes(rows);
  const std::vector<double> usual = usual_decades(rows, decade);
  std::set<std::size_t> explained;
  for (const auto& [key, members] : piles_without_contact(rows, settings, decade, usual))
    explained.insert(members.begin(), members.end());
  Found found;
  for (std::size_t row = 0; row < rows.size(); ++row) {
    const double jump = decade[row] - usual[row];
    if (!(jump >= settings.open_jump_decade) || explained.contains(row)) continue;
    found.push_back({.finding = Finding::open_contactor_suspected,
                     .rows = {row},
                     .shown_by = {},
                     .statistic = jump,
                     .threshold = settings.open_jump_decade,
                     .sentence = sentence(rows.over_range(row) ? "over range, so at least " : "reads ",
                                          with_unit(tenfold(decade[row]), QuantityKind::insulation_resistance),
                                          " where the whole usually shows about ",
                                          with_unit(tenfold(usual[row]), QuantityKind::insulation_resistance))});
    explained.insert(row);
  }
  for (std::size_t job = 0; job < rows.job.size(); ++job) {
    const std::span<const std::uint32_t> members = rows.job.rows(job);
    if (std::ranges::none_of(members, [&](std::uint32_t row) { return !std::isnan(decade[row]); })) continue;
    const LeastPart part = least_part(rows, members);
    for (const std::uint32_t row : members) {
      const double ratio = tenfold(decade[row]) / part.ohm;
      if (!(ratio > settings.whole_above_part) || explained.contains(row)) continue;
      found.push_back({.finding = Finding::open_contactor_suspected,
                       .rows = {row},
                       .shown_by = part.rows,
                       .statistic = ratio,
                       .threshold = settings.whole_above_part,
                       .sentence = sentence("the whole reads ",
                                            with_unit(tenfold(decade[row]), QuantityKind::insulation_resistance),
                                            ", a part of it in the same job at most ",
                                            with_unit(part.ohm, QuantityKind::insulation_resistance))});
    }
  }
  return found;
}

}  // namespace ohmward::screening
