#pragma once

#include <array>
#include <cstdint>
#include <string_view>

namespace ohmward::readings {

/// The text columns of the readings table; equal words share one code (see TextColumn).
#define OHMWARD_TEXT_COLUMN_TABLE(entry) \
  entry(object_id) \
  entry(object_kind) \
  entry(part) \
  entry(part_kind) \
  entry(instrument_id) \
  entry(from_point) \
  entry(to_point) \
  entry(job_id) \
  entry(stage) \
  entry(connected) \
  entry(circuit_side) \
  entry(surface) \
  entry(run_id) \
  entry(wires) \
  entry(polarity) \
  entry(battery_type) \
  entry(guard) \
  entry(range) \
  entry(pair_id) \
  entry(origin) \
  entry(taken_by) \
  entry(doubt) \
  entry(note)

/// The number columns of the readings table; a missing cell is NaN.
#define OHMWARD_NUMBER_COLUMN_TABLE(entry) \
  entry(test_voltage_volt) \
  entry(step) \
  entry(part_celsius) \
  entry(part_celsius_u) \
  entry(ambient_celsius) \
  entry(humidity_percent) \
  entry(elapsed_second) \
  entry(early_second) \
  entry(reference_value) \
  entry(applied_volt) \
  entry(capacitance_farad) \
  entry(null_ohm) \
  entry(test_ampere) \
  entry(rest_hour) \
  entry(cells)

/// The columns with a form of their own in the table.
inline constexpr std::array own_form_names{std::string_view{"reading_id"}, std::string_view{"quantity"},
                                           std::string_view{"value"}, std::string_view{"unit"},
                                           std::string_view{"taken_at"}};

enum class TextName : std::uint8_t {
#define OHMWARD_COLUMN_ENTRY(name) name,
  OHMWARD_TEXT_COLUMN_TABLE(OHMWARD_COLUMN_ENTRY)
#undef OHMWARD_COLUMN_ENTRY
};

enum class NumberName : std::uint8_t {
#define OHMWARD_COLUMN_ENTRY(name) name,
  OHMWARD_NUMBER_COLUMN_TABLE(OHMWARD_COLUMN_ENTRY)
#undef OHMWARD_COLUMN_ENTRY
};

#define OHMWARD_COLUMN_ENTRY(name) std::string_view{#name},
inline constexpr std::array text_names{OHMWARD_TEXT_COLUMN_TABLE(OHMWARD_COLUMN_ENTRY)};
inline constexpr std::array number_names{OHMWARD_NUMBER_COLUMN_TABLE(OHMWARD_COLUMN_ENTRY)};
#undef OHMWARD_COLUMN_ENTRY

[[nodiscard]] constexpr std::string_view text(TextName name) noexcept {
  return text_names[static_cast<std::size_t>(name)];
}
[[nodiscard]] constexpr std::string_view text(NumberName name) noexcept {
  return number_names[static_cast<std::size_t>(name)];
}

}  // namespace ohmward::readings
