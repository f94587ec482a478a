#include "ohmward/statistics/survival.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/distributions.hpp"
#include "ohmward/statistics/proportion.hpp"
#include "statistics/level.hpp"

namespace ohmward::statistics {
namespace {

constexpr std::size_t few_failures = 10;
constexpr double few_expected = 5;

std::string field(std::size_t i, const char* name) { return "lifetimes[" + std::to_string(i) + "]." + name; }

void require(std::span<const Lifetime> lifetimes) {
  if (lifetimes.empty()) throw InvalidParameter("lifetimes", 0, "at least one");
  for (std::size_t i = 0; i < lifetimes.size(); ++i) {
    const Lifetime& of = lifetimes[i];
    if (!std::isfinite(of.until)) throw InvalidParameter(field(i, "until"), of.until, "a finite time");
    if (!(of.entry < of.until))
      throw InvalidParameter(field(i, "entry"), of.entry, "a time before it ends, " + std::to_string(of.until));
  }
}

/// Units at risk at ascending times: entered before, not yet left.
class RiskSet {
 public:
  explicit RiskSet(std::span<const Lifetime> lifetimes) {
    for (const Lifetime& of : lifetimes) {
      entries_.push_back(of.entry);
      exits_.push_back(of.until);
    }
    std::ranges::sort(entries_);
    std::ranges::sort(exits_);
  }

  [[nodiscard]] std::size_t at(double time) const {
    const auto entered = std::ranges::lower_bound(entries_, time) - entries_.begin();
    const auto left = std::ranges::lower_bound(exits_, time) - exits_.begin();
    return static_cast<std::size_t>(entered - left);
  }

