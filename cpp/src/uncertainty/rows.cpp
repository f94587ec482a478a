#include "ohmward/uncertainty/rows.hpp"

#include <algorithm>
#include <array>
#include <string>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/elementary.hpp"
#include "uncertainty/row_loops.hpp"

namespace ohmward::uncertainty {
namespace {

/// Name of the input at `position` in "first, second, ...".
std::string name_at(std::string_view names, std::size_t position) {
  for (; position > 0; --position) names.remove_prefix(names.find(", ") + 2);
  return std::string(names.substr(0, names.find(',')));
}

/// A column that is walked block by block; a single element is spread over a block once.
class Column {
 public:
  Column(std::span<const double> given, double otherwise) : given_(given.data()) {
    if (given.size() > 1) return;
    spread_.fill(given.empty() ? otherwise : given[0]);
    given_ = nullptr;
  }
  [[nodiscard]] const double* at(std::size_t first) const noexcept { return given_ ? given_ + first : spread_.data(); }

 private:
  const double* given_;
  std::array<double, rows_a_block> spread_;
};

/// What a single element for all rows must be: then it is a parameter, and a senseless one throws.
struct Allowed {
  double least;
  bool infinite;
  const char* text;
};
constexpr Allowed an_uncertainty{0, false, "a finite number of at least 0"};
constexpr Allowed degrees{1, true, "at least 1"};
constexpr Allowed a_constant{numerics::smallest_normal, false, "a finite number above 0"};

void check_parameter(const std::string& name, double given, const Allowed& allowed) {
  if (given < allowed.least || (given == infinity && !allowed.infinite))
    throw InvalidParameter(name, given, allowed.text);
}

/// Of one row a single element is that row's: data, which never throw.
void check_column(const std::string& name, std::span<const double> given, std::size_t rows, const Allowed& allowed) {
  if (given.empty() || given.size() == rows) return;
  if (given.size() != 1) throw InvalidParameter(name, static_cast<double>(given.size()), "one element, or one a row");
  check_parameter(name, given[0], allowed);
}

void check_input(const std::string& name, const RowInput& input, std::size_t rows) {
  const std::size_t size = input.value.size();
  if (size != 1 && size != rows) throw InvalidParameter(name, static_cast<double>(size), "one element, or one a row");
  if (input.standard_uncertainty.empty() && rows > 0)
    throw InvalidParameter("standard_uncertainty of " + name, "nothing", "one element, or one a row");
  check_column("standard_uncertainty of " + name, input.standard_uncertainty, rows, an_uncertainty);
  check_column("degrees_of_freedom of " + name, input.degrees_of_freedom, rows, degrees);
}

/// The constant of a law: always a parameter.
void check_constant(const std::string& name, const RowInput& input) {
  const auto require = [&](const std::string& of, std::span<const double> given, const Allowed& allowed) {
    if (given.size() != 1)
      throw InvalidParameter(of, static_cast<double>(given.size()), "one element, which holds for every row");
    check_parameter(of, given[0], allowed);
  };
  require(name, input.value, a_constant);
  require("standard_uncertainty of " + name, input.standard_uncertainty, an_uncertainty);
  if (!input.degrees_of_freedom.empty()) require("degrees_of_freedom of " + name, input.degrees_of_freedom, degrees);
}

void check_lengths(const RowOutputs& out, std::size_t components) {
  const std::size_t rows = out.value.size();
  const auto require = [](const char* name, std::size_t size, std::size_t expected) {
    if (size != expected) throw InvalidParameter(name, static_cast<double>(size), "length " + std::to_string(expected));
  };
  require("outputs.standard_uncertainty", out.standard_uncertainty.size(), rows);
  require("outputs.status", out.status.size(), rows);
  if (out.degrees_of_freedom.empty() && out.shares.empty()) return;
  require("outputs.degrees_of_freedom", out.degrees_of_freedom.size(), rows);
  require("outputs.shares", out.shares.size(), rows * components);
}

void check(const RowFormula& formula, std::span<const RowInput> inputs, std::span<const double> constants,
           const CommonGain& gain, const RowOutputs& out) {
  if (formula.loops == nullptr) throw InvalidParameter("formula", formula.name, "one of row_formulas()");
  if (inputs.size() != formula.input_count)
    throw InvalidParameter("inputs", static_cast<double>(inputs.size()), formula.inputs);
  if (constants.size() != formula.constant_count)
    throw InvalidParameter("constants", static_cast<double>(constants.size()),
                           formula.constants.empty() ? "none" : formula.constants);
  const std::size_t rows = out.value.size();
  const std::size_t varying = inputs.size() - formula.one_for_all;
  for (std::size_t k = 0; k < varying; ++k) check_input(name_at(formula.inputs, k), inputs[k], rows);
  for (std::size_t k = varying; k < inputs.size(); ++k) check_constant(name_at(formula.inputs, k), inputs[k]);
  if (!gain.relative_standard_uncertainty.empty() && !formula.has_common_gain)
    throw InvalidParameter("common gain", formula.name, "a formula of readings that share a meter");
  check_column("relative_standard_uncertainty of the common gain", gain.relative_standard_uncertainty, rows,
               an_uncertainty);
  check_column("degrees_of_freedom of the common gain", gain.degrees_of_freedom, rows, degrees);
  check_lengths(out, inputs.size() + 1);
}

/// Threads for so many rows: a short batch is done before a second thread has started.
int threads_for(std::size_t rows, int threads) {
  return threads == 0 && rows < numerics::elements_worth_a_thread ? 1 : threads;
}

/// Columns of all inputs, ready to be walked in blocks.
class Columns {
 public:
  Columns(std::span<const RowInput> inputs, std::span<const double> constants, const CommonGain& gain)
      : constants_(constants.data()), inputs_(inputs.size()) {
    for (const RowInput& input : inputs) {
      value_.emplace_back(input.value, nan);
      standard_uncertainty_.emplace_back(input.standard_uncertainty, nan);
      degrees_of_freedom_.emplace_back(input.degrees_of_freedom, infinity);
    }
    standard_uncertainty_.emplace_back(gain.relative_standard_uncertainty, 0);
    degrees_of_freedom_.emplace_back(gain.degrees_of_freedom, infinity);
  }

