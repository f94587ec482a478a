#include "ohmward/battery/stand_out.hpp"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>

#include "ohmward/core/errors.hpp"
#include "statistics/quiet_policy.hpp"

namespace ohmward::battery {
namespace {

constexpr std::size_t fewest = 5;

/// Greatest Studentized deviate that `count` clean values exceed with probability `risk`. Source: `rosner-1983`.
double critical_deviate(double count, double risk) {
  const boost::math::students_t_distribution<double, statistics::QuietPolicy> t(count - 2);
  const double quantile = boost::math::quantile(boost::math::complement(t, risk / (2 * count)));
  return (count - 1) * quantile / std::sqrt((count - 2 + quantile * quantile) * count);
}

}  // namespace

StandOut stand_out(std::span<const double> values, const StandOutParts& parts) {
  if (!(parts.risk > 0 && parts.risk < 1)) throw InvalidParameter("risk", parts.risk, "between 0 and 1");
  if (!(parts.least_spread >= 0)) throw InvalidParameter("least_spread", parts.least_spread, "at least 0");
  StandOut result;
  result.which.assign(values.size(), false);
  std::vector<std::size_t> left;
  for (std::size_t i = 0; i < values.size(); ++i)
    if (std::isfinite(values[i])) left.push_back(i);
  if (left.size() < fewest) return result;
  result.status = Status::sound;
  const auto describe = [&] {
    double mean = 0, square = 0;
    for (const std::size_t i : left) mean += values[i] / static_cast<double>(left.size());
    for (const std::size_t i : left) square += (values[i] - mean) * (values[i] - mean);
    result.centre = mean;
    result.spread = std::max(parts.least_spread, std::sqrt(square / static_cast<double>(left.size() - 1)));
  };
  // The test removes the most extreme value step by step; the last step that is significant names all before it too.
  const std::size_t most = std::max<std::size_t>(1, left.size() / 5);
  std::vector<std::size_t> removed;
  std::size_t named = 0;
  for (std::size_t step = 0; step < most; ++step) {
    describe();
    const auto extreme = std::max_element(left.begin(), left.end(), [&](std::size_t a, std::size_t b) {
      return std::abs(values[a] - result.centre) < std::abs(values[b] - result.centre);
    });
    const double deviate = result.spread > 0 ? std::abs(values[*extreme] - result.centre) / result.spread : 0;
    const double critical = critical_deviate(static_cast<double>(left.size()), parts.risk);
    removed.push_back(*extreme);
    left.erase(extreme);
    if (deviate > critical) named = step + 1;
  }
  for (std::size_t i = named; i < removed.size(); ++i) left.push_back(removed[i]);
  for (std::size_t i = 0; i < named; ++i) result.which[removed[i]] = true;
  describe();
  return result;
}

}  // namespace ohmward::battery