 private:
  std::vector<double> entries_;
  std::vector<double> exits_;
};

/// Failures by time.
std::map<double, std::size_t> failures(std::span<const Lifetime> lifetimes) {
  std::map<double, std::size_t> at;
  for (const Lifetime& of : lifetimes)
    if (of.failed) ++at[of.until];
  return at;
}

SurvivalStep with_interval(SurvivalStep step, double variance_of_log, double z) {
  if (!(step.survival > 0)) return step;
  step.standard_uncertainty = step.survival * std::sqrt(variance_of_log);
  const double log_survival = std::log(step.survival);
  const double reach = std::exp(z * std::sqrt(variance_of_log) / -log_survival);
  step.low = std::exp(log_survival * reach);
  step.high = std::exp(log_survival / reach);
  return step;
}

std::vector<double> exits_of_first(std::span<const Lifetime> lifetimes) {
  const double earliest = std::ranges::min(lifetimes, {}, &Lifetime::entry).entry;
  std::vector<double> exits;
  for (const Lifetime& of : lifetimes)
    if (of.entry == earliest) exits.push_back(of.until);
  std::ranges::sort(exits);
  return exits;
}

struct Group {
  LogRankGroup counts;
  RiskSet risk;
  std::map<double, std::size_t> failures;
};

/// Groups by label, ascending.
std::vector<Group> split(std::span<const Lifetime> lifetimes, std::span<const long> labels) {
  std::map<long, std::vector<Lifetime>> members;
  for (std::size_t i = 0; i < labels.size(); ++i) members[labels[i]].push_back(lifetimes[i]);
  std::vector<Group> groups;
  for (const auto& [label, of] : members) {
    const auto failed = static_cast<std::size_t>(std::ranges::count_if(of, &Lifetime::failed));
    groups.push_back({.counts = {.label = label, .units = of.size(), .failed = failed},
                      .risk = RiskSet(of),
                      .failures = failures(of)});
  }
  return groups;
}

/// Observed less expected failures of each group, summed over times, and their covariance if all had one curve.
struct Excess {
  Eigen::VectorXd excess, expected;
  Eigen::MatrixXd covariance;
};

Excess excess_of(const std::vector<Group>& groups, const std::map<double, std::size_t>& all_failures) {
  const auto k = static_cast<Eigen::Index>(groups.size());
  Excess sum{Eigen::VectorXd::Zero(k), Eigen::VectorXd::Zero(k), Eigen::MatrixXd::Zero(k, k)};
  Eigen::VectorXd at_risk(k);
  Eigen::VectorXd observed(k);
  for (const auto& [time, count] : all_failures) {
    for (Eigen::Index g = 0; g < k; ++g) {
      const Group& group = groups[static_cast<std::size_t>(g)];
      const auto found = group.failures.find(time);
      at_risk[g] = static_cast<double>(group.risk.at(time));
      observed[g] = found == group.failures.end() ? 0 : static_cast<double>(found->second);
    }
    const double n = at_risk.sum();
    const auto d = static_cast<double>(count);
    const Eigen::VectorXd share = at_risk / n;
    sum.expected += d * share;
    sum.excess += observed - d * share;
    if (n > 1)
      sum.covariance += d * (n - d) / (n - 1) * (Eigen::MatrixXd(share.asDiagonal()) - share * share.transpose());
  }
  return sum;
}

}  // namespace

SurvivalStep SurvivalCurve::at(double time) const {
  if (!(time <= last_time)) return {.time = time};
  const auto after = std::ranges::upper_bound(steps, time, {}, &SurvivalStep::time);
  if (after != steps.begin()) return *(after - 1);
  const auto outlived = first_exits.end() - std::ranges::lower_bound(first_exits, time);
  const Proportion whole = clopper_pearson({.events = outlived, .trials = outlived}, level);
  return {.time = time, .survival = 1, .low = whole.low, .high = 1};
}

SurvivalCurve kaplan_meier(std::span<const Lifetime> lifetimes, double level) {
  require_level(level);
  require(lifetimes);
  const double z = two_sided_normal(level);
  const RiskSet risk(lifetimes);
  SurvivalCurve curve{.steps = {},
                      .last_time = std::ranges::max(lifetimes, {}, &Lifetime::until).until,
                      .level = level,
                      .first_exits = exits_of_first(lifetimes)};
  double survival = 1;
  double variance_of_log = 0;
  bool died_out = false;
  std::size_t failed = 0;
  for (const auto& [time, count] : failures(lifetimes)) {
    const std::size_t at_risk = risk.at(time);
    const auto n = static_cast<double>(at_risk);
    const auto d = static_cast<double>(count);
    died_out = died_out || survival == 0;
    survival *= (n - d) / n;
    variance_of_log += d / (n * (n - d));
    failed += count;
    curve.steps.push_back(
        with_interval({.time = time, .at_risk = at_risk, .failed = count, .survival = survival}, variance_of_log, z));
  }
  if (failed > 0) curve.status = died_out || failed < few_failures ? Status::few_points : Status::sound;
  return curve;
}

LogRank log_rank(std::span<const Lifetime> lifetimes, std::span<const long> groups) {
  require(lifetimes);
  if (groups.size() != lifetimes.size())
    throw InvalidParameter("groups", static_cast<double>(groups.size()),
                           "one label a lifetime, " + std::to_string(lifetimes.size()));
  const std::vector<Group> members = split(lifetimes, groups);
  const Excess excess = excess_of(members, failures(lifetimes));
  LogRank result;
  for (std::size_t g = 0; g < members.size(); ++g) {
    result.groups.push_back(members[g].counts);
    result.groups[g].expected = excess.expected[static_cast<Eigen::Index>(g)];
  }
  // The groups' excesses add up to 0, so the covariance lacks one rank, or more where groups never met.
  Eigen::CompleteOrthogonalDecomposition<Eigen::MatrixXd> solver;
  solver.setThreshold(1e-10);
  solver.compute(excess.covariance);
  if (solver.rank() < 1) return result;
  result.chi_squared = excess.excess.dot(solver.solve(excess.excess));
  result.degrees_of_freedom = static_cast<double>(solver.rank());
  result.p_value = chi_squared_upper(result.chi_squared, result.degrees_of_freedom);
  const bool few =
      std::ranges::any_of(result.groups, [](const LogRankGroup& of) { return of.expected < few_expected; });
  result.status = few ? Status::few_points : Status::sound;
  return result;
}

}  // namespace ohmward::statistics
