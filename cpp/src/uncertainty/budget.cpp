#include "ohmward/uncertainty/budget.hpp"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>

#include "ohmward/core/errors.hpp"
#include "ohmward/statistics/degrees_of_freedom.hpp"
#include "ohmward/statistics/type_a.hpp"

namespace ohmward::uncertainty {
namespace {

using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

Eigen::Index index(std::size_t i) { return static_cast<Eigen::Index>(i); }

Matrix square(const std::vector<double>& rows, std::size_t n) {
  return Eigen::Map<const Matrix>(rows.data(), index(n), index(n));
}

std::string shown(double x) {
  char buffer[32];
  std::snprintf(buffer, sizeof buffer, "%.3g", x);
  return buffer;
}

/// The pair whose correlation pulls the least eigenvalue down most.
std::pair<std::size_t, std::size_t> worst_pair(const Matrix& correlation, const Eigen::VectorXd& direction) {
  std::pair<std::size_t, std::size_t> worst{0, 1};
  double lowest = std::numeric_limits<double>::infinity();
  for (Eigen::Index i = 0; i < correlation.rows(); ++i)
    for (Eigen::Index j = i + 1; j < correlation.rows(); ++j) {
      const double pull = direction(i) * correlation(i, j) * direction(j);
      if (pull < lowest) {
        lowest = pull;
        worst = {static_cast<std::size_t>(i), static_cast<std::size_t>(j)};
      }
    }
  return worst;
}

/// Variance of one output from a subset of contributions.
double variance_of(const std::vector<double>& contributions, const std::vector<double>& correlation,
                   const std::vector<std::size_t>& members) {
  const std::size_t n = contributions.size();
  double sum = 0;
  for (const std::size_t i : members)
    for (const std::size_t j : members) sum += contributions[i] * correlation[i * n + j] * contributions[j];
  return sum;
}

/// 1/ν = Σ (share of each component)² / ν of the component.
double degrees_of_freedom(const Budget& budget, const std::vector<double>& contributions,
                          const std::vector<double>& correlation, double variance) {
  const std::size_t n = budget.size();
  std::vector<bool> grouped(n, false);
  double sum = 0;
  for (const JointGroup& group : budget.groups()) {
    for (const std::size_t member : group.members) grouped[member] = true;
    const double share = variance_of(contributions, correlation, group.members) / variance;
    sum += share * share / group.degrees_of_freedom;
  }
  std::vector<double> single;
  std::vector<double> dof;
  std::vector<std::size_t> positions;
  for (std::size_t i = 0; i < n; ++i)
    if (!grouped[i]) {
      positions.push_back(i);
      single.push_back(contributions[i]);
      dof.push_back(budget.inputs()[i].degrees_of_freedom);
    }
  std::vector<double> among;
  for (const std::size_t i : positions)
    for (const std::size_t j : positions) among.push_back(correlation[i * n + j]);
  const double share = variance_of(contributions, correlation, positions) / variance;
  if (share > 0) sum += share * share / statistics::welch_satterthwaite_correlated(single, among, dof);
  return 1 / sum;
}

void require_finite(double value, const Budget& budget, std::size_t input, std::size_t output) {
  if (!std::isfinite(value))
    throw InvalidParameter(
        "model", value,
        "a finite slope of output " + std::to_string(output) + " along input '" + budget.names()[input] + "'");
}

double second_order_variance(const Budget& budget, const Derivatives& of, std::size_t output) {
  const std::size_t n = budget.size();
  double sum = 0;
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j) {
      const std::size_t at = (output * n + i) * n + j;
      require_finite(of.mixed[at], budget, i, output);
      require_finite(of.third[at], budget, i, output);
      const double u_i = budget.inputs()[i].standard_uncertainty;
      const double u_j = budget.inputs()[j].standard_uncertainty;
      sum += (0.5 * of.mixed[at] * of.mixed[at] + of.gradient[output * n + i] * of.third[at]) * u_i * u_i * u_j * u_j;
    }
  return sum;
}

void check_shape(const Budget& budget, const Derivatives& of) {
  const std::size_t n = budget.size();
  const std::size_t m = of.values.size();
  const bool second = !of.mixed.empty();
  if (n == 0) throw InvalidParameter("budget", 0, "at least one input");
  if (of.inputs != n || m == 0 || of.gradient.size() != m * n)
    throw InvalidParameter("derivatives", static_cast<double>(of.gradient.size()),
                           "one slope an output and input, " + std::to_string(m * n));
  if (second && (of.mixed.size() != m * n * n || of.third.size() != m * n * n))
    throw InvalidParameter("derivatives", static_cast<double>(of.mixed.size()),
                           "one second slope an output and pair of inputs, " + std::to_string(m * n * n));
  if (second && budget.is_correlated())
    throw InvalidParameter("order", 2, "first order: second-order terms are only known for independent inputs");
}

Output propagate_one(const Budget& budget, const Derivatives& of, std::size_t k, const std::vector<double>& r) {
  const std::size_t n = budget.size();
  Output output{.value = of.values[k]};
  if (!std::isfinite(output.value))
    throw InvalidParameter("model", output.value, "a finite output " + std::to_string(k) + " at the estimates");
  for (std::size_t i = 0; i < n; ++i) {
    const double slope = of.gradient[k * n + i];
    require_finite(slope, budget, i, k);
    output.sensitivities.push_back(slope);
    output.contributions.push_back(slope * budget.inputs()[i].standard_uncertainty);
  }
  double first_order = 0;
  for (std::size_t i = 0; i < n; ++i) {
    double with_others = 0;
    for (std::size_t j = 0; j < n; ++j) with_others += r[i * n + j] * output.contributions[j];
    output.shares.push_back(output.contributions[i] * with_others);
    first_order += output.shares.back();
  }
  first_order = std::max(first_order, 0.0);
  if (!of.mixed.empty()) output.second_order_variance = second_order_variance(budget, of, k);
  const double variance = first_order + output.second_order_variance;
  if (!(variance >= 0))
    throw InvalidParameter("order", 2, "first order or Monte Carlo: the terms of second order make u² negative");
  output.standard_uncertainty = std::sqrt(variance);
  for (double& share : output.shares) share = variance > 0 ? share / variance : nan;
  output.degrees_of_freedom = first_order > 0 ? degrees_of_freedom(budget, output.contributions, r, first_order) : nan;
  return output;
}

}  // namespace

