#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include "screening/rows.hpp"

namespace ohmward::screening {

/// Part kinds that stand for several parts in parallel.
inline constexpr std::array<std::string_view, 2> whole_kinds{"load_side", "whole_system"};
/// Part kinds that a load side contains.
inline constexpr std::array<std::string_view, 7> contained_kinds{"motor_winding", "converter", "dcdc", "charger",
                                                                 "compressor",    "heater",    "cable"};

[[nodiscard]] inline bool is_one_of(std::string_view word, const auto& words) noexcept {
  return std::ranges::find(words, word) != words.end();
}

/// An insulation reading of a whole with a hand-held meter, not a step of a ladder.
[[nodiscard]] inline bool is_whole(const Rows& rows, std::size_t row) noexcept {
  return rows.table.quantity[row] == QuantityKind::insulation_resistance && !rows.is_check[row] &&
         is_one_of(rows.word(TextName::part_kind, row), whole_kinds) &&
         rows.word(TextName::origin, row) != "on_board" && rows.code(TextName::run_id, row) < 0;
}

}  // namespace ohmward::screening
