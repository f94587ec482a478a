#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "ohmward/conformity/limit.hpp"
#include "ohmward/core/findings.hpp"

namespace ohmward::record {

/// A link that a kind of work must leave behind, as the workshop's plan names it.
struct PlannedLink {
  std::string check{};           ///< kind of link: source_before, dead, isolation, bonding, locked ...
  int weight = 0;                ///< what is missing is told in this order, greatest first; see usual_weight
  bool may_be_left_out = false;  ///< a stated reason takes its place
};

/// Weight of a check that the plan gives none: what weakens the statement most comes first.
/// Source: `chain-weights`.
[[nodiscard]] int usual_weight(std::string_view check) noexcept;

/// One thing that the record holds of a link. Verdicts and findings come from the assessment as plain data.
struct Entry {
  enum class Kind : std::int8_t { reading = 0, meter_check = 1, evidence = 2, left_out = 3 };
  static constexpr std::int32_t unplanned = -1;

  std::int32_t link = unplanned;  ///< index of the planned link
  Kind kind = Kind::reading;
  conformity::Verdict verdict = conformity::Verdict::none;  ///< of a reading
  Findings findings{};                                      ///< of a reading
  bool good = false;                                        ///< meter check: good; evidence: done
  bool has_reason = false;                                  ///< evidence and left out: because ...
  bool long_enough = true;                                  ///< evidence: lasted as long as the plan asks
  bool superseded = false;                                  ///< a later reading was declared to repeat it
};

/// State of a link. Numbers never change meaning.
enum class State : std::int8_t {
  met = 0,
  left_out = 1,     ///< with a reason that the plan allows
  conditional = 2,  ///< met, within the uncertainty of the limit
  not_decided = 3,
  not_met = 4,  ///< limit missed
  is_void = 5,  ///< there, but it does not count
  missing = 6,
};

/// Why a link is not simply met: name, number, text. Numbers never change meaning.
#define OHMWARD_CAUSE_TABLE(entry) \
  entry(none, 0, "") \
  entry(not_written_down, 1, "nothing written down") \
  entry(meter_not_proven, 2, "meter not proven on a known source before and after") \
  entry(check_not_good, 3, "check of the meter not good, or its known value not written down") \
  entry(not_done, 4, "written down as not done") \
  entry(no_reason, 5, "left out without a reason") \
  entry(may_not_be_left_out, 6, "the plan does not let it be left out") \
  entry(readings_disagree, 7, "two readings disagree and none is declared to repeat the other") \
  entry(limit_missed, 8, "limit missed") \
  entry(limit_missed_within_uncertainty, 9, "limit missed, within its uncertainty") \
  entry(limit_met_within_uncertainty, 10, "limit met, within its uncertainty") \
  entry(undetermined, 11, "no verdict possible") \
  entry(no_limit, 12, "no limit applies") \
  entry(may_hide_a_fault, 13, "passes, but a finding says that the reading may hide a fault") \
  entry(meter_unknown, 14, "passes on a class bound only: meter not named or not known") \
  entry(waited_too_short, 15, "waited shorter than the plan asks, or the time not written down") \
  entry(in_doubt, 16, "marked by a person: do not use")

enum class Cause : std::int8_t {
#define OHMWARD_CAUSE_ENTRY(name, number, text) name = number,
  OHMWARD_CAUSE_TABLE(OHMWARD_CAUSE_ENTRY)
#undef OHMWARD_CAUSE_ENTRY
};

enum class Completeness : std::int8_t { complete = 0, incomplete = 1 };
enum class Conformity : std::int8_t { conforming = 0, not_conforming = 1, not_decided = 2 };

[[nodiscard]] std::string_view text(State state) noexcept;
[[nodiscard]] std::string_view text(Cause cause) noexcept;
[[nodiscard]] std::string_view text(Completeness completeness) noexcept;
[[nodiscard]] std::string_view text(Conformity conformity) noexcept;

struct LinkFinding {
  State state = State::missing;
  Cause cause = Cause::not_written_down;
  std::int32_t entry
  = -1;  ///< that decided; -1: none
};

/// Links that share one cause, the weightiest first.
struct Group {
  Cause cause;
  int weight;
  std::vector<std::int32_t> links;
};

struct Finding {
  Completeness completeness = Completeness::incomplete;
  Conformity conformity = Conformity::not_decided;
  std::vector<LinkFinding> links;               ///< one a planned link
  std::vector<std::int32_t> failing_unplanned;  ///< entries outside the plan that miss their limit
  std::vector<Group> groups;  ///< what is missing, void or not decided, in order of weight; fails first
};

/// Judges a record against its plan. A reading of a meter that is not named or not known is never met here, although
/// the assessment may pass it on a class bound: a chain is no better than what can be traced.
///
/// Complete: every planned link is there and counts, or was left out with a reason where the plan allows it.
/// Conforming: every link is met; not conforming: a link misses its limit, planned or not; else not decided. A record
/// without a plan is incomplete and not decided. Of several readings of a link the worst decides; those that a later
/// one was declared to repeat do not.
[[nodiscard]] Finding judge(std::span<const PlannedLink> plan, std::span<const Entry> entries);

}  // namespace ohmward::record