std::size_t Budget::add(std::string name, Input input) {
  if (std::find(names_.begin(), names_.end(), name) != names_.end())
    throw InvalidParameter("name", name, "a name that no other input has");
  names_.push_back(std::move(name));
  inputs_.push_back(std::move(input));
  return inputs_.size() - 1;
}

std::size_t Budget::position(std::string_view name) const {
  const auto found = std::find(names_.begin(), names_.end(), name);
  if (found == names_.end()) throw InvalidParameter("correlation", name, "the name of an input");
  return static_cast<std::size_t>(found - names_.begin());
}

bool Budget::is_in_group(std::size_t input) const noexcept {
  return std::any_of(groups_.begin(), groups_.end(), [input](const JointGroup& group) {
    return std::find(group.members.begin(), group.members.end(), input) != group.members.end();
  });
}

void Budget::correlate(std::string_view first, std::string_view second, double correlation) {
  const std::size_t i = position(first);
  const std::size_t j = position(second);
  if (i == j) throw InvalidParameter("correlation", first, "two different inputs");
  if (!(std::abs(correlation) <= 1)) throw InvalidParameter("correlation", correlation, "-1 to 1");
  for (const Pair& pair : pairs_)
    if (std::minmax(pair.first, pair.second) == std::minmax(i, j))
      throw InvalidParameter("correlation", std::string(first) + ", " + std::string(second), "each pair once");
  if (is_in_group(i) || is_in_group(j))
    throw InvalidParameter("correlation", std::string(first) + ", " + std::string(second),
                           "inputs that were not observed together: those carry their correlation already");
  pairs_.push_back({i, j, correlation});
}

