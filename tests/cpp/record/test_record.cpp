#include <gtest/gtest.h>

#include <random>

#include "ohmward/record/record.hpp"

namespace ohmward::record {
namespace {

using conformity::Verdict;
using Kind = Entry::Kind;

std::vector<PlannedLink> plan_of(std::initializer_list<const char*> checks) {
  std::vector<PlannedLink> plan;
  for (const char* check : checks) plan.push_back({.check = check, .weight = usual_weight(check)});
  return plan;
}

const std::vector<PlannedLink> plan = plan_of({"locked", "waited", "source_before", "dead", "dead", "dead",
                                               "source_after", "isolation", "incoming_part", "bonding", "whole_after"});

std::vector<Entry> complete_record() {
  std::vector<Entry> entries;
  for (std::int32_t i = 0; i < static_cast<std::int32_t>(plan.size()); ++i) {
    const std::string& check = plan[static_cast<std::size_t>(i)].check;
    const Kind kind = check == "locked" || check == "waited" ? Kind::evidence
                      : check.starts_with("source")          ? Kind::meter_check
                                                             : Kind::reading;
    entries.push_back(
        {.link = i, .kind = kind, .verdict = kind == Kind::reading ? Verdict::pass : Verdict::none, .good = true});
  }
  return entries;
}

bool is_complete_and_conforming(const Finding& f) {
  return f.completeness == Completeness::complete && f.conformity == Conformity::conforming;
}

TEST(Record, CompleteAndConforming) {
  const Finding found = judge(plan, complete_record());
  EXPECT_TRUE(is_complete_and_conforming(found));
  EXPECT_TRUE(found.groups.empty());
}

TEST(Record, WithoutAPlanNothingIsComplete) {
  const Finding found = judge({}, complete_record());
  EXPECT_EQ(found.completeness, Completeness::incomplete);
  EXPECT_EQ(found.conformity, Conformity::not_decided);
}

TEST(Record, GroupsByCauseAndWeight) {
  auto entries = complete_record();
  for (const std::size_t i : {3U, 4U, 5U}) entries[i].findings.add(ohmward::Finding::source_check_missing);
  entries.erase(entries.begin() + 6);              // the closing check
  entries.pop_back();                              // whole_after
  entries[8].verdict = Verdict::conditional_pass;  // bonding
  const Finding found = judge(plan, entries);
  ASSERT_EQ(found.groups.size(), 3U);
  EXPECT_EQ(found.groups[0].cause, Cause::not_written_down);
  EXPECT_EQ(found.groups[0].links, (std::vector<std::int32_t>{6, 10}));
  EXPECT_EQ(found.groups[1].cause, Cause::meter_not_proven);
  EXPECT_EQ(found.groups[1].links.size(), 3U);
  EXPECT_EQ(found.groups[2].cause, Cause::limit_met_within_uncertainty);
}

TEST(Record, AFailAlwaysShows) {
  auto entries = complete_record();
  entries[7].verdict = Verdict::fail;
  entries.erase(entries.begin(), entries.begin() + 3);
  const Finding found = judge(plan, entries);
  EXPECT_EQ(found.completeness, Completeness::incomplete);
  EXPECT_EQ(found.conformity, Conformity::not_conforming);
  EXPECT_EQ(found.groups.front().cause, Cause::limit_missed);
  entries = complete_record();
  entries.push_back({.link = Entry::unplanned, .verdict = Verdict::fail});
  EXPECT_EQ(judge(plan, entries).conformity, Conformity::not_conforming);
  EXPECT_EQ(judge(plan, entries).failing_unplanned.size(), 1U);
}

TEST(Record, LeavingOutNeedsAReasonAndThePlansLeave) {
  auto loose = plan;
  loose[9].may_be_left_out = true;
  auto entries = complete_record();
  entries[9] = {.link = 9, .kind = Kind::left_out, .has_reason = true};
  EXPECT_TRUE(is_complete_and_conforming(judge(loose, entries)));
  EXPECT_EQ(judge(plan, entries).links[9].cause, Cause::may_not_be_left_out);
  entries[9].has_reason = false;
  EXPECT_EQ(judge(loose, entries).links[9].cause, Cause::no_reason);
  entries.push_back({.link = 9, .verdict = Verdict::fail});
  EXPECT_EQ(judge(loose, entries).links[9].state, State::not_met);  // a reading outweighs the reason for having none
}

TEST(Record, AReadingThatAPersonDoubtsDoesNotCount) {
  auto entries = complete_record();
  entries[4].verdict = Verdict::none;
  entries[4].findings.add(ohmward::Finding::in_doubt);
  EXPECT_EQ(judge(plan, entries).links[4].state, State::is_void);
  EXPECT_EQ(judge(plan, entries).links[4].cause, Cause::in_doubt);
}

TEST(Record, AWaitThatWasTooShortDoesNotCount) {
  auto entries = complete_record();
  entries[1].long_enough = false;
  const Finding found = judge(plan, entries);
  EXPECT_EQ(found.links[1].state, State::is_void);
  EXPECT_EQ(found.links[1].cause, Cause::waited_too_short);
  EXPECT_EQ(found.completeness, Completeness::incomplete);
}

TEST(Record, TwoReadingsThatDisagreeNeverPass) {
  auto entries = complete_record();
  entries.push_back({.link = 7, .verdict = Verdict::undetermined});
  EXPECT_EQ(judge(plan, entries).links[7].cause, Cause::readings_disagree);
  entries.back().verdict = Verdict::fail;
  EXPECT_EQ(judge(plan, entries).conformity, Conformity::not_conforming);
  entries.back().superseded = true;
  EXPECT_TRUE(is_complete_and_conforming(judge(plan, entries)));
}

TEST(Record, AFindingThatHidesOrAnUnknownMeterNeverConforms) {
  for (const FindingFacts& facts : finding_facts) {
    auto entries = complete_record();
    entries[7].findings.add(facts.finding);
    const bool allowed = !facts.can_hide_a_bad_part && facts.finding != ohmward::Finding::instrument_missing &&
                         facts.finding != ohmward::Finding::in_doubt;
    EXPECT_EQ(is_complete_and_conforming(judge(plan, entries)), allowed) << facts.name;
  }
}

/// Anything that can be taken from an entry, or done to it, that makes it worth less.
void spoil(Entry& entry, std::size_t how) {
  switch (entry.kind) {
    case Kind::reading: {
      constexpr Verdict worse[] = {Verdict::none, Verdict::undetermined, Verdict::conditional_pass,
                                   Verdict::conditional_fail, Verdict::fail};
      if (how % 7 == 5) return entry
      .findings.add(ohmward::Finding::source_check_missing);
      if (how % 7 == 6) return entry
      .findings.add(ohmward::Finding::contact_not_shown);
      entry
      .verdict = worse[how % 7];
      return;
    }
    case Kind::meter_check:
    case Kind::evidence:
      entry
      .good = false;
      return;
    case Kind::left_out:
      entry
      .has_reason = false;
      return;
  }
}

TEST(Record, FromACompleteRecordNothingCanBeTakenOrSpoilt) {
  std::mt19937 random(4);
  for (int i = 0; i < 5000; ++i) {
    auto entries = complete_record();
    const std::size_t which = random() % entries.size();
    switch (random() % 3) {
      case 0: entries.erase(entries.begin() + static_cast<std::ptrdiff_t>(which)); break;
      case 1: spoil(entries[which], random() % 7); break;
      default: entries[which].link = Entry::unplanned; break;
    }
    EXPECT_FALSE(is_complete_and_conforming(judge(plan, entries)));
  }
}

TEST(Record, LessEvidenceNeverRaisesAStatement) {
  std::mt19937 random(5);
  constexpr Verdict verdicts[] = {Verdict::pass,         Verdict::pass, Verdict::pass, Verdict::conditional_pass,
                                  Verdict::undetermined, Verdict::none};
  for (int job = 0; job < 20000; ++job) {
    auto entries = complete_record();
    for (Entry& entry : entries) {
      if (random() % 6 == 0) spoil(entry, random() % 7);
      if (entry.kind == Kind::reading && random() % 4 == 0) entry
      .verdict = verdicts[random() % std::size(verdicts)];
    }
    const Finding before = judge(plan, entries);
    const std::size_t which = random() % entries.size();
    if (entries[which].kind == Kind::reading && entries[which].verdict != Verdict::fail &&
        entries[which].verdict != Verdict::conditional_fail && random() % 2)
      entries.erase(entries.begin() + static_cast<std::ptrdiff_t>(which));
    else
      spoil(entries[which], random() % 2 ? 5 : 6);
    const Finding after = judge(plan, entries);
    EXPECT_GE(after.completeness, before.completeness);
    if (after.conformity == Conformity::conforming) {
      EXPECT_EQ(before.conformity, Conformity::conforming);
    }
    if (before.conformity == Conformity::not_conforming) {
      EXPECT_EQ(after.conformity, Conformity::not_conforming);
    }
  }
}

}  // namespace
}  // namespace ohmward::record
