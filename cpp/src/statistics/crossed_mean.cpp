#include "ohmward/statistics/crossed_mean.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <map>
#include <string>
#include <utility>

#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/two_way_components.hpp"

namespace ohmward::statistics {
namespace {

double square(double x) noexcept { return x * x; }

void require_lengths(std::size_t readings, const CrossedLabels& labels) {
  const auto require = [readings](const char* name, std::size_t size) {
    if (size != readings)
      throw InvalidParameter(name, static_cast<double>(size),
                             "as many labels as readings, " + std::to_string(readings));
  };
  require("days", labels.days.size());
  require("operators", labels.operators.size());
}

/// How many days, operators, and readings of each day by each operator.
struct Design {
  double days, operators, repeats;
};

Design balanced_design(const CrossedLabels& labels) {
  std::map<long, std::size_t> day, by_operator;
  std::map<std::pair<long, long>, std::size_t> cell;
  for (std::size_t i = 0; i < labels.days.size(); ++i) {
    ++day[labels.days[i]];
    ++by_operator[labels.operators[i]];
    ++cell[{labels.days[i], labels.operators[i]}];
  }
  const std::size_t repeats = cell.begin()->second;
  const bool complete = cell.size() == day.size() * by_operator.size();
  const bool equal = std::all_of(cell.begin(), cell.end(), [repeats](const auto& of) { return of.second == repeats; });
  if (!complete || !equal)
    throw InvalidParameter("days and operators", complete ? "unequal numbers of repeats" : "a pair that never met",
                           "every day with every operator equally often");
  return {static_cast<double>(day.size()), static_cast<double>(by_operator.size()), static_cast<double>(repeats)};
}

/// A mean square with its degrees of freedom.
struct MeanSquare {
  double value;
  double degrees_of_freedom;
};

struct MeanSquares {
  MeanSquare day, by_operator, interaction, repeat;
};

/// The mean squares that the components, as estimated, stand for.
MeanSquares mean_squares(const TwoWayComponents& of, const Design& n) noexcept {
  const double repeat = std::max(of.within.variance, 0.0);
  const double interaction = std::max(repeat + n.repeats * of.interaction.variance, 0.0);
  const double day = std::max(interaction + n.operators * n.repeats * of.first.variance, 0.0);
  const double by_operator = std::max(interaction + n.days * n.repeats * of.second.variance, 0.0);
  return {{day, n.days - 1},
          {by_operator, n.operators - 1},
          {interaction, (n.days - 1) * (n.operators - 1)},
          {repeat, n.days * n.operators * (n.repeats - 1)}};
}

/// A variance as a weighted sum of mean squares.
using Weights = std::array<double, 4>;  // day, operator, interaction, repeat

/// (larger − smaller)/size where that is positive.
double component(double larger, double smaller, double size) noexcept {
  return std::max((larger - smaller) / size, 0.0);
}

}  // namespace

CrossedMean crossed_mean(std::span<const double> readings, const CrossedLabels& labels, double display_step) {
  require_lengths(readings.size(), labels);
  if (!(display_step >= 0)) throw InvalidParameter("display_step", display_step, "at least 0");
  if (readings.empty()) return {};
  const Design n = balanced_design(labels);
  if (std::any_of(readings.begin(), readings.end(), [](double x) { return !std::isfinite(x); }))
    return {.status = Status::missing_input};
  if (n.days < 2 || n.operators < 2 || n.repeats < 2) return {};

  const TwoWayComponents components = crossed_components(readings, labels.days, labels.operators);
  MeanSquares of = mean_squares(components, n);
  const double floor = display_step / std::sqrt(12.0);
  if (of.repeat.value < square(floor)) of.repeat = {square(floor), infinity};
  const double interaction = component(of.interaction.value, of.repeat.value, n.repeats);
  const double day = component(of.day.value, of.interaction.value, n.operators * n.repeats);
  const double by_operator = component(of.by_operator.value, of.interaction.value, n.days * n.repeats);

  const double readings_count = static_cast<double>(readings.size());
  Weights weights{0, 0, 0, 1};  // of u² · count
  if (interaction > 0) weights[2] += 1, weights[3] -= 1;
  if (day > 0) weights[0] += 1, weights[2] -= 1;
  if (by_operator > 0) weights[1] += 1, weights[2] -= 1;
  const std::array squares{of.day, of.by_operator, of.interaction, of.repeat};
  double variance = 0;
  double reciprocal = 0;
  for (std::size_t k = 0; k < squares.size(); ++k) {
    const double part = weights[k] * squares[k].value / readings_count;
    variance += part;
    reciprocal += square(part) / squares[k].degrees_of_freedom;
  }
  const double u = std::sqrt(variance);
  return {.mean = components.mean,
          .repeat = std::sqrt(of.repeat.value),
          .interaction = std::sqrt(interaction),
          .between_days = std::sqrt(day),
          .between_operators = std::sqrt(by_operator),
          // A whole display step hides in every reading alike.
          .standard_uncertainty = std::max(u, floor),
          .degrees_of_freedom = u >= floor ? square(variance) / reciprocal : infinity,
          .status = n.days < 4 || n.operators < 4 ? Status::few_points : Status::sound};
}

}  // namespace ohmward::statistics
