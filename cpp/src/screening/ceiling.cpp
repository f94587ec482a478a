#include <cmath>
#include <map>

#include "screening/kinds_of_marks.hpp"
#include "screening/wording.hpp"

namespace ohmward::screening {
namespace {

bool equal(double a, double b) noexcept { return std::abs(a - b) <= 1e-9 * std::abs(b); }

/// A ceiling of the meter that equals the value: at the row's test voltage, or at any where none is written down.
double ceiling_hit(const Meter& meter, QuantityKind quantity, double value, double test_voltage_volt) noexcept {
  if (!std::isnan(test_voltage_volt)) {
    const double highest = ceiling(meter, quantity, test_voltage_volt);
    return equal(value, highest) ? highest : nan;
  }
  for (const MeterRange& range : meter.ranges) {
    if (range.quantity != quantity) continue;
    const double highest = ceiling(meter, quantity, range.test_voltage_volt);
    if (equal(value, highest)) return highest;
  }
  return nan;
}

/// Bounds that other rows of a meter name: ">10 MΩ".
using Bounds = std::map<std::pair<std::int32_t, double>, std::size_t>;

Bounds written_bounds(const Rows& rows) {
  Bounds bounds;
  for (std::size_t row = 0; row < rows.size(); ++row)
    if (rows.table.censoring[row] == Censoring::above && rows.code(TextName::instrument_id, row) >= 0 &&
        rows.table.quantity[row] == QuantityKind::insulation_resistance)
      ++bounds[{rows.code(TextName::instrument_id, row), rows.table.value[row]}];
  return bounds;
}

/// A bound that others name at least this often is a ceiling, even without a sheet.
constexpr std::size_t often = 2;

double ceiling_hit(const Rows& rows, const Bounds& bounds, std::size_t row) noexcept {
  const QuantityKind quantity = rows.table.quantity[row];
  const double value = rows.table.value[row];
  const double volt = rows.table.at(NumberName::test_voltage_volt, row);
  if (rows.code(TextName::instrument_id, row) >= 0) {
    const Meter* const meter = rows.meter(row);
    if (meter != nullptr && !std::isnan(ceiling(*meter, quantity, nan)))
      return ceiling_hit(*meter, quantity, value, volt);
    const auto named = bounds.find({rows.code(TextName::instrument_id, row), value});
    return named != bounds.end() && named->second >= often ? value : nan;
  }
  for (const Meter& meter : rows.meters)
    if (const double hit = ceiling_hit(meter, quantity, value, volt); !std::isnan(hit)) return hit;
  return nan;
}

}  // namespace

Found ceilings_as_numbers(const Rows& rows, const Settings&) {
  const Bounds bounds = written_bounds(rows);
  std::map<std::pair<std::int32_t, double>, Evidence> by_ceiling;  // meter and ceiling
  for (std::size_t row = 0; row < rows.size(); ++row) {
    const bool known_value = rows.is_check[row] && rows.word(TextName::part, row) != "leads_open";
    if (!rows.exact(row) || known_value || rows.table.quantity[row] != QuantityKind::insulation_resistance) continue;
    const double hit = ceiling_hit(rows, bounds, row);
    if (std::isnan(hit)) continue;
    Evidence& pile = by_ceiling[{rows.code(TextName::instrument_id, row), hit}];
    pile.threshold = hit;
    pile.rows.push_back(row);
  }
  Found found;
  for (auto& [key, pile] : by_ceiling) {
    const std::string_view meter = rows.word(TextName::instrument_id, pile.rows.front());
    pile.finding = Finding::ceiling_as_number_suspected;
    pile.statistic = static_cast<double>(pile.rows.size());
    pile.sentence =
        sentence(std::to_string(pile.rows.size()), pile.rows.size() == 1 ? " reading stands" : " readings stand",
                 " exactly at ", with_unit(pile.threshold, QuantityKind::insulation_resistance), ", a ceiling of ",
                 meter.empty() ? "a meter in use" : meter);
    found.push_back(std::move(pile));
  }
  return found;
}

}  // namespace ohmward::screening