  [[nodiscard]] RowBlock block(std::size_t first, const RowOutputs& out) const noexcept {
    RowBlock block{};
    for (std::size_t k = 0; k < inputs_; ++k) block.value[k] = value_[k].at(first);
    const bool everything = !out.shares.empty();
    for (std::size_t k = 0; k <= inputs_; ++k) {
      block.standard_uncertainty[k] = standard_uncertainty_[k].at(first);
      block.degrees_of_freedom[k] = degrees_of_freedom_[k].at(first);
      if (everything) block.out_share[k] = out.shares.data() + k * out.value.size() + first;
    }
    block.constants = constants_;
    block.out_value = out.value.data() + first;
    block.out_standard_uncertainty = out.standard_uncertainty.data() + first;
    block.out_degrees_of_freedom = everything ? out.degrees_of_freedom.data() + first : nullptr;
    block.out_status = reinterpret_cast<std::int8_t*>(out.status.data() + first);  // Status is an int8
    return block;
  }

 private:
  const double* constants_;
  std::size_t inputs_;
  std::vector<Column> value_;
  std::vector<Column> standard_uncertainty_;
  std::vector<Column> degrees_of_freedom_;
};

}  // namespace

std::span<const RowFormula> row_formulas(numerics::InstructionLevel level) noexcept {
  const RowTable table = OHMWARD_PICK_LEVEL(level, row_table_)();
  return {table.first, table.size};
}

const RowFormula& row_formula(std::string_view name, numerics::InstructionLevel level) {
  std::string known;
  for (const RowFormula& formula : row_formulas(level)) {
    if (formula.name == name) return formula;
    known += (known.empty() ? "one of " : ", ") + std::string(formula.name);
  }
  throw InvalidParameter("formula", name, known);
}

void propagate_rows(const RowFormula& formula, std::span<const RowInput> inputs, std::span<const double> constants,
                    const CommonGain& gain, const RowOutputs& outputs, const numerics::BatchOptions& options) {
  check(formula, inputs, constants, gain, outputs);
  const Columns columns(inputs, constants, gain);
  const RowLoops::Loop loop = outputs.shares.empty() ? formula.loops->value_and_uncertainty : formula.loops->all;
  const std::size_t rows = outputs.value.size();
  numerics::in_parallel(rows, threads_for(rows, options.threads), [&](std::size_t begin, std::size_t end) {
    for (std::size_t first = begin; first < end; first += rows_a_block)
      loop(std::min(rows_a_block, end - first), columns.block(first, outputs));
  });
}

}  // namespace ohmward::uncertainty
