#include "ohmward/assessment/limits.hpp"

#include <algorithm>
#include <cmath>

#include "ohmward/core/errors.hpp"

namespace ohmward::assessment {
namespace {

void require(bool holds, const std::string& field, double value, std::string_view expected) {
  if (!holds) throw InvalidParameter(field, value, expected);
}

bool absent_or_above_zero(double value) { return std::isnan(value) || (value > 0 && std::isfinite(value)); }

/// Of two limits of equal rank: the one that refuses more. Different ends can not be compared; the first stays.
bool stricter(const LimitEntry& candidate, const LimitEntry& present) noexcept {
  return candidate.lower_value() > present.lower_value() || candidate.upper < present.upper;
}

}  // namespace

std::string_view text(Authority authority) noexcept {
  switch (authority) {
    case Authority::regulation: return "regulation";
    case Authority::standard: return "standard";
    case Authority::workshop: return "workshop";
    case Authority::maker: return "maker";
  }
  return "unknown authority";
}

std::string_view text(Repeats repeats) noexcept {
  switch (repeats) {
    case Repeats::last: return "last";
    case Repeats::mean: return "mean";
    case Repeats::worst: return "worst";
  }
  return "unknown rule";
}

void validate(const LimitEntry& entry) {
  if (entry.id.empty()) throw InvalidParameter("limit.id", "empty", "a name");
  const std::string where = "limit " + entry
  .id;
  const bool has_end = !std::isnan(entry.lower) || !std::isnan(entry.upper) || !std::isnan(entry.per_volt);
  if (!has_end) throw InvalidParameter(where, "without lower, upper and per_volt", "at least one of them");
  if (!std::isnan(entry.lower) && !std::isnan(entry.per_volt))
    throw InvalidParameter(where + ".per_volt", entry.per_volt, "either lower or per_volt, not both");
  require(std::isnan(entry.lower) || std::isfinite(entry.lower), where + ".lower", entry.lower, "a finite number");
  require(std::isnan(entry.upper) || std::isfinite(entry.upper), where + ".upper", entry.upper, "a finite number");
  require(!(entry.lower >= entry.upper), where + ".upper", entry.upper, "above lower");
  require(facts(entry.quantity).scale == Scale::linear || !(entry.lower <= 0), where + ".lower", entry.lower,
          "above 0 for a quantity on the log scale");
  require(absent_or_above_zero(entry.per_volt), where + ".per_volt", entry.per_volt, "above 0");
  require(absent_or_above_zero(entry.working_volt), where + ".working_volt", entry.working_volt, "above 0");
  require(std::isnan(entry.reference_celsius) || entry.reference_celsius > -273.15, where + ".reference_celsius",
          entry.reference_celsius, "above absolute zero");
  require(absent_or_above_zero(entry.required_test_voltage_volt), where + ".required_test_voltage_volt",
          entry.required_test_voltage_volt, "above 0");
  require(absent_or_above_zero(entry.required_test_ampere), where + ".required_test_ampere", entry.required_test_ampere,
          "above 0");
  const bool is_ratio = entry
  .quantity == QuantityKind::insulation_ratio;
  const bool names_times = !std::isnan(entry.times.late_second) || !std::isnan(entry.times.early_second);
  require(!is_ratio || (are_known(entry.times) && std::isfinite(entry.times.late_second)), where + ".late_second",
          entry.times.late_second, "both times of the ratio, late_second above early_second above 0");
  require(is_ratio || !names_times, where + ".late_second", entry.times.late_second,
          "absent: only a limit on insulation_ratio has times");
  require(entry.rule.guard_factor() >= 0 && std::isfinite(entry.rule.guard_factor()), where + ".rule",
          entry.rule.guard_factor(), "a guard factor of 0 or above");
}

LimitMatcher::LimitMatcher(std::span<const LimitEntry> limits, const readings::Table& table)
    : limits_(limits), table_(&table) {
  for (std::size_t i = 0; i < limits.size(); ++i) {
    const LimitEntry& entry
    = limits[i];
    const bool needs_working_voltage = std::isnan(entry.lower) && !std::isnan(entry.per_volt);
    if (needs_working_voltage && std::isnan(entry.working_volt) && std::isnan(entry.upper)) continue;
    Candidate candidate{static_cast<std::int32_t>(i), {}};
    bool possible = true;
    for (std::size_t c = 0; c < scope_columns.size() && possible; ++c) {
      if (entry.applies_to[c].empty()) continue;
      const std::int32_t code = table.column(scope_columns[c]).code_of(entry.applies_to[c]);
      possible = code != readings::TextColumn::missing;
      candidate.conditions.push_back({scope_columns[c], code});
    }
    if (possible) candidates_[static_cast<std::size_t>(entry.quantity)].push_back(std::move(candidate));
  }
  for (std::vector<Candidate>& candidates : candidates_)
    std::ranges::stable_sort(candidates, [this](const Candidate& a, const Candidate& b) {
      if (a.conditions.size() != b.conditions.size()) return a.conditions.size() > b.conditions.size();
      return limits_[static_cast<std::size_t>(a.limit)].authority >
             limits_[static_cast<std::size_t>(b.limit)].authority;
    });
}

bool LimitMatcher::applies(const Candidate& candidate, const Subject& subject) const noexcept {
  const LimitEntry& limit = limits_[static_cast<std::size_t>(candidate.limit)];
  if (limit.valid_from_day > subject.day) return false;
  const bool of_other_times =
      limit.times.late_second != subject.times.late_second || limit.times.early_second != subject.times.early_second;
  if (are_known(subject.times) && of_other_times) return false;
  return std::ranges::all_of(candidate.conditions, [&](const Condition& condition) {
    return table_->column(condition.column).code(subject.row) == condition.code;
  });
}

bool LimitMatcher::equal_rank(const Candidate& first, const Candidate& second) const noexcept {
  return first.conditions.size() == second.conditions.size() &&
         limits_[static_cast<std::size_t>(first.limit)].authority ==
             limits_[static_cast<std::size_t>(second.limit)].authority;
}

LimitMatcher::Match LimitMatcher::match(const Subject& subject) const noexcept {
  const std::vector<Candidate>& candidates = candidates_[static_cast<std::size_t>(subject.quantity)];
  Match match;
  const Candidate* first = nullptr;
  for (const Candidate& candidate : candidates) {
    if (first != nullptr && !equal_rank(*first, candidate)) break;
    if (!applies(candidate, subject)) continue;
    if (first == nullptr) {
      first = &candidate;
      match.limit = candidate.limit;
      continue;
    }
    match.equal = candidate.limit;
    if (stricter(limits_[static_cast<std::size_t>(candidate.limit)], limits_[static_cast<std::size_t>(match.limit)]))
      std::swap(match.limit, match.equal);
  }
  return match;
}

}  // namespace ohmward::assessment
