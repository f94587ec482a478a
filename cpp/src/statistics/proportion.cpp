#include "ohmward/statistics/proportion.hpp"

#include <cmath>

#include "ohmward/statistics/distributions.hpp"
#include "statistics/level.hpp"

namespace ohmward::statistics {
namespace {

void require(Count count, double level) {
  require_level(level);
  const auto trials = static_cast<double>(count.trials);
  if (count.trials < 0) throw InvalidParameter("trials", trials, "0 or more");
  if (count.events < 0 || count.events > count.trials)
    throw InvalidParameter("events", static_cast<double>(count.events), "0 to the number of trials");
}

}  // namespace

Proportion clopper_pearson(Count count, double level) {
  require(count, level);
  if (count.trials == 0) return {};
  const auto k = static_cast<double>(count.events);
  const auto n = static_cast<double>(count.trials);
  const double tail = (1 - level) / 2;
  return {.value = k / n,
          .low = count.events == 0 ? 0 : beta_quantile(tail, k, n - k + 1),
          .high = count.events == count.trials ? 1 : 1 - beta_quantile(tail, n - k, k + 1),
          .status = Status::sound};
}

Proportion wilson(Count count, double level) {
  require(count, level);
  if (count.trials == 0) return {};
  const auto k = static_cast<double>(count.events);
  const auto n = static_cast<double>(count.trials);
  const double z = two_sided_normal(level);
  const double total = n + z * z;
  const double centre = (k + z * z / 2) / total;
  const double half = z * std::sqrt(k / n * (n - k) + z * z / 4) / total;
  // The ends at no event and at nothing else are exact; the difference would leave rounding.
  return {.value = k / n,
          .low = count.events == 0 ? 0 : centre - half,
          .high = count.events == count.trials ? 1 : centre + half,
          .status = Status::sound};
}

}  // namespace ohmward::statistics