void Budget::add_observed_together(std::span<const std::string> names, std::span<const double> observations,
                                   std::size_t sets) {
  const statistics::JointMeans joint = statistics::joint_means(observations, sets);
  const std::size_t n = joint.means.size();
  if (names.size() != n)
    throw InvalidParameter("names", static_cast<double>(names.size()), "one a quantity, " + std::to_string(n));
  JointGroup group{.members = {}, .degrees_of_freedom = joint.degrees_of_freedom};
  std::vector<Pair> pairs;
  for (std::size_t i = 0; i < n; ++i) {
    const double u = std::sqrt(joint.covariance[i * n + i]);
    if (!(u > 0)) throw InvalidParameter("observations", names[i], "readings that differ: this quantity never changed");
    group.members.push_back(add(
        names[i], student_t({.location = joint.means[i], .scale = u, .degrees_of_freedom = joint.degrees_of_freedom})));
    for (std::size_t j = 0; j < i; ++j) {
      const double u_j = std::sqrt(joint.covariance[j * n + j]);
      pairs.push_back({group.members[j], group.members[i], joint.covariance[i * n + j] / (u * u_j)});
    }
  }
  pairs_.insert(pairs_.end(), pairs.begin(), pairs.end());
  groups_.push_back(std::move(group));
}

std::vector<double> Budget::estimates() const {
  std::vector<double> values;
  values.reserve(inputs_.size());
  for (const Input& input : inputs_) values.push_back(input.estimate);
  return values;
}

std::vector<double> Budget::correlation() const {
  std::vector<double> matrix(size() * size(), 0.0);
  for (std::size_t i = 0; i < size(); ++i) matrix[i * size() + i] = 1;
  for (const Pair& pair : pairs_)
    matrix[pair.first * size() + pair.second] = matrix[pair.second * size() + pair.first] = pair.correlation;
  return matrix;
}

bool Budget::is_correlated() const noexcept {
  return std::any_of(pairs_.begin(), pairs_.end(), [](const Pair& pair) { return pair.correlation != 0; });
}

void Budget::check() const {
  if (!is_correlated()) return;
  const Matrix r = square(correlation(), size());
  const Eigen::SelfAdjointEigenSolver<Matrix> solver(r);
  constexpr double rounding = 1e-9;
  const double least = solver.eigenvalues()(0);
  if (least >= -rounding) return;
  const auto [i, j] = worst_pair(r, solver.eigenvectors().col(0));
  throw InvalidParameter("correlation", least,
                         "a positive semidefinite matrix; its least eigenvalue is " + shown(least) + " and the pair '" +
                             names_[i] + "', '" + names_[j] + "' (" + shown(r(index(i), index(j))) +
                             ") pulls it down most");
}

double Propagation::correlation(std::size_t first, std::size_t second) const {
  const std::size_t m = outputs.size();
  return covariance.at(first * m + second) /
         std::sqrt(covariance.at(first * m + first) * covariance.at(second * m + second));
}

Propagation propagate(const Budget& budget, const Derivatives& derivatives) {
  check_shape(budget, derivatives);
  budget.check();
  const std::vector<double> r = budget.correlation();
  const std::size_t n = budget.size();
  Propagation result;
  for (std::size_t k = 0; k < derivatives.values.size(); ++k)
    result.outputs.push_back(propagate_one(budget, derivatives, k, r));
  for (const Output& first : result.outputs)
    for (const Output& second : result.outputs) {
      double sum = 0;
      for (std::size_t i = 0; i < n; ++i)
        for (std::size_t j = 0; j < n; ++j) sum += first.contributions[i] * r[i * n + j] * second.contributions[j];
      result.covariance.push_back(sum);
    }
  return result;
}

}  // namespace ohmward::uncertainty
