#include "ohmward/statistics/two_way_components.hpp"

#include <Eigen/Dense>
#include <cmath>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/running_moments.hpp"
#include "statistics/groups.hpp"

namespace ohmward::statistics {
namespace {

constexpr std::size_t few_levels = 4;

std::vector<double> sizes(const Groups& grouping) {
  std::vector<double> size(grouping.count, 0.0);
  for (const std::size_t group : grouping.of) size[group] += 1;
  return size;
}

/// Readings without the missing ones, less their mean, and their labels.
struct Sample {
  double mean = nan;
  std::vector<double> deviation;
  std::vector<long> first, second;
  std::vector<std::pair<long, long>> cell;
};

struct Labels {
  const char* name;
  std::span<const long> of;
};

Sample usable(std::span<const double> readings, const Labels& first, const Labels& second) {
  if (readings.empty()) throw InvalidParameter("readings", 0, "at least one");
  for (const Labels& labels : {first, second})
    if (labels.of.size() != readings.size())
      throw InvalidParameter(labels.name, static_cast<double>(labels.of.size()),
                             "one label a reading, " + std::to_string(readings.size()));
  Sample sample;
  numerics::RunningMoments moments;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    if (!std::isfinite(readings[i])) continue;
    moments.add(readings[i]);
    sample.deviation.push_back(readings[i]);
    sample.first.push_back(first.of[i]);
    sample.second.push_back(second.of[i]);
    sample.cell.emplace_back(first.of[i], second.of[i]);
  }
  sample.mean = moments.mean();
  for (double& each : sample.deviation) each -= sample.mean;
  return sample;
}

/// Sum over groups of the squared total of each over its size.
double square_of_groups(const Sample& sample, const Groups& grouping) {
  std::vector<double> total(grouping.count, 0.0);
  for (std::size_t i = 0; i < grouping.of.size(); ++i) total[grouping.of[i]] += sample.deviation[i];
  const std::vector<double> size = sizes(grouping);
  double sum = 0;
  for (std::size_t g = 0; g < grouping.count; ++g) sum += total[g] * total[g] / size[g];
  return sum;
}

/// How often the variance of a cause enters the expectation of that sum: sum over groups of sum n_gc^2 over n_g.
double share_of_cause(const Groups& grouping, const Groups& cause) {
  std::map<std::pair<std::size_t, std::size_t>, double> together;
  for (std::size_t i = 0; i < cause.of.size(); ++i) together[{grouping.of[i], cause.of[i]}] += 1;
  const std::vector<double> size = sizes(grouping);
  double sum = 0;
  for (const auto& [pair, count] : together) sum += count * count / size[pair.first];
  return sum;
}

/// Variances of the causes, then that of one reading; empty where the design can not tell them apart.
std::vector<double> solve(const Sample& sample, const std::vector<Groups>& causes) {
  const std::size_t n = sample.deviation.size();
  const Groups all{.of = std::vector<std::size_t>(n, 0), .count = 1};
  std::vector<std::size_t> each(n);
  for (std::size_t i = 0; i < n; ++i) each[i] = i;
  std::vector<Groups> rows = causes;
  rows.push_back({.of = each, .count = n});
  const auto unknowns = static_cast<Eigen::Index>(rows.size());
  Eigen::MatrixXd expectation(unknowns, unknowns);
  Eigen::VectorXd square(unknowns);
  for (Eigen::Index r = 0; r < unknowns; ++r) {
    const Groups& row = rows[static_cast<std::size_t>(r)];
    square[r] = square_of_groups(sample, row) - square_of_groups(sample, all);
    for (Eigen::Index c = 0; c < unknowns; ++c) {
      const Groups& cause = rows[static_cast<std::size_t>(c)];
      expectation(r, c) = share_of_cause(row, cause) - share_of_cause(all, cause);
    }
  }
  Eigen::FullPivLU<Eigen::MatrixXd> solver;
  solver.setThreshold(1e-12);
  solver.compute(expectation);
  if (!solver.isInvertible()) return {};
  const Eigen::VectorXd variances = solver.solve(square);
  return {variances.data(), variances.data() + unknowns};
}

Component component(double variance, std::size_t levels) {
  return {.variance = variance, .standard_deviation = variance > 0 ? std::sqrt(variance) : 0, .levels = levels};
}

/// Variance of the mean of all readings that a cause brings about.
double part_of_mean(const Component& of, const Groups& grouping) {
  const auto n = static_cast<double>(grouping.of.size());
  double squares = 0;
  for (const double size : sizes(grouping)) squares += size * size;
  return of.standard_deviation * of.standard_deviation * squares / (n * n);
}

TwoWayComponents components(const Sample& sample, const std::vector<Groups>& causes) {
  TwoWayComponents result;
  const std::size_t n = sample.deviation.size();
  if (n < 2) return result;
  result.status = Status::no_solution;
  const std::vector<double> variances = solve(sample, causes);
  if (variances.empty()) return result;
  result.mean = sample.mean;
  result.within = component(variances.back(), n);
  double of_mean = result.within.standard_deviation * result.within.standard_deviation / static_cast<double>(n);
  Component* const places[] = {&result.first, &result.second, &result.interaction};
  result.status = Status::sound;
  for (std::size_t c = 0; c < causes.size(); ++c) {
    *places[c] = component(variances[c], causes[c].count);
    of_mean += part_of_mean(*places[c], causes[c]);
    if (causes[c].count < few_levels) result.status = Status::few_points;
  }
  result.standard_uncertainty = std::sqrt(of_mean);
  return result;
}

}  // namespace

TwoWayComponents nested_components(std::span<const double> readings, std::span<const long> outer,
                                   std::span<const long> inner) {
  const Sample sample = usable(readings, {"outer", outer}, {"inner", inner});
  return components(sample, {groups_of(sample.first), groups_of(sample.cell)});
}

TwoWayComponents crossed_components(std::span<const double> readings, std::span<const long> first,
                                    std::span<const long> second, bool interaction) {
  const Sample sample = usable(readings, {"first", first}, {"second", second});
  std::vector<Groups> causes{groups_of(sample.first), groups_of(sample.second)};
  Groups cells = groups_of(sample.cell);
  if (interaction && cells.count < sample.deviation.size()) causes.push_back(std::move(cells));
  return components(sample, causes);
}

}  // namespace ohmward::statistics
