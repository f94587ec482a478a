#include "assessment/runs.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "ohmward/assessment/together.hpp"

namespace ohmward::assessment {
namespace {

using readings::NumberName;
using readings::TextName;
using uncertainty::Quantity;

constexpr double one_minute_second = 60;

/// What the rows of one run share: object, part, name of the run, day.
using Key = std::array<std::int64_t, 4>;

Key key_of(const readings::Table& table, std::size_t row) noexcept {
  const auto code = [&](TextName name) { return std::int64_t{table.column(name).code(row)}; };
  return {code(TextName::object_id), code(TextName::part), code(TextName::run_id), day_of(table, row)};
}

/// Rows that name no meter or no points are of the run whose name they bear; two meters, or two pairs of points, under
/// one name are two runs. Where what was connected changes it is no run: parts were unplugged one after the other.
using Ends = std::array<std::int32_t, 3>;
std::vector<std::vector<std::size_t>> told_apart(const readings::Table& table, const std::vector<std::size_t>& rows) {
  std::map<Ends, std::vector<std::size_t>> named;
  std::int32_t connected = readings::TextColumn::missing;
  for (const std::size_t row : rows) {
    const std::int32_t here = table.column(TextName::connected).code(row);
    if (here >= 0 && connected >= 0 && here != connected) return {};
    if (here >= 0) connected = here;
    const Ends ends{table.column(TextName::instrument_id).code(row), table.column(TextName::from_point).code(row),
                    table.column(TextName::to_point).code(row)};
    if (std::ranges::find(ends, readings::TextColumn::missing) == ends.end()) named[ends].push_back(row);
  }
  if (named.size() <= 1) return {rows};
  std::vector<std::vector<std::size_t>> runs;
  runs.reserve(named.size());
  for (auto& each : named) runs.push_back(std::move(each.second));
  return runs;
}

bool is_of_a_run(const readings::Table& table, std::size_t row) noexcept {
  return table.quantity[row] == QuantityKind::insulation_resistance && table.column(TextName::run_id).code(row) >= 0 &&
         table.at(NumberName::elapsed_second, row) > 0 && table.column(TextName::doubt).code(row) < 0 &&
         table.column(TextName::stage).word(row) != "meter_check";
}

/// The reading at one minute; where there is none, the last before it, which shows no more than it would have.
std::size_t place_of(const readings::Table& table, const std::vector<std::size_t>& rows) {
  const auto after = std::ranges::upper_bound(
      rows, one_minute_second, {}, [&](std::size_t row) { return table.at(NumberName::elapsed_second, row); });
  return after == rows.begin() ? *after : *(after - 1);
}

/// Part temperature of a run: the mean of what its rows say.
double celsius_of(const readings::Table& table, const std::vector<std::size_t>& rows) noexcept {
  double sum = 0, count = 0;
  for (const std::size_t row : rows) {
    const double celsius = table.at(NumberName::part_celsius, row);
    if (std::isnan(celsius)) continue;
    sum += celsius;
    ++count;
  }
  return sum / count;
}

constexpr std::uint16_t left_out =
    insulation::bit(insulation::Mark::missing) | insulation::bit(insulation::Mark::impossible) |
    insulation::bit(insulation::Mark::time_not_rising) | insulation::bit(insulation::Mark::slip);

}  // namespace

insulation::CapacitanceRange capacitance_of(const readings::Table& table, std::size_t row,
                                            const Context& context) noexcept {
  const PartKind* const kind = context.part_kinds.find(table.column(TextName::part_kind).word(row));
  const insulation::CapacitanceRange usual =
      kind == nullptr ? insulation::CapacitanceRange{}
                      : insulation::CapacitanceRange{kind->capacitance_low_farad, kind->capacitance_high_farad};
  const double shown = table.at(NumberName::capacitance_farad, row);
  if (!(shown > 0)) return usual;
  const std::int32_t instrument = instrument_of(table, row, context);
  const instruments::Reading reading{.quantity = QuantityKind::capacitance, .value = shown};
  const double u =
      instrument == instruments::Instruments::none
          ? nan
          : instruments::quantity(context.instruments[instrument], reading).quantity.standard_uncertainty();
  constexpr double coverage_factor = 2;
  if (!(u > 0)) return {std::fmin(shown, usual.low_farad), std::fmax(shown, usual.high_farad)};
  return {std::fmax(shown - coverage_factor * u, 0.0), shown + coverage_factor * u};
}

Runs::Runs(const readings::Table& table, const Context& context) : table_(table), context_(context) {
  if (table.column(TextName::run_id).words().empty()) return;
  std::map<Key, std::vector<std::size_t>> grouped;
  std::map<Key, std::vector<std::size_t>> ratios;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    if (is_of_a_run(table, row)) grouped[key_of(table, row)].push_back(row);
    if (table.quantity[row] == QuantityKind::insulation_ratio && table.column(TextName::run_id).code(row) >= 0)
      ratios[key_of(table, row)].push_back(row);
  }
  for (const auto& group : grouped) {
    for (std::vector<std::size_t>& rows : told_apart(table, group.second))
      if (rows.size() > 1) add(std::move(rows));
    const auto written = ratios.find(group.first);
    if (written == ratios.end() || runs_.empty() || key_of(table, runs_.back().place) != group.first) continue;
    for (const std::size_t row : written->second) run_of_row_[row] = static_cast<std::int32_t>(runs_.size()) - 1;
  }
}

