#include "ohmward/statistics/censored_sample.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/running_moments.hpp"
#include "statistics/normal_tail.hpp"

namespace ohmward::statistics {
namespace {

constexpr std::size_t few_observations = 10;
/// An interval narrower than this share of the scatter counts as its middle: that is exact to 4e-10 of the likelihood.
constexpr double narrow = 1e-4;

/// Logarithm of a likelihood with its first and second derivatives by a = mean / s and t = 1 / s.
struct Likelihood {
  double value = 0;
  double by_a = 0, by_t = 0;
  double by_aa = 0, by_at = 0, by_tt = 0;

  [[nodiscard]] double determinant() const noexcept { return by_aa * by_tt - by_at * by_at; }
};

/// A term z = t x - a: its derivative by a is -1, by t it is x.
void add(Likelihood& sum, double slope, double curvature, double x) {
  sum.by_a -= slope;
  sum.by_t += slope * x;
  sum.by_aa += curvature;
  sum.by_at -= curvature * x;
  sum.by_tt += curvature * x * x;
}

void add_exact(Likelihood& sum, double x, double a, double t) {
  const double z = t * x - a;
  sum.value += std::log(t) + log_normal_density(z);
  add(sum, -z, -1, x);
  sum.by_t += 1 / t;
  sum.by_tt -= 1 / (t * t);
}

/// ln of the probability between two ends, in the tail where it keeps its digits.
double log_probability(double low, double high) {
  if (low > 0) return log_probability(-high, -low);
  const double upper = std::isinf(high) ? 0 : log_normal_cdf(high);
  if (std::isinf(low)) return upper;
  return upper + std::log(-std::expm1(log_normal_cdf(low) - upper));
}

void add_bounds(Likelihood& sum, const Bounds& of, double a, double t) {
  const double low = t * of.low - a;
  const double high = t * of.high - a;
  const double value = log_probability(low, high);
  sum.value += value;
  Likelihood here;
  if (std::isfinite(high)) {
    const double share = std::exp(log_normal_density(high) - value);
    add(here, share, -high * share, of.high);
  }
  if (std::isfinite(low)) {
    const double share = std::exp(log_normal_density(low) - value);
    add(here, -share, low * share, of.low);
  }
  sum.by_a += here.by_a;
  sum.by_t += here.by_t;
  sum.by_aa += here.by_aa - here.by_a * here.by_a;
  sum.by_at += here.by_at - here.by_a * here.by_t;
  sum.by_tt += here.by_tt - here.by_t * here.by_t;
}

Likelihood likelihood(std::span<const Bounds> of, double a, double t) {
  Likelihood sum;
  for (const Bounds& each : of) {
    if (each.low == each.high) {
      add_exact(sum, each.low, a, t);
    } else {
      add_bounds(sum, each, a, t);
    }
  }
  return sum;
}

struct Maximum {
  double a, t;
  Likelihood at;
  Status status;
};

/// Newton with halved steps on a sample of about unit scatter.
Maximum maximise(std::span<const Bounds> of) {
  Maximum best{.a = 0, .t = 1, .at = likelihood(of, 0, 1), .status = Status::not_converged};
  for (int step = 0; step < 200; ++step) {
    const Likelihood& at = best.at;
    const double determinant = at.determinant();
    // Where the data fix no maximum the iteration runs away, and the curvature dies on the way.
    const bool runs_away = !(best.t > 1e-6 && best.t < 1e8 && std::abs(best.a) < 1e8);
    if (!(determinant > 1e-12 * at.by_aa * at.by_tt) || !(at.by_aa < 0) || runs_away) {
      best.status = Status::no_solution;
      return best;
    }
    const double step_a = -(at.by_tt * at.by_a - at.by_at * at.by_t) / determinant;
    const double step_t = -(at.by_aa * at.by_t - at.by_at * at.by_a) / determinant;
    const double gain = step_a * at.by_a + step_t * at.by_t;
    if (gain < 1e-20 * static_cast<double>(of.size())) {
      best.status = Status::sound;
      return best;
    }
    bool raised = false;
    for (int halving = 0; halving < 40 && !raised; ++halving) {
      const double share = std::ldexp(1.0, -halving);
      const double t = best.t + share * step_t;
      if (!(t > 0)) continue;
      const double a = best.a + share * step_a;
      const Likelihood tried = likelihood(of, a, t);
      raised = tried.value > at.value;
      if (raised) best = {.a = a, .t = t, .at = tried, .status = Status::not_converged};
    }
    if (!raised) {  // only rounding is left, or nothing was gained where much was promised
      best.status = gain < 1e-9 ? Status::sound : Status::not_converged;
      return best;
    }
  }
  return best;
}

/// A value that stands for an observation when the iteration begins.
double stand_in(const Bounds& of) {
  if (std::isinf(of.low)) return of.high;
  return std::isinf(of.high) ? of.low : of.low + 0.5 * (of.high - of.low);
}

/// Bounds that one value meets all: then the narrower the distribution, the likelier.
bool meet(std::span<const Bounds> of) {
  return std::ranges::max(of, {}, &Bounds::low).low <= std::ranges::min(of, {}, &Bounds::high).high;
}

std::vector<Bounds> known(std::span<const Bounds> observations, CensoredSample& result) {
  if (observations.empty()) throw InvalidParameter("observations", 0, "at least one");
  std::vector<Bounds> out;
  for (std::size_t i = 0; i < observations.size(); ++i) {
    const Bounds& of = observations[i];
    const std::string name = "observations[" + std::to_string(i) + "]";
    if (std::isnan(of.low) || std::isnan(of.high)) {
      ++result.missing;
      continue;
    }
    if (of.low > of.high) throw InvalidParameter(name + ".low", of.low, "not above the high end");
    if (of.low == infinity || of.high == -infinity)
      throw InvalidParameter(name, of.low, "a finite value, or a finite bound");
    if (std::isinf(of.low) && std::isinf(of.high)) {
      ++result.missing;  // says nothing
      continue;
    }
    ++(of.low == of.high ? result.exact : result.bounded);
    out.push_back(of);
  }
  return out;
}

}  // namespace

CensoredSample censored_normal(std::span<const Bounds> observations) {
  CensoredSample result;
  std::vector<Bounds> of = known(observations, result);
  if (of.size() < 2) return result;
  result.status = Status::no_solution;
  if (meet(of)) return result;
  numerics::RunningMoments start;
  for (const Bounds& each : of) start.add(stand_in(each));
  double scale = std::sqrt(start.squares() / start.count());
  if (!(scale > 0)) scale = 1;
  const double origin = start.mean();
  const auto scaled = [&](double x) { return (x - origin) / scale; };
  double offset = 0;  // of the log likelihood, for what was scaled or taken as its middle
  for (Bounds& each : of) {
    each = {.low = scaled(each.low), .high = scaled(each.high)};
    const double width = each.high - each.low;
    if (width == 0) offset -= std::log(scale);
    if (width > 0 && width < narrow) {
      offset += std::log(width);
      each.low = each.high = each.low + 0.5 * width;
    }
  }
  const Maximum best = maximise(of);
  result.status = best.status;
  if (!has_value(best.status)) return result;
  const double s = 1 / best.t;
  result.mean = origin + scale * best.a * s;
  result.standard_deviation = scale * s;
  result.log_likelihood = best.at.value + offset;
  // Covariance of a and t, then of mean = a / t and s = 1 / t.
  const double determinant = best.at.determinant();
  const double aa = -best.at.by_tt / determinant;
  const double tt = -best.at.by_aa / determinant;
  const double at = best.at.by_at / determinant;
  const double mean_by_t = -best.a * s * s;
  const double var_mean = aa * s * s + 2 * at * s * mean_by_t + tt * mean_by_t * mean_by_t;
  const double var_s = tt * s * s * s * s;
  const double covariance = -s * s * (at * s + tt * mean_by_t);
  result.mean_standard_uncertainty = scale * std::sqrt(var_mean);
  result.standard_deviation_standard_uncertainty = scale * std::sqrt(var_s);
  result.correlation = covariance / std::sqrt(var_mean * var_s);
  if (of.size() < few_observations && result.status == Status::sound) result.status = Status::few_points;
  return result;
}

CensoredSample censored_lognormal(std::span<const Bounds> observations) {
  std::vector<Bounds> logarithms(observations.begin(), observations.end());
  double density = 0;  // of x to that of ln x
  for (std::size_t i = 0; i < logarithms.size(); ++i) {
    Bounds& of = logarithms[i];
    if (std::isnan(of.low) || std::isnan(of.high)) continue;
    if (of.low > of.high)
      throw InvalidParameter("observations[" + std::to_string(i) + "].low", of.low, "not above the high end");
    if (!(of.high > 0)) throw InvalidParameter("observations[" + std::to_string(i) + "].high", of.high, "above 0");
    if (of.low == of.high) density += std::log(of.low);
    of = {.low = of.low > 0 ? std::log(of.low) : -infinity, .high = std::log(of.high)};
  }
  CensoredSample result = censored_normal(logarithms);
  result.log_likelihood -= density;
  return result;
}

}  // namespace ohmward::statistics
