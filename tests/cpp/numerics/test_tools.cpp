#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/interpolation.hpp"
#include "ohmward/numerics/parallel.hpp"
#include "ohmward/numerics/quantile.hpp"
#include "ohmward/numerics/random.hpp"
#include "ohmward/numerics/roots.hpp"

namespace ohmward::numerics {
namespace {

TEST(Root, FindsWhatBisectionFinds) {
  const auto check = [](auto f, double low, double high, double expected) {
    const Checked<double> found = root(f, low, high);
    EXPECT_EQ(found.status, Status::sound);
    EXPECT_NEAR(found.value, expected, 1e-14 * std::abs(expected));
  };
  check([](double x) { return x * x - 2; }, 0, 2, std::sqrt(2.0));
  check([](double x) { return 2 - x * x; }, 2, 0, std::sqrt(2.0));
  check([](double x) { return exp(x) - 5; }, -10, 10, std::log(5.0));
  check([](double x) { return x * x * x - 1e-9; }, -1, 1, 1e-3);
  check([](double x) { return x < 0.3 ? -1.0 : 1.0; }, 0, 1, 0.3);
}

TEST(Root, AnEndMayBeTheRoot) {
  EXPECT_EQ(root([](double x) { return x - 1; }, 1, 2).value, 1);
  EXPECT_EQ(root([](double x) { return x - 2; }, 1, 2).value, 2);
}

TEST(Root, SaysWhyThereIsNone) {
  EXPECT_EQ(root([](double x) { return x * x + 1; }, -1, 1).status, Status::no_solution);
  EXPECT_EQ(root([](double x) { return log(x); }, -1, 2).status, Status::missing_input);
  EXPECT_EQ(root([](double x) { return x; }, nan, 2).status, Status::missing_input);
  const auto early = root([](double x) { return x * x - 2; }, 0, 2, {.largest_number_of_steps = 2});
  EXPECT_EQ(early.status, Status::not_converged);
  EXPECT_NEAR(early.value, std::sqrt(2.0), 0.5);
}

TEST(Interpolation, GoesThroughThePointsAndKeepsTheOrder) {
  const std::vector<double> x{0, 1, 2, 4, 7, 8}, y{0, 0, 1, 10, 10.5, 40};
  for (std::size_t i = 0; i < x.size(); ++i) {
    EXPECT_DOUBLE_EQ(interpolate_monotone(x, y, x[i]).value, y[i]);
    EXPECT_DOUBLE_EQ(interpolate_linear(x, y, x[i]).value, y[i]);
  }
  double before = -1;
  for (int i = 0; i <= 8000; ++i) {
    const double value = interpolate_monotone(x, y, i / 1000.0).value;
    ASSERT_GE(value, before) << i;
    before = value;
  }
  EXPECT_DOUBLE_EQ(interpolate_linear(x, y, 3).value, 5.5);
}

TEST(Interpolation, SaysWhyThereIsNone) {
  const std::vector<double> x{0, 1}, y{0, 3}, one{0};
  EXPECT_EQ(interpolate_monotone(x, y, 1.1).status, Status::outside_table);
  EXPECT_EQ(interpolate_monotone(x, y, -0.1).status, Status::outside_table);
  EXPECT_EQ(interpolate_monotone(x, y, nan).status, Status::missing_input);
  EXPECT_EQ(interpolate_linear(one, one, 0).status, Status::too_few_points);
  EXPECT_EQ(interpolate_monotone(x, y, 0.5).value, 1.5);
}

TEST(Quantiles, EqualTheSortedSample) {
  const std::vector<double> levels{0, 0.001, 0.025, 0.25, 0.5, 0.75, 0.975, 0.999, 1};
  std::vector<double> sample(100'003), out(levels.size());
  for (const int kind : {0, 1, 2, 3}) {
    fill_normal(sample, {.seed = static_cast<std::uint64_t>(kind)});
    if (kind == 1)
      for (double& s : sample) s = 1e9 + s;  // leading bits all alike
    if (kind == 2)
      for (double& s : sample) s = std::floor(2 * s);  // many ties, both zeros
    if (kind == 3)
      for (double& s : sample) s = exp(20 * s);
    quantiles(sample, levels, out);
    std::sort(sample.begin(), sample.end());
    for (std::size_t i = 0; i < levels.size(); ++i) {
      const double position = levels[i] * static_cast<double>(sample.size() - 1);
      const auto rank = static_cast<std::size_t>(position);
      const double low = sample[rank], high = sample[std::min(rank + 1, sample.size() - 1)];
      EXPECT_DOUBLE_EQ(out[i], low + (position - std::floor(position)) * (high - low)) << kind << ' ' << levels[i];
    }
  }
}

TEST(Quantiles, NoValueWhereThereIsNone) {
  double out = 0;
  const std::vector<double> with_nan{1, nan, 3}, sound{3, 1, infinity, -infinity};
  quantiles(with_nan, std::vector{0.5}, {&out, 1});
  EXPECT_TRUE(std::isnan(out));
  quantiles({}, std::vector{0.5}, {&out, 1});
  EXPECT_TRUE(std::isnan(out));
  quantiles(sound, std::vector{1.5}, {&out, 1});
  EXPECT_TRUE(std::isnan(out));
  quantiles(sound, std::vector{0.0}, {&out, 1});
  EXPECT_EQ(out, -infinity);
  quantiles(sound, std::vector{1.0 / 3}, {&out, 1});
  EXPECT_EQ(out, 1);
  EXPECT_THROW(quantiles(sound, std::vector{0.5, 0.6}, {&out, 1}), InvalidParameter);
}

TEST(Parallel, EveryElementOnce) {
  for (const int threads : {0, 1, 2, 5})
    for (const std::size_t size : {0U, 1U, 99U, 100U, 101U, 1234U}) {
      std::vector<int> seen(size);
      in_parallel(
          size, threads,
          [&](std::size_t first, std::size_t last) {
            for (std::size_t i = first; i < last; ++i) ++seen[i];
          },
          100);
      EXPECT_EQ(std::count(seen.begin(), seen.end(), 1), static_cast<std::ptrdiff_t>(size));
    }
}

TEST(Parallel, AFailureComesBack) {
  const auto fail = [](std::size_t first, std::size_t) {
    if (first >= 500) throw std::runtime_error("broken");
  };
  EXPECT_THROW(in_parallel(1000, 2, fail, 100), std::runtime_error);
  EXPECT_THROW(in_parallel(1000, -1, fail), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::numerics
