#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "ohmward/assessment/assess.hpp"
#include "ohmward/readings/parse.hpp"

namespace ohmward::assessment::testing {

/// A small workshop: an insulation tester, a bonding meter, a voltmeter, a two-pole tester, and what they are judged
/// by.
struct Workshop {
  std::vector<instruments::Instrument> meters = {
      {.id = "insulation",
       .source_ampere = 1e-3,
       .ranges = {{.test_voltage_volt = 500, .high = 1e9, .display_step = 1e4, .reading_percent = 3, .counts = 2},
                  {.test_voltage_volt = 1000, .high = 4e9, .display_step = 1e4, .reading_percent = 3, .counts = 2}}},
      {.id = "bonding",
       .source_ampere = 0.2,
       .ranges = {{.quantity = QuantityKind::bonding_resistance,
                   .high = 20,
                   .display_step = 0.001,
                   .reading_percent = 1,
                   .counts = 2}}},
      {.id = "volt",
       .input_ohm = 10e6,
       .valid = {.until_day = 20000},
       .ranges = {{.quantity = QuantityKind::dc_voltage,
                   .high = 1000,
                   .display_step = 0.01,
                   .reading_percent = 0.5,
                   .counts = 2},
                  {.quantity = QuantityKind::resting_voltage,
                   .high = 60,
                   .display_step = 0.01,
                   .reading_percent = 0.1,
                   .counts = 1}}}};
  std::vector<LimitEntry> limits;
  std::vector<PartKind> kinds = {{.id = "motor", .law = temperature::law(temperature::Halving{.step_kelvin = 10})},
                                 {.id = "converter", .network = true},
                                 {.id = "whole_system", .whole = true}};
  Settings settings{};

  /// Judges rows of CSV under the usual header.
  [[nodiscard]] std::vector<RowAssessment> judge(std::string_view rows) const {
    const readings::Table table = read(rows);
    const instruments::Instruments known{meters};
    const PartKinds part_kinds{kinds};
    const Context context{known, limits, part_kinds, settings};
    std::vector<RowAssessment> all;
    for (std::size_t row = 0; row < table.rows(); ++row) all.push_back(assess_row(table, row, context));
    return all;
  }
  [[nodiscard]] RowAssessment judge_one(std::string_view row) const { return judge(row).front(); }

  [[nodiscard]] static readings::Table read(std::string_view rows) {
    std::string text =
        "object_id,part,part_kind,quantity,value,unit,taken_at,instrument_id,test_voltage_volt,part_celsius,part_"
        "celsius_u,"
        "test_ampere,capacitance_farad,stage,job_id,step,from_point,to_point,reference_value,doubt\n";
    text.append(rows);
    readings::Parsed parsed = readings::parse(text);
    if (!parsed.rejected.empty())
      throw std::runtime_error(parsed.rejected.front().column + ": " + parsed.rejected.front().why);
    return std::move(parsed.table);
  }
};

}  // namespace ohmward::assessment::testing
