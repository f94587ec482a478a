#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "ohmward/numerics/normal.hpp"
#include "ohmward/numerics/random.hpp"
#include "ohmward/thresholds/attenuation.hpp"

namespace ohmward::thresholds {
namespace {

using statistics::Observation;

struct TwoClasses {
  std::vector<Observation> with, without;

  [[nodiscard]] statistics::Area area() const {
    std::vector<double> low, high;
    std::vector<std::uint8_t> event;
    const auto add = [&](const std::vector<Observation>& scores, std::uint8_t label) {
      for (const Observation& o : scores) {
        low.push_back(o.censoring == Censoring::below ? -infinity : o.y);
        high.push_back(o.censoring == Censoring::above ? infinity : o.y);
        event.push_back(label);
      }
    };
    add(with, 1);
    add(without, 0);
    return statistics::area_under_curve({.low = low, .high = high, .event = event}).middle;
  }
  [[nodiscard]] Attenuation attenuated() const { return attenuation(with, without, area()); }
};

/// Classes of scatter 1 that lie `apart`, read by meters with u from 0.5 u to 1.5 u, over range beyond the ceiling.
TwoClasses made(std::uint64_t seed, std::size_t n, double apart, double u, double ceiling = infinity) {
  TwoClasses classes;
  for (std::size_t i = 0; i < 2 * n; ++i) {
    const double own_u = u * (0.5 + numerics::uniform({seed, 1}, i));
    const double read = (i < n ? apart : 0) + numerics::normal({seed, 2}, i) + own_u * numerics::normal({seed, 3}, i);
    const bool over = read > ceiling;
    (i < n ? classes.with : classes.without)
        .push_back({over ? ceiling : read, over ? Censoring::above : Censoring::exact, own_u});
  }
  return classes;
}

TEST(Attenuation, RecoversAKnownTruth) {
  const double truth = numerics::normal_probability(1.5 / std::sqrt(2.0));
  const Attenuation of = made(42, 20'000, 1.5, 1.0).attenuated();
  EXPECT_LT(of.area_as_read, truth - 0.05);
  EXPECT_NEAR(of.area_without_meter, truth, 0.006);
  EXPECT_NEAR(of.normal_area_without_meter, truth, 0.006);
  EXPECT_NEAR(of.with.scatter, 1, 0.03);
  EXPECT_NEAR(of.meter_share, 1.0833 / 2.0833, 0.01);  // mean u² of a rectangle from 0.5 to 1.5
  EXPECT_LT(of.low, truth);
  EXPECT_GT(of.high, truth);
}

TEST(Attenuation, RecoversItBehindACeiling) {
  const double truth = numerics::normal_probability(1.5 / std::sqrt(2.0));
  EXPECT_NEAR(made(43, 20'000, 1.5, 0.7, 2.5).attenuated().normal_area_without_meter, truth, 0.008);
}

TEST(Attenuation, APerfectMeterChangesNothing) {
  const Attenuation of = made(1, 100, 1, 0).attenuated();
  EXPECT_NEAR(of.area_without_meter, of.area_as_read, 1e-12);
  EXPECT_NEAR(of.meter_share, 0, 1e-12);
}

// 500 studies of 60 a class: the interval covers the truth as often as it says.
TEST(Attenuation, ItsIntervalCovers) {
  const double truth = numerics::normal_probability(1.5 / std::sqrt(2.0));
  int covered = 0;
  for (std::uint64_t study = 0; study < 500; ++study) {
    const Attenuation of = made(7000 + study, 60, 1.5, 0.6).attenuated();
    covered += of.low <= truth && truth <= of.high ? 1 : 0;
  }
  EXPECT_GT(covered, 460);
  EXPECT_LT(covered, 490);
}

TEST(Attenuation, RefusesWhereTheMeterScattersAsMuchAsTheScores) {
  TwoClasses classes = made(2, 30, 1, 0);
  for (auto* scores : {&classes.with, &classes.without})
    for (Observation& each : *scores) each.standard_uncertainty = 3;
  const Attenuation of = classes.attenuated();
  EXPECT_EQ(of.status, Status::inside_noise);
  EXPECT_TRUE(std::isnan(of.area_without_meter));
}

TEST(Attenuation, FewOrNoReadingsSaySo) {
  EXPECT_EQ(attenuation({}, {}, {}).status, Status::too_few_points);
  EXPECT_EQ(made(3, 6, 1, 0.2).attenuated().status, Status::few_points);
}

}  // namespace
}  // namespace ohmward::thresholds
