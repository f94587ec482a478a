#include "assessment/current.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <map>
#include <tuple>
#include <unordered_map>

#include "assessment/runs.hpp"

namespace ohmward::assessment {
namespace {

using readings::NumberName;
using readings::TextColumn;
using readings::TextName;

template <std::size_t count>
struct CodesHash {
  std::size_t operator()(const std::array<std::int32_t, count>& codes) const noexcept {
    std::uint64_t hash = 1469598103934665603ULL;  // FNV-1a
    for (const std::int32_t code : codes) hash = (hash ^ static_cast<std::uint32_t>(code)) * 1099511628211ULL;
    return static_cast<std::size_t>(hash);
  }
};

/// What has to be written alike: object, kind of part, quantity, side of the contactors, which ratio.
using Group = std::array<std::int32_t, 6>;
/// What may be left out: part, both ends.
using Wording = std::array<std::int32_t, 3>;

/// An entry of the results with the row whose words it has.
struct Entry {
  std::size_t index;
  std::size_t row;
};

/// Could a row of this wording be of that point? Every word that it has is the point's own.
bool is_compatible(const Wording& wording, const Wording& point) noexcept {
  for (std::size_t i = 0; i < wording.size(); ++i)
    if (wording[i] != TextColumn::missing && wording[i] != point[i]) return false;
  return true;
}

/// Codes of the kinds of parts, also for rows that left theirs out: a part has one kind.
std::vector<std::int32_t> kinds_of_rows(const readings::Table& table) {
  const TextColumn& parts = table.column(TextName::part);
  const TextColumn& kinds = table.column(TextName::part_kind);
  std::vector<std::int32_t> kind_of_part(parts.words().size(), TextColumn::missing);
  for (std::size_t row = 0; row < table.rows(); ++row)
    if (parts.code(row) >= 0 && kinds.code(row) >= 0)
      kind_of_part[static_cast<std::size_t>(parts.code(row))] = kinds.code(row);
  std::vector<std::int32_t> found(table.rows(), TextColumn::missing);
  for (std::size_t row = 0; row < table.rows(); ++row)
    found[row] = kinds.code(row) < 0 && parts.code(row) >= 0 ? kind_of_part[static_cast<std::size_t>(parts.code(row))]
                                                             : kinds.code(row);
  return found;
}

/// Entries of one group, reduced to those that count.
class CurrentOfGroup {
 public:
  CurrentOfGroup(const readings::Table& table, const std::vector<Entry>& entries) : table_(table) {
    for (const Entry& entry : entries) wordings_.emplace(wording(entry), std::vector<Wording>{});
    std::vector<Wording> points;
    for (const auto& each : wordings_)
      if (is_point(each.first)) points.push_back(each.first);
    for (auto& each : wordings_)
      std::ranges::copy_if(points, std::back_inserter(each.second),
                           [&](const Wording& point) { return is_compatible(each.first, point); });
    for (const Entry& entry : entries) {
      const std::vector<Wording>& possible = wordings_.at(wording(entry));
      if (possible.size() != 1) continue;
      const auto [latest, first] = latest_.try_emplace(possible.front(), entry);
      if (!first && is_after(entry, latest->second)) latest->second = entry;
    }
  }

  [[nodiscard]] bool counts(const Entry& entry) const {
    return std::ranges::any_of(wordings_.at(wording(entry)), [&](const Wording& point) {
      const auto latest = latest_.find(point);
      return latest == latest_.end() || latest->second.index == entry
      .index || !is_after(latest->second, entry);
    });
  }

 private:
  [[nodiscard]] Wording wording(const Entry& entry) const noexcept {
    return {
      table_.column(TextName::part).code(entry.row), table_.column(TextName::from_point).code(entry.row),
          table_.column(TextName::to_point).code(entry.row)
    };
  }
  /// No other wording of the group says the same and more.
  [[nodiscard]] bool is_point(const Wording& candidate) const {
    return std::ranges::none_of(wordings_, [&](const auto& other) {
      return other.first != candidate && is_compatible(candidate, other.first);
    });
  }
  [[nodiscard]] bool is_after(const Entry& candidate, const Entry& present) const noexcept {
    return candidate.row == present.row ? candidate.index > present.index
                                        : is_later(table_, candidate.row, present.row);
  }

