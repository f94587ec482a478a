#include "ohmward/battery/condition.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "ohmward/battery/battery.hpp"
#include "resting_voltage.hpp"

namespace ohmward::battery {
namespace {

template <class... Values>
std::string format(const char* pattern, Values... values) {
  const int size = std::snprintf(nullptr, 0, pattern, values...);
  std::string text(static_cast<std::size_t>(size) + 1, '\0');
  std::snprintf(text.data(), text.size(), pattern, values...);
  text.pop_back();
  return text;
}

struct Top {
  double low = infinity, high = -infinity;
};

Top cell_range(const BatteryType& type) {
  Top range;
  for (const auto& curve : type.curves) {
    const auto [low, high] = std::minmax_element(curve->cell_volt().begin(), curve->cell_volt().end());
    range.low = std::min(range.low, *low);
    range.high = std::max(range.high, *high);
  }
  return range;
}

std::string rest_told(const RestingReading& reading) {
  return std::isnan(reading.rest_hour) ? std::string("time at rest not written down")
                                       : format("%.2g h at rest", reading.rest_hour);
}

ConditionNote note(Condition condition, const Candidate& candidate, const CandidateState& seen,
                   const RestingReading& reading) {
  const RestBehaviour& rest = candidate.type.rest;
  const Top range = cell_range(candidate.type);
  const double volt = reading.voltage_volt, cells = candidate.cells;
  ConditionNote told{condition, candidate.type.name, seen.probability, {}, {}};
  switch (condition) {
    case Condition::on_charge:
      told.reason =
          format("%.2f V is above %.2f V, which a battery of this type shows only while it is charged or moments after",
                 volt, cells * rest.charging_volt);
      told.next_action = format("switch the charger or converter off and read again after %.0f h", rest.rested_hour);
      break;
    case Condition::not_rested:
      if (seen.position == Position::above) {
        told.reason = format(
            "%.2f V is more than 3 u above %.2f V, the highest resting voltage of this type (%s): surface charge or on "
            "charge",
            volt, cells * range.high, rest_told(reading).c_str());
        told.next_action =
            format("read again after %.0f h at rest with nothing charging, better after 24 h", rest.rested_hour);
      } else {
        told.reason = format("%s; this type takes about %.0f h, and the interval is widened for what may be left",
                             rest_told(reading).c_str(), rest.rested_hour);
        told.next_action =
            format("read again after %.0f h at rest, or note a second voltage half an hour later", rest.rested_hour);
      }
      break;
    case Condition::cell_missing_suspected:
      told.reason = format("%.2f V fits %d of %d cells", volt, candidate.cells - seen.missing_cells, candidate.cells);
      told.next_action = candidate.type.chemistry == Chemistry::lead
                             ? "charge it and read again at rest: a missing cell stays missing; compare the acid cell "
                               "by cell where it opens"
                             : "read every cell at the balance leads";
      break;
    case Condition::discharged:
      told.reason = seen.position == Position::below
                        ? format("%.2f V is more than 3 u below %.2f V, the lowest resting voltage of this type", volt,
                                 cells * range.low)
                        : format("%.2f V at rest is at or below %.2f V", volt, cells * rest.discharged_volt);
      told.next_action = "look for what drained it, charge it, and read again at rest the day after";
      break;
    case Condition::low:
      told.reason = format("%.2f V at rest is below %.2f V", volt, cells * rest.low_volt);
      told.next_action =
          "recharge it; the same voltage a day after a full charge speaks of the battery, not of its charge";
      break;
    case Condition::freezing_risk:
      told.reason = format("acid as thin as %.2f V may mean freezes near %.0f °C", volt, reading.celsius);
      told.next_action =
          "bring it into the warm before charging and never charge or jump it frozen; hydrometer where it opens";
      break;
    case Condition::rested:
      told.reason = format("%.2f V lies in the resting range of this type, %.2f to %.2f V (%s)", volt,
                           cells * range.low, cells * range.high, rest_told(reading).c_str());
      if (std::isnan(reading.rest_hour))
        told.next_action = format("write down the time at rest: after %.0f h the interval narrows", rest.rested_hour);
      break;
    case Condition::unknown: break;
  }
  return told;
}

ConditionNote impossible(const RestingReading& reading, const RestState& state, const Candidate& candidate) {
  ConditionNote told{Condition::unknown, {}, nan, text(state.status), "read again"};
  const double volt = reading.voltage_volt, highest = candidate.cells * candidate.type.rest.highest_volt;
  if (std::isnan(volt)) {
    told.reason = "no voltage";
  } else if (!(reading.standard_uncertainty_volt >= 0)) {
    told.reason = "the voltage has no standard uncertainty";
    told.next_action = "name the meter or its standard uncertainty";
  } else if (reading.rest_hour < 0) {
    told.reason = format("rest_hour is %g, expected at least 0", reading.rest_hour);
    told.next_action = "correct the time at rest";
  } else if (volt < 0) {
    told.reason = format("%.2f V is negative: leads changed over?", volt);
    told.next_action = "read again with the leads the right way round";
  } else if (volt > highest && volt / 2 < highest) {
    told.reason = format("%.2f V is more than this battery can show, but right for two in series", volt);
    told.next_action = "read each battery of the pair";
  } else if (volt > highest) {
    told.reason = format("%.2f V is more than %.2f V, the most that %d cells of this type can show", volt, highest,
                         candidate.cells);
    told.next_action = "check the type, the number of cells and the range of the meter";
  }
  return told;
}

}  // namespace

std::vector<ConditionNote> Battery::notes(const RestingReading& reading, const RestState& state) const {
  if (state.status == Status::missing_input || state.status == Status::out_of_domain)
    return {impossible(reading, state, candidates_.front())};
  std::vector<ConditionNote> all;
  for (std::size_t i = 0; i < candidates_.size(); ++i)
    for (const Condition condition : {
#define OHMWARD_CONDITION_ENTRY(name, number, text) Condition::name,
             OHMWARD_CONDITION_TABLE(OHMWARD_CONDITION_ENTRY)
#undef OHMWARD_CONDITION_ENTRY
         })
      if (state.candidates[i].conditions.has(condition))
        all.push_back(note(condition, candidates_[i], state.candidates[i], reading));
  std::stable_sort(all.begin(), all.end(), [&](const ConditionNote& a, const ConditionNote& b) {
    const bool a_first = a.condition == state.condition, b_first = b.condition == state.condition;
    if (a_first != b_first) return a_first;
    return a.probability > b.probability;
  });
  return all;
}

}  // namespace ohmward::battery
