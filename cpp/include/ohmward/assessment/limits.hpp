#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "ohmward/conformity/limit.hpp"
#include "ohmward/core/quantity_kind.hpp"
#include "ohmward/insulation/ratio.hpp"
#include "ohmward/readings/schema.hpp"
#include "ohmward/readings/table.hpp"

namespace ohmward::assessment {

/// Who set a limit; a greater number wins over a smaller one of the same scope.
enum class Authority : std::int8_t { regulation = 0, standard = 1, workshop = 2, maker = 3 };

[[nodiscard]] std::string_view text(Authority authority) noexcept;

/// The columns of the readings table that a limit's scope may name.
inline constexpr std::array scope_columns{
    readings::TextName::object_id, readings::TextName::object_kind,  readings::TextName::part,
    readings::TextName::part_kind, readings::TextName::from_point,   readings::TextName::to_point,
    readings::TextName::connected, readings::TextName::circuit_side, readings::TextName::stage};

/// What decides where one point was read several times in one job under one set of conditions.
enum class Repeats : std::int8_t { last = 0, mean = 1, worst = 2 };

[[nodiscard]] std::string_view text(Repeats repeats) noexcept;

/// The times of a ratio that names none, and of any other quantity.
inline constexpr insulation::Times no_times{.late_second = nan, .early_second = nan};
[[nodiscard]] constexpr bool are_known(const insulation::Times& times) noexcept {
  return times.late_second > times.early_second && times.early_second > 0;
}

/// Which readings a limit applies to: every word given must be the row's own. Empty: any.
using Scope = std::array<std::string, scope_columns.size()>;

/// One limit as a workshop, a maker, a standard or a regulation states it. Values are SI.
struct LimitEntry {
  std::string id{};
  QuantityKind quantity = QuantityKind::insulation_resistance;
  Scope applies_to{};
  double lower = nan;
  double upper = nan;
  double per_volt = nan;  ///< lower limit per volt of `working_volt` [ohm/V]
  double working_volt = nan;
  bool strict = false;
  double reference_celsius = nan;  ///< NaN: compared as read
  double required_test_voltage_volt = nan;
  double required_test_ampere = nan;
  insulation::Times times = no_times;  ///< of a limit on `insulation_ratio`: it speaks of this ratio and no other
  std::optional<Repeats> repeats{};    ///< not said: as the settings have it
  conformity::Rule rule{};
  Authority authority = Authority::workshop;
  bool whole = false;  ///< a minimum of the whole vehicle: can fail a part, never pass one
  std::string source{};
  std::string edition{};
  std::int64_t valid_from_day = std::numeric_limits<std::int64_t>::min();

  /// The limit in SI units of the quantity; a limit per volt is multiplied by its working voltage.
  [[nodiscard]] double lower_value() const noexcept { return lower == lower ? lower : per_volt * working_volt; }
  [[nodiscard]] conformity::Limit limit() const noexcept {
    return {.lower = lower_value(), .upper = upper, .strict = strict, .rule = rule};
  }
};

/// @throws InvalidParameter naming limit, field, value and what was expected.
void validate(const LimitEntry& entry);

/// The limits of a batch, matched to the codes of one readings table.
class LimitMatcher {
 public:
  static constexpr std::int32_t none = -1;

  LimitMatcher(std::span<const LimitEntry> limits, const readings::Table& table);

  struct Match {
    std::int32_t limit = none;
    std::int32_t equal = none;  ///< another limit of the same scope and authority; the stricter one is `limit`
  };

  /// A reading, or what follows from several, in the words of the row that lends its scope.
  struct Subject {
    std::size_t row;
    std::int64_t day;
    QuantityKind quantity;
    insulation::Times times = no_times;  ///< of a ratio; where they are not known a limit of any two times is named
  };

  /// The most specific scope wins, then the higher authority; of two equal ones the stricter decides.
  [[nodiscard]] Match match(const Subject& subject) const noexcept;

 private:
  struct Condition {
    readings::TextName column;
    std::int32_t code;
  };
  struct Candidate {
    std::int32_t limit;
    std::vector<Condition> conditions;
  };
  [[nodiscard]] bool applies(const Candidate& candidate, const Subject& subject) const noexcept;
  [[nodiscard]] bool equal_rank(const Candidate& first, const Candidate& second) const noexcept;

  std::span<const LimitEntry> limits_;
  const readings::Table* table_;
  std::array<std::vector<Candidate>, quantity_kinds.size()> candidates_;  ///< by rank, highest first
};

}  // namespace ohmward::assessment
