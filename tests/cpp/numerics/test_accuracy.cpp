#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <limits>
#include <mutex>
#include <vector>

#include "ohmward/numerics/elementary.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/numerics/parallel.hpp"
#include "ohmward/numerics/random.hpp"

namespace ohmward::numerics {
namespace {

// The reference is the C library in 64-bit precision: its error of about one unit there is 0.0005 ulp here.
constexpr bool reference_is_finer = std::numeric_limits<long double>::digits >= 64;

constexpr std::size_t many = 10'000'000;

double error_in_ulp(double made, long double exact) {
  int exponent = 0;
  std::frexp(static_cast<double>(exact), &exponent);
  return static_cast<double>(std::abs(static_cast<long double>(made) - exact) / std::ldexp(1.0L, exponent - 53));
}

struct Worst {
  double error = 0;
  double at = 0;
  void see(double other, double x) {
    if (!(other <= error)) error = other, at = x;  // NaN is worst of all
  }
};

/// Largest error of f over `points(i)`, i = 0 ... count - 1, from all cores.
template <std::size_t count = many, class Function, class Reference, class Points>
Worst worst(const Function& f, const Reference& reference, const Points& points) {
  Worst all;
  std::mutex mutex;
  in_parallel(count, 0, [&](std::size_t first, std::size_t last) {
    Worst mine;
    for (std::size_t i = first; i < last; ++i) {
      const double x = points(i);
      mine.see(error_in_ulp(f(x), reference(static_cast<long double>(x))), x);
    }
    const std::scoped_lock lock(mutex);
    all.see(mine.error, mine.at);
  });
  return all;
}

/// One point in each of `many` equal parts of [low, high].
auto stratified(double low, double high) {
  return [=](std::size_t i) {
    const double jitter = uniform({.seed = 7}, i);
    return low + (high - low) * ((static_cast<double>(i) + jitter) / static_cast<double>(many));
  };
}

/// Half of them close around 1, where a logarithm is hardest, half over all normal numbers.
double for_logarithm(std::size_t i) {
  const double share = (static_cast<double>(i / 2) + uniform({.seed = 8}, i)) / (many / 2);
  return i % 2 == 0 ? 0.5 + share : std::exp2(-1021.9 + 2045.8 * share);
}

#define EXPECT_BELOW(bound, found) \
  do { \
    const Worst result = (found); \
    RecordProperty("largest_error_ulp", std::to_string(result.error)); \
    std::printf("  largest error %.4f ulp at %a\n", result.error, result.at); \
    EXPECT_LE(result.error, bound) << "at " << result.at; \
  } while (false)

#define NEEDS_FINER_REFERENCE() \
  if (!reference_is_finer) GTEST_SKIP() << "long double is no finer than double here"

TEST(Accuracy, Exp) {
  NEEDS_FINER_REFERENCE();
  const auto f = [](double x) { return exp(x); };
  const auto exact = [](long double x) { return std::exp(x); };
  EXPECT_BELOW(0.70, worst(f, exact, stratified(-708.396, 709.782)));
  EXPECT_BELOW(0.70, worst(f, exact, stratified(-1, 1)));
}

TEST(Accuracy, Exp2) {
  NEEDS_FINER_REFERENCE();
  const auto f = [](double x) { return exp2(x); };
  const auto exact = [](long double x) { return std::exp2(x); };
  EXPECT_BELOW(0.70, worst(f, exact, stratified(-1022, 1023.999)));
  EXPECT_BELOW(0.70, worst(f, exact, stratified(-1, 1)));
}

TEST(Accuracy, Exp2AtEverySeam) {
  NEEDS_FINER_REFERENCE();
  Worst found;
  for (int eighth = -1021 * 16; eighth < 1023 * 16; ++eighth) {
    double x = eighth / 16.0;
    for (int step = 0; step < 20; ++step) x = std::nextafter(x, -2000.0);
    for (int step = 0; step < 40; ++step) {
      found.see(error_in_ulp(exp2(x), std::exp2(static_cast<long double>(x))), x);
      x = std::nextafter(x, 2000.0);
    }
  }
  EXPECT_BELOW(0.70, found);
}

TEST(Accuracy, ExpAtEverySeam) {
  NEEDS_FINER_REFERENCE();
  Worst found;
  for (int sixteenth = -16300; sixteenth < 16380; ++sixteenth) {
    double x = sixteenth * (0.6931471805599453 / 16);
    for (int step = 0; step < 20; ++step) x = std::nextafter(x, -2000.0);
    for (int step = 0; step < 40; ++step) {
      found.see(error_in_ulp(exp(x), std::exp(static_cast<long double>(x))), x);
      x = std::nextafter(x, 2000.0);
    }
  }
  EXPECT_BELOW(0.70, found);
}

TEST(Accuracy, Log) {
  NEEDS_FINER_REFERENCE();
  EXPECT_BELOW(0.90, worst([](double x) { return log(x); }, [](long double x) { return std::log(x); }, for_logarithm));
}

TEST(Accuracy, Log2) {
  NEEDS_FINER_REFERENCE();
  EXPECT_BELOW(0.90,
               worst([](double x) { return log2(x); }, [](long double x) { return std::log2(x); }, for_logarithm));
}

TEST(Accuracy, LogAtEverySeam) {
  NEEDS_FINER_REFERENCE();
  Worst found;
  for (int exponent = -1020; exponent < 1020; ++exponent)
    for (const double mantissa : {1.0, 0x1.5ap-1, 0x1.6a09e667f3bcdp-1}) {
      double x = std::ldexp(mantissa, exponent);
      for (int step = 0; step < 50; ++step) x = std::nextafter(x, 0.0);
      for (int step = 0; step < 100; ++step) {
        const auto exact = static_cast<long double>(x);
        if (x != 1) found.see(error_in_ulp(log(x), std::log(exact)), x);
        if (x != 1) found.see(error_in_ulp(log2(x), std::log2(exact)), x);
        x = std::nextafter(x, infinity);
      }
    }
  EXPECT_BELOW(0.90, found);
}

TEST(Accuracy, Log1p) {
  NEEDS_FINER_REFERENCE();
  const auto f = [](double x) { return log1p(x); };
  const auto exact = [](long double x) { return std::log1p(x); };
  EXPECT_BELOW(1.5, worst(f, exact, stratified(-0.9, 3)));
  EXPECT_BELOW(1.5, worst(f, exact, [](std::size_t i) { return std::exp2(-60 * uniform({.seed = 9}, i)); }));
}

TEST(Accuracy, PowOfUsualExponents) {
  NEEDS_FINER_REFERENCE();
  constexpr std::size_t count = many / 5;
  for (const double p : {-2.0, -0.731, -0.5, 1.3, 0.5}) {
    const auto f = [p](double t) { return pow(t, p); };
    const auto exact = [p](long double t) { return std::pow(t, static_cast<long double>(p)); };
    EXPECT_BELOW(0.75, worst<count>(f, exact, [](std::size_t i) {
                   return std::exp2(-20 + 60 * (static_cast<double>(i) + uniform({.seed = 3}, i)) / count);
                 }));
  }
}

TEST(Accuracy, PowGrowsWithTheExponent) {
  NEEDS_FINER_REFERENCE();
  // The error of log2 t, up to 2^-57, weighs p times: 0.7 + 0.115 |p| ulp.
  for (const double p : {-5.0, 10.0, -20.0, 50.0, 300.0}) {
    const double octaves = std::min(40.0, 1000 / std::abs(p));
    const auto f = [p](double t) { return pow(t, p); };
    const auto exact = [p](long double t) { return std::pow(t, static_cast<long double>(p)); };
    EXPECT_BELOW(0.7 + 0.115 * std::abs(p), worst<many / 10>(f, exact, [octaves](std::size_t i) {
                   return std::exp2(octaves * (2 * uniform({.seed = 4}, i) - 1));
                 }));
  }
}

TEST(Accuracy, Erf) {
  NEEDS_FINER_REFERENCE();
  const auto f = [](double x) { return erf(x); };
  EXPECT_BELOW(5, worst(f, [](long double x) { return std::erf(x); }, stratified(-6, 6)));
}

TEST(Accuracy, Erfc) {
  NEEDS_FINER_REFERENCE();
  const auto f = [](double x) { return erfc(x); };
  const auto exact = [](long double x) { return std::erfc(x); };
  EXPECT_BELOW(8.5, worst(f, exact, stratified(-6, 6)));
  EXPECT_BELOW(8.5, worst(f, exact, stratified(5, 26.5)));
}

TEST(Accuracy, NormalProbability) {
  NEEDS_FINER_REFERENCE();
  const auto f = [](double x) { return normal_probability(x); };
  const auto exact = [](long double x) { return std::erfc(-x * 0.70710678118654752440084436210484903928L) / 2; };
  EXPECT_BELOW(9, worst(f, exact, stratified(-37, 8)));
}

TEST(Accuracy, NormalQuantileComesBack) {
  // Newton's correction in 64-bit precision gives the distance to the exact quantile.
  NEEDS_FINER_REFERENCE();
  double largest = 0;
  for (int i = 1; i < 1'000'000; ++i) {
    const double p = i % 2 == 0 ? i / 1e6 : std::exp2(-i / 1000.0);
    if (p < 1e-300) continue;
    const long double x = normal_quantile(p);
    const long double probability = std::erfc(-x * 0.70710678118654752440084436210484903928L) / 2;
    const long double density = std::exp(-x * x / 2) * 0.39894228040143267793994605993438186848L;
    const long double missed = (probability - static_cast<long double>(p)) / density;
    if (std::abs(x) > 1e-3L) largest = std::max(largest, static_cast<double>(std::abs(missed / x)));
  }
  RecordProperty("largest_relative_error", std::to_string(largest));
  EXPECT_LE(largest, 1e-15);
}

}  // namespace
}  // namespace ohmward::numerics
