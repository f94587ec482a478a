#include <cmath>
#include <map>

#include "assessment/current.hpp"
#include "assessment/measure.hpp"
#include "ohmward/assessment/together.hpp"
#include "ohmward/insulation/ratio.hpp"
#include "ohmward/numerics/elementary.hpp"

namespace ohmward::assessment {
namespace {

using readings::NumberName;
using readings::TextName;
using uncertainty::Quantity;

/// On the log scale the parts are relative, so that they cancel or add in a ratio.
Quantity relative(Quantity quantity) noexcept {
  if (quantity.scale == Scale::log || !(quantity.value > 0)) return quantity;
  quantity.scale = Scale::log;
  for (const uncertainty::PartFacts& facts : uncertainty::part_facts)
    quantity.parts.set(facts.part, quantity.parts[facts.part] / quantity.value);
  return quantity;
}

const instruments::Range* range_of(const readings::Table& table, std::size_t row, double value,
                                   const Context& context) noexcept {
  const std::int32_t instrument = instrument_of(table, row, context);
  if (instrument == instruments::Instruments::none) return nullptr;
  return instruments::range_of(context.instruments[instrument],
                               {.quantity = table.quantity[row],
                                .value = value,
                                .test_voltage_volt = table.at(NumberName::test_voltage_volt, row)});
}

Change change_of(const Quantity& ratio) noexcept {
  constexpr double coverage_factor = 2;
  const double u = ratio.standard_uncertainty();
  if (!has_value(ratio.status) || !(u > 0)) return Change::not_known;
  const double ln = numerics::log(ratio.value);
  if (ln > coverage_factor * u && ratio.censoring != Censoring::below) return Change::rose;
  if (ln < -coverage_factor * u && ratio.censoring != Censoring::above) return Change::fell;
  return ratio.censoring == Censoring::exact ? Change::within_uncertainty : Change::not_known;
}

PairSummary compared(const readings::Table& table, std::size_t before, std::size_t after, const Context& context) {
  const Quantity early = relative(measure(table, before, instrument_of(table, before, context), context).quantity);
  const Quantity late = relative(measure(table, after, instrument_of(table, after, context), context).quantity);
  const instruments::Range* const range = range_of(table, before, early.value, context);
  PairSummary pair{.before = before,
                   .after = after,
                   .ratio = insulation::ratio(
                       {.late = late,
                        .early = early,
                        .same_range = range != nullptr && range == range_of(table, after, late.value, context)})};
  pair.change = change_of(pair.ratio);
  return pair;
}

}  // namespace

std::string_view text(Change change) noexcept {
  switch (change) {
    case Change::not_known: return "not known";
    case Change::rose: return "rose";
    case Change::fell: return "fell";
    case Change::within_uncertainty: return "no difference that the meter can tell";
  }
  return "unknown change";
}

std::vector<PairSummary> pairs(const readings::Table& table, const Context& context) {
  std::map<std::array<std::int32_t, 4>, std::vector<std::size_t>> grouped;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const std::int32_t pair = table.column(TextName::pair_id).code(row);
    if (pair < 0 || table.column(TextName::doubt).code(row) >= 0) continue;
    grouped[{pair, table.column(TextName::object_id).code(row), table.column(TextName::part).code(row),
             static_cast<std::int32_t>(table.quantity[row])}]
        .push_back(row);
  }
  std::vector<PairSummary> all;
  for (const auto& [key, rows] : grouped) {
    if (rows.size() != 2) continue;
    const bool in_order = is_later(table, rows[1], rows[0]);
    all.push_back(compared(table, rows[in_order ? 0 : 1], rows[in_order ? 1 : 0], context));
  }
  return all;
}

}  // namespace ohmward::assessment
