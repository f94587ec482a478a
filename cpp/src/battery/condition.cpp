#include "ohmward/battery/condition.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <utility>

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
      if (2 * seen.missing_cells == candidate.cells)
        told.reason += ": half of them, as where one battery of two was read";
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

/// What is wrong with the number itself, and what to do; nothing where it is the battery that does not fit.
struct Fault {
  std::string reason = {}, next_action = {};
};

Fault fault_of_number(const RestingReading& reading) {
  const double volt = reading.voltage_volt, u = reading.standard_uncertainty_volt, hour = reading.rest_hour;
  if (std::isnan(volt)) return {"no voltage", "read again"};
  if (std::isinf(volt)) return {"the voltage is not finite", "read again on a higher range"};
  if (std::isnan(u)) return {"the voltage has no standard uncertainty", "name the meter or its standard uncertainty"};
  if (!(u >= 0) || std::isinf(u))
    return {format("standard_uncertainty_volt is %g, expected at least 0 and finite", u), "correct the uncertainty"};
  if (hour < 0 || std::isinf(hour))
    return {format("rest_hour is %g, expected at least 0 and finite", hour), "correct the time at rest"};
  if (reading.celsius < -273.15 || std::isinf(reading.celsius))
    return {format("celsius is %g, expected a temperature above absolute zero", reading.celsius),
            "correct the temperature of the battery"};
  const double u_kelvin = reading.celsius_standard_uncertainty_kelvin;
  if (!(u_kelvin >= 0) || std::isinf(u_kelvin))
    return {format("celsius_standard_uncertainty_kelvin is %g, expected at least 0 and finite", u_kelvin),
            "correct the uncertainty of the temperature"};
  if (volt < 0) return {format("%.2f V is negative: leads changed over?", volt), "read with the leads changed over"};
  return {};
}

Fault fault_of_battery(double volt, const Candidate& candidate) {
  const double highest = candidate.cells * candidate.type.rest.highest_volt;
  if (volt / 2 < highest)
    return {format("%.2f V is more than this battery can show, but right for two in series", volt),
            "read each battery of the pair"};
  return {format("%.2f V is more than %.2f V, the most that %d cells of this type can show; about %.0f cells would fit",
                 volt, highest, candidate.cells, std::round(volt / candidate.type.curves.front()->volt(0.5))),
          "check the type, the number of cells and the range of the meter"};
}

ConditionNote impossible(const RestingReading& reading, const Candidate& candidate) {
  Fault fault = fault_of_number(reading);
  if (fault.reason.empty()) {
    const bool too_high = reading.voltage_volt > candidate.cells * candidate.type.rest.highest_volt;
    fault = too_high ? fault_of_battery(reading.voltage_volt, candidate)
                     : Fault{"nothing about this reading is uncertain, which no reading is",
                             "name the meter or its standard uncertainty"};
  }
  return {Condition::unknown, {}, nan, std::move(fault.reason), std::move(fault.next_action)};
}

}  // namespace

std::vector<ConditionNote> Battery::notes(const RestingReading& reading, const RestState& state) const {
  if (state.status == Status::missing_input || state.status == Status::out_of_domain)
    return {impossible(reading, candidates_.front())};
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
