#include "ohmward/screening/marks.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "ohmward/numerics/parallel.hpp"
#include "screening/kinds_of_marks.hpp"

namespace ohmward::screening {
namespace {

using Kind = Found (*)(const Rows&, const Settings&);

/// The order of the evidence.
constexpr std::array<Kind, 16> kinds{unit_slips,          mistyped_objects, copied_vectors,
                                     ceilings_as_numbers, monitors_left_on, nulls_of_sessions,
                                     leads_in_the_path,   open_contactors,  sessions_without_contact,
                                     drifting_meters,     wrong_functions,  joined_poles,
                                     unsettled_readings,  unlike_joints,    unlike_parts,
                                     unlike_pairs};

std::size_t first_row(const Evidence& evidence) noexcept { return evidence.rows.empty() ? 0 : evidence.rows.front(); }

}  // namespace

Marks marks(const readings::Table& table, std::span<const Meter> meters, const Settings& settings, int threads) {
  const Rows rows(table, meters);
  std::array<Found, kinds.size()> found;
  numerics::in_parallel(
      kinds.size(), threads,
      [&](std::size_t first, std::size_t last) {
        for (std::size_t kind = first; kind < last; ++kind) found[kind] = kinds[kind](rows, settings);
      },
      1);
  Marks result{.findings = std::vector<std::uint64_t>(table.rows()),
               .evidence = {},
               .meter_factor = std::vector<double>(table.rows(), 1.0)};
  for (Found& of_kind : found) {
    std::ranges::stable_sort(of_kind, {}, first_row);
    for (Evidence& evidence : of_kind) {
      for (const std::size_t row : evidence.rows) {
        result.findings[row] |= Findings{evidence.finding}.bits();
        if (evidence.finding == Finding::meter_drift_suspected)
          result.meter_factor[row] = std::max(result.meter_factor[row], std::abs(evidence.statistic));
      }
      result.evidence.push_back(std::move(evidence));
    }
  }
  return result;
}

}  // namespace ohmward::screening