  const readings::Table& table_;
  std::map<Wording, std::vector<Wording>> wordings_;  ///< with the points that a row of it may be of
  std::map<Wording, Entry> latest_;                   ///< of each point, among the rows that are certain to be of it
};

/// Rows that no longer stand for themselves.
std::vector<std::uint8_t> rows_that_stand_alone(const readings::Table& table, const Runs& runs,
                                                const std::vector<Derived>& derived) {
  const std::int32_t check = table.column(TextName::stage).code_of("meter_check");
  const std::int32_t searching = table.column(TextName::stage).code_of("fault_finding");
  std::vector<std::uint8_t> alone(table.rows(), 1);
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const std::int32_t stage = table.column(TextName::stage).code(row);
    if ((stage >= 0 && (stage == check || stage == searching)) || table.column(TextName::doubt).code(row) >= 0)
      alone[row] = 0;
  }
  for (std::size_t row = 0; row < table.rows(); ++row)
    if (table.quantity[row] == QuantityKind::insulation_resistance && runs.of(row) != Runs::none &&
        row != runs.all()[static_cast<std::size_t>(runs.of(row))].place)
      alone[row] = 0;
  std::vector<std::uint8_t> gives_a_ratio(runs.all().size(), 0);
  for (const Derived& each : derived) {
    if (each.kind == Together::run_ratio) gives_a_ratio[static_cast<std::size_t>(runs.of(each.place))] = 1;
    if (each.kind == Together::mean)
      for (const std::size_t row : each.rows) alone[row] = 0;
  }
  for (std::size_t row = 0; row < table.rows(); ++row)
    if (table.quantity[row] == QuantityKind::insulation_ratio && runs.of(row) != Runs::none &&
        gives_a_ratio[static_cast<std::size_t>(runs.of(row))] != 0)
      alone[row] = 0;
  return alone;
}

/// Times are told apart by whole tenths of a second; -1 where they are not known.
std::int32_t tenths(double second) noexcept {
  return second > 0 && second < 1e8 ? static_cast<std::int32_t>(std::lround(10 * second)) : -1;
}

}  // namespace

bool is_later(const readings::Table& table, std::size_t candidate, std::size_t present) noexcept {
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

std::vector<std::uint8_t> current_rows(const readings::Table& table, const Runs& runs,
                                       const std::vector<Derived>& derived) {
  const std::vector<std::uint8_t> alone = rows_that_stand_alone(table, runs, derived);
  const std::vector<std::int32_t> kinds = kinds_of_rows(table);
  std::unordered_map<Group, std::vector<Entry>, CodesHash<std::tuple_size_v<Group>>> groups;
  std::vector<std::uint8_t> current(table.rows() + derived.size(), 0);
  const auto enter = [&](const Entry& entry, QuantityKind quantity, const insulation::Times& times) {
    groups[{
      table.column(TextName::object_id).code(entry.row), kinds[entry.row], static_cast<std::int32_t>(quantity),
          table.column(TextName::circuit_side).code(entry.row), tenths(times.late_second), tenths(times.early_second)
    }].push_back(entry);
  };
  for (std::size_t row = 0; row < table.rows(); ++row) {
    if (alone[row] == 0) continue;
    const bool is_ratio = table.quantity[row] == QuantityKind::insulation_ratio;
    enter({row, row}, table.quantity[row],
          is_ratio ? insulation::Times{.late_second = table.at(NumberName::elapsed_second, row),
                                       .early_second = table.at(NumberName::early_second, row)}
                   : no_times);
  }
  for (std::size_t i = 0; i < derived.size(); ++i) {
    const bool is_ratio = derived[i].kind == Together::run_ratio;
    enter({table.rows() + i, derived[i].place},
          is_ratio ? QuantityKind::insulation_ratio : table.quantity[derived[i].place], derived[i].times);
  }
  for (const auto& [group, entries] : groups) {
    const CurrentOfGroup of_group(table, entries);
    for (const Entry& entry : entries) current[entry.index] = of_group.counts(entry) ? 1 : 0;
  }
  return current;
}

}  // namespace ohmward::assessment
