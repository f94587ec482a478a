#include "ohmward/statistics/crossed_components.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <string>
#include <utility>

#include "ohmward/core/errors.hpp"

namespace ohmward::statistics {
namespace {

struct Sum {
  double sum = 0;
  double count = 0;

  void add(double x) noexcept {
    sum += x;
    ++count;
  }
  [[nodiscard]] double mean() const noexcept { return sum / count; }
};

double square(double x) noexcept { return x * x; }

/// Means of everything that a factor tells apart; readings are taken from `origin`, so that close ones keep their
/// digits.
struct Means {
  Sum all;
  std::map<long, Sum> day;
  std::map<long, Sum> by_operator;
  std::map<std::pair<long, long>, Sum> cell;
};

Means means_of(std::span<const double> readings, const CrossedLabels& labels, double origin) {
  Means means;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const double x = readings[i] - origin;
    means.all.add(x);
    means.day[labels.days[i]].add(x);
    means.by_operator[labels.operators[i]].add(x);
    means.cell[{labels.days[i], labels.operators[i]}].add(x);
  }
  return means;
}

void require_lengths(std::size_t readings, const CrossedLabels& labels) {
  const auto require = [readings](const char* name, std::size_t size) {
    if (size != readings)
      throw InvalidParameter(name, static_cast<double>(size),
                             "as many labels as readings, " + std::to_string(readings));
  };
  require("days", labels.days.size());
  require("operators", labels.operators.size());
}

void require_balance(const Means& means) {
  const double repeats = means.cell.begin()->second.count;
  const bool complete = means.cell.size() == means.day.size() * means.by_operator.size();
  const bool equal = std::all_of(means.cell.begin(), means.cell.end(),
                                 [repeats](const auto& cell) { return cell.second.count == repeats; });
  if (!complete || !equal)
    throw InvalidParameter("days and operators", complete ? "unequal numbers of repeats" : "a pair that never met",
                           "every day with every operator equally often");
}

/// A mean square with its degrees of freedom.
struct MeanSquare {
  double value;
  double degrees_of_freedom;
};

struct MeanSquares {
  MeanSquare day, by_operator, interaction, repeat;
};

MeanSquares mean_squares(std::span<const double> readings, const CrossedLabels& labels, double origin,
                         const Means& means) {
  const double days = static_cast<double>(means.day.size());
  const double operators = static_cast<double>(means.by_operator.size());
  const double repeats = means.cell.begin()->second.count;
  const double grand = means.all.mean();
  double of_day = 0, of_operator = 0, of_interaction = 0, of_repeat = 0;
  for (const auto& [label, day] : means.day) of_day += square(day.mean() - grand);
  for (const auto& [label, one] : means.by_operator) of_operator += square(one.mean() - grand);
  for (const auto& [label, cell] : means.cell)
    of_interaction +=
        square(cell.mean() - means.day.at(label.first).mean() - means.by_operator.at(label.second).mean() + grand);
  for (std::size_t i = 0; i < readings.size(); ++i)
    of_repeat += square(readings[i] - origin - means.cell.at({labels.days[i], labels.operators[i]}).mean());
  const auto over = [](double squares, double dof) { return MeanSquare{squares / dof, dof}; };
  return {over(operators * repeats * of_day, days - 1), over(days * repeats * of_operator, operators - 1),
          over(repeats * of_interaction, (days - 1) * (operators - 1)),
          over(of_repeat, days * operators * (repeats - 1))};
}

/// A variance as a weighted sum of mean squares.
using Weights = std::array<double, 4>;  // day, operator, interaction, repeat

/// (larger − smaller)/size where that is positive.
double component(double larger, double smaller, double size) noexcept {
  return std::max((larger - smaller) / size, 0.0);
}

}  // namespace

CrossedComponents crossed_components(std::span<const double> readings, const CrossedLabels& labels,
                                     double display_step) {
  require_lengths(readings.size(), labels);
  if (!(display_step >= 0)) throw InvalidParameter("display_step", display_step, "at least 0");
  if (readings.empty()) return {};
  const double origin = readings[0];
  const Means means = means_of(readings, labels, origin);
  require_balance(means);
  if (std::any_of(readings.begin(), readings.end(), [](double x) { return !std::isfinite(x); }))
    return {.status = Status::missing_input};
  const double days = static_cast<double>(means.day.size());
  const double operators = static_cast<double>(means.by_operator.size());
  const double repeats = means.cell.begin()->second.count;
  if (days < 2 || operators < 2 || repeats < 2) return {};

  MeanSquares of = mean_squares(readings, labels, origin, means);
  const double floor = display_step / std::sqrt(12.0);
  if (of.repeat.value < square(floor)) of.repeat = {square(floor), infinity};
  const double interaction = component(of.interaction.value, of.repeat.value, repeats);
  const double day = component(of.day.value, of.interaction.value, operators * repeats);
  const double by_operator = component(of.by_operator.value, of.interaction.value, days * repeats);

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
  return {.mean = origin + means.all.mean(),
          .repeat = std::sqrt(of.repeat.value),
          .interaction = std::sqrt(interaction),
          .between_days = std::sqrt(day),
          .between_operators = std::sqrt(by_operator),
          // A whole display step hides in every reading alike.
          .standard_uncertainty = std::max(u, floor),
          .degrees_of_freedom = u >= floor ? square(variance) / reciprocal : infinity,
          .status = days < 4 || operators < 4 ? Status::few_points : Status::sound};
}

}  // namespace ohmward::statistics
