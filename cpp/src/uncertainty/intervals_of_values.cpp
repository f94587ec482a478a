#include "uncertainty/intervals_of_values.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <mutex>
#include <vector>

#include "ohmward/numerics/parallel.hpp"

namespace ohmward::uncertainty {
namespace {

/// Sorts values that lie without large gaps: one bucket a value, then the little that is left inside each.
void sort_by_buckets(std::vector<double>& values) {
  if (values.size() < 256) {
    std::sort(values.begin(), values.end());
    return;
  }
  const auto [least, most] = std::minmax_element(values.begin(), values.end());
  const double low = *least;
  const double width = *most - low;
  if (!(width > 0)) return;
  const std::size_t buckets = values.size();
  const double per_width = static_cast<double>(buckets - 1) / width;
  const auto bucket = [=](double x) { return static_cast<std::uint32_t>((x - low) * per_width); };
  std::vector<std::uint32_t> begin(buckets + 1, 0);
  for (const double x : values) ++begin[bucket(x) + 1];
  for (std::size_t i = 0; i < buckets; ++i) begin[i + 1] += begin[i];
  std::vector<double> sorted(values.size());
  std::vector<std::uint32_t> next(begin.begin(), begin.end() - 1);
  for (const double x : values) sorted[next[bucket(x)]++] = x;
  for (std::size_t i = 0; i < buckets; ++i)
    if (begin[i + 1] - begin[i] > 1) std::sort(sorted.begin() + begin[i], sorted.begin() + begin[i + 1]);
  values.swap(sorted);
}

/// Values are looked at in pieces, each by one thread.
constexpr std::size_t piece_size = 1 << 14;

std::size_t pieces(std::span<const double> values) noexcept { return (values.size() + piece_size - 1) / piece_size; }
std::span<const double> piece(std::span<const double> values, std::size_t number) noexcept {
  return values.subspan(number * piece_size, std::min(piece_size, values.size() - number * piece_size));
}

struct Outer {
  std::vector<double> low;
  std::vector<double> high;
};

/// Values at or beyond the two lines; written without a branch, since which ones they are is random.
Outer outside(std::span<const double> values, double low_line, double high_line) {
  Outer found{std::vector<double>(values.size()), std::vector<double>(values.size())};
  std::size_t lows = 0;
  std::size_t highs = 0;
  for (const double x : values) {
    found.low[lows] = x;
    lows += x <= low_line ? 1 : 0;
    found.high[highs] = x;
    highs += x >= high_line ? 1 : 0;
  }
  found.low.resize(lows);
  found.high.resize(highs);
  return found;
}

}  // namespace

SortedTails::SortedTails(std::span<const double> values, double level, std::span<const double> rough_order, int threads)
    : count_(values.size()) {
  const double wanted = level * static_cast<double>(count_);
  // q = pM where that is whole, else the nearest whole number (7.7.2).
  held_ = static_cast<std::size_t>(std::floor(wanted + 0.5));
  held_ = std::clamp<std::size_t>(held_, 1, count_ - 1);
  const std::size_t tail = count_ - held_;
  const auto border = lines(values, tail, rough_order, threads);
  const double low_line = border.first;
  const double high_line = border.second;
  std::vector<Outer> found(pieces(values));
  numerics::in_parallel(
      found.size(), threads,
      [&](std::size_t begin, std::size_t end) {
        for (std::size_t p = begin; p < end; ++p) found[p] = outside(piece(values, p), low_line, high_line);
      },
      1);
  for (const Outer& of : found) {
    low_.insert(low_.end(), of.low.begin(), of.low.end());
    high_.insert(high_.end(), of.high.begin(), of.high.end());
  }
  if (low_.size() < tail || high_.size() < tail) {  // values so close that the lines are no longer sharp
    low_.assign(values.begin(), values.end());
    high_ = low_;
  }
  numerics::in_parallel(
      2, threads,
      [&](std::size_t begin, std::size_t end) {
        for (std::size_t side = begin; side < end; ++side) sort_by_buckets(side == 0 ? low_ : high_);
      },
      1);
  high_.erase(high_.begin(), high_.end() - static_cast<std::ptrdiff_t>(tail));
  low_.resize(tail);
}

/// Lines below and above which at least `tail` values lie, and not many more.
std::pair<double, double> SortedTails::lines(std::span<const double> values, std::size_t tail,
                                             std::span<const double> edges, int threads) {
  constexpr std::size_t bins = 4096;
  const double low = edges[0];
  const double high = edges[1];
  const double per_width = static_cast<double>(bins - 2) / (high - low);
  if (!(high > low) || !std::isfinite(per_width)) return {infinity, -infinity};
  // The first and the last bin take everything outside the edges.
  const auto bin = [=](double x) {
    const double place = std::clamp((x - low) * per_width + 1, 0.0, static_cast<double>(bins - 1));
    return static_cast<std::size_t>(static_cast<std::int32_t>(place));
  };
  std::vector<std::uint32_t> count(bins, 0);
  std::mutex adding;
  numerics::in_parallel(
      pieces(values), threads,
      [&](std::size_t begin, std::size_t end) {
        std::vector<std::uint32_t> table(4 * bins, 0);  // neighbours in one bin need not wait for each other
        for (std::size_t p = begin; p < end; ++p) {
          const std::span<const double> part = piece(values, p);
          std::size_t i = 0;
          for (; i + 4 <= part.size(); i += 4)
            for (std::size_t k = 0; k < 4; ++k) ++table[k * bins + bin(part[i + k])];
          for (; i < part.size(); ++i) ++table[bin(part[i])];
        }
        const std::scoped_lock lock(adding);
        for (std::size_t b = 0; b < bins; ++b)
          count[b] += table[b] + table[bins + b] + table[2 * bins + b] + table[3 * bins + b];
      },
      1);
  const auto edge = [&](std::size_t b) {
    if (b == 0) return -infinity;
    return b >= bins - 1 ? infinity : low + static_cast<double>(b - 1) / per_width;
  };
  std::size_t first = 0;
  for (std::size_t below = count[0]; below < tail; below += count[++first]) {
  }
  std::size_t last = bins - 1;
  for (std::size_t above = count[last]; above < tail; above += count[--last]) {
  }
  // A hair further out than the edges of the bins, so that rounding at an edge loses no value.
  const double hair = 1e-3 / per_width;
  const double low_line = first == bins - 1 ? infinity : edge(first + 1) + hair;
  const double high_line = last == 0 ? -infinity : edge(last) - hair;
  return {low_line, high_line};
}

double SortedTails::order_statistic(std::size_t rank) const {
  if (rank <= low_.size()) return low_[rank - 1];
  const std::size_t from_top = count_ - rank;
  return high_[high_.size() - 1 - from_top];
}

Interval SortedTails::symmetric() const {
  const std::size_t r = std::max<std::size_t>(1, (count_ - held_ + 1) / 2);
  return {.low = order_statistic(r), .high = order_statistic(r + held_)};
}

Interval SortedTails::shortest() const {
  std::size_t best = 0;
  double least = infinity;
  for (std::size_t r = 0; r < low_.size(); ++r) {
    const double width = high_[r] - low_[r];
    if (width < least) {
      least = width;
      best = r;
    }
  }
  return {.low = low_[best], .high = high_[best]};
}

}  // namespace ohmward::uncertainty
