#pragma once

#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

#include "ohmward/fleet/trend.hpp"
#include "ohmward/numerics/elementary.hpp"
#include "ohmward/statistics/censored_regression.hpp"

namespace ohmward::fleet {

inline constexpr double days_per_year = 365.25;

/// Independent share of an uncertainty: the meter's common gain and the law's constant are shared by all readings.
inline double independent(const uncertainty::Quantity& q) noexcept {
  uncertainty::Parts parts = q.parts;
  parts.set(uncertainty::Part::gain, 0);
  parts.set(uncertainty::Part::law, 0);
  return parts.combined();
}

inline bool usable(const uncertainty::Quantity& q) noexcept {
  return has_value(q.status) && q.censoring != Censoring::overload && q.value > 0 && std::isfinite(q.value);
}

/// A history as the regressions take it, in rising time.
struct Prepared {
  std::vector<double> day;
  std::vector<statistics::Observation> y;
  std::vector<double> by_law;  // change of ln R for one standard uncertainty of the law's constant
  std::vector<int> stretch;    // between repairs
  std::size_t left_out = 0;

  [[nodiscard]] std::size_t size() const noexcept { return day.size(); }
};

inline Prepared prepare(std::span<const HistoryReading> history, const temperature::Law& law,
                        double reference_celsius) {
  std::vector<HistoryReading> sorted(history.begin(), history.end());
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const HistoryReading& a, const HistoryReading& b) { return a.day < b.day; });
  Prepared p;
  int stretch = 0;
  const bool correct = law.kind != temperature::LawKind::none;
  for (const HistoryReading& reading : sorted) {
    if (reading.after_repair && !p.day.empty()) ++stretch;
    uncertainty::Quantity q = reading.resistance;
    double by_law = 0;
    if (correct) {
      const temperature::Conditions at{.law = law,
                                       .part_celsius = reading.part_celsius,
                                       .standard_uncertainty_kelvin = reading.standard_uncertainty_kelvin,
                                       .reference_celsius = reference_celsius};
      const temperature::Factor factor = temperature::factor_to_reference(at);
      by_law = factor.value > 1 ? factor.u_law : -factor.u_law;
      q = temperature::to_reference(q, at);
    }
    if (!usable(q) || !std::isfinite(reading.day)) {
      ++p.left_out;
      continue;
    }
    p.day.push_back(reading.day);
    p.y.push_back({.y = numerics::log(q.value), .censoring = q.censoring, .standard_uncertainty = independent(q)});
    p.by_law.push_back(by_law);
    p.stretch.push_back(stretch);
  }
  // Stretches that hold readings, counted from 0 without gaps.
  int next = -1, before = -1;
  for (int& s : p.stretch) {
    if (s != before) ++next;
    before = s;
    s = next;
  }
  return p;
}

/// Regressors of a line with a step at each repair: 1, years from the middle, and 1 from each repair on.
struct Line {
  double middle_day = 0;
  std::size_t repairs = 0;

  explicit Line(const Prepared& p) : repairs(static_cast<std::size_t>(p.stretch.back())) {
    for (const double day : p.day) middle_day += day / static_cast<double>(p.size());
  }
  [[nodiscard]] std::size_t coefficients() const noexcept { return 2 + repairs; }
  [[nodiscard]] std::vector<double> at(double day, int stretch) const {
    std::vector<double> row{1, (day - middle_day) / days_per_year};
    for (std::size_t s = 0; s < repairs; ++s) row.push_back(static_cast<std::size_t>(stretch) > s ? 1 : 0);
    return row;
  }
  [[nodiscard]] std::vector<double> all(const Prepared& p) const {
    std::vector<double> x;
    for (std::size_t i = 0; i < p.size(); ++i)
      for (const double value : at(p.day[i], p.stretch[i])) x.push_back(value);
    return x;
  }
};

/// Takes out readings that lie off both neighbours on the same side, by four times the scatter of like parts and by a
/// factor of 2; tells how many.
inline std::size_t take_out_odd(Prepared& p, const LikeScatter& like) {
  if (!like.known()) return 0;
  constexpr double deviations = 4, least_factor = 2;
  const double far = std::max(deviations * like.scatter, std::log(least_factor));
  const auto off = [&](std::size_t i, std::size_t j) {
    const statistics::Observation &a = p.y[i], &b = p.y[j];
    if (a.censoring != Censoring::exact || b.censoring != Censoring::exact || p.stretch[i] != p.stretch[j]) return 0;
    const double rise = a.y - b.y;
    if (rise > far) return 1;
    return rise < -far ? -1 : 0;
  };
  std::vector<std::size_t> odd;
  for (std::size_t i = 1; i + 1 < p.size(); ++i) {
    const int before = off(i, i - 1);
    if (before != 0 && before == off(i, i + 1)) odd.push_back(i);
  }
  for (auto i = odd.rbegin(); i != odd.rend(); ++i) {
    const auto at = static_cast<std::ptrdiff_t>(*i);
    p.day.erase(p.day.begin() + at);
    p.y.erase(p.y.begin() + at);
    p.by_law.erase(p.by_law.begin() + at);
    p.stretch.erase(p.stretch.begin() + at);
  }
  return odd.size();
}

/// A scatter found from some degrees of freedom, drawn towards what like parts show.
struct Scatter {
  double value = nan;
  double degrees_of_freedom = nan;
};

inline Scatter drawn_together(double own, double own_freedom, const LikeScatter& like) noexcept {
  const double d = own_freedom > 0 && own >= 0 ? own_freedom : 0, d0 = like.known() ? like.degrees_of_freedom : 0;
  const double square = (d > 0 ? d * own * own : 0) + (d0 > 0 ? d0 * like.scatter * like.scatter : 0);
  return {std::sqrt(square / (d + d0)), d + d0};
}

/// The observations with a scatter joined to the uncertainty of each.
inline std::vector<statistics::Observation> with_scatter(std::span<const statistics::Observation> y, double scatter) {
  std::vector<statistics::Observation> out(y.begin(), y.end());
  for (statistics::Observation& o : out) o.standard_uncertainty = std::hypot(o.standard_uncertainty, scatter);
  return out;
}

}  // namespace ohmward::fleet
