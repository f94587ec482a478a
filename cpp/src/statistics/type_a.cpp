#include "ohmward/statistics/type_a.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/running_moments.hpp"

namespace ohmward::statistics {
namespace {

struct Moments {
  numerics::RunningMoments of;
  std::size_t count = 0;
  std::size_t missing = 0;

  void add(double x) noexcept {
    if (std::isnan(x)) {
      ++missing;
      return;
    }
    ++count;
    of.add(x);
  }
  [[nodiscard]] double mean() const noexcept { return of.mean(); }
  [[nodiscard]] double squares() const noexcept { return of.squares(); }
  [[nodiscard]] double standard_deviation() const noexcept { return of.standard_deviation(); }
};

Moments moments(std::span<const double> readings) noexcept {
  Moments sum;
  for (const double x : readings) sum.add(x);
  return sum;
}

double display_floor(double step) noexcept { return step / std::sqrt(12.0); }

MeanOfReadings as_mean(const Moments& moments, double display_step = 0) noexcept {
  const numerics::MeanEstimate estimate = numerics::mean_estimate(moments.of, display_step);
  return {.mean = estimate.mean,
          .standard_deviation = estimate.standard_deviation,
          .standard_uncertainty = estimate.standard_uncertainty,
          .degrees_of_freedom = estimate.degrees_of_freedom,
          .readings = moments.count,
          .missing = moments.missing,
          .status = estimate.status};
}

/// Ratio of the variance of a mean of n correlated readings to that of independent ones.
double correlation_inflation(std::span<const double> readings, const Moments& of) {
  std::vector<double> d;
  for (const double x : readings)
    if (!std::isnan(x)) d.push_back(x - of.mean());
  const std::size_t n = d.size();
  const auto autocorrelation = [&](std::size_t lag) {
    double sum = 0;
    for (std::size_t i = lag; i < n; ++i) sum += d[i] * d[i - lag];
    return sum / of.squares();
  };
  const auto weighted = [&](std::size_t lag) {
    return (1 - static_cast<double>(lag) / static_cast<double>(n)) * autocorrelation(lag);
  };
  double inflation = -1;  // twice the sum from lag 0 counts lag 0 twice
  for (std::size_t lag = 0; lag + 1 < n; lag += 2) {
    const double pair = weighted(lag) + weighted(lag + 1);
    if (!(pair > 0)) break;
    inflation += 2 * pair;
  }
  return std::clamp(inflation, 1.0, static_cast<double>(n));
}

}  // namespace

MeanOfReadings mean_of(std::span<const double> readings, double display_step) noexcept {
  return as_mean(moments(readings), display_step);
}

MeanOfReadings mean_of_autocorrelated(std::span<const double> readings) {
  const Moments of = moments(readings);
  MeanOfReadings result = as_mean(of);
  if (of.count < 4 || !(of.squares() > 0)) {
    if (result.status == Status::sound) result.status = Status::few_points;
    return result;
  }
  const double n = static_cast<double>(of.count);
  const double inflation = correlation_inflation(readings, of);
  // s² of correlated readings is low by the factor (n − τ)/(n − 1).
  const double low = std::max(n - inflation, 1.0) / (n - 1);
  result.standard_uncertainty = result.standard_deviation * std::sqrt(inflation / low / n);
  result.degrees_of_freedom = std::max(n / inflation - 1, 1.0);
  if (result.degrees_of_freedom < 4) result.status = Status::few_points;
  return result;
}

Pooled pooled(std::span<const double> standard_deviations, std::span<const double> degrees_of_freedom) noexcept {
  const std::span s = standard_deviations, dof = degrees_of_freedom;
  if (s.size() != dof.size() || s.empty()) return {};
  double squares = 0;
  double total = 0;
  for (std::size_t i = 0; i < s.size(); ++i) {
    squares += dof[i] * s[i] * s[i];
    total += dof[i];
  }
  return {.standard_deviation = std::sqrt(squares / total), .degrees_of_freedom = total};
}

VarianceComponents variance_components(std::span<const double> readings, std::span<const long> groups,
                                       double display_step) {
  if (readings.size() != groups.size())
    throw InvalidParameter("groups", static_cast<double>(groups.size()),
                           "as many labels as readings, " + std::to_string(readings.size()));
  std::map<long, Moments> moments_by_group;
  for (std::size_t i = 0; i < readings.size(); ++i)
    if (!std::isnan(readings[i])) moments_by_group[groups[i]].add(readings[i]);
  const Moments all = moments(readings);
  const double k = static_cast<double>(moments_by_group.size());
  const double n = static_cast<double>(all.count);
  VarianceComponents result;
  if (moments_by_group.size() < 2 || all.count <= moments_by_group.size()) return result;

  double squares_within = 0;
  double squares_between = 0;
  double sizes_squared = 0;
  bool equal_sizes = true;
  Moments of_means;
  for (const auto& [label, group] : moments_by_group) {
    const double size = static_cast<double>(group.count);
    squares_within += group.squares();
    squares_between += size * (group.mean() - all.mean()) * (group.mean() - all.mean());
    sizes_squared += size * size;
    equal_sizes = equal_sizes && group.count == moments_by_group.begin()->second.count;
    of_means.add(group.mean());
  }
  const double floor = display_floor(display_step);
  const double within = std::max(squares_within / (n - k), floor * floor);
  const double between_square = squares_between / (k - 1);
  const double size = (n - sizes_squared / n) / (k - 1);  // the common size where moments_by_group are equal
  const double between = std::max((between_square - within) / size, 0.0);
  result.mean = equal_sizes ? of_means.mean() : all.mean();
  result.within = std::sqrt(within);
  result.between = std::sqrt(between);
  result.f_ratio = between_square / within;
  result.status = moments_by_group.size() < 4 ? Status::few_points : Status::sound;
  if (between > 0) {
    result.standard_uncertainty =
        std::sqrt(equal_sizes ? between_square / n : between * sizes_squared / (n * n) + within / n);
    result.degrees_of_freedom = k - 1;
  } else {  // no sign of a group effect: all readings are one sample
    result.standard_uncertainty = std::max(all.standard_deviation(), floor) / std::sqrt(n);
    result.degrees_of_freedom = n - 1;
  }
  // A whole display step hides in every reading alike.
  result.standard_uncertainty = std::max(result.standard_uncertainty, floor);
  return result;
}

JointMeans joint_means(std::span<const double> observations, std::size_t sets) {
  if (sets < 2) throw InvalidParameter("observations", static_cast<double>(sets), "at least two sets");
  if (observations.empty() || observations.size() % sets != 0)
    throw InvalidParameter("observations", static_cast<double>(observations.size()),
                           "a whole number of quantities of " + std::to_string(sets) + " readings each");
  const std::size_t quantities = observations.size() / sets;
  const auto of = [&](std::size_t quantity) { return observations.subspan(quantity * sets, sets); };
  JointMeans result;
  for (std::size_t i = 0; i < quantities; ++i) {
    const Moments each = moments(of(i));
    if (each.missing > 0)
      throw InvalidParameter("observations", nan, "no missing reading: a set counts only as a whole");
    result.means.push_back(each.mean());
  }
  const double n = static_cast<double>(sets);
  result.degrees_of_freedom = n - 1;
  for (std::size_t i = 0; i < quantities; ++i)
    for (std::size_t j = 0; j < quantities; ++j) {
      double sum = 0;
      for (std::size_t set = 0; set < sets; ++set)
        sum += (of(i)[set] - result.means[i]) * (of(j)[set] - result.means[j]);
      result.covariance.push_back(sum / (n * (n - 1)));
    }
  return result;
}

}  // namespace ohmward::statistics
