#pragma once

#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/quantity_kind.hpp"

namespace ohmward::screening {

/// One line of a meter's sheet, SI units of `quantity`.
struct MeterRange {
  QuantityKind quantity = QuantityKind::insulation_resistance;
  double test_voltage_volt = nan;  ///< NaN: holds at any test voltage
  double low = 0;
  double high = infinity;    ///< ceiling of this line
  double display_step = 0;   ///< one count
  double reading_bound = 0;  ///< fraction of the reading that the sheet allows
  double counts = 0;         ///< display steps that it allows on top
};

/// What screening needs to know of a meter. One id may stand for several entries with different dates.
struct Meter {
  std::string id{};
  std::int64_t from_day = std::numeric_limits<std::int64_t>::min();   ///< days since 1970-01-01
  std::int64_t until_day = std::numeric_limits<std::int64_t>::max();  ///< last day
  double correction = 0;                                              ///< fraction to add to every reading
  double source_ampere = nan;                                         ///< greatest current of the source
  std::vector<MeterRange> ranges{};
};

}  // namespace ohmward::screening
