#include "assessment/dead_evidence.hpp"

#include <algorithm>
#include <map>
#include <tuple>

#include "ohmward/highvoltage/order.hpp"
#include "ohmward/highvoltage/proving_dead.hpp"

namespace ohmward::assessment {
namespace {

using highvoltage::Function;
using highvoltage::VoltageRow;
using readings::NumberName;
using readings::TextName;

bool is_voltage(QuantityKind kind) noexcept {
  return kind == QuantityKind::dc_voltage || kind == QuantityKind::ac_voltage;
}

bool is_source_check(const readings::Table& table, std::size_t row) noexcept {
  return table.column(TextName::stage).word(row) == "meter_check" &&
         table.column(TextName::part).word(row) == "known_source";
}

highvoltage::Pair pair_of(const readings::Table& table, std::size_t row) noexcept {
  return highvoltage::pair_of(table.column(TextName::from_point).word(row), table.column(TextName::to_point).word(row));
}

bool reads_high_voltage(const readings::Table& table, std::size_t row) noexcept {
  return table.column(TextName::stage).word(row) != "meter_check" &&
         (table.column(TextName::part_kind).word(row) == "hv_bus" || pair_of(table, row) != highvoltage::Pair::unknown);
}

/// One job, or where none was written down one object on one day.
using Job = std::tuple<std::int32_t, std::int32_t, std::int64_t>;

Job job_of(const readings::Table& table, std::size_t row) noexcept {
  const std::int32_t object = table.column(TextName::object_id).code(row);
  const std::int32_t job = table.column(TextName::job_id).code(row);
  return {object, job, job < 0 ? day_of(table, row) : 0};
}

VoltageRow voltage_row(const readings::Table& table, std::size_t row, const Context& context) {
  const std::int32_t instrument = instrument_of(table, row, context);
  const uncertainty::Quantity measured = measure(table, row, instrument, context).quantity;
  return {.is_check = is_source_check(table, row),
          .instrument = table.column(TextName::instrument_id).code(row),
          .function = table.quantity[row] == QuantityKind::dc_voltage ? Function::dc : Function::ac,
          .value_volt = measured.value,
          .censoring = measured.censoring,
          .standard_uncertainty_volt = measured.standard_uncertainty(),
          .input_ohm = instrument == instruments::Instruments::none ? nan : context.instruments[instrument].input_ohm,
          .reference_volt = table.at(NumberName::reference_value, row),
          .pair = pair_of(table, row),
          .side = highvoltage::side_of(table.column(TextName::circuit_side).word(row))};
}

highvoltage::Place place_of(const readings::Table& table, std::size_t row) noexcept {
  const unsigned form = table.taken_at_form[row];
  return {
      .step = table.at(NumberName::step, row),
      .taken_at = {.second = table.taken_at_second[row], .has_time = (form & 1U) != 0, .has_offset = (form & 2U) != 0},
      .line = table.line[row]};
}

}  // namespace

DeadEvidence::DeadEvidence(const readings::Table& table, const Context& context) {
  std::map<Job, std::vector<std::size_t>> jobs;
  for (std::size_t row = 0; row < table.rows(); ++row)
    if (is_voltage(table.quantity[row]) && (is_source_check(table, row) || reads_high_voltage(table, row)))
      jobs[job_of(table, row)].push_back(row);
  for (const auto& [job, rows] : jobs) {
    std::vector<highvoltage::Place> places;
    std::ranges::transform(rows, std::back_inserter(places), [&](std::size_t row) { return place_of(table, row); });
    const highvoltage::Order order = highvoltage::order_of(places);
    std::vector<VoltageRow> voltages;
    voltages.reserve(rows.size());
    for (const std::size_t index : order.rows) voltages.push_back(voltage_row(table, rows[index], context));
    const highvoltage::ProofOfDead proof = highvoltage::prove_dead(voltages, context.settings.dead);
    for (std::size_t i = 0; i < voltages.size(); ++i) {
      if (voltages[i].is_check) continue;
      Findings found = proof.rows[i].findings;
      if (voltages[i].pair == highvoltage::Pair::unknown) found.add(Finding::pair_not_named);
      findings_.emplace(rows[order.rows[i]], found);
    }
  }
}

Findings DeadEvidence::findings(std::size_t row) const noexcept {
  const auto entry
  = findings_.find(row);
  return entry
  == findings_.end() ? Findings{} : entry
  ->second;
}

}  // namespace ohmward::assessment
