#include "assessment/measure.hpp"

#include <limits>

namespace ohmward::assessment {

using readings::NumberName;
using readings::TextName;

std::int64_t day_of(const readings::Table& table, std::size_t row) noexcept {
  constexpr std::int64_t seconds = 86400;
  const std::int64_t second = table.taken_at_second[row];
  if (second == readings::Moment::missing) return std::numeric_limits<std::int64_t>::min();
  return second >= 0 ? second / seconds : -((-second + seconds - 1) / seconds);
}

std::int32_t instrument_of(const readings::Table& table, std::size_t row, const Context& context) noexcept {
  return context.instruments.find(table.column(TextName::instrument_id).word(row), day_of(table, row));
}

instruments::Measured measure(const readings::Table& table, std::size_t row, std::int32_t instrument,
                              const Context& context, double decision_value) noexcept {
  const instruments::Reading reading{.quantity = table.quantity[row],
                                     .value = table.value[row],
                                     .censoring = table.censoring[row],
                                     .resolution = table.resolution.empty() ? nan : table.resolution[row],
                                     .test_voltage_volt = table.at(NumberName::test_voltage_volt, row),
                                     .ambient_celsius = table.at(NumberName::ambient_celsius, row),
                                     .decision_value = decision_value};
  if (instrument == instruments::Instruments::none) return instruments::quantity(reading, context.settings.instruments);
  return instruments::quantity(context.instruments[instrument], reading, context.settings.instruments);
}

}  // namespace ohmward::assessment
