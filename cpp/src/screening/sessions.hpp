#pragma once

#include <vector>

#include "screening/rows.hpp"

namespace ohmward::screening {

/// What a session adds to every bonding reading, against what its points usually show.
struct SessionOffset {
  double ohm = nan;  ///< median over the rows of their difference to the point's median; NaN below three rows
  double lowest_ohm = nan;
  std::size_t compared = 0;
  std::size_t negative = 0;  ///< readings below zero among them
};

/// Of every session, by its number.
[[nodiscard]] std::vector<SessionOffset> bonding_offsets(const Rows& rows);

/// Exact bonding readings of objects.
[[nodiscard]] bool is_bonding(const Rows& rows, std::size_t row) noexcept;

}  // namespace ohmward::screening
