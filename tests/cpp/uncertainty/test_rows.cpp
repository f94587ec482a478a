#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstring>
#include <string>
#include <vector>

#include "ohmward/core/constants.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/formula/batch.hpp"
#include "ohmward/numerics/random.hpp"
#include "ohmward/uncertainty/budget.hpp"
#include "ohmward/uncertainty/rows.hpp"

namespace ohmward::uncertainty {
namespace {

using numerics::InstructionLevel;
using Numbers = std::vector<double>;

/// A textbook model of the inputs, the relative gain error last, generic in its number type; and where inputs may lie.
struct Case {
  std::string formula;
  Numbers low, high;  ///< one an input
  Numbers constants;
  Derivatives (*slopes)(const Numbers& at);  ///< exact, by dual numbers; `at` ends with the gain error
};

#define SLOPES(expression) \
  [](const Numbers& at) { \
    return differentiate( \
        []<class T>(std::span<const T> x) -> T { \
          using std::exp, std::log; \
          [[maybe_unused]] const T g = x.back() + 1.0; \
          return expression; \
        }, \
        at); \
  }

// Every model is written here anew, not as the formula computes it.
const std::vector<Case> cases{
    {"halving_to_reference",
     {1e6, -10, 8},
     {1e10, 80, 12},
     {40, -infinity, infinity},
     SLOPES(g * x[0] * exp(log(T(2.0)) * (x[1] - 40.0) / x[2]))},
    {"thermosetting_to_reference",
     {1e6, 41, 0.8},
     {1e10, 85, 1.2},
     {1245, 4230, 40, 273, 40, 10, 85},
     SLOPES(g * x[0] * exp(x[2] * 4230.0 * (T(1 / 313.0) - T(1.0) / (x[1] + 273.0))))},
    {"thermosetting_to_reference",
     {1e6, 10, 0.8},
     {1e10, 39, 1.2},
     {1245, 4230, 40, 273, 40, 10, 85},
     SLOPES(g * x[0] * exp(x[2] * 1245.0 * (T(1 / 313.0) - T(1.0) / (x[1] + 273.0))))},
    {"arrhenius_to_reference",
     {1e6, -10, 0.4},
     {1e10, 80, 1.1},
     {20, -infinity, infinity},
     SLOPES(g * x[0] *
            exp(x[2] / boltzmann_electronvolt_per_kelvin * (T(1 / 293.15) - T(1.0) / (x[1] + celsius_zero_kelvin))))},
    {"conductor_to_reference",
     {0.01, -10, 225},
     {10, 80, 240},
     {20, -infinity, infinity},
     SLOPES(g * x[0] * (x[2] + 20.0) / (x[2] + x[1]))},
    {"resistance_ratio", {1e8, 1e8}, {1e10, 1e10}, {}, SLOPES((g * x[0]) / (g * x[1]))},
    {"capacitance_from_charge_farad", {1e-7, 10}, {1e-5, 1000}, {}, SLOPES(x[0] / x[1])},
    {"resistance_by_loss_of_charge_ohm",
     {500, 100, 10, 1e-8},
     {1000, 400, 600, 1e-6},
     {},
     SLOPES(x[2] / (x[3] * (log(g * x[0]) - log(g * x[1]))))},
    {"dielectric_discharge", {1e-9, 100, 1e-8}, {1e-6, 1000, 1e-6}, {}, SLOPES(x[0] * 1000.0 / x[1] / x[2])},
    {"parallel_resistance_ohm",
     {1e5, 1e5},
     {1e7, 1e7},
     {},
     SLOPES(T(1.0) / (T(1.0) / (g * x[0]) + T(1.0) / (g * x[1])))},
    {"unloaded_resistance_ohm", {1e5, 1e7}, {1e6, 2e7}, {}, SLOPES(T(1.0) / (T(1.0) / (g * x[0]) - T(1.0) / x[1]))},
    {"leak_of_removed_part_ohm",
     {1e5, 5e5},
     {4e5, 2e6},
     {},
     SLOPES(T(1.0) / (T(1.0) / (g * x[0]) - T(1.0) / (g * x[1])))},
    {"discharge_time_second",
     {1e4, 1e-6, 300, 20},
     {1e6, 1e-3, 900, 60},
     {},
     SLOPES(x[0] * x[1] * log((g * x[2]) / (g * x[3])))},
    {"capacitor_energy_joule", {1e-6, 10}, {1e-3, 900}, {}, SLOPES(x[0] * x[1] * x[1] / 2.0)},
    {"isolation_by_pack_voltage_ohm",
     {380, 200, 50, 10, 1e5},
     {420, 300, 150, 100, 1e6},
     {},
     SLOPES(x[4] * (g * x[0]) * (T(1.0) / (g * x[3]) - T(1.0) / (g * x[1])))},
    {"isolation_by_pack_voltage_ohm",
     {380, 50, 200, 10, 1e5},
     {420, 150, 300, 100, 1e6},
     {},
     SLOPES(x[4] * (g * x[0]) * (T(1.0) / (g * x[3]) - T(1.0) / (g * x[2])))},
    {"isolation_by_pole_voltages_ohm",
     {380, 200, 50, 10, 1e5},
     {420, 300, 150, 100, 1e6},
     {},
     SLOPES(x[4] * (x[1] + x[2]) * g * (T(1.0) / (g * x[3]) - T(1.0) / (g * x[1])))},
    {"isolation_by_pole_voltages_ohm",
     {380, 50, 200, 10, 1e5},
     {420, 150, 300, 100, 1e6},
     {},
     SLOPES(x[4] * (x[1] + x[2]) * g * (T(1.0) / (g * x[3]) - T(1.0) / (g * x[2])))},
    {"above_null_ohm", {0.05, 0.01}, {0.5, 0.04}, {}, SLOPES(g * x[0] - g * x[1])},
};

std::vector<InstructionLevel> levels() {
  std::vector<InstructionLevel> all;
  for (const auto level : {InstructionLevel::baseline, InstructionLevel::x86_64_v3, InstructionLevel::x86_64_v4})
    if (numerics::supported(level)) all.push_back(level);
  return all;
}

double drawn(std::uint64_t block, std::size_t i, double low, double high) {
  return low + (high - low) * numerics::uniform({.seed = 7, .block = block}, i);
}

/// Columns of one case, with room for its results.
struct Rows {
  std::vector<Numbers> value, u, dof;
  Numbers gain, out, out_u, out_dof, shares;
  std::vector<Status> status;

