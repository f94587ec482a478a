#include "ohmward/statistics/censored_regression.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "ohmward/numerics/normal.hpp"
#include "statistics/normal_tail.hpp"

namespace ohmward::statistics {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

/// Normal density over distribution function.
double hazard(double z) noexcept { return std::exp(log_normal_density(z) - log_normal_cdf(z)); }

struct Data {
  MatrixXd x;
  VectorXd y, u;
  std::vector<Censoring> censoring;
};

/// Likelihood of coefficients at a scatter, its gradient and curvature by the coefficients.
struct Likelihood {
  double value = 0;
  VectorXd gradient;
  MatrixXd information;
};

Likelihood likelihood(const Data& data, const VectorXd& b, double s) {
  Likelihood of{.gradient = VectorXd::Zero(b.size()), .information = MatrixXd::Zero(b.size(), b.size())};
  const VectorXd expected = data.x * b;
  for (Eigen::Index i = 0; i < data.y.size(); ++i) {
    const double sd = std::sqrt(data.u[i] * data.u[i] + s * s);
    const double z = (data.y[i] - expected[i]) / sd;
    double slope = 0, curvature = 0;  // of the log likelihood by the expectation, times sd and sd^2
    const Censoring censoring = data.censoring[static_cast<std::size_t>(i)];
    if (censoring == Censoring::exact) {
      of.value += log_normal_density(z) - std::log(sd);
      slope = z;
      curvature = 1;
    } else {
      const double towards = censoring == Censoring::above ? -z : z;  // P(true beyond the bound) = cdf(towards)
      of.value += log_normal_cdf(towards);
      const double h = hazard(towards);
      slope = censoring == Censoring::above ? h : -h;
      curvature = h * (h + towards);
    }
    const VectorXd row = data.x.row(i).transpose();
    of.gradient += row * (slope / sd);
    of.information += row * row.transpose() * (curvature / (sd * sd));
  }
  return of;
}

struct Inner {
  VectorXd b;
  Likelihood at;
  bool converged = false;
  bool solvable = true;
};

constexpr double rounding = 1e-13;  ///< of a log likelihood, relative

/// Newton; the log likelihood is concave in the coefficients.
Inner maximise(const Data& data, VectorXd b, double s) {
  Inner inner{.b = std::move(b), .at = {}};
  inner.at = likelihood(data, inner.b, s);
  for (int step = 0; step < 100; ++step) {
    const Eigen::LDLT<MatrixXd> factor(inner.at.information);
    if (factor.info() != Eigen::Success || !factor.isPositive() || factor.rcond() < 1e-14) {
      inner.solvable = false;
      return inner;
    }
    VectorXd delta = factor.solve(inner.at.gradient);
    const double gain = inner.at.gradient.dot(delta);
    if (!(gain > 1e-18)) {
      inner.converged = true;
      return inner;
    }
    if (gain < rounding * (1 + std::abs(inner.at.value))) {
      // The likelihood can no longer tell better from worse; the step itself is still exact.
      inner.b += delta;
      inner.at = likelihood(data, inner.b, s);
      inner.converged = true;
      return inner;
    }
    double share = 1;
    for (int half = 0; half < 60; ++half, share *= 0.5) {
      const Likelihood tried = likelihood(data, inner.b + share * delta, s);
      if (tried.value >= inner.at.value) {
        inner.b += share * delta;
        inner.at = tried;
        break;
      }
      if (half == 59) {
        inner.converged = true;  // no step raises it: rounding
        return inner;
      }
    }
  }
  return inner;
}

}  // namespace

CensoredRegression censored_regression(std::span<const Observation> observations, std::span<const double> x,
                                       std::size_t coefficients, bool estimate_scatter) {
  CensoredRegression result;
  const auto p = static_cast<Eigen::Index>(coefficients);
  std::vector<std::size_t> used;
  for (std::size_t i = 0; i < observations.size(); ++i) {
    const Observation& o = observations[i];
    bool finite = std::isfinite(o.y) && std::isfinite(o.standard_uncertainty);
    for (std::size_t j = 0; j < coefficients; ++j) finite = finite && std::isfinite(x[i * coefficients + j]);
    if (!finite || o.censoring == Censoring::overload) continue;
    used.push_back(i);
    result.exact += o.censoring == Censoring::exact ? 1 : 0;
  }
  const auto n = static_cast<Eigen::Index>(used.size());
  result.degrees_of_freedom = static_cast<double>(result.exact) - static_cast<double>(coefficients);
  if (coefficients == 0 || result.degrees_of_freedom < (estimate_scatter ? 1 : 0)) return result;
  Data data{.x = MatrixXd(n, p), .y = VectorXd(n), .u = VectorXd(n), .censoring = {}};
  for (Eigen::Index i = 0; i < n; ++i) {
    const std::size_t row = used[static_cast<std::size_t>(i)];
    data.y[i] = observations[row].y;
    data.u[i] = observations[row].standard_uncertainty;
    data.censoring.push_back(observations[row].censoring);
    for (Eigen::Index j = 0; j < p; ++j) data.x(i, j) = x[row * coefficients + static_cast<std::size_t>(j)];
  }
  const Eigen::ColPivHouseholderQR<MatrixXd> qr(data.x);
  result.status = Status::no_solution;
  if (qr.rank() < p) return result;
  const VectorXd start = qr.solve(data.y);
  const double spread = std::sqrt((data.y - data.x * start).squaredNorm() / static_cast<double>(n));
  const double least_u = data.u.minCoeff();
  if (!estimate_scatter && !(least_u > 0)) return result;

  Inner best;
  double s = 0;
  if (estimate_scatter && (spread > 0 || !(least_u > 0))) {
    // Golden section on ln s of the profile likelihood. Without censoring the residual term is corrected for the
    // coefficients, as in restricted likelihood.
    const bool any_censored = static_cast<std::size_t>(n) != result.exact;
    const auto profile = [&](double log_s) {
      const Inner inner = maximise(data, start, std::exp(log_s));
      if (!inner.solvable) return -infinity;
      const double restricted = any_censored ? 0 : -0.5 * std::log(inner.at.information.determinant());
      return inner.at.value + restricted;
    };
    double low = std::log(std::max(spread, 1e-300)) - 12, high = std::log(std::max(spread, 1e-300)) + 4;
    const double ratio = (std::sqrt(5.0) - 1) / 2;
    double a = high - ratio * (high - low), b = low + ratio * (high - low);
    double fa = profile(a), fb = profile(b);
    while (high - low > 1e-9) {
      if (fa >= fb) {
        high = b, b = a, fb = fa, a = high - ratio * (high - low), fa = profile(a);
      } else {
        low = a, a = b, fa = fb, b = low + ratio * (high - low), fb = profile(b);
      }
    }
    s = std::exp(0.5 * (low + high));
    if (least_u > 0 && maximise(data, start, 0).at.value >= maximise(data, start, s).at.value) s = 0;
  }
  best = maximise(data, start, s);
  if (!best.solvable) return result;
  const MatrixXd covariance = best.at.information.inverse();
  result.status = best.converged ? Status::sound : Status::not_converged;
  result.scatter = s;
  result.log_likelihood = best.at.value;
  result.coefficient.assign(best.b.data(), best.b.data() + p);
  for (Eigen::Index i = 0; i < p; ++i)
    for (Eigen::Index j = 0; j < p; ++j) result.covariance.push_back(covariance(i, j));
  return result;
}

}  // namespace ohmward::statistics
