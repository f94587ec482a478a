#include "thresholds/sorted_units.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "ohmward/numerics/elementary.hpp"
#include "statistics/order.hpp"

namespace ohmward::thresholds {
namespace {

using statistics::ScoredUnits;

/// Scores of one class, rising, with their weights.
struct ClassOfScores {
  std::vector<double> score, weight;

  /// Standard deviation, or that by quartiles where it is less: a heavy tail shall not widen the kernel. NaN of one.
  [[nodiscard]] double scale() const {
    constexpr double quartiles_apart = 1.349;  // of a normal distribution
    const auto n = static_cast<double>(score.size());
    double total = 0, mean = 0, squares = 0, below = 0, lower = nan, upper = nan;
    for (const double each : weight) total += each;
    for (std::size_t i = 0; i < score.size(); ++i) mean += weight[i] / total * score[i];
    for (std::size_t i = 0; i < score.size(); ++i) {
      squares += weight[i] / total * (score[i] - mean) * (score[i] - mean);
      below += weight[i] / total;
      if (std::isnan(lower) && below >= 0.25) lower = score[i];
      if (std::isnan(upper) && below >= 0.75) upper = score[i];
    }
    const double deviation = std::sqrt(squares * n / (n - 1)), apart = (upper - lower) / quartiles_apart;
    return apart > 0 && apart < deviation ? apart : deviation;
  }
};

/// Silverman's rule for the narrower class and the smaller number of units, with a power of -1/4 in place of -1/5: less
/// smooth than is best for a density, so that the bias stays below the scatter of a threshold.
double bandwidth_for(const ClassOfScores& with, const ClassOfScores& without) {
  const double a = with.scale(), b = without.scale();
  const double narrower = a > 0 && b > 0 ? std::min(a, b) : std::max(a > 0 ? a : 0, b > 0 ? b : 0);
  const double fewer = static_cast<double>(std::min(with.score.size(), without.score.size()));
  return 0.9 * narrower / std::sqrt(std::sqrt(fewer));
}

/// Of so many units in each class it does not matter where within a cell each lies.
constexpr std::size_t many = 1000;

/// Cells over all scores, or if these do not fit from the lowest score with the event to the highest without: elsewhere
/// no threshold can be best.
Cells cells_for(const ClassOfScores& with, const ClassOfScores& without) {
  const std::size_t fineness = std::min(with.score.size(), without.score.size()) < many ? 16 : 2;
  const double bandwidth = bandwidth_for(with, without);
  const double first = std::min(with.score.front(), without.score.front());
  const double last = std::max(with.score.back(), without.score.back());
  if (Cells::fit(first, last, bandwidth, fineness)) return {first, last, bandwidth, fineness};
  const auto [from, to] = std::minmax(with.score.front(), without.score.back());
  return {from, to, bandwidth, fineness};
}

/// A stretch runs on over so many empty cells: quicker than to begin another.
constexpr std::size_t widest_gap = 16;

double normal_density(double deviate) { return numerics::exp(-0.5 * deviate * deviate); }

}  // namespace

SortedUnits::SortedUnits(const ScoredUnits& scored) {
  const StudyUnits units = study_units(scored);
  weighted_ = units.weighted;
  clustered_ = units.clustered;
  std::vector<double> at;
  std::vector<std::size_t> kept;
  for (std::size_t i = 0; i < units.size(); ++i) {
    const double score = std::isfinite(units.low[i]) ? units.low[i] : units.high[i];
    if (!std::isfinite(score) || units.event[i] == ScoredUnits::unknown) continue;
    at.push_back(score);
    kept.push_back(i);
  }
  std::vector<std::size_t> number(units.clusters, units.clusters);  // of the clusters that come up
  units_.reserve(kept.size());
  for (const std::uint32_t k : statistics::rising_order(at)) {
    const std::size_t i = kept[k];
    std::size_t& group = number[units.cluster[i]];
    if (group == units.clusters) group = groups_++;
    units_.push_back({at[k], units.weight[i], group, units.event[i] == ScoredUnits::with});
  }
  set_totals();
  if (fewest() > 0) set_stretches();
}

void SortedUnits::set_totals() {
  Pair sum, squares;
  up_to_.push_back(sum);
  for (const Unit& unit : units_) {
    sum.add(unit.event, unit.weight);
    squares.add(unit.event, unit.weight * unit.weight);
    up_to_.push_back(sum);
    ++(unit.event ? with_ : without_);
  }
  equal_units_ = {sum.with * sum.with / squares.with, sum.without * sum.without / squares.without};
}

void SortedUnits::set_stretches() {
  ClassOfScores with, without;
  for (const Unit& unit : units_) {
    (unit.event ? with : without).score.push_back(unit.score);
    (unit.event ? with : without).weight.push_back(unit.weight);
  }
  cells_ = cells_for(with, without);
  up_to_cell_.resize(cells_.size());
  std::vector<std::vector<std::size_t>> of_group(groups_);
  std::vector<std::size_t> cell_of(units_.size());
  for (std::size_t i = 0; i < units_.size(); ++i) {
    of_group[units_[i].group].push_back(i);
    cell_of[i] = cells_.of(units_[i].score);
    ++up_to_cell_[cell_of[i]];
  }
  std::partial_sum(up_to_cell_.begin(), up_to_cell_.end(), up_to_cell_.begin());
  for (const std::vector<std::size_t>& members : of_group) {
    first_.push_back(stretches_.size());
    for (const bool event : {true, false}) {
      const std::size_t offset = event ? 0 : cells_.size();
      bool open = false;
      for (const std::size_t i : members) {
        if (units_[i].event != event) continue;
        const std::size_t cell = offset + cell_of[i];
        if (!open || cell > stretches_.back().cell + stretches_.back().length + widest_gap)
          stretches_.push_back({.cell = cell, .first_value = values_.size(), .length = 0});
        open = true;
        Stretch& stretch = stretches_.back();
        while (stretch.cell + stretch.length <= cell) {
          values_.push_back(0);
          ++stretch.length;
        }
        values_.back() += units_[i].weight;
      }
    }
  }
  first_.push_back(stretches_.size());
}

Weighed SortedUnits::weighed(std::span<const std::uint32_t> times) const {
  const std::size_t cells = cells_.size();
  Weighed result{.in_cell = std::vector<double>(2 * cells),
                 .with = std::vector<double>(cells),
                 .without = std::vector<double>(cells)};
  for (std::size_t g = 0; g < groups_; ++g) {
    if (times[g] == 0) continue;
    const auto factor = static_cast<double>(times[g]);
    for (std::size_t s = first_[g]; s < first_[g + 1]; ++s) {
      const double* const from = values_.data() + stretches_[s].first_value;
      double* const to = result.in_cell.data() + stretches_[s].cell;
      for (std::size_t k = 0; k < stretches_[s].length; ++k) to[k] += factor * from[k];
    }
  }
  for (std::size_t k = 0; k < cells; ++k) {
    const double with = result.in_cell[k], without = result.in_cell[cells + k];
    if (with > 0) cells_.spread(with, k, result.with);
    if (without > 0) cells_.spread(without, k, result.without);
    result.total.add(true, with);
    result.total.add(false, without);
  }
  return result;
}

Pair SortedUnits::above(double threshold, std::span<const std::uint32_t> times, const Weighed& weighed) const {
  const std::size_t cell = cells_.of(threshold), cells = cells_.size();
  Pair sum;
  for (std::size_t k = cell + 1; k < cells; ++k) {
    sum.with += weighed.in_cell[k];
    sum.without += weighed.in_cell[cells + k];
  }
  // Its own cell unit by unit.
  const auto end = units_.begin() + static_cast<std::ptrdiff_t>(up_to_cell_[cell]);
  for (auto unit = first_above(threshold); unit < end; ++unit) sum.add(unit->event, times[unit->group] * unit->weight);
  return sum;
}

std::vector<SortedUnits::Unit>::const_iterator SortedUnits::first_above(double threshold) const {
  return std::ranges::upper_bound(units_, threshold, {}, &Unit::score);
}

Pair SortedUnits::above(double threshold) const {
  const Pair below = up_to_[static_cast<std::size_t>(first_above(threshold) - units_.begin())];
  return {total().with - below.with, total().without - below.without};
}

double SortedUnits::next_above(double threshold) const {
  const auto first = first_above(threshold);
  return first == units_.end() ? infinity : first->score;
}

double SortedUnits::next_below(double threshold) const {
  const auto first = first_above(threshold);
  return first == units_.begin() ? -infinity : (first - 1)->score;
}

double SortedUnits::design_effect(double at, double odds, bool from_means) const {
  if (!weighted_ && !clustered_) return 1;
  const auto kernel = [&](const Unit& unit) { return normal_density((at - unit.score) / cells_.bandwidth()); };
  Pair mean;
  for (const Unit& unit : units_)
    if (from_means) mean.add(unit.event, unit.weight * kernel(unit) / (unit.event ? total().with : total().without));
  std::vector<double> sum(groups_);
  double independent = 0;
  for (const Unit& unit : units_) {
    const double part = kernel(unit) - (unit.event ? mean.with : mean.without);
    const double share = unit.weight / (unit.event ? total().with : total().without);
    const double factor = unit.event ? odds : -1;
    sum[unit.group] += factor * share * part;
    independent += factor * factor * share * part * part / (unit.event ? equal_units_.with : equal_units_.without);
  }
  double together = 0;
  for (const double each : sum) together += each * each;
  const auto n = static_cast<double>(groups_);
  return independent > 0 && n > 1 ? std::max(1.0, together * n / (n - 1) / independent) : 1;
}

}  // namespace ohmward::thresholds
