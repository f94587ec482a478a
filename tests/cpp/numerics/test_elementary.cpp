#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <limits>
#include <vector>
#if defined(__SSE2__)
#include <immintrin.h>
#endif

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/elementary.hpp"
#include "ohmward/numerics/elementwise.hpp"
#include "ohmward/numerics/normal.hpp"

namespace ohmward::numerics {
namespace {

constexpr double smallest = std::numeric_limits<double>::min();
constexpr double largest = std::numeric_limits<double>::max();
constexpr double subnormal = std::numeric_limits<double>::denorm_min();

/// Equal as bit patterns: the sign of zero and the NaN count.
void expect_same(double made, double expected, const char* what) {
  EXPECT_EQ(std::bit_cast<std::uint64_t>(made), std::bit_cast<std::uint64_t>(expected))
      << what << ": " << made << ", expected " << expected;
}
#define EXPECT_SAME(made, expected) expect_same(made, expected, #made)

TEST(Exp, Limits) {
  EXPECT_SAME(exp(0.0), 1.0);
  EXPECT_SAME(exp(-0.0), 1.0);
  EXPECT_SAME(exp(subnormal), 1.0);
  EXPECT_SAME(exp(infinity), infinity);
  EXPECT_SAME(exp(-infinity), 0.0);
  EXPECT_SAME(exp(std::nextafter(709.782712893384, 710)), infinity);
  EXPECT_SAME(exp(-708.4), 0.0);
  EXPECT_GT(exp(709.782712893384), 1.7976931348622e308);
  EXPECT_GE(exp(-708.3964185322641), smallest);
  for (const double x : {nan, -nan, std::bit_cast<double>(0xfff4000000000001)}) EXPECT_SAME(exp(x), nan);
}

TEST(Exp2, Limits) {
  EXPECT_SAME(exp2(-1022), smallest);
  EXPECT_SAME(exp2(std::nextafter(-1022.0, -2000)), 0.0);
  EXPECT_SAME(exp2(1024), infinity);
  EXPECT_LE(exp2(std::nextafter(1024.0, 0)), largest);
  EXPECT_SAME(exp2(infinity), infinity);
  EXPECT_SAME(exp2(-infinity), 0.0);
  EXPECT_SAME(exp2(nan), nan);
}

TEST(Exp2, PowersOfTwoAreExact) {
  for (int n = -1022; n < 1024; ++n) ASSERT_EQ(exp2(n), std::ldexp(1.0, n)) << n;
}

TEST(Log, Limits) {
  EXPECT_SAME(log(1.0), 0.0);
  EXPECT_SAME(log(0.0), -infinity);
  EXPECT_SAME(log(-0.0), -infinity);
  EXPECT_SAME(log(subnormal), -infinity);
  EXPECT_SAME(log(-subnormal), -infinity);
  EXPECT_SAME(log(-smallest), nan);
  EXPECT_SAME(log(-1), nan);
  EXPECT_SAME(log(-infinity), nan);
  EXPECT_SAME(log(infinity), infinity);
  EXPECT_SAME(log(nan), nan);
  EXPECT_DOUBLE_EQ(log(largest), 709.782712893384);
}

TEST(Log2, PowersOfTwoAreExact) {
  for (int n = -1022; n < 1024; ++n) ASSERT_EQ(log2(std::ldexp(1.0, n)), n);
}

TEST(Log1p, Limits) {
  EXPECT_SAME(log1p(0.0), 0.0);
  EXPECT_SAME(log1p(-1), -infinity);
  EXPECT_SAME(log1p(-2), nan);
  EXPECT_SAME(log1p(infinity), infinity);
  EXPECT_SAME(log1p(nan), nan);
  EXPECT_EQ(log1p(1e-20), 1e-20);
}

TEST(Pow, Limits) {
  EXPECT_SAME(pow(2, 10), 1024.0);
  EXPECT_SAME(pow(7, 0), 1.0);
  EXPECT_SAME(pow(1, -7.3), 1.0);
  EXPECT_SAME(pow(1, infinity), 1.0);
  EXPECT_SAME(pow(0, 2), 0.0);
  EXPECT_SAME(pow(-0.0, -2), infinity);
  EXPECT_SAME(pow(subnormal, 2), 0.0);
  EXPECT_SAME(pow(0, 0), 1.0);
  EXPECT_SAME(pow(infinity, 2), infinity);
  EXPECT_SAME(pow(infinity, -2), 0.0);
  EXPECT_SAME(pow(infinity, 0), 1.0);
  EXPECT_SAME(pow(2, infinity), infinity);
  EXPECT_SAME(pow(2, -infinity), 0.0);
  EXPECT_SAME(pow(0.5, infinity), 0.0);
  EXPECT_SAME(pow(0.5, -infinity), infinity);
  EXPECT_SAME(pow(2, 1024), infinity);
  EXPECT_SAME(pow(2, -1023), 0.0);
  EXPECT_SAME(pow(2, -1022), smallest);
  EXPECT_SAME(pow(-2, 2), nan);
  EXPECT_SAME(pow(nan, 0), nan);
  EXPECT_SAME(pow(1, nan), nan);
}

TEST(Normal, Limits) {
  EXPECT_SAME(erf(0.0), 0.0);
  EXPECT_SAME(erf(infinity), 1.0);
  EXPECT_SAME(erf(-infinity), -1.0);
  EXPECT_SAME(erf(nan), nan);
  EXPECT_SAME(erfc(infinity), 0.0);
  EXPECT_SAME(erfc(-infinity), 2.0);
  EXPECT_SAME(erfc(nan), nan);
  EXPECT_SAME(normal_probability(0), 0.5);
  EXPECT_SAME(normal_probability(-40), 0.0);
  EXPECT_SAME(normal_probability(nan), nan);
  EXPECT_SAME(normal_density(nan), nan);
  EXPECT_SAME(normal_density(infinity), 0.0);
  EXPECT_SAME(normal_quantile(0.5), 0.0);
  EXPECT_SAME(normal_quantile(0), -infinity);
  EXPECT_SAME(normal_quantile(1), infinity);
  for (const double p : {-0.1, 1.1, nan, -nan, infinity}) EXPECT_SAME(normal_quantile(p), nan);
}

TEST(Elementary, NeighboursKeepTheirOrder) {
  for (int i = -8000; i < 8000; ++i) {
    const double x = i / 8.0 + 1 / 16.0, y = std::nextafter(x, 2000.0);
    ASSERT_LE(exp2(x), exp2(y)) << x;
    ASSERT_LE(exp(x), exp(y)) << x;
    const double t = std::ldexp(0x1.5ap-1, i / 8);
    ASSERT_LE(log(std::nextafter(t, 0.0)), log(t)) << t;
  }
}

#if defined(__SSE2__)
/// A host that flushes subnormal numbers, as code of some other library may have set it up.
class Flushing {
 public:
  Flushing() : before_(_mm_getcsr()) { _mm_setcsr(before_ | 0x8040U); }
  ~Flushing() { _mm_setcsr(before_); }
  Flushing(const Flushing&) = delete;
  Flushing& operator=(const Flushing&) = delete;

