#include "ohmward/record/record.hpp"

#include <algorithm>
#include <array>
#include <utility>

namespace ohmward::record {
namespace {

using conformity::Verdict;

LinkFinding judge_reading(const Entry& entry) noexcept {
  switch (entry.verdict) {
    case Verdict::fail: return {State::not_met, Cause::limit_missed};
    case Verdict::conditional_fail: return {State::not_met, Cause::limit_missed_within_uncertainty};
    default: break;
  }
  if (entry.findings.has(ohmward::Finding::in_doubt)) return {State::is_void, Cause::in_doubt};
  if (entry.findings.has(ohmward::Finding::source_check_missing)) return {State::is_void, Cause::meter_not_proven};
  const bool passes = entry
  .verdict == Verdict::pass || entry
  .verdict == Verdict::conditional_pass;
  if (passes && !entry.findings.hiding().empty()) return {State::not_decided, Cause::may_hide_a_fault};
  if (passes && entry.findings.has(ohmward::Finding::instrument_missing))
    return {State::not_decided, Cause::meter_unknown};
  switch (entry.verdict) {
    case Verdict::none: return {State::not_decided, Cause::no_limit};
    case Verdict::conditional_pass: return {State::conditional, Cause::limit_met_within_uncertainty};
    case Verdict::pass: return {State::met, Cause::none};
    default: return {State::not_decided, Cause::undetermined};
  }
}

LinkFinding judge_entry(const Entry& entry, const PlannedLink& link) noexcept {
  switch (entry.kind) {
    case Entry::Kind::reading: return judge_reading(entry);
    case Entry::Kind::meter_check:
      return entry
      .good ? LinkFinding{State::met, Cause::none} : LinkFinding{State::is_void, Cause::check_not_good};
    case Entry::Kind::evidence:
      if (!entry.good) return {State::missing, Cause::not_done};
      if (!entry.long_enough) return {State::is_void, Cause::waited_too_short};
      return {State::met, Cause::none};
    case Entry::Kind::left_out:
      if (!link.may_be_left_out) return {State::missing, Cause::may_not_be_left_out};
      if (!entry.has_reason) return {State::missing, Cause::no_reason};
      return {State::left_out, Cause::none};
  }
  return {};
}

/// A miss outweighs everything; then what does not count, then what is not decided.
int concern(State state) noexcept {
  switch (state) {
    case State::met: return 0;
    case State::left_out: return 1;
    case State::conditional: return 2;
    case State::not_decided: return 3;
    case State::missing: return 4;
    case State::is_void: return 5;
    case State::not_met: return 6;
  }
  return 6;
}

/// A reading besides a reason for leaving out counts as reading; so the reason is looked at only where nothing else is.
LinkFinding judge_link(std::int32_t link, const PlannedLink& planned, std::span<const Entry> entries) noexcept {
  LinkFinding found;
  bool any = false;
  bool met = false;
  for (const bool reasons : {false, true}) {
    if (reasons && any) break;
    for (std::size_t i = 0; i < entries.size(); ++i) {
      const Entry& entry
      = entries[i];
      if (entry.link != link || entry.superseded || (entry.kind == Entry::Kind::left_out) != reasons) continue;
      LinkFinding here = judge_entry(entry, planned);
      here.entry
      = static_cast<std::int32_t>(i);
      met = met || here.state == State::met;
      if (!any || concern(here.state) > concern(found.state)) found = here;
      any = true;
    }
  }
  // One reading that is met and another that leaves open: together they say nothing.
  if (met && (found.state == State::not_decided || found.state == State::conditional)) {
    found.state = State::not_decided;
    found.cause = Cause::readings_disagree;
  }
  return found;
}

std::vector<Group> group(std::span<const PlannedLink> plan, std::span<const LinkFinding> links) {
  std::vector<Group> groups;
  for (std::size_t i = 0; i < links.size(); ++i) {
    const Cause cause = links[i].cause;
    if (cause == Cause::none) continue;
    auto found = std::find_if(groups.begin(), groups.end(), [&](const Group& g) { return g.cause == cause; });
    if (found == groups.end())
      found = groups.insert(groups.end(), {.cause = cause, .weight = plan[i].weight, .links = {}});
    found->weight = std::max(found->weight, plan[i].weight);
    found->links.push_back(static_cast<std::int32_t>(i));
  }
  for (Group& g : groups)
    std::stable_sort(g.links.begin(), g.links.end(), [&](std::int32_t a, std::int32_t b) {
      return plan[static_cast<std::size_t>(a)].weight > plan[static_cast<std::size_t>(b)].weight;
    });
  const auto misses = [](const Group& g) {
    return g.cause == Cause::limit_missed || g.cause == Cause::limit_missed_within_uncertainty;
  };
  std::stable_sort(groups.begin(), groups.end(), [&](const Group& a, const Group& b) {
    return std::pair(misses(a), a.weight) > std::pair(misses(b), b.weight);
  });
  return groups;
}

bool counts(State state) noexcept { return state != State::missing && state != State::is_void; }
bool conforms(State state) noexcept { return state == State::met || state == State::left_out; }
bool is_miss(const Entry& entry) noexcept {
  return entry
  .kind == Entry::Kind::reading && !entry
  .superseded&& judge_reading(entry).state == State::not_met;
}

}  // namespace

int usual_weight(std::string_view check) noexcept {
  constexpr std::array<std::pair<std::string_view, int>, 10> weights{{{"source_after", 100},
                                                                      {"source_before", 95},
                                                                      {"dead", 90},
                                                                      {"contact_proof", 80},
                                                                      {"incoming_part", 70},
                                                                      {"isolation", 65},
                                                                      {"bonding", 60},
                                                                      {"whole_after", 50},
                                                                      {"locked", 45},
                                                                      {"waited", 40}}};
  for (const auto& [name, weight] : weights)
    if (name == check) return weight;
  return 10;
}

Finding judge(std::span<const PlannedLink> plan, std::span<const Entry> entries) {
  Finding finding;
  for (std::size_t i = 0; i < plan.size(); ++i)
    finding.links.push_back(judge_link(static_cast<std::int32_t>(i), plan[i], entries));
  for (std::size_t i = 0; i < entries.size(); ++i)
    if (entries[i].link == Entry::unplanned && is_miss(entries[i]))
      finding.failing_unplanned.push_back(static_cast<std::int32_t>(i));

  const auto all = [&](auto property) {
    return !plan.empty() && std::all_of(finding.links.begin(), finding.links.end(),
                                        [&](const LinkFinding& link) { return property(link.state); });
  };
  const bool misses = !finding.failing_unplanned.empty() ||
                      std::any_of(finding.links.begin(), finding.links.end(),
                                  [](const LinkFinding& link) { return link.state == State::not_met; });
  finding.completeness = all(counts) ? Completeness::complete : Completeness::incomplete;
  finding.conformity = misses          ? Conformity::not_conforming
                       : all(conforms) ? Conformity::conforming
                                       : Conformity::not_decided;
  finding.groups = group(plan, finding.links);
  return finding;
}

std::string_view text(State state) noexcept {
  switch (state) {
    case State::met: return "met";
    case State::left_out: return "left out with a reason";
    case State::conditional: return "met within the uncertainty";
    case State::not_decided: return "not decided";
    case State::not_met: return "limit missed";
    case State::is_void: return "void";
    case State::missing: return "missing";
  }
  return "unknown state";
}

std::string_view text(Cause cause) noexcept {
  switch (cause) {
#define OHMWARD_CAUSE_ENTRY(name, number, text) \
  case Cause::name: return text;
    OHMWARD_CAUSE_TABLE(OHMWARD_CAUSE_ENTRY)
#undef OHMWARD_CAUSE_ENTRY
  }
  return "unknown cause";
}

std::string_view text(Completeness completeness) noexcept {
  return completeness == Completeness::complete ? "complete" : "incomplete";
}

std::string_view text(Conformity conformity) noexcept {
  switch (conformity) {
    case Conformity::conforming: return "conforming";
    case Conformity::not_conforming: return "not conforming";
    case Conformity::not_decided: return "not decided";
  }
  return "unknown";
}

}  // namespace ohmward::record
