#include "assessment/battery_evidence.hpp"

#include <cmath>
#include <vector>

#include "ohmward/battery/pair.hpp"
#include "ohmward/core/errors.hpp"

namespace ohmward::assessment {
namespace {

using battery::Battery;
using battery::Candidate;
using readings::NumberName;
using readings::TextName;

bool is_pair(const readings::Table& table, std::size_t row) noexcept {
  return table.column(TextName::part_kind).word(row) == "battery_pair_24v" ||
         table.column(TextName::part).word(row) == "battery_sum";
}

/// The type that a workshop wrote down; one that is not known is judged as a mixture.
Battery single_battery(std::string_view type) {
  if (type == "lfp" || type == "lithium_iron_phosphate") return battery::lithium("lfp", 4);
  if (type == "efb") return battery::lead_acid("enhanced_flooded");
  try {
    return battery::lead_acid(type);
  } catch (const InvalidParameter&) {
    return battery::unknown_12v();
  }
}

/// Two equal batteries in series as one of all their cells.
Battery doubled(const Battery& single) {
  std::vector<Candidate> candidates(single.candidates().begin(), single.candidates().end());
  for (Candidate& candidate : candidates) candidate.cells *= 2;
  return Battery(std::move(candidates));
}

struct PairRows {
  std::size_t a = SIZE_MAX;
  std::size_t b = SIZE_MAX;
  std::vector<std::size_t> sums;
};

}  // namespace

BatteryEvidence::BatteryEvidence(const readings::Table& table, const Context& context) : table_(table) {
  const auto make = [&](std::int32_t code, std::string_view type) {
    Battery single = single_battery(type);
    batteries_.emplace(std::pair{code, true}, doubled(single));
    batteries_.emplace(std::pair{code, false}, std::move(single));
  };
  const readings::TextColumn& types = table.column(TextName::battery_type);
  make(readings::TextColumn::missing, {});
  for (std::size_t code = 0; code < types.words().size(); ++code)
    make(static_cast<std::int32_t>(code), types.words()[code]);
  judge_pairs(context);
}

const Battery& BatteryEvidence::battery(std::size_t row) const {
  return batteries_.at({table_.column(TextName::battery_type).code(row), is_pair(table_, row)});
}

battery::RestState BatteryEvidence::state(std::size_t row, const uncertainty::Quantity& measured) const {
  const double u_kelvin = table_.at(NumberName::part_celsius_u, row);
  battery::RestingReading reading{.voltage_volt = measured.value,
                                  .standard_uncertainty_volt = measured.standard_uncertainty(),
                                  .celsius = table_.at(NumberName::part_celsius, row),
                                  .rest_hour = table_.at(NumberName::rest_hour, row)};
  if (!std::isnan(u_kelvin)) reading.celsius_standard_uncertainty_kelvin = u_kelvin;
  return battery(row).at_rest(reading);
}

Findings BatteryEvidence::findings(std::size_t row) const noexcept {
  const auto entry
  = findings_.find(row);
  return entry
  == findings_.end() ? Findings{} : entry
  ->second;
}

void BatteryEvidence::judge_pairs(const Context& context) {
  std::map<std::pair<std::int32_t, std::int64_t>, PairRows> pairs;
  for (std::size_t row = 0; row < table_.rows(); ++row) {
    if (table_.quantity[row] != QuantityKind::resting_voltage) continue;
    PairRows& pair = pairs[{table_.column(TextName::object_id).code(row), day_of(table_, row)}];
    const std::string_view part = table_.column(TextName::part).word(row);
    if (part == "battery_a") pair.a = row;
    if (part == "battery_b") pair.b = row;
    if (is_pair(table_, row)) pair.sums.push_back(row);
  }
  for (const auto& [key, pair] : pairs) {
    if (pair.a == SIZE_MAX || pair.b == SIZE_MAX) {
      for (const std::size_t sum : pair.sums) findings_[sum].add(Finding::pair_not_examined);
      continue;
    }
    const std::int32_t instrument = instrument_of(table_, pair.a, context);
    const uncertainty::Quantity a = measure(table_, pair.a, instrument, context).quantity;
    const uncertainty::Quantity b = measure(table_, pair.b, instrument_of(table_, pair.b, context), context).quantity;
    const bool one_meter =
        table_.column(TextName::instrument_id).code(pair.a) >= 0 &&
        table_.column(TextName::instrument_id).code(pair.a) == table_.column(TextName::instrument_id).code(pair.b);
    const double gain = one_meter ? a.parts[uncertainty::Part::gain] / a.value : 0.0;
    const double u = a.standard_uncertainty();
    const battery::PairState state =
        battery::Pair({.battery = battery(pair.a)})
            .at_rest({.a_volt = a.value,
                      .b_volt = b.value,
                      .standard_uncertainty_volt = std::sqrt(std::fmax(0.0, u * u - gain * gain * a.value * a.value)),
                      .gain_relative_standard_uncertainty = gain,
                      .celsius = table_.at(NumberName::part_celsius, pair.a),
                      .rest_hour = table_.at(NumberName::rest_hour, pair.a)});
    if (state.findings.has(Finding::imbalance))
      for (const std::size_t row : {pair.a, pair.b}) findings_[row].add(Finding::imbalance);
  }
}

}  // namespace ohmward::assessment
