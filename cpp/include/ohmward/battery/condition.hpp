#pragma once

#include <cstdint>
#include <string>
#include <vector>

/// What a battery at rest shows, in words; no verdict. Name, number, text. The order of the table is the order of
/// weight: the first that applies is the headline. Numbers never change meaning.
#define OHMWARD_CONDITION_TABLE(entry) \
  entry(cell_missing_suspected, 5, "a cell seems to be missing") \
  entry(on_charge, 0, "being charged, or charged moments ago") \
  entry(freezing_risk, 6, "the acid may freeze at this temperature") \
  entry(discharged, 4, "discharged") \
  entry(not_rested, 1, "not rested: the voltage still moves") \
  entry(low, 3, "low: recharge") \
  entry(rested, 2, "at rest") \
  entry(unknown, 7, "can not be told")

namespace ohmward::battery {

enum class Condition : std::int8_t {
#define OHMWARD_CONDITION_ENTRY(name, number, text) name = number,
  OHMWARD_CONDITION_TABLE(OHMWARD_CONDITION_ENTRY)
#undef OHMWARD_CONDITION_ENTRY
};

[[nodiscard]] constexpr const char* text(Condition condition) noexcept {
  switch (condition) {
#define OHMWARD_CONDITION_ENTRY(name, number, text) \
  case Condition::name: return text;
    OHMWARD_CONDITION_TABLE(OHMWARD_CONDITION_ENTRY)
#undef OHMWARD_CONDITION_ENTRY
  }
  return "unknown condition";
}

/// The words that apply to one reading.
class Conditions {
 public:
  constexpr Conditions() noexcept = default;
  constexpr void add(Condition condition) noexcept { bits_ = static_cast<std::uint8_t>(bits_ | bit(condition)); }
  [[nodiscard]] constexpr bool has(Condition condition) const noexcept { return (bits_ & bit(condition)) != 0; }
  /// The weightiest; `unknown` for the empty set.
  [[nodiscard]] constexpr Condition headline() const noexcept {
#define OHMWARD_CONDITION_ENTRY(name, number, text) \
  if (has(Condition::name)) return Condition::name;
    OHMWARD_CONDITION_TABLE(OHMWARD_CONDITION_ENTRY)
#undef OHMWARD_CONDITION_ENTRY
    return Condition::unknown;
  }

 private:
  static constexpr std::uint8_t bit(Condition condition) noexcept {
    return static_cast<std::uint8_t>(1U << static_cast<unsigned>(condition));
  }
  std::uint8_t bits_ = 0;
};

/// One word with its ground and what would settle it.
struct ConditionNote {
  Condition condition;
  std::string type;    ///< of which candidate type this is said
  double probability;  ///< of that type
  std::string reason;
  std::string next_action;  ///< the reading that would settle it
};

}  // namespace ohmward::battery
