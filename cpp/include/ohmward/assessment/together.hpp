#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "ohmward/assessment/assess.hpp"
#include "ohmward/insulation/attainable.hpp"
#include "ohmward/insulation/settling.hpp"
#include "ohmward/readings/table.hpp"

namespace ohmward::assessment {

/// One ratio that a run gives, and the greatest that the part could have shown.
struct RunRatio {
  insulation::Times times = no_times;
  uncertainty::Quantity quantity{};  ///< no value where the run does not reach both times
  insulation::AttainableRatio attainable{};
};

/// Readings of one part after one switching on, found by their `run_id` and `elapsed_second`.
struct RunSummary {
  std::vector<std::size_t> rows;  ///< in the order of the elapsed time; slips, holes and double entries are left out
  std::size_t place;  ///< row that stands for the run: the one at 60 s, else the last before it, else the first
  insulation::CapacitanceRange capacitance{};
  insulation::SettlingState settling{};
  std::vector<RunRatio> ratios;  ///< 600 s over 60 s, 60 s over 30 s, 60 s over 15 s
};
[[nodiscard]] std::vector<RunSummary> runs(const readings::Table& table, const Context& context);

/// What the later reading of a pair says against the earlier one. Numbers never change meaning.
enum class Change : std::int8_t { not_known = 0, rose = 1, fell = 2, within_uncertainty = 3 };
[[nodiscard]] std::string_view text(Change change) noexcept;

/// Two readings of one point that share a `pair_id`: before and after drying, cleaning, with and without guard.
struct PairSummary {
  std::size_t before;
  std::size_t after;
  uncertainty::Quantity ratio{};  ///< after over before, on the log scale; the common share of the meter's gain cancels
  Change change = Change::not_known;  ///< beyond twice its standard uncertainty, or not
};
/// Pairs of exactly two readings above zero; the later step, time or line is `after`.
[[nodiscard]] std::vector<PairSummary> pairs(const readings::Table& table, const Context& context);

}  // namespace ohmward::assessment
