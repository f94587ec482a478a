#pragma once

#include <array>
#include <unordered_map>
#include <vector>

#include "assessment/measure.hpp"
#include "ohmward/insulation/attainable.hpp"
#include "ohmward/insulation/settling.hpp"
#include "ohmward/insulation/timed_run.hpp"

namespace ohmward::assessment {

/// 10 min to 1 min, 60 s to 30 s, 60 s to 15 s. Source: `ieee-43`, practice for the other two.
inline constexpr std::array usual_ratios{insulation::Times{.late_second = 600, .early_second = 60},
                                         insulation::Times{.late_second = 60, .early_second = 30},
                                         insulation::Times{.late_second = 60, .early_second = 15}};

/// A resistance of a run at two times, each with its meter's uncertainty, and their ratio.
struct RatioOfRun {
  uncertainty::Quantity early{};
  uncertainty::Quantity ratio{};
};

/// A run as its rows tell it.
struct Run {
  std::vector<std::size_t> rows;  ///< in the order of the elapsed time; slips, holes and double entries are left out
  std::size_t place = 0;          ///< the row at 60 s, else the last before it, else the first
  std::int32_t instrument = instruments::Instruments::none;
  insulation::TimedRun series;
  insulation::CapacitanceRange capacitance{};
  double celsius = nan;  ///< part temperature, where one of its rows has it
};

/// The timed runs of a table: rows of insulation resistance with a `run_id` and an `elapsed_second`, of one part on one
/// day.
class Runs {
 public:
  static constexpr std::int32_t none = -1;

  Runs(const readings::Table& table, const Context& context);

  [[nodiscard]] std::span<const Run> all() const noexcept { return runs_; }
  /// Run that a row belongs to: by its elapsed time, or a ratio written down under the same `run_id`.
  [[nodiscard]] std::int32_t of(std::size_t row) const noexcept;
  [[nodiscard]] RatioOfRun ratio(const Run& run, const insulation::Times& times) const noexcept;
  [[nodiscard]] insulation::SettlingState settling(const Run& run) const noexcept;

 private:
  void add(std::vector<std::size_t> rows);
  [[nodiscard]] uncertainty::Quantity at(const Run& run, double second) const noexcept;

  const readings::Table& table_;
  const Context& context_;
  std::vector<Run> runs_;
  std::unordered_map<std::size_t, std::int32_t> run_of_row_;
};

/// Capacitance of a row's part: as the tester showed it, widened by its sheet; else the usual range of the kind.
[[nodiscard]] insulation::CapacitanceRange capacitance_of(const readings::Table& table, std::size_t row,
                                                          const Context& context) noexcept;

}  // namespace ohmward::assessment
