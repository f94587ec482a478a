#pragma once

/// @file
/// Marks on a readings table: what only sets of rows show (a session, a vehicle, a type, a meter), as data.
///
/// A mark is a suspicion with its evidence, never a verdict. Medians and median absolute deviations throughout; time
/// grows like n log n in the rows.

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "ohmward/core/findings.hpp"
#include "ohmward/readings/table.hpp"
#include "ohmward/screening/meter.hpp"
#include "ohmward/screening/settings.hpp"

namespace ohmward::screening {

/// Why rows were marked.
struct Evidence {
  Finding finding;
  std::vector<std::size_t> rows;      ///< rows that carry the mark
  std::vector<std::size_t> shown_by;  ///< other rows that show it: the source of a copy, checks of a meter, a history
  double statistic = nan;             ///< what was found; the sentence says of what
  double threshold = nan;             ///< what it was compared with
  std::string sentence{};
};

struct Marks {
  std::vector<std::uint64_t> findings;  ///< Findings::bits() of each row
  std::vector<Evidence> evidence;       ///< by kind of mark, then by the first row; each marked row is in at least one
  /// How far the row's meter was off its sheet at known values at that time, in what the sheet allows; 1 where nothing
  /// shows that it left it.
  std::vector<double> meter_factor;
};

/// Screens a table.
///
/// @param table     readings
/// @param meters    what is known of their meters; may be empty: then ceilings, drift against the sheet and functions
///                  of a meter are not looked at
/// @param settings  what counts as suspicious
/// @param threads   0: all cores; the result does not depend on it
/// @throws InvalidParameter if threads < 0
[[nodiscard]] Marks marks(const readings::Table& table, std::span<const Meter> meters = {},
                          const Settings& settings = {}, int threads = 0);

}  // namespace ohmward::screening
