#pragma once

#include <cstddef>
#include <cstdint>

#include "numerics/level_tables.hpp"
#include "ohmward/uncertainty/rows.hpp"

namespace ohmward::uncertainty {

/// Rows that one call of a loop takes at most: its columns stay in the first-level cache.
inline constexpr std::size_t rows_a_block = 512;
inline constexpr std::size_t most_inputs = 5;

/// Columns of one block. The common gain stands behind the inputs.
struct RowBlock {
  const double* value[most_inputs];
  const double* standard_uncertainty[most_inputs + 1];
  const double* degrees_of_freedom[most_inputs + 1];
  const double* constants;
  double* out_value;
  double* out_standard_uncertainty;
  double* out_degrees_of_freedom;
  double* out_share[most_inputs + 1];
  std::int8_t* out_status;
};

struct RowLoops {
  using Loop = void (*)(std::size_t size, const RowBlock& block) noexcept;
  Loop value_and_uncertainty;
  Loop all;  ///< degrees of freedom and shares too
};

struct RowTable {
  const RowFormula* first;
  std::size_t size;
};
RowTable row_table_baseline() noexcept;
RowTable row_table_x86_64_v3() noexcept;
RowTable row_table_x86_64_v4() noexcept;

}  // namespace ohmward::uncertainty