void Runs::add(std::vector<std::size_t> rows) {
  const auto elapsed = [&](std::size_t row) { return table_.at(NumberName::elapsed_second, row); };
  std::ranges::stable_sort(rows, {}, elapsed);
  const auto named = std::ranges::find_if(
      rows, [&](std::size_t row) { return table_.column(TextName::instrument_id).code(row) >= 0; });
  const std::int32_t instrument = instrument_of(table_, named == rows.end() ? rows.front() : *named, context_);
  std::vector<insulation::Sample> samples;
  insulation::CapacitanceRange capacitance;
  double scatter = 0;
  for (const std::size_t row : rows) {
    const Quantity measured = measure(table_, row, instrument, context_).quantity;
    samples.push_back({.time_second = elapsed(row),
                       .resistance_ohm = measured.value,
                       .censoring = measured.censoring,
                       .applied_volt = table_.at(NumberName::applied_volt, row),
                       .part_celsius = table_.at(NumberName::part_celsius, row)});
    const double u = measured.parts[uncertainty::Part::reading];
    if (u > 0) scatter = std::fmax(scatter, u);
    const insulation::CapacitanceRange here = capacitance_of(table_, row, context_);
    if (table_.at(NumberName::capacitance_farad, row) > 0 || std::isnan(capacitance.high_farad))
      capacitance = {std::fmin(capacitance.low_farad, here.low_farad),
                     std::fmax(capacitance.high_farad, here.high_farad)};
  }
  const insulation::RunConditions conditions{
      .test_voltage_volt = table_.at(NumberName::test_voltage_volt, rows.front()),
      .source_ampere =
          instrument == instruments::Instruments::none ? nan : context_.instruments[instrument].source_ampere,
      .relative_standard_uncertainty = scatter > 0 ? scatter : nan};
  insulation::TimedRun series(samples, conditions);
  std::vector<std::size_t> used;
  for (std::size_t i = 0; i < rows.size(); ++i)
    if ((series.marks()[i] & left_out) == 0) used.push_back(rows[i]);
  if (used.size() < 2) return;
  for (const std::size_t row : rows) run_of_row_[row] = static_cast<std::int32_t>(runs_.size());
  const std::size_t place = place_of(table_, used);
  const double celsius = celsius_of(table_, used);
  runs_.push_back({.rows = std::move(used),
                   .place = place,
                   .instrument = instrument,
                   .series = std::move(series),
                   .capacitance = capacitance,
                   .celsius = celsius});
}

std::int32_t Runs::of(std::size_t row) const noexcept {
  const auto found = run_of_row_.find(row);
  return found == run_of_row_.end() ? none : found->second;
}

/// The run's value at a time, with the uncertainty that the meter has there.
Quantity Runs::at(const Run& run, double second) const noexcept {
  Quantity quantity = run.series.at(second);
  if (!has_value(quantity.status)) return quantity;
  const std::int32_t instrument = run.instrument;
  const instruments::Reading reading{.quantity = QuantityKind::insulation_resistance,
                                     .value = quantity.value,
                                     .test_voltage_volt = run.series.conditions().test_voltage_volt,
                                     .ambient_celsius = table_.at(NumberName::ambient_celsius, run.place)};
  quantity.parts = instrument == instruments::Instruments::none
                       ? instruments::quantity(reading, context_.settings.instruments).quantity.parts
                       : instruments::quantity(context_.instruments[instrument], reading, context_.settings.instruments)
                             .quantity.parts;
  return quantity;
}

RatioOfRun Runs::ratio(const Run& run, const insulation::Times& times) const noexcept {
  const Quantity early = at(run, times.early_second);
  const Quantity late = at(run, times.late_second);
  const std::int32_t instrument = run.instrument;
  const auto range = [&](const Quantity& quantity) {
    return instruments::range_of(context_.instruments[instrument],
                                 {.quantity = QuantityKind::insulation_resistance,
                                  .value = quantity.value,
                                  .test_voltage_volt = run.series.conditions().test_voltage_volt});
  };
  const bool same_range =
      instrument != instruments::Instruments::none && range(late) != nullptr && range(late) == range(early);
  return {.early = early, .ratio = insulation::ratio({.late = late, .early = early, .same_range = same_range})};
}

insulation::SettlingState Runs::settling(const Run& run) const noexcept {
  return insulation::settling(run.series, {.capacitance = run.capacitance});
}

std::vector<RunSummary> runs(const readings::Table& table, const Context& context) {
  const Runs found(table, context);
  std::vector<RunSummary> all;
  for (const Run& run : found.all()) {
    RunSummary summary{.rows = run.rows,
                       .place = run.place,
                       .capacitance = run.capacitance,
                       .settling = found.settling(run),
                       .ratios = {}};
    for (const insulation::Times& times : usual_ratios) {
      const RatioOfRun both = found.ratio(run, times);
      summary.ratios.push_back({.times = times,
                                .quantity = both.ratio,
                                .attainable = insulation::attainable_ratio(
                                    {.early = both.early, .capacitance = run.capacitance, .times = times})});
    }
    all.push_back(std::move(summary));
  }
  return all;
}

}  // namespace ohmward::assessment
