#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "check_values.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/formula/batch.hpp"
#include "ohmward/formula/highvoltage.hpp"
#include "ohmward/formula/insulation.hpp"
#include "ohmward/formula/temperature.hpp"
#include "ohmward/numerics/random.hpp"

namespace ohmward::formula {
namespace {

using numerics::InstructionLevel;
using testing::CheckValue;

std::vector<InstructionLevel> levels() {
  std::vector<InstructionLevel> all;
  for (const auto level : {InstructionLevel::baseline, InstructionLevel::x86_64_v3, InstructionLevel::x86_64_v4})
    if (numerics::supported(level)) all.push_back(level);
  return all;
}

std::vector<double> numbers(const std::string& text) {
  std::istringstream words(text);
  std::vector<double> all;
  for (std::string word; words >> word;) all.push_back(std::strtod(word.c_str(), nullptr));
  return all;
}

const numerics::Elementwise& formula_named(const std::string& name, InstructionLevel level) {
  for (const auto& f : formulas(level))
    if (name == f.name) return f;
  throw std::out_of_range("no formula " + name);
}

TEST(Formula, CheckValuesAtEveryLevel) {
  std::map<std::string, int> cases;
  for (const CheckValue& value : testing::check_values("formula"))
    for (const InstructionLevel level : levels()) {
      const auto& f = formula_named(value.text("formula"), level);
      const std::vector<double> arguments = numbers(value.text("arguments"));
      ASSERT_EQ(arguments.size(), f.inputs + f.parameters) << value.id();
      std::vector<const double*> inputs;
      for (std::size_t k = 0; k < f.inputs; ++k) inputs.push_back(&arguments[k]);
      double made = 0;
      std::int8_t status = 99;
      f.value(1, inputs.data(), arguments.data() + f.inputs, &made);
      f.status(1, inputs.data(), arguments.data() + f.inputs, &status);
      value.expect(made);
      EXPECT_EQ(status, static_cast<int>(value.number("expected_status"))) << value.id();
      ++cases[f.name];
    }
  for (const auto& f : formulas(InstructionLevel::baseline)) EXPECT_GT(cases[f.name], 0) << f.name << " has no case";
}

TEST(Formula, NoValueExactlyWhereTheStatusIsNegative) {
  constexpr double odd[] = {nan, infinity, -infinity, 0, -0.0, -1, 5e-324, 1e308, 1, 40, 0.3, -273.15, 1e160};
  constexpr std::size_t count = sizeof odd / sizeof odd[0];
  for (const auto& f : formulas(numerics::instruction_level())) {
    const std::size_t arity = f.inputs + f.parameters;
    for (std::uint64_t trial = 0; trial < 20'000; ++trial) {
      double arguments[12];
      for (std::size_t k = 0; k < arity; ++k)
        arguments[k] = odd[static_cast<std::size_t>(count * numerics::uniform({.seed = trial, .block = k}, 0))];
      const double* inputs[12];
      for (std::size_t k = 0; k < f.inputs; ++k) inputs[k] = &arguments[k];
      double value = 0;
      std::int8_t status = 0;
      f.value(1, inputs, arguments + f.inputs, &value);
      f.status(1, inputs, arguments + f.inputs, &status);
      ASSERT_EQ(std::isnan(value), status < 0) << f.name << ": " << value << " with status " << int{status};
      ASSERT_FALSE(std::isinf(value)) << f.name;
      bool missing = false;
      for (std::size_t k = 0; k < f.inputs; ++k) missing = missing || std::isnan(arguments[k]);
      if (missing) {
        ASSERT_EQ(status, static_cast<int>(Status::missing_input)) << f.name;
      }
    }
  }
}

/// Largest error of the factor in units of (1 + share |x|) 2^-53.
template <class Law, class Exact>
double largest_error(const Law& law, double low, double high, double share, const Exact& exact_log2) {
  double largest = 0;
  for (int i = 0; i < 1'000'000; ++i) {
    const double celsius = low + (high - low) * numerics::uniform({.seed = 1}, static_cast<std::uint64_t>(i));
    const long double x = exact_log2(static_cast<long double>(celsius));
    const long double factor = std::exp2(x);
    const auto made = static_cast<long double>(factor_to_reference(celsius, law).value);
    const double error = static_cast<double>(std::abs(made - factor) / factor * 0x1p53L);
    largest = std::max(largest, error / (2 + share * std::abs(static_cast<double>(x))));
  }
  return largest;
}

constexpr bool reference_is_finer = std::numeric_limits<long double>::digits >= 64;

TEST(FormulaTemperature, HalvingAccuracy) {
  if (!reference_is_finer) GTEST_SKIP();
  const Halving law{.step_kelvin = 9.7, .reference_celsius = 40};
  EXPECT_LE(largest_error(law, -50, 200, 3, [](long double t) { return (t - 40) / static_cast<long double>(9.7); }), 1);
}

TEST(FormulaTemperature, ThermosettingAccuracy) {
  if (!reference_is_finer) GTEST_SKIP();
  const auto exact = [](long double t) {
    return (t > 40 ? 4230 : 1245) * (t - 40) / ((t + 273) * 313) * 1.442695040888963407359924681001892137L;
  };
  EXPECT_LE(largest_error(thermosetting_ieee_43, -20, 180, 6, exact), 1);
}

TEST(FormulaTemperature, ArrheniusAccuracy) {
  if (!reference_is_finer) GTEST_SKIP();
  const Arrhenius law{.activation_energy_electronvolt = 0.83, .reference_celsius = 20};
  const long double zero = celsius_zero_kelvin;
  const auto exact = [zero](long double t) {
    return static_cast<long double>(0.83) / static_cast<long double>(boltzmann_electronvolt_per_kelvin) * (t - 20) /
           ((t + zero) * (20 + zero)) * 1.442695040888963407359924681001892137L;
  };
  EXPECT_LE(largest_error(law, -50, 200, 6, exact), 1);
}

TEST(FormulaTemperature, ConductorAccuracy) {
  const Conductor law{.tau_kelvin = copper_tau_kelvin, .reference_celsius = 20};
  for (int i = -500; i < 2000; ++i) {
    const double t = i / 10.0;
    const long double exact = 254.5L / (234.5L + static_cast<long double>(t));
    const auto made = static_cast<long double>(factor_to_reference(t, law).value);
    EXPECT_LE(std::abs(made - exact), 3 * 0x1p-53L * exact);
  }
}

template <class Law>
void expect_slope(const Law& law) {
  for (double t = -10; t < 90; t += 7.3) {
    const double h = 1e-4;
    const double difference =
        -(std::log(factor_to_reference(t + h, law).value) - std::log(factor_to_reference(t - h, law).value)) / (2 * h);
    EXPECT_NEAR(slope_per_kelvin(t, law).value, difference, 1e-7);
  }
}

TEST(FormulaTemperature, SlopesAreDerivatives) {
  expect_slope(Halving{.step_kelvin = 10, .reference_celsius = 40});
  expect_slope(thermosetting_ieee_43);
  expect_slope(Arrhenius{.activation_energy_electronvolt = 0.7, .reference_celsius = 20});
  expect_slope(Conductor{.tau_kelvin = 234.5, .reference_celsius = 20});
}

TEST(FormulaTemperature, ThermosettingReferenceMayLieElsewhere) {
  Thermosetting to_20 = thermosetting_ieee_43;
  to_20.reference_celsius = 20;
  for (const double t : {15.0, 20.0, 40.0, 77.0}) {
    const double by_way_of_40 =
        factor_to_reference(t, thermosetting_ieee_43).value / factor_to_reference(20, thermosetting_ieee_43).value;
    EXPECT_NEAR(factor_to_reference(t, to_20).value, by_way_of_40, 1e-14 * by_way_of_40);
  }
}

/// (T1) against differences of the law itself.
template <class Law, class Shifted>
void expect_uncertainty(const Law& law, const Shifted& shifted, double u_constant) {
  const UncertainResistanceAt r{
      .resistance_ohm = 5e6, .celsius = 63, .relative_standard_uncertainty = 0.03, .standard_uncertainty_kelvin = 1.5};
  const auto at = [&](double celsius, const Law& with) {
    return std::log(to_reference(ResistanceAt{r.resistance_ohm, celsius}, with).value);
  };
  const double by_temperature = (at(r.celsius + 1e-4, law) - at(r.celsius - 1e-4, law)) / 2e-4 * 1.5;
  const double by_constant = (at(r.celsius, shifted(1e-6)) - at(r.celsius, shifted(-1e-6))) / 2e-6 * u_constant;
  const CorrectedResistance out = to_reference(r, law);
  EXPECT_EQ(out.status, Status::sound);
  EXPECT_EQ(out.resistance_ohm, to_reference(ResistanceAt{r.resistance_ohm, r.celsius}, law).value);
  EXPECT_NEAR(out.relative_standard_uncertainty,
              std::sqrt(0.03 * 0.03 + by_temperature * by_temperature + by_constant * by_constant), 1e-7);
}

TEST(FormulaTemperature, UncertaintyFollowsFromTheDerivatives) {
  const Halving h{.step_kelvin = 10, .reference_celsius = 40, .step_standard_uncertainty_kelvin = 0.8};
  expect_uncertainty(
      h,
      [h](double d) {
        Halving s = h;
        s.step_kelvin += d;
        return s;
      },
      0.8);
  Thermosetting t = thermosetting_ieee_43;
  t.coefficient_relative_standard_uncertainty = 0.1;
  expect_uncertainty(
      t,
      [t](double d) {
        Thermosetting s = t;
        s.coefficient_above_kelvin *= 1 + d, s.coefficient_below_kelvin *= 1 + d;
        return s;
      },
      0.1);
  const Arrhenius a{.activation_energy_electronvolt = 0.7,
                    .reference_celsius = 20,
                    .activation_energy_standard_uncertainty_electronvolt = 0.05};
  expect_uncertainty(
      a,
      [a](double d) {
        Arrhenius s = a;
        s.activation_energy_electronvolt += d;
        return s;
      },
      0.05);
  const Conductor c{.tau_kelvin = 234.5, .reference_celsius = 20, .tau_standard_uncertainty_kelvin = 2};
  expect_uncertainty(
      c,
      [c](double d) {
        Conductor s = c;
        s.tau_kelvin += d;
        return s;
      },
      2);
}

TEST(FormulaTemperature, EveryUncertaintyIsNeeded) {
  constexpr Halving law{.step_kelvin = 10, .reference_celsius = 40};
  const auto status = [&](double ur, double ut) {
    return to_reference(UncertainResistanceAt{1e6, 20, ur, ut}, law).status;
  };
  EXPECT_EQ(status(0, 0), Status::sound);
  EXPECT_EQ(status(nan, 1), Status::missing_input);
  EXPECT_EQ(status(0.1, nan), Status::missing_input);
  EXPECT_EQ(status(-0.1, 1), Status::out_of_domain);
  EXPECT_EQ(status(0.1, -1), Status::out_of_domain);
  EXPECT_EQ(status(infinity, 1), Status::out_of_domain);
  EXPECT_EQ(status(1e200, 1), Status::out_of_domain);
  EXPECT_TRUE(std::isnan(to_reference(UncertainResistanceAt{1e6, 20, -0.1, 1}, law).relative_standard_uncertainty));
}

TEST(FormulaBatch, EqualsOneAtATimeForAnyThreadsAndLevel) {
  constexpr std::size_t size = 150'001;
  std::vector<double> r(size), t(size), ur(size), ut(size);
  for (std::size_t i = 0; i < size; ++i) {
    r[i] = 1e6 * (1 + 1000 * numerics::uniform({.seed = 1, .block = 0}, i));
    t[i] = -20 + 100 * numerics::uniform({.seed = 1, .block = 1}, i);
    ur[i] = 0.1 * numerics::uniform({.seed = 1, .block = 2}, i);
    ut[i] = 3 * numerics::uniform({.seed = 1, .block = 3}, i);
    if (i % 401 == 3) r[i] = nan;
    if (i % 401 == 99) t[i] = infinity;
    if (i % 401 == 200) ut[i] = -1;
    if (i % 401 == 300) r[i] = infinity;
  }
  const auto check = [&](const auto& law) {
    for (const InstructionLevel level : levels())
      for (const int threads : {1, 2, 3}) {
        std::vector<double> value(size), u(size), plain(size);
        std::vector<Status> status(size), plain_status(size);
        to_reference({r, t, ur, ut}, law, {value, u, status}, {.threads = threads, .level = level});
        to_reference(r, t, law, plain, plain_status, {.threads = threads, .level = level});
        for (std::size_t i = 0; i < size; ++i) {
          const CorrectedResistance one = to_reference(UncertainResistanceAt{r[i], t[i], ur[i], ut[i]}, law);
          ASSERT_EQ(numerics::detail::bits(value[i]), numerics::detail::bits(one.resistance_ohm)) << i;
          ASSERT_EQ(numerics::detail::bits(u[i]), numerics::detail::bits(one.relative_standard_uncertainty)) << i;
          ASSERT_EQ(status[i], one.status) << i;
          const Checked<double> without = to_reference(ResistanceAt{r[i], t[i]}, law);
          ASSERT_EQ(numerics::detail::bits(plain[i]), numerics::detail::bits(without.value)) << i;
          ASSERT_EQ(plain_status[i], without.status) << i;
        }
      }
  };
  check(Halving{.step_kelvin = 10,
                .reference_celsius = 40,
                .low_celsius = 0,
                .high_celsius = 60,
                .step_standard_uncertainty_kelvin = 1});
  check(thermosetting_ieee_43);
  check(Arrhenius{.activation_energy_electronvolt = 0.7, .reference_celsius = 20});
  check(Conductor{.tau_kelvin = 234.5, .reference_celsius = 20});
}

TEST(FormulaBatch, LengthsMustAgree) {
  std::vector<double> three(3), two(2);
  std::vector<Status> status(3);
  constexpr Halving law{.step_kelvin = 10, .reference_celsius = 40};
  EXPECT_THROW(to_reference({three, two, three, three}, law, {three, three, status}), InvalidParameter);
  EXPECT_THROW(to_reference({three, three, three, three}, law, {three, two, status}), InvalidParameter);
  EXPECT_THROW(to_reference(three, three, law, two, status), InvalidParameter);
  EXPECT_THROW(to_reference(three, three, law, three, status, {.threads = -1}), InvalidParameter);
}

TEST(FormulaInsulation, CloseVoltagesKeepTheirDigits) {
  // ln(V1/V2) of a difference of one part in 1e8, against the series.
  const double v2 = 500, v1 = v2 * (1 + 0x1p-27);
  const long double exact = 60.0L / (1e-6L * std::log1p((static_cast<long double>(v1) - 500) / 500));
  const double made = resistance_by_loss_of_charge_ohm(
                          {.initial_volt = v1, .final_volt = v2, .elapsed_second = 60, .capacitance_farad = 1e-6})
                          .value;
  EXPECT_NEAR(made, static_cast<double>(exact), 4 * 0x1p-53 * made);
}

TEST(FormulaHighvoltage, OneMovedMeterDoesNotDisturbTheFirstForm) {
  // Circuit of two isolation resistances and a meter that sits across one pole at a time.
  const double positive = 1e6, negative = 2e6, pack = 400, meter = 10e6, known = 200e3;
  const auto parallel = [](double a, double b) { return a * b / (a + b); };
  const auto across = [&](double side, double other) {
    const double loaded = parallel(side, meter);
    return pack * loaded / (loaded + other);
  };
  const double v_negative = across(negative, positive), v_positive = across(positive, negative);
  const double v_loaded = across(parallel(negative, known), positive);
  const IsolationReadings readings{pack, v_negative, v_positive, v_loaded, known};
  EXPECT_NEAR(isolation_by_pack_voltage_ohm(readings).value, positive, 1e-6);
  EXPECT_NEAR(isolation_by_pole_voltages_ohm(readings).value, positive * (v_negative + v_positive) / pack, 1e-6);
}

}  // namespace
}  // namespace ohmward::formula
