#include "ohmward/numerics/quantile.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <map>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/core/floating_point.hpp"

namespace ohmward::numerics {
namespace {

constexpr int bucket_bits = 16;
constexpr std::size_t buckets = std::size_t{1} << bucket_bits;

/// Unsigned integers in the order of the doubles.
std::uint64_t ordered(double x) noexcept {
  const auto bits = std::bit_cast<std::uint64_t>(x);
  return (bits >> 63) != 0 ? ~bits : bits | std::uint64_t{1} << 63;
}

/// Order statistics of a sample, each found in the bucket of its leading bits.
class OrderStatistics {
 public:
  explicit OrderStatistics(std::span<const double> values) : values_(values), begin_(buckets + 1) {
    // The leading bits of values that lie close together are all the same: skip those.
    const auto [low, high] = std::minmax_element(values.begin(), values.end());
    low_ = ordered(*low);
    const std::uint64_t width = ordered(*high) - low_;
    shift_ = std::max(0, static_cast<int>(std::bit_width(width)) - bucket_bits);
    for (const double value : values) ++begin_[bucket(value) + 1];
    for (std::size_t i = 0; i < buckets; ++i) begin_[i + 1] += begin_[i];
  }

  /// Value number `rank` from below, 0 the smallest.
  double operator()(std::size_t rank) {
    const auto after = std::upper_bound(begin_.begin(), begin_.end(), rank);
    const auto index = static_cast<std::size_t>(after - begin_.begin()) - 1;
    std::vector<double>& content = content_of(index);
    return content[rank - begin_[index]];
  }

 private:
  [[nodiscard]] std::size_t bucket(double value) const noexcept {
    return static_cast<std::size_t>((ordered(value) - low_) >> shift_);
  }

  std::vector<double>& content_of(std::size_t index) {
    const auto [entry, is_new] = contents_.try_emplace(index);
    if (is_new) {
      for (const double value : values_)
        if (bucket(value) == index) entry
      ->second.push_back(value);
      std::sort(entry->second.begin(), entry->second.end());
    }
    return entry
    ->second;
  }

  std::span<const double> values_;
  std::vector<std::size_t> begin_;  ///< begin_[i]: how many values lie in lower buckets
  std::map<std::size_t, std::vector<double>> contents_;
  std::uint64_t low_ = 0;
  int shift_ = 0;
};

double between(double low, double high, double share) noexcept {
  return share == 0 || low == high ? low : low + share * (high - low);
}

}  // namespace

void quantiles(std::span<const double> values, std::span<const double> levels, std::span<double> out) {
  if (levels.size() != out.size())
    throw InvalidParameter("out.size()", static_cast<double>(out.size()), "one for each level");
  if (values.empty() || std::any_of(values.begin(), values.end(), [](double x) { return x != x; })) {
    std::fill(out.begin(), out.end(), nan);
    return;
  }
  OrderStatistics statistics(values);
  const auto last = static_cast<double>(values.size() - 1);
  for (std::size_t i = 0; i < levels.size(); ++i) {
    if (!(levels[i] >= 0 && levels[i] <= 1)) {
      out[i] = nan;
      continue;
    }
    const double position = levels[i] * last;
    const double below = std::floor(position);
    const auto rank = static_cast<std::size_t>(below);
    const double low = statistics(rank);
    out[i] = between(low, rank + 1 < values.size() ? statistics(rank + 1) : low, position - below);
  }
}

}  // namespace ohmward::numerics
