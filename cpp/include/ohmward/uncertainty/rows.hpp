#pragma once

/// @file
/// First-order uncertainty of the library's own formulas over whole columns: JCGM 100:2008 eq. 10 for every row, with
/// the effective degrees of freedom of G.2b and the share of every input. Same bits at every instruction level and for
/// any number of threads. Source: `gum`.

#include <span>
#include <string_view>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/core/status.hpp"
#include "ohmward/numerics/parallel.hpp"

namespace ohmward::uncertainty {

/// One input of many rows. A span holds one element a row, or a single one that stands for every row.
struct RowInput {
  std::span<const double> value{};
  std::span<const double> standard_uncertainty{};  ///< in the unit of the value, >= 0
  std::span<const double> degrees_of_freedom{};    ///< >= 1; empty: infinite
};

/// A gain error that all readings of one meter share, as a fraction of the reading. Empty: none.
struct CommonGain {
  std::span<const double> relative_standard_uncertainty{};
  std::span<const double> degrees_of_freedom{};
};

/// Columns to write, one element a row. Where the status is negative all others are NaN.
struct RowOutputs {
  std::span<double> value{};
  std::span<double> standard_uncertainty{};
  std::span<double> degrees_of_freedom{};  ///< may be empty together with `shares`
  /// Share of every component in u^2, one component after the other: the inputs, then the common gain. They sum to 1;
  /// of a row with u = 0 they and the degrees of freedom are NaN.
  std::span<double> shares{};
  std::span<Status> status{};
};

struct RowLoops;

/// A formula that rows can be propagated through.
struct RowFormula {
  std::string_view name{};       ///< as in `formula::formulas`
  std::string_view inputs{};     ///< names separated by commas, in the order of the arguments
  std::string_view constants{};  ///< exact numbers that all rows share, in the same form; may be empty
  std::size_t input_count = 0;
  std::size_t one_for_all = 0;  ///< of the inputs the last so many, a law's constants, have a single element
  std::size_t constant_count = 0;
  bool has_common_gain = false;  ///< some inputs are readings that may share the gain of one meter
  const RowLoops* loops = nullptr;
};

/// Every formula, compiled for a supported level.
[[nodiscard]] std::span<const RowFormula> row_formulas(
    numerics::InstructionLevel level = numerics::instruction_level()) noexcept;
/// @throws InvalidParameter for an unknown name
[[nodiscard]] const RowFormula& row_formula(std::string_view name,
                                            numerics::InstructionLevel level = numerics::instruction_level());

/// Propagates every row. Inputs are independent but for the common gain.
///
/// Status: that of the formula; missing_input where an uncertainty or degrees of freedom are NaN; out_of_domain where
/// an uncertainty is negative, infinite or beyond 1e150, degrees of freedom are below 1, or there is no finite slope.
/// Outputs may not overlap inputs. The formula's level counts, not that of `options`.
///
///     const double ohm[] = {2e9, 3e9}, u_ohm[] = {1e8, 2e8}, celsius[] = {18}, u_kelvin[] = {2};
///     const double step[] = {10}, u_step[] = {1};
///     propagate_rows(row_formula("halving_to_reference"),
///                    std::array{RowInput{ohm, u_ohm}, RowInput{celsius, u_kelvin}, RowInput{step, u_step}},
///                    std::array{40.0, -infinity, infinity}, {}, {.value = v, .standard_uncertainty = u, .status = s});
///
/// Value: that of the formula, bit for bit. Relative error of u below 64 * 2^-53 (test Rows.*).
/// @throws InvalidParameter for a wrong number of inputs or constants, lengths that do not fit, a common gain of a
/// formula without readings, or a single element for several rows (or a law's constant) that is negative, infinite or
/// (degrees of freedom) below 1
void propagate_rows(const RowFormula& formula, std::span<const RowInput> inputs, std::span<const double> constants,
                    const CommonGain& gain, const RowOutputs& outputs, const numerics::BatchOptions& options = {});

}  // namespace ohmward::uncertainty