  Rows(const Case& of, std::size_t one_for_all, std::size_t size)
      : gain(size), out(size), out_u(size), out_dof(size), shares((of.low.size() + 1) * size), status(size) {
    for (std::size_t k = 0; k < of.low.size(); ++k) {
      const bool one = k + one_for_all >= of.low.size();
      value.emplace_back(one ? 1 : size);
      u.emplace_back(one ? 1 : size);
      dof.emplace_back(one ? 1 : size);
      for (std::size_t i = 0; i < value[k].size(); ++i) {
        value[k][i] = drawn(3 * k, i, of.low[k], of.high[k]);
        u[k][i] = drawn(3 * k + 1, i, 0, 0.02 * (of.high[k] - of.low[k]));
        dof[k][i] = drawn(3 * k + 2, i, 1, 40);
      }
    }
    for (std::size_t i = 0; i < size; ++i) gain[i] = drawn(99, i, 0, 0.03);
  }

  [[nodiscard]] std::vector<RowInput> inputs() const {
    std::vector<RowInput> all;
    for (std::size_t k = 0; k < value.size(); ++k) all.push_back({value[k], u[k], dof[k]});
    return all;
  }
  [[nodiscard]] double at(const std::vector<Numbers>& columns, std::size_t k, std::size_t i) const {
    return columns[k].size() == 1 ? columns[k][0] : columns[k][i];
  }
  void run(const Case& of, const RowFormula& formula, int threads = 1) {
    const CommonGain common = formula.has_common_gain ? CommonGain{gain, {}} : CommonGain{};
    propagate_rows(formula, inputs(), of.constants, common, {out, out_u, out_dof, shares, status},
                   {.threads = threads});
  }
};

TEST(Rows, AgreeWithTheBudgetOfATextbookModel) {
  constexpr std::size_t size = 300;
  std::vector<std::string> seen;
  for (const Case& of : cases) {
    const RowFormula& formula = row_formula(of.formula);
    seen.push_back(of.formula);
    Rows rows(of, formula.one_for_all, size);
    rows.run(of, formula);
    const std::size_t n = of.low.size();
    for (std::size_t i = 0; i < size; ++i) {
      Budget budget;
      Numbers at;
      for (std::size_t k = 0; k < n; ++k) {
        at.push_back(rows.at(rows.value, k, i));
        budget.add(std::string(1, static_cast<char>(97 + k)), normal({.mean = at.back(),
                                                                      .standard_uncertainty = rows.at(rows.u, k, i),
                                                                      .degrees_of_freedom = rows.at(rows.dof, k, i)}));
      }
      at.push_back(0);
      budget.add("gain", normal({.mean = 0, .standard_uncertainty = rows.gain[i]}));
      Derivatives slopes = of.slopes(at);
      if (!formula.has_common_gain) slopes.gradient.back() = 0;
      const Output y = propagate(budget, slopes).outputs[0];
      constexpr double rounding = 64 * 0x1p-53;  // models that subtract close numbers lose some digits themselves
      ASSERT_EQ(rows.status[i], Status::sound) << of.formula << i;
      ASSERT_NEAR(rows.out[i], y.value, rounding * std::abs(y.value)) << of.formula << i;
      ASSERT_NEAR(rows.out_u[i], y.standard_uncertainty, rounding * y.standard_uncertainty) << of.formula << i;
      ASSERT_NEAR(rows.out_dof[i], y.degrees_of_freedom, 4 * rounding * y.degrees_of_freedom) << of.formula << i;
      for (std::size_t k = 0; k <= n; ++k)
        ASSERT_NEAR(rows.shares[k * size + i], y.shares[k], 4 * rounding) << of.formula << i << " input " << k;
    }
  }
  for (const RowFormula& formula : row_formulas())
    EXPECT_NE(std::find(seen.begin(), seen.end(), formula.name), seen.end()) << formula.name << " has no case";
}

/// Value and status of the formula itself, for every row, at every level; NaN alike.
TEST(Rows, ValueIsThatOfTheFormula) {
  constexpr std::size_t size = 1000;
  for (const Case& of : cases) {
    const RowFormula& formula = row_formula(of.formula);
    if (of.formula == "above_null_ohm") continue;  // no loop of its own
    const auto loop = [&] {
      for (const auto& f : formula::formulas(numerics::instruction_level()))
        if (of.formula == f.name) return f;
      throw std::out_of_range(of.formula);
    }();
    Rows rows(of, formula.one_for_all, size);
    rows.value[0][3] = nan, rows.value[0][5] = infinity, rows.value[0][7] = -1e300, rows.value[1][9] = infinity;
    rows.run(of, formula);
    std::vector<const double*> inputs;
    for (std::size_t k = 0; k < loop.inputs; ++k) inputs.push_back(rows.value[k].data());
    Numbers parameters = of.constants;
    if (of.formula == "thermosetting_to_reference")
      for (const std::size_t k : {0U, 1U}) parameters[k] *= rows.value[2][0];
    else if (formula.one_for_all == 1)
      parameters.insert(parameters.begin(), rows.value.back()[0]);
    Numbers expected(size);
    std::vector<std::int8_t> status(size);
    loop.value(size, inputs.data(), parameters.data(), expected.data());
    loop.status(size, inputs.data(), parameters.data(), status.data());
    for (std::size_t i = 0; i < size; ++i) {
      ASSERT_EQ(static_cast<int>(rows.status[i]), status[i]) << of.formula << i;
      ASSERT_EQ(std::memcmp(&rows.out[i], &expected[i], sizeof(double)), 0) << of.formula << i;
    }
  }
}

TEST(Rows, SameBitsForAnyLevelAndThreads) {
  constexpr std::size_t size = 100'003;
  const auto bits_differ = [](const Numbers& a, const Numbers& b) {
    return std::memcmp(a.data(), b.data(), a.size() * sizeof(double));
  };
  for (const Case& of : cases) {
    const RowFormula& baseline = row_formula(of.formula, InstructionLevel::baseline);
    Rows expected(of, baseline.one_for_all, size);
    for (std::size_t i = 3; i < size; i += 401) {
      expected.value[0][i] = nan;
      expected.u[0][i - 1] = -1;
      expected.u[1][i - 2] = nan;
      expected.dof[0][i - 3] = 0.5;
    }
    Rows rows = expected;
    expected.run(of, baseline);
    for (const InstructionLevel level : levels())
      for (const int threads : {1, 2, 7}) {
        rows.run(of, row_formula(of.formula, level), threads);
        EXPECT_EQ(bits_differ(rows.out, expected.out), 0) << of.formula << text(level) << threads;
        EXPECT_EQ(bits_differ(rows.out_u, expected.out_u), 0) << of.formula << text(level) << threads;
        EXPECT_EQ(bits_differ(rows.out_dof, expected.out_dof), 0) << of.formula << text(level) << threads;
        EXPECT_EQ(bits_differ(rows.shares, expected.shares), 0) << of.formula << text(level) << threads;
        EXPECT_EQ(rows.status, expected.status) << of.formula << text(level) << threads;
      }
    Numbers value(size), u(size);
    std::vector<Status> status(size);
    const CommonGain common = baseline.has_common_gain ? CommonGain{rows.gain, {}} : CommonGain{};
    std::vector<RowInput> without = rows.inputs();
    for (RowInput& input : without) input.degrees_of_freedom = {};
    propagate_rows(row_formula(of.formula), without, of.constants, common, {value, u, {}, {}, status});
    for (std::size_t i = 0; i < size; ++i)
      if (has_value(expected.status[i])) {
        ASSERT_EQ(value[i], expected.out[i]) << of.formula << i;
        ASSERT_EQ(u[i], expected.out_u[i]) << of.formula << i;
      }
  }
}

struct Two {
  Numbers late{2e9, 3e9}, early{1e9, 1e9}, u_late{1e7, 1e7}, u_early{1e7, 1e7};
  Numbers value{0, 0}, u{0, 0}, dof{0, 0}, shares = Numbers(6);
  std::vector<Status> status{Status::sound, Status::sound};

