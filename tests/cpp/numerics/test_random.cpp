#include <gtest/gtest.h>

#include <cmath>
#include <set>
#include <vector>

#include "ohmward/numerics/random.hpp"

namespace ohmward::numerics {
namespace {

TEST(Random, PhiloxKnownAnswers) {
  // Published with the generator: philox4x32, 10 rounds (source `philox`).
  EXPECT_EQ(philox4x32({0, 0, 0, 0}, {0, 0}), (PhiloxCounter{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8}));
  constexpr std::uint32_t ones = 0xffffffff;
  EXPECT_EQ(philox4x32({ones, ones, ones, ones}, {ones, ones}),
            (PhiloxCounter{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd}));
  EXPECT_EQ(philox4x32({0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0}),
            (PhiloxCounter{0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1}));
}

TEST(Random, AnyPartEqualsTheWhole) {
  const Stream stream{.seed = 42, .block = 3};
  std::vector<double> whole(2001), normals(2001);
  fill_uniform(whole, stream);
  fill_normal(normals, stream);
  for (std::size_t i = 0; i < whole.size(); ++i) {
    ASSERT_EQ(whole[i], uniform(stream, i));
    ASSERT_EQ(normals[i], normal(stream, i));
  }
  for (const std::size_t first : {0U, 1U, 2U, 511U, 512U, 1500U})
    for (const std::size_t size : {0U, 1U, 2U, 3U, 257U, 500U}) {
      std::vector<double> part(size);
      fill_uniform(part, stream, first);
      EXPECT_EQ(part, std::vector<double>(whole.begin() + static_cast<std::ptrdiff_t>(first),
                                          whole.begin() + static_cast<std::ptrdiff_t>(first + size)));
    }
}

TEST(Random, SeedsAndBlocksDiffer) {
  std::set<double> seen;
  for (std::uint64_t seed : {0ULL, 1ULL, 1ULL << 32})
    for (std::uint64_t block : {0ULL, 1ULL, 1ULL << 32}) seen.insert(uniform({.seed = seed, .block = block}, 0));
  EXPECT_EQ(seen.size(), 9U);
}

TEST(Random, NumbersLieInsideTheOpenInterval) {
  EXPECT_EQ(detail::open_unit(0, 0), 0x1p-53);
  EXPECT_EQ(detail::open_unit(0xffffffff, 0xffffffff), 1 - 0x1p-53);
}

TEST(Random, MomentsOfTheNormalDistribution) {
  constexpr std::size_t size = 4'000'000;
  std::vector<double> z(size);
  fill_normal(z, {.seed = 5});
  double sum = 0, square = 0, fourth = 0;
  for (const double x : z) sum += x, square += x * x, fourth += x * x * x * x;
  const double n = size;
  // Five standard deviations of the estimates.
  EXPECT_LT(std::abs(sum / n), 5 / std::sqrt(n));
  EXPECT_LT(std::abs(square / n - 1), 5 * std::sqrt(2 / n));
  EXPECT_LT(std::abs(fourth / n - 3), 5 * std::sqrt(96 / n));
}

TEST(Random, UniformNumbersFillTheUnitSquareEvenly) {
  constexpr std::size_t pairs = 1'000'000, cells = 32;
  std::vector<double> u(2 * pairs);
  fill_uniform(u, {.seed = 11});
  std::vector<double> count(cells * cells);
  for (std::size_t i = 0; i < pairs; ++i)
    ++count[static_cast<std::size_t>(u[2 * i] * cells) * cells + static_cast<std::size_t>(u[2 * i + 1] * cells)];
  const double expected = double{pairs} / (cells * cells);
  double chi_square = 0;
  for (const double c : count) chi_square += (c - expected) * (c - expected) / expected;
  // Mean 1023, standard deviation 45.
  EXPECT_GT(chi_square, 1023 - 5 * 45.2);
  EXPECT_LT(chi_square, 1023 + 5 * 45.2);
}

}  // namespace
}  // namespace ohmward::numerics
