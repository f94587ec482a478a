#include "thresholds/sorted_units.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <unordered_map>

#include "statistics/order.hpp"

namespace ohmward::thresholds {
namespace {

using statistics::ScoredUnits;

/// Of so many units in each class it does not matter where within a cell each lies.
constexpr std::size_t many = 1000;

/// A stretch runs on over so many empty cells: quicker than to begin another.
constexpr std::size_t widest_gap = 64;

}  // namespace

SortedUnits::SortedUnits(const ScoredUnits& scored)
    : weighted_(!scored.weight.empty()), clustered_(!scored.cluster.empty()) {
  statistics::require(scored);
  std::vector<double> at;
  std::vector<std::uint32_t> kept;
  at.reserve(scored.low.size());
  kept.reserve(scored.low.size());
  for (std::size_t i = 0; i < scored.low.size(); ++i) {
    if (scored.event[i] == ScoredUnits::unknown || (weighted_ && std::isnan(scored.weight[i]))) continue;
    const double score = std::isfinite(scored.low[i]) ? scored.low[i] : scored.high[i];
    if (!std::isfinite(score) || std::isnan(scored.low[i]) || std::isnan(scored.high[i])) continue;
    at.push_back(score);
    kept.push_back(static_cast<std::uint32_t>(i));
  }
  std::unordered_map<long, std::uint32_t> number;  // of clusters, in rising order of their first unit
  units_.reserve(kept.size());
  for (const std::uint32_t k : statistics::rising_order(at)) {
    const std::size_t i = kept[k];
    auto group = static_cast<std::uint32_t>(units_.size());
    if (clustered_)
      group = number.try_emplace(scored.cluster[i], static_cast<std::uint32_t>(number.size())).first->second;
    units_.push_back({at[k], weighted_ ? scored.weight[i] : 1, group, scored.event[i] == ScoredUnits::with});
  }
  groups_ = clustered_ ? number.size() : units_.size();
  set_totals();
  if (fewest() == 0) return;
  set_cells();
  set_stretches();
}

void SortedUnits::set_totals() {
  Pair sum, squares;
  up_to_.reserve(units_.size() + 1);
  up_to_.push_back(sum);
  for (const Unit& unit : units_) {
    sum.add(unit.event, unit.weight);
    squares.add(unit.event, unit.weight * unit.weight);
    up_to_.push_back(sum);
    ++(unit.event ? with_ : without_);
  }
  equal_units_ = {sum.with * sum.with / squares.with, sum.without * sum.without / squares.without};
}

double SortedUnits::scale(bool event) const {
  constexpr double quartiles_apart = 1.349;  // of a normal distribution
  const auto n = static_cast<double>(event ? with_ : without_);
  const double all = event ? total().with : total().without;
  double mean = 0, squares = 0, below = 0, lower = nan, upper = nan;
  for (const Unit& unit : units_)
    if (unit.event == event) mean += unit.weight * (unit.score / all);
  for (const Unit& unit : units_) {
    if (unit.event != event) continue;
    squares += unit.weight / all * (unit.score - mean) * (unit.score - mean);
    below += unit.weight;
    if (std::isnan(lower) && below >= 0.25 * all) lower = unit.score;
    if (std::isnan(upper) && below >= 0.75 * all) upper = unit.score;
  }
  const double deviation = std::sqrt(squares * n / (n - 1)), apart = (upper - lower) / quartiles_apart;
  return apart > 0 && apart < deviation ? apart : deviation;
}

double SortedUnits::bandwidth() const {
  const double a = scale(true), b = scale(false);
  const double narrower = a > 0 && b > 0 ? std::min(a, b) : std::max(a > 0 ? a : 0, b > 0 ? b : 0);
  return 0.9 * narrower / std::sqrt(std::sqrt(static_cast<double>(fewest())));
}

void SortedUnits::set_cells() {
  const std::size_t fineness = fewest() < many ? 16 : 2;
  const double width = bandwidth(), first = units_.front().score, last = units_.back().score;
  if (Cells::fit(first, last, width, fineness)) {
    cells_ = {first, last, width, fineness};
  } else {
    const double lowest = std::ranges::find(units_, true, &Unit::event)->score;
    const double highest = std::find_if(units_.rbegin(), units_.rend(), [](const Unit& u) { return !u.event; })->score;
    cells_ = {std::min(lowest, highest), std::max(lowest, highest), width, fineness};
  }
  up_to_cell_.resize(cells_.size());
  for (const Unit& unit : units_) ++up_to_cell_[cells_.of(unit.score)];
  std::partial_sum(up_to_cell_.begin(), up_to_cell_.end(), up_to_cell_.begin());
}

void SortedUnits::set_stretches() {
  // Where the next unit of each group and class is to be found: a list through the units, from the highest down.
  const auto none = static_cast<std::uint32_t>(units_.size());
  std::vector<std::uint32_t> next(units_.size(), none), head(2 * groups_, none);
  for (std::uint32_t i = none; i-- > 0;) {
    std::uint32_t& first = head[2 * units_[i].group + (units_[i].event ? 0 : 1)];
    next[i] = first;
    first = i;
  }
  for (std::size_t list = 0; list < head.size(); ++list) {
    if (list % 2 == 0) first_.push_back(stretches_.size());
    const std::size_t offset = list % 2 == 0 ? 0 : cells_.size();
    bool open = false;
    for (std::uint32_t i = head[list]; i != none; i = next[i]) {
      const std::size_t cell = offset + cells_.of(units_[i].score);
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
  first_.push_back(stretches_.size());
  narrow_values();
}

void SortedUnits::narrow_values() {
  // All draws may fall on one group.
  const double most = *std::ranges::max_element(values_) * static_cast<double>(groups_);
  if (weighted_ || most > std::numeric_limits<std::uint16_t>::max()) return;
  narrow_values_.resize(values_.size());
  std::ranges::transform(values_, narrow_values_.begin(), [](double each) { return static_cast<std::uint16_t>(each); });
}

template <class Value>
void SortedUnits::add_up(std::span<const std::uint32_t> times, const std::vector<Value>& values,
                         std::vector<Value>& in_cell) const {
  for (std::size_t g = 0; g < groups_; ++g) {
    if (times[g] == 0) continue;
    const auto factor = static_cast<Value>(times[g]);
    for (std::size_t s = first_[g]; s < first_[g + 1]; ++s) {
      const Value* const from = values.data() + stretches_[s].first_value;
      Value* const to = in_cell.data() + stretches_[s].cell;
      for (std::size_t k = 0; k < stretches_[s].length; ++k) to[k] = static_cast<Value>(to[k] + factor * from[k]);
    }
  }
}

Weighed SortedUnits::weighed(std::span<const std::uint32_t> times) const {
  const std::size_t cells = cells_.size();
  Weighed result{.in_cell = std::vector<double>(2 * cells),
                 .with = std::vector<double>(cells),
                 .without = std::vector<double>(cells)};
  if (narrow_values_.empty()) {
    add_up(times, values_, result.in_cell);
  } else {
    std::vector<std::uint16_t> in_cell(2 * cells);
    add_up(times, narrow_values_, in_cell);
    std::ranges::copy(in_cell, result.in_cell.begin());
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

double SortedUnits::design_effect(double threshold, const Weighed& own, double odds, bool from_means) const {
  if (!weighted_ && !clustered_) return 1;
  const std::size_t cells = cells_.size();
  const std::size_t at = cells_.of(std::isfinite(threshold) ? threshold : units_[units_.size() / 2].score);
  const Pair mean = from_means ? Pair{own.with[at] / total().with, own.without[at] / total().without} : Pair{};
  // What a unit of each class adds to the difference where it lies.
  std::vector<double> part(2 * cells);
  for (std::size_t k = 0; k < cells; ++k) {
    part[k] = odds * (cells_.kernel(at, k) - mean.with) / total().with;
    part[cells + k] = (mean.without - cells_.kernel(at, k)) / total().without;
  }
  double independent = 0;
  for (std::size_t k = 0; k < 2 * cells; ++k) {
    const double weight = k < cells ? total().with / equal_units_.with : total().without / equal_units_.without;
    independent += own.in_cell[k] * weight * part[k] * part[k];
  }
  double together = 0;
  for (std::size_t g = 0; g < groups_; ++g) {
    double sum = 0;
    for (std::size_t s = first_[g]; s < first_[g + 1]; ++s)
      for (std::size_t k = 0; k < stretches_[s].length; ++k)
        sum += values_[stretches_[s].first_value + k] * part[stretches_[s].cell + k];
    together += sum * sum;
  }
  const auto n = static_cast<double>(groups_);
  if (clustered_) together *= n > 1 ? n / (n - 1) : 1;
  return independent > 0 ? std::max(1.0, together / independent) : 1;
}

}  // namespace ohmward::thresholds