 private:
  unsigned before_;
};

TEST(Elementary, AFlushingHostSeesTheSameBits) {
  std::vector<double> arguments{0.0,  -0.0, subnormal, -subnormal, smallest, -smallest,
                                26.5, 26.6, -37.6,     -38.5,      1,        largest};
  for (int i = 0; i < 4000; ++i) arguments.push_back(-708.396 + 1e-4 * i);
  for (int i = 0; i < 4000; ++i) arguments.push_back(-1022 + 1e-3 * i);
  const auto results = [&] {
    std::vector<std::uint64_t> all;
    for (const double x : arguments)
      for (const double y : {exp(x), exp2(x), log(x), log2(x), log1p(x), pow(x, 1.5), pow(2, x), erf(x), erfc(x),
                             normal_probability(x), normal_density(x)})
        all.push_back(std::bit_cast<std::uint64_t>(y));
    return all;
  };
  const auto plain = results();
  const Flushing flushing;
  EXPECT_EQ(results(), plain);
}
#endif

TEST(Elementwise, EveryLevelAndTailEqualsTheScalarFunction) {
  std::vector<double> x(1001);
  for (std::size_t i = 0; i < x.size(); ++i) x[i] = 0.37 * static_cast<double>(i) - 50;
  x[5] = nan, x[900] = infinity, x[17] = -infinity;
  for (const auto level : {InstructionLevel::baseline, InstructionLevel::x86_64_v3, InstructionLevel::x86_64_v4}) {
    if (!supported(level)) continue;
    for (std::size_t size = 0; size < x.size(); size += size < 80 ? 1 : 131)
      for (std::size_t first = 0; first < 3; ++first) {
        std::vector<double> out(size, -7);
        const std::span<const double> part(x.data() + first, size);
        exp(part, out, level);
        for (std::size_t i = 0; i < size; ++i) EXPECT_SAME(out[i], exp(part[i]));
        log(part, out, level);
        for (std::size_t i = 0; i < size; ++i) EXPECT_SAME(out[i], log(part[i]));
        pow(part, -0.7, out, level);
        for (std::size_t i = 0; i < size; ++i) EXPECT_SAME(out[i], pow(part[i], -0.7));
      }
    std::vector<double> in_place = x;
    exp2(in_place, in_place, level);
    for (std::size_t i = 0; i < x.size(); ++i) EXPECT_SAME(in_place[i], exp2(x[i]));
  }
}

TEST(Elementwise, LengthsMustAgree) {
  std::vector<double> three(3), two(2);
  EXPECT_THROW(exp(three, two), InvalidParameter);
}

TEST(Level, TheChosenOneIsSupported) {
  EXPECT_TRUE(supported(InstructionLevel::baseline));
  EXPECT_TRUE(supported(instruction_level()));
  EXPECT_FALSE(supported(static_cast<InstructionLevel>(99)));
}

}  // namespace
}  // namespace ohmward::numerics