  void run(const CommonGain& gain = {}) {
    propagate_rows(row_formula("resistance_ratio"), std::array{RowInput{late, u_late}, RowInput{early, u_early}}, {},
                   gain, {value, u, dof, shares, status});
  }
};

TEST(Rows, CommonGainCancelsInARatio) {
  Two rows;
  rows.run();
  const double without = rows.u[0];
  const Numbers five_per_cent{0.05};
  rows.run({five_per_cent, {}});
  EXPECT_EQ(rows.u[0], without);
  EXPECT_EQ(rows.shares[4], 0);
  EXPECT_TRUE(std::isinf(rows.dof[0]));
}

TEST(Rows, ExactInputsHaveNoSharesAndUnknownOnesNoValue) {
  Two rows;
  rows.u_late[0] = rows.u_early[0] = 0;
  rows.u_late[1] = nan;
  rows.run();
  EXPECT_EQ(rows.status[0], Status::sound);
  EXPECT_EQ(rows.u[0], 0);
  EXPECT_TRUE(std::isnan(rows.dof[0]) && std::isnan(rows.shares[0]));
  EXPECT_EQ(rows.status[1], Status::missing_input);
  EXPECT_TRUE(std::isnan(rows.value[1]) && std::isnan(rows.u[1]) && std::isnan(rows.dof[1]));
  rows.u_late = {-1, infinity};
  rows.run();
  EXPECT_EQ(rows.status[0], Status::out_of_domain);
  EXPECT_EQ(rows.status[1], Status::out_of_domain);
}

TEST(Rows, ABatchOfOneRowDoesNotStop) {
  const Numbers ohm{1e9}, minus{-1};
  Numbers value(1), u(1);
  std::vector<Status> status(1);
  propagate_rows(row_formula("resistance_ratio"), std::array{RowInput{ohm, minus}, RowInput{ohm, ohm}}, {}, {},
                 {value, u, {}, {}, status});
  EXPECT_EQ(status[0], Status::out_of_domain);
}

TEST(Rows, OfTwoShortCircuitsThereIsNoSlope) {
  const Numbers zero{0, 0}, u{1, 1};
  Numbers value(2), out_u(2);
  std::vector<Status> status(2);
  propagate_rows(row_formula("parallel_resistance_ohm"), std::array{RowInput{zero, u}, RowInput{zero, u}}, {}, {},
                 {value, out_u, {}, {}, status});
  EXPECT_EQ(status[0], Status::out_of_domain);
  EXPECT_TRUE(std::isnan(value[0]));
}

std::string error_of(const auto& call) {
  try {
    call();
  } catch (const InvalidParameter& error) {
    return error.what();
  }
  return "no error";
}

TEST(Rows, SenselessParametersAreNamed) {
  const Numbers two{1e9, 2e9}, three{1, 2, 3}, one{1}, minus{-1}, half{0.5}, unlimited{infinity};
  Numbers value(2), u(2), shares(6);
  std::vector<Status> status(2);
  const auto with = [&](const RowInput& late, const CommonGain& gain = {}) {
    return error_of([&] {
      propagate_rows(row_formula("resistance_ratio"), std::array{late, RowInput{two, one}}, {}, gain,
                     {value, u, {}, {}, status});
    });
  };
  const auto names = [](const std::string& message, const char* part) {
    EXPECT_NE(message.find(part), std::string::npos) << message;
  };
  EXPECT_EQ(with({two, one}), "no error");
  names(with({three, one}), "late_ohm is 3");
  names(with({two, three}), "standard_uncertainty of late_ohm is 3");
  names(with({two, {}}), "standard_uncertainty of late_ohm");
  names(with({two, minus}), "standard_uncertainty of late_ohm is -1");
  names(with({two, unlimited}), "standard_uncertainty of late_ohm is inf");
  names(with({two, one, half}), "degrees_of_freedom of late_ohm is 0.5");
  names(with({two, one}, {minus, {}}), "common gain is -1");
  names(error_of([] { static_cast<void>(row_formula("ratio")); }), "one of halving_to_reference, ");
  names(error_of([&] {
          propagate_rows(row_formula("resistance_ratio"), std::array{RowInput{two, one}}, {}, {},
                         {value, u, {}, {}, status});
        }),
        "late_ohm, early_ohm");
  names(error_of([&] {
          propagate_rows(row_formula("capacitor_energy_joule"), std::array{RowInput{two, one}, RowInput{two, one}}, {},
                         {one, {}}, {value, u, {}, {}, status});
        }),
        "common gain");
  names(error_of([&] {
          propagate_rows(row_formula("halving_to_reference"),
                         std::array{RowInput{two, one}, RowInput{two, one}, RowInput{two, one}}, three, {},
                         {value, u, {}, {}, status});
        }),
        "step_kelvin is 2");
  names(error_of([&] {
          propagate_rows(row_formula("resistance_ratio"), std::array{RowInput{two, one}, RowInput{two, one}}, {}, {},
                         {value, u, {}, shares, status});
        }),
        "outputs.degrees_of_freedom");
  names(error_of([&] {
          propagate_rows(row_formula("resistance_ratio"), std::array{RowInput{two, one}, RowInput{two, one}}, three, {},
                         {value, u, {}, {}, status});
        }),
        "constants is 3");
}

}  // namespace
}  // namespace ohmward::uncertainty
