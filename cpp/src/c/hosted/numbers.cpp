// The numbers of C and those of C++ are one: the build stops where they are not.

#include "ohmward_c/numbers.h"

#include <string_view>

#include "ohmward/conformity/limit.hpp"
#include "ohmward/core/censoring.hpp"
#include "ohmward/core/findings.hpp"
#include "ohmward/core/quantity_kind.hpp"
#include "ohmward/core/status.hpp"
#include "ohmward/formula/bonding.hpp"
#include "ohmward/formula/contact.hpp"
#include "ohmward/formula/decay.hpp"
#include "ohmward/formula/resting.hpp"
#include "ohmward/formula/settling.hpp"
#include "ohmward/formula/timed_run.hpp"
#include "ohmward/instruments/instrument.hpp"
#include "ohmward/logging/record.hpp"
#include "ohmward/logging/sample.hpp"
#include "ohmward/temperature/law.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::c {
namespace {

struct Entry {
  std::string_view name;
  int number;
  std::string_view text;
};

/// Equal but for the case of the names, in the same order.
template <std::size_t ours, std::size_t theirs>
constexpr bool same(const Entry (&c)[ours], const Entry (&cpp)[theirs]) {
  if (ours != theirs) return false;
  for (std::size_t i = 0; i < ours; ++i) {
    if (c[i].number != cpp[i].number || c[i].text != cpp[i].text || c[i].name.size() != cpp[i].name.size())
      return false;
    for (std::size_t k = 0; k < c[i].name.size(); ++k) {
      const char small = cpp[i].name[k];
      if (c[i].name[k] != (small >= 'a' && small <= 'z' ? small - 'a' + 'A' : small)) return false;
    }
  }
  return true;
}

#define OHMWARD_OURS(name, number, text) {#name, number, text},
#define OHMWARD_WITH_TEXT(name, number, text) {#name, number, text},
#define OHMWARD_FINDING(name, number, hides, text) {#name, number, text},
#define OHMWARD_KIND(name, number, unit, scale) {#name, number, unit},

constexpr Entry status_of_c[] = {OWD_STATUS_TABLE(OHMWARD_OURS)};
constexpr Entry status_of_cpp[] = {OHMWARD_STATUS_TABLE(OHMWARD_WITH_TEXT)};
static_assert(same(status_of_c, status_of_cpp));

constexpr Entry finding_of_c[] = {OWD_FINDING_TABLE(OHMWARD_OURS)};
constexpr Entry finding_of_cpp[] = {OHMWARD_FINDING_TABLE(OHMWARD_FINDING)};
static_assert(same(finding_of_c, finding_of_cpp));

constexpr Entry kind_of_c[] = {OWD_QUANTITY_KIND_TABLE(OHMWARD_OURS)};
constexpr Entry kind_of_cpp[] = {OHMWARD_QUANTITY_KIND_TABLE(OHMWARD_KIND)};
static_assert(same(kind_of_c, kind_of_cpp));

constexpr Entry part_of_c[] = {OWD_PART_TABLE(OHMWARD_OURS)};
constexpr Entry part_of_cpp[] = {OHMWARD_PART_TABLE(OHMWARD_WITH_TEXT)};
static_assert(same(part_of_c, part_of_cpp));

constexpr Entry remark_of_c[] = {OWD_BONDING_REMARK_TABLE(OHMWARD_OURS)};
constexpr Entry remark_of_cpp[] = {OHMWARD_BONDING_REMARK_TABLE(OHMWARD_WITH_TEXT)};
static_assert(same(remark_of_c, remark_of_cpp));

#define OHMWARD_SAME(c, cpp) static_assert((c) == static_cast<int>(cpp))

OHMWARD_SAME(OWD_EXACT, Censoring::exact);
OHMWARD_SAME(OWD_ABOVE, Censoring::above);
OHMWARD_SAME(OWD_BELOW, Censoring::below);
OHMWARD_SAME(OWD_OVERLOAD, Censoring::overload);

OHMWARD_SAME(OWD_TIME_SECOND, logging::TimeBase::second);
OHMWARD_SAME(OWD_TIME_TICK_MILLISECOND, logging::TimeBase::tick_millisecond);

OHMWARD_SAME(OWD_OVER_RANGE, logging::SampleFlag::over_range);
OHMWARD_SAME(OWD_UNDER_RANGE, logging::SampleFlag::under_range);
OHMWARD_SAME(OWD_RANGE_CHANGED, logging::SampleFlag::range_changed);
OHMWARD_SAME(OWD_POLARITY_REVERSED, logging::SampleFlag::polarity_reversed);

OHMWARD_SAME(OWD_MARK_MISSING, formula::Mark::missing);
OHMWARD_SAME(OWD_MARK_IMPOSSIBLE, formula::Mark::impossible);
OHMWARD_SAME(OWD_MARK_TIME_NOT_RISING, formula::Mark::time_not_rising);
OHMWARD_SAME(OWD_MARK_OVER_RANGE, formula::Mark::over_range);
OHMWARD_SAME(OWD_MARK_AFTER_GAP, formula::Mark::after_gap);
OHMWARD_SAME(OWD_MARK_SAGGING, formula::Mark::sagging);
OHMWARD_SAME(OWD_MARK_SLIP, formula::Mark::slip);
OHMWARD_SAME(OWD_MARK_JUMP, formula::Mark::jump);
OHMWARD_SAME(OWD_MARK_RANGE_CHANGE, formula::Mark::range_change);

OHMWARD_SAME(OWD_RESUME_CONTINUED, logging::Resume::continued);
OHMWARD_SAME(OWD_RESUME_CUT, logging::Resume::cut);

OHMWARD_SAME(OWD_SETTLING_UNKNOWN, formula::Settling::unknown);
OHMWARD_SAME(OWD_SETTLING_CHARGING, formula::Settling::charging);
OHMWARD_SAME(OWD_SETTLING_ABSORBING, formula::Settling::absorbing);
OHMWARD_SAME(OWD_SETTLING_SETTLED, formula::Settling::settled);
OHMWARD_SAME(OWD_SETTLING_NOTHING_MORE_TO_LEARN, formula::Settling::nothing_more_to_learn);

OHMWARD_SAME(OWD_CONTACT_NOT_SHOWN, formula::Contact::not_shown);
OHMWARD_SAME(OWD_CONTACT_BY_READING, formula::Contact::by_reading);
OHMWARD_SAME(OWD_CONTACT_BY_CHARGING, formula::Contact::by_charging);

OHMWARD_SAME(OWD_RESTING_UNKNOWN, formula::Resting::unknown);
OHMWARD_SAME(OWD_RESTING_MOVING, formula::Resting::moving);
OHMWARD_SAME(OWD_RESTING_AT_REST, formula::Resting::at_rest);

OHMWARD_SAME(OWD_DECAY_STUCK, formula::DecayRemark::stuck);
OHMWARD_SAME(OWD_DECAY_SLOWS_DOWN, formula::DecayRemark::slows_down);
OHMWARD_SAME(OWD_DECAY_SPEEDS_UP, formula::DecayRemark::speeds_up);
OHMWARD_SAME(OWD_DECAY_BELOW_THRESHOLD, formula::DecayRemark::below_threshold);
OHMWARD_SAME(OWD_DECAY_SOME_IN_NOISE, formula::DecayRemark::some_in_noise);

OHMWARD_SAME(OWD_SCALE_LINEAR, Scale::linear);
OHMWARD_SAME(OWD_SCALE_LOG, Scale::log);

OHMWARD_SAME(OWD_SHEET_BOUND, instruments::Statement::Kind::bound);
OHMWARD_SAME(OWD_SHEET_K, instruments::Statement::Kind::k);
OHMWARD_SAME(OWD_SHEET_LEVEL, instruments::Statement::Kind::level);

OHMWARD_SAME(OWD_LAW_NONE, temperature::LawKind::none);
OHMWARD_SAME(OWD_LAW_HALVING, temperature::LawKind::halving);
OHMWARD_SAME(OWD_LAW_THERMOSETTING, temperature::LawKind::thermosetting);
OHMWARD_SAME(OWD_LAW_ARRHENIUS, temperature::LawKind::arrhenius);
OHMWARD_SAME(OWD_LAW_CONDUCTOR, temperature::LawKind::conductor);

OHMWARD_SAME(OWD_RULE_SIMPLE, conformity::Rule::Kind::simple);
OHMWARD_SAME(OWD_RULE_GUARDED, conformity::Rule::Kind::guarded);

OHMWARD_SAME(OWD_VERDICT_NONE, conformity::Verdict::none);
OHMWARD_SAME(OWD_VERDICT_PASS, conformity::Verdict::pass);
OHMWARD_SAME(OWD_VERDICT_CONDITIONAL_PASS, conformity::Verdict::conditional_pass);
OHMWARD_SAME(OWD_VERDICT_CONDITIONAL_FAIL, conformity::Verdict::conditional_fail);
OHMWARD_SAME(OWD_VERDICT_FAIL, conformity::Verdict::fail);
OHMWARD_SAME(OWD_VERDICT_UNDETERMINED, conformity::Verdict::undetermined);

OHMWARD_SAME(OWD_UNDECIDED_NO, conformity::Undecided::no);
OHMWARD_SAME(OWD_UNDECIDED_ONE_MORE_READING, conformity::Undecided::one_more_reading);
OHMWARD_SAME(OWD_UNDECIDED_BETTER_METER, conformity::Undecided::better_meter);
OHMWARD_SAME(OWD_UNDECIDED_NOT_DECIDABLE, conformity::Undecided::not_decidable);
OHMWARD_SAME(OWD_UNDECIDED_MISSING_CONTEXT, conformity::Undecided::missing_context);

OHMWARD_SAME(OWD_REASON_COMPARED, conformity::Reason::compared);
OHMWARD_SAME(OWD_REASON_BOUND_MEETS_LIMIT, conformity::Reason::bound_meets_limit);
OHMWARD_SAME(OWD_REASON_BOUND_MISSES_LIMIT, conformity::Reason::bound_misses_limit);
OHMWARD_SAME(OWD_REASON_BOUND_LEAVES_OPEN, conformity::Reason::bound_leaves_open);
OHMWARD_SAME(OWD_REASON_NO_VALUE, conformity::Reason::no_value);
OHMWARD_SAME(OWD_REASON_UNCERTAINTY_UNKNOWN, conformity::Reason::uncertainty_unknown);
OHMWARD_SAME(OWD_REASON_NO_LIMIT, conformity::Reason::no_limit);
OHMWARD_SAME(OWD_REASON_UNKNOWN_CEILING, conformity::Reason::unknown_ceiling);

}  // namespace
}  // namespace ohmward::c
