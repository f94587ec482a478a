#include "assessment/repeats.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <tuple>

#include "ohmward/numerics/elementary.hpp"
#include "ohmward/statistics/type_a.hpp"

namespace ohmward::assessment {
namespace {

using readings::NumberName;
using readings::TextName;
using uncertainty::Quantity;

constexpr std::array same_words{TextName::object_id, TextName::part,          TextName::part_kind, TextName::from_point,
                                TextName::to_point,  TextName::circuit_side,  TextName::job_id,    TextName::stage,
                                TextName::connected, TextName::instrument_id, TextName::surface,   TextName::guard};
constexpr std::array same_numbers{NumberName::test_voltage_volt, NumberName::test_ampere};

struct Conditions {
  QuantityKind quantity;
  std::int64_t day;
  std::array<std::int32_t, same_words.size()> words;
  std::array<double, same_numbers.size()> numbers;
  auto key() const { return std::tie(quantity, day, words, numbers); }
  bool operator<(const Conditions& other) const { return key() < other.key(); }
};

Conditions conditions_of(const readings::Table& table, std::size_t row) {
  Conditions conditions{.quantity = table.quantity[row], .day = day_of(table, row), .words = {}, .numbers = {}};
  std::ranges::transform(same_words, conditions.words.begin(),
                         [&](TextName name) { return table.column(name).code(row); });
  std::ranges::transform(same_numbers, conditions.numbers.begin(), [&](NumberName name) {
    const double value = table.at(name, row);
    return std::isnan(value) ? -1.0 : value;
  });
  return conditions;
}

bool may_repeat(const readings::Table& table, std::size_t row) noexcept {
  return table.column(TextName::run_id).code(row) < 0 && table.column(TextName::pair_id).code(row) < 0 &&
         table.column(TextName::doubt).code(row) < 0 && table.column(TextName::stage).word(row) != "meter_check" &&
         table.column(TextName::object_id).code(row) >= 0 && table.column(TextName::part).code(row) >= 0;
}

/// Entered twice: value, polarity and moment to the second (or step) are equal, and one of the latter was written.
bool is_entered_twice(const readings::Table& table, std::size_t first, std::size_t second) noexcept {
  const double step = table.at(NumberName::step, first);
  const bool has_time = (table.taken_at_form[first] & 1U) != 0;
  const bool same_step = step == table.at(NumberName::step, second) ||
                         (std::isnan(step) && std::isnan(table.at(NumberName::step, second)));
  return (has_time || !std::isnan(step)) && same_step && table.value_text[first] == table.value_text[second] &&
         table.taken_at_second[first] == table.taken_at_second[second] &&
         table.column(TextName::polarity).code(first) == table.column(TextName::polarity).code(second);
}

/// Inside one job the step decides where every row has one; else the time, else the line.
void put_in_order(const readings::Table& table, std::vector<std::size_t>& rows) {
  const auto step = [&](std::size_t row) { return table.at(NumberName::step, row); };
  if (std::ranges::none_of(rows, [&](std::size_t row) { return std::isnan(step(row)); }))
    std::ranges::stable_sort(rows, {}, step);
  else
    std::ranges::stable_sort(rows, {}, [&](std::size_t row) { return table.taken_at_second[row]; });
}

}  // namespace

std::vector<std::vector<std::size_t>> repeated_readings(const readings::Table& table) {
  std::map<Conditions, std::vector<std::size_t>> groups;
  for (std::size_t row = 0; row < table.rows(); ++row)
    if (may_repeat(table, row)) groups[conditions_of(table, row)].push_back(row);
  std::vector<std::vector<std::size_t>> repeated;
  for (auto& [conditions, rows] : groups) {
    if (rows.size() < 2) continue;
    put_in_order(table, rows);
    std::vector<std::size_t> distinct;
    for (const std::size_t row : rows)
      if (std::ranges::none_of(distinct, [&](std::size_t other) { return is_entered_twice(table, other, row); }))
        distinct.push_back(row);
    if (distinct.size() > 1) repeated.push_back(std::move(distinct));
  }
  return repeated;
}

instruments::Measured mean_of(const readings::Table& table, const std::vector<std::size_t>& rows,
                              const Context& context, double decision_value) {
  const std::int32_t instrument = instrument_of(table, rows.front(), context);
  instruments::Measured mean;
  std::vector<double> values;
  bool any_above = false, any_below = false;
  double step = 0;
  for (const std::size_t row : rows) {
    const instruments::Measured each = measure(table, row, instrument, context, decision_value);
    const Quantity& quantity = each.quantity;
    if (!has_value(quantity.status)) return each;
    const bool is_log = quantity.scale == Scale::log;
    any_above = any_above || quantity.censoring == Censoring::above;
    any_below = any_below || quantity.censoring == Censoring::below;
    values.push_back(is_log ? numerics::log(quantity.value) : quantity.value);
    const double resolution = table.resolution.empty() ? nan : table.resolution[row];
    step = std::fmax(step, is_log ? resolution / quantity.value : resolution);
    if (values.size() == 1 || quantity.standard_uncertainty() > mean.quantity.standard_uncertainty())
      mean.quantity = quantity;
    mean.findings.add(each.findings);
  }
  const statistics::MeanOfReadings scatter = statistics::mean_of(values, step);
  Quantity& quantity = mean.quantity;
  if (any_above && any_below) return {.quantity = {.scale = quantity.scale, .status = Status::unknown_bound}};
  quantity.value = quantity.scale == Scale::log ? numerics::exp(scatter.mean) : scatter.mean;
  quantity.censoring = any_above ? Censoring::above : any_below ? Censoring::below : Censoring::exact;
  quantity.status = any_above || any_below ? Status::bound_only : Status::sound;
  quantity.parts.add(uncertainty::Part::repeat, scatter.standard_uncertainty);
  const double share = scatter.standard_uncertainty / quantity.standard_uncertainty();
  quantity.degrees_of_freedom = scatter.degrees_of_freedom / (share * share * share * share);
  mean.findings.add(Finding::repeat_combined);
  return mean;
}

}  // namespace ohmward::assessment
