#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "made_units.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/thresholds/best_threshold.hpp"
#include "ohmward/thresholds/decision_curve.hpp"

namespace ohmward::thresholds {
namespace {

using Numbers = std::vector<double>;

TEST(DecisionCurve, OfACohortIsHitsLessFalseAlarmsAUnit) {
  const MadeUnits all = made_units(4, {.units = 200});
  double hits = 0, alarms = 0, events = 0;
  for (std::size_t i = 0; i < all.score.size(); ++i) {
    events += all.event[i];
    (all.event[i] == 1 ? hits : alarms) += all.score[i] > 0.4 ? 1 : 0;
  }
  const Numbers probability{0.05, 0.3};
  const DecisionCurve of = decision_curve(all.units(), 0.4, probability);
  for (std::size_t k = 0; k < probability.size(); ++k) {
    const double odds = probability[k] / (1 - probability[k]);
    EXPECT_NEAR(of.rule.value[k], (hits - odds * alarms) / 200, 1e-14);
    EXPECT_NEAR(of.all[k], (events - odds * (200 - events)) / 200, 1e-14);
    EXPECT_LT(of.rule.low[k], of.rule.value[k]);
    EXPECT_GT(of.rule.high[k], of.rule.value[k]);
    EXPECT_GE(of.best[k], std::max({0.0, of.all[k], of.rule.value[k]}) - 1e-14);
  }
  EXPECT_NEAR(of.prevalence, events / 200, 1e-15);
}

// Acting at probability p is a false alarm at cost p and a miss at cost 1 - p: one optimum, seen from both sides.
TEST(DecisionCurve, ItsBestIsTheLeastCostOfAnyThreshold) {
  const MadeUnits all = made_units(6, {.units = 300});
  Numbers tried(all.score);
  tried.push_back(-infinity);
  for (const double p : {0.1, 0.2, 0.4}) {
    Rule least;
    for (const double threshold : tried)
      if (const Rule rule = rule_at(all.units(), threshold, {1 - p, p, 0.25}); !(rule.cost >= least.cost)) least = rule;
    const DecisionCurve of = decision_curve(all.units(), least.threshold, Numbers{p}, 0.25);
    EXPECT_NEAR(of.rule.value[0], of.best[0], 1e-14);
    EXPECT_NEAR(of.best[0], 0.25 - least.cost / (1 - p), 1e-14);
  }
}

TEST(DecisionCurve, RefusesWhatMakesNoSense) {
  const MadeUnits all = made_units(4, {.units = 40});
  EXPECT_THROW((void)decision_curve(all.units(), 0, Numbers{0}), InvalidParameter);
  EXPECT_THROW((void)decision_curve(all.units(), 0, Numbers{0.5}, 1), InvalidParameter);
  EXPECT_THROW((void)decision_curve(all.units(), nan, Numbers{0.5}), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::thresholds
