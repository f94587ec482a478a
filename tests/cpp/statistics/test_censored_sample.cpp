#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/censored_sample.hpp"

namespace ohmward::statistics {
namespace {

using Sample = std::vector<Bounds>;

Bounds exact(double x) { return {.low = x, .high = x}; }
Bounds above(double x) { return {.low = x}; }
Bounds below(double x) { return {.high = x}; }

TEST(CensoredNormal, WithoutBoundsIsKnownExactly) {
  const CensoredSample of = censored_normal(Sample{exact(1), exact(2), exact(4), exact(5)});
  EXPECT_NEAR(of.mean, 3, 1e-14);
  EXPECT_NEAR(of.standard_deviation, std::sqrt(2.5), 1e-14);
  EXPECT_NEAR(of.mean_standard_uncertainty, std::sqrt(2.5 / 4), 1e-12);
  EXPECT_NEAR(of.standard_deviation_standard_uncertainty, std::sqrt(2.5 / 8), 1e-12);
  EXPECT_EQ(of.status, Status::few_points);
}

// A sample and its mirror image have mirrored answers; units do not matter.
TEST(CensoredNormal, MirrorsAndScales) {
  const Sample sample{exact(1), exact(1.7), exact(2.2), above(2.5), above(3), {.low = 0.5, .high = 1.5}, below(0.8)};
  Sample mirrored;
  Sample scaled;
  for (const Bounds& each : sample) {
    mirrored.push_back({.low = -each.high, .high = -each.low});
    scaled.push_back({.low = 1e9 * each.low + 5e9, .high = 1e9 * each.high + 5e9});
  }
  const CensoredSample of = censored_normal(sample);
  EXPECT_NEAR(censored_normal(mirrored).mean, -of.mean, 1e-12);
  EXPECT_NEAR(censored_normal(mirrored).standard_deviation, of.standard_deviation, 1e-12);
  EXPECT_NEAR(censored_normal(scaled).mean, 1e9 * of.mean + 5e9, 1e-2);
  EXPECT_NEAR(censored_normal(scaled).standard_deviation_standard_uncertainty,
              1e9 * of.standard_deviation_standard_uncertainty, 1e-1);
  EXPECT_EQ(of.exact, 3U);
  EXPECT_EQ(of.bounded, 4U);
}

TEST(CensoredNormal, BoundsFarOutStayFinite) {
  const CensoredSample of = censored_normal(Sample{exact(0), exact(1), exact(-1), exact(0.5), above(60), above(-50)});
  EXPECT_EQ(of.status, Status::few_points);
  EXPECT_GT(of.standard_deviation, 10);
  EXPECT_TRUE(std::isfinite(of.log_likelihood));
}

TEST(CensoredNormal, WithoutAMaximumThereIsNoValue) {
  for (const Sample& sample : {Sample{exact(1), exact(1)}, Sample{exact(1), above(0.5)}, Sample{above(5), below(3)},
                               Sample{above(1), above(2)}, Sample{above(5), below(3), above(6), below(2)}})
    EXPECT_EQ(censored_normal(sample).status, Status::no_solution);
  EXPECT_EQ(censored_normal(Sample{exact(1), {.low = nan, .high = 1}}).status, Status::too_few_points);
}

// Bounds alone fix the scatter where they overlap: those above are not all higher than those below.
TEST(CensoredNormal, OverlappingOneSidedBoundsAreEnough) {
  const CensoredSample of = censored_normal(Sample{below(1), above(1), below(2), below(2), above(2), below(3), below(3),
                                                   below(3), above(0), above(0), below(0)});
  EXPECT_EQ(of.status, Status::sound);
  EXPECT_GT(of.standard_deviation, 0);
}

TEST(CensoredLognormal, IsTheNormalOfLogarithms) {
  const CensoredSample plain = censored_normal(Sample{exact(1), exact(2), above(2.5), exact(0)});
  const CensoredSample of =
      censored_lognormal(Sample{exact(std::exp(1.0)), exact(std::exp(2.0)), above(std::exp(2.5)), exact(1)});
  EXPECT_NEAR(of.mean, plain.mean, 1e-12);
  EXPECT_NEAR(of.standard_deviation, plain.standard_deviation, 1e-12);
  EXPECT_NEAR(of.log_likelihood, plain.log_likelihood - 3, 1e-12);
}

TEST(CensoredSample, RefusesSenselessBounds) {
  EXPECT_THROW((void)censored_normal(Sample{}), InvalidParameter);
  EXPECT_THROW((void)censored_normal(Sample{{.low = 2, .high = 1}}), InvalidParameter);
  EXPECT_THROW((void)censored_normal(Sample{exact(infinity)}), InvalidParameter);
  EXPECT_THROW((void)censored_lognormal(Sample{exact(0)}), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::statistics
