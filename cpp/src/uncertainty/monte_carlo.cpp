#include "ohmward/uncertainty/monte_carlo.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <optional>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/parallel.hpp"
#include "ohmward/statistics/distributions.hpp"
#include "ohmward/uncertainty/sampler.hpp"
#include "uncertainty/histogram.hpp"
#include "uncertainty/intervals_of_values.hpp"

namespace ohmward::uncertainty {
namespace {

/// Draws of one model call: small enough for the second-level cache, and the unit in which moments are summed.
constexpr std::uint64_t chunk = 8192;

/// Count, means and sums of products of deviations of all outputs.
struct Moments {
  double count = 0;
  std::vector<double> mean;
  std::vector<double> products;

  explicit Moments(std::size_t outputs) : mean(outputs, 0.0), products(outputs * outputs, 0.0) {}

  void merge(const Moments& other) noexcept {
    if (other.count == 0) return;
    const std::size_t m = mean.size();
    const double total = count + other.count;
    for (std::size_t i = 0; i < m; ++i)
      for (std::size_t j = 0; j < m; ++j)
        products[i * m + j] += other.products[i * m + j] +
                               (other.mean[i] - mean[i]) * (other.mean[j] - mean[j]) * (count * other.count / total);
    for (std::size_t i = 0; i < m; ++i) mean[i] += (other.mean[i] - mean[i]) * (other.count / total);
    count = total;
  }
  [[nodiscard]] double covariance(std::size_t i, std::size_t j) const noexcept {
    return products[i * mean.size() + j] / (count - 1);
  }
  [[nodiscard]] double standard_deviation(std::size_t i) const noexcept { return std::sqrt(covariance(i, i)); }
};

/// Four partial sums: the order of additions is fixed and the loop is not bound to one chain.
template <class Term>
double sum_of(std::size_t size, Term&& term) {
  double sum[4] = {0, 0, 0, 0};
  std::size_t i = 0;
  for (; i + 4 <= size; i += 4)
    for (std::size_t k = 0; k < 4; ++k) sum[k] += term(i + k);
  for (; i < size; ++i) sum[0] += term(i);
  return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

Moments moments_of(std::span<const double> values, std::size_t outputs, std::size_t stride, std::size_t count) {
  Moments moments(outputs);
  moments.count = static_cast<double>(count);
  const auto column = [&](std::size_t k) { return values.subspan(k * stride, count); };
  for (std::size_t k = 0; k < outputs; ++k) {
    const auto y = column(k);
    const double origin = y[0];
    moments.mean[k] = origin + sum_of(count, [&](std::size_t i) { return y[i] - origin; }) / moments.count;
  }
  for (std::size_t k = 0; k < outputs; ++k)
    for (std::size_t l = 0; l <= k; ++l) {
      const auto a = column(k);
      const auto b = column(l);
      const double mean_a = moments.mean[k];
      const double mean_b = moments.mean[l];
      moments.products[k * outputs + l] = moments.products[l * outputs + k] =
          sum_of(count, [&](std::size_t i) { return (a[i] - mean_a) * (b[i] - mean_b); });
    }
  return moments;
}

[[noreturn]] void refuse_draw(const Budget& budget, std::span<const double> inputs, std::size_t count, std::size_t draw,
                              double value) {
  std::string at;
  for (std::size_t i = 0; i < budget.size(); ++i) {
    char buffer[40];
    std::snprintf(buffer, sizeof buffer, " = %.6g", inputs[i * count + draw]);
    if (!at.empty()) at.append(", ");
    at.append(budget.names()[i]).append(buffer);
  }
  throw InvalidParameter("model", value, "a finite number for every draw; it fails at " + at);
}

/// Evaluates a model over draws and keeps what was asked for.
class Run {
 public:
  Run(const Budget& budget, const BatchModel& model, std::size_t outputs, std::uint64_t seed, int threads)
      : budget_(budget), sampler_(budget), model_(model), outputs_(outputs), seed_(seed), threads_(threads) {
    if (budget.size() == 0) throw InvalidParameter("budget", 0, "at least one input");
    if (outputs == 0) throw InvalidParameter("outputs", 0, "at least one output");
  }

  /// Fills values[output · stride + i] with draw first + i for i < count; the moments of each `unit` of draws.
  std::vector<Moments> evaluate(std::uint64_t first, std::size_t count, std::size_t unit, std::span<double> values,
                                std::size_t stride) const {
    const std::size_t units = (count + unit - 1) / unit;
    std::vector<Moments> moments(units, Moments(outputs_));
    numerics::in_parallel(
        units, threads_,
        [&](std::size_t begin, std::size_t end) {
          std::vector<double> inputs(sampler_.inputs() * unit);
          std::vector<double> of_model(outputs_ * unit);
          for (std::size_t u = begin; u < end; ++u) {
            const std::size_t size = std::min(unit, count - u * unit);
            one_unit(first + u * unit, size, inputs, of_model);
            moments[u] = moments_of(of_model, outputs_, size, size);
            for (std::size_t k = 0; k < outputs_; ++k)
              std::copy_n(of_model.begin() + static_cast<std::ptrdiff_t>(k * size), size,
                          values.begin() + static_cast<std::ptrdiff_t>(k * stride + u * unit));
          }
        },
        1);
    return moments;
  }

  [[nodiscard]] std::size_t outputs() const noexcept { return outputs_; }
  [[nodiscard]] int threads() const noexcept { return threads_; }

 private:
  void one_unit(std::uint64_t first, std::size_t size, std::vector<double>& inputs,
                std::vector<double>& of_model) const {
    const std::span<double> drawn(inputs.data(), sampler_.inputs() * size);
    const std::span<double> made(of_model.data(), outputs_ * size);
    sampler_.draw(seed_, first, size, drawn);
    model_(drawn, size, made);
    // Zero times a finite number is zero: one sum finds whether all are finite.
    if (sum_of(made.size(), [&](std::size_t i) { return made[i] * 0.0; }) == 0) return;
    for (std::size_t i = 0; i < made.size(); ++i)
      if (!std::isfinite(made[i])) refuse_draw(budget_, drawn, size, i % size, made[i]);
  }

  const Budget& budget_;
  Sampler sampler_;
  const BatchModel& model_;
  std::size_t outputs_;
  std::uint64_t seed_;
  int threads_;
};

/// All draws so far: kept as they are up to `kept_draws`, then as one histogram an output.
class Collected {
 public:
  explicit Collected(std::size_t outputs, std::uint64_t expected)
      : outputs_(outputs), capacity_(std::min(expected, kept_draws)), moments_(outputs) {
    values_.resize(outputs * capacity_);
  }

  [[nodiscard]] std::uint64_t draws() const noexcept { return draws_; }
  [[nodiscard]] const Moments& moments() const noexcept { return moments_; }
  [[nodiscard]] std::size_t capacity() const noexcept { return static_cast<std::size_t>(capacity_); }
  [[nodiscard]] std::span<double> room() noexcept { return values_; }

  /// The first `count` draws of `room()` are there.
  void kept(std::size_t count, const std::vector<Moments>& moments) {
    draws_ = count;
    for (const Moments& each : moments) moments_.merge(each);
  }

  /// More draws, output k at values[k · stride].
  void add(std::span<const double> values, std::size_t stride, std::size_t count, const std::vector<Moments>& moments) {
    if (histograms_.empty() && draws_ + count <= capacity_) {
      for (std::size_t k = 0; k < outputs_; ++k)
        std::copy_n(values.begin() + static_cast<std::ptrdiff_t>(k * stride), count,
                    values_.begin() + static_cast<std::ptrdiff_t>(k * capacity_ + draws_));
    } else {
      if (histograms_.empty()) begin_histograms();
      for (std::size_t k = 0; k < outputs_; ++k) histograms_[k].add(values.subspan(k * stride, count));
    }
    draws_ += count;
    for (const Moments& each : moments) moments_.merge(each);
  }

  [[nodiscard]] MonteCarlo summary(double level, int threads, bool keep_values) {
    MonteCarlo result;
    result.level = level;
    result.draws = draws_;
    result.outputs.resize(outputs_);
    for (std::size_t k = 0; k < outputs_; ++k) result.outputs[k] = summary_of(k, level, threads);
    for (std::size_t i = 0; i < outputs_; ++i)
      for (std::size_t j = 0; j < outputs_; ++j) result.covariance.push_back(moments_.covariance(i, j));
    if (keep_values && histograms_.empty()) {
      for (std::size_t k = 0; k < outputs_; ++k) {
        const auto y = column(k);
        result.values.insert(result.values.end(), y.begin(), y.end());
      }
    }
    return result;
  }

 private:
  [[nodiscard]] std::span<const double> column(std::size_t k) const {
    return std::span<const double>(values_).subspan(k * capacity_, static_cast<std::size_t>(draws_));
  }

  [[nodiscard]] OutputOfDraws summary_of(std::size_t k, double level, int threads) const {
    OutputOfDraws output{.mean = moments_.mean[k], .standard_uncertainty = moments_.standard_deviation(k)};
    if (!histograms_.empty()) {
      output.symmetric = histograms_[k].symmetric(level);
      output.shortest = histograms_[k].shortest(level);
      return output;
    }
    const double reach = 5 * output.standard_uncertainty;
    const double edges[] = {output.mean - reach, output.mean + reach};
    const SortedTails tails(column(k), level, edges, threads);
    output.symmetric = tails.symmetric();
    output.shortest = tails.shortest();
    return output;
  }

  void begin_histograms() {
    constexpr double inner = 0.95;
    constexpr double wider = 4;  // than that interval, on either side of the median
    for (std::size_t k = 0; k < outputs_; ++k) {
      std::vector<double> values(column(k).begin(), column(k).end());
      const auto [least, most] = std::minmax_element(values.begin(), values.end());
      const double bottom = *least;
      const double top = *most;
      const Interval span = symmetric_interval(values, inner);
      const double middle = (span.low + span.high) / 2;
      const double reach = wider * (span.high - span.low) / 2;
      Histogram histogram(std::max(bottom, middle - reach), std::min(top, middle + reach));
      histogram.add(column(k));
      histograms_.push_back(std::move(histogram));
    }
    values_.clear();
    values_.shrink_to_fit();
  }

  std::size_t outputs_;
  std::uint64_t capacity_;
  std::uint64_t draws_ = 0;
  Moments moments_;
  std::vector<double> values_;
  std::vector<Histogram> histograms_;
};

void require_level(double level) {
  if (!(level > 0 && level < 1)) throw InvalidParameter("level", level, "between 0 and 1");
}

/// What must come to rest: mean, standard uncertainty and both ends of one output, over batches.
class Settling {
 public:
  void add(const OutputOfDraws& batch) noexcept {
    const double figures[] = {batch.mean, batch.standard_uncertainty, batch.symmetric.low, batch.symmetric.high};
    ++batches_;
    for (std::size_t i = 0; i < 4; ++i) {
      const double before = figures[i] - mean_[i];
      mean_[i] += before / batches_;
      squares_[i] += before * (figures[i] - mean_[i]);
    }
  }
  [[nodiscard]] bool is_settled(double tolerance) const noexcept {
    return std::all_of(std::begin(squares_), std::end(squares_), [&](double squares) {
      return 2 * std::sqrt(squares / (batches_ * (batches_ - 1))) <= tolerance;
    });
  }

 private:
  double batches_ = 0;
  double mean_[4] = {};
  double squares_[4] = {};
};

}  // namespace

MonteCarlo monte_carlo(const Budget& budget, const BatchModel& model, std::size_t outputs, const FixedDraws& plan) {
  require_level(plan.level);
  if (plan.draws < 100) throw InvalidParameter("draws", static_cast<double>(plan.draws), "at least 100");
  const Run run(budget, model, outputs, plan.seed, plan.threads);
  Collected all(outputs, plan.draws);
  const std::size_t room = all.capacity();
  all.kept(room, run.evaluate(0, room, chunk, all.room(), room));
  if (plan.draws > room) {
    std::vector<double> more(outputs * kept_draws / 4);
    const std::size_t stride = kept_draws / 4;
    while (all.draws() < plan.draws) {
      const auto count = static_cast<std::size_t>(std::min<std::uint64_t>(stride, plan.draws - all.draws()));
      all.add(more, stride, count, run.evaluate(all.draws(), count, chunk, more, stride));
    }
  }
  return all.summary(plan.level, plan.threads, plan.keep_values);
}

MonteCarlo monte_carlo(const Budget& budget, const BatchModel& model, std::size_t outputs, const AdaptiveDraws& plan) {
  require_level(plan.level);
  (void)numerical_tolerance(1, plan.digits);
  const auto batch = static_cast<std::size_t>(std::max(std::ceil(100 / (1 - plan.level)), 1e4));
  const Run run(budget, model, outputs, plan.seed, plan.threads);
  Collected all(outputs, std::max<std::uint64_t>(plan.most_draws, batch));
  std::vector<Settling> settling(outputs);
  // Batches are evaluated several at a time and judged one after the other: how many at a time changes nothing.
  constexpr std::size_t together = 16;
  const std::size_t stride = batch * together;
  std::vector<double> values(outputs * stride);
  for (std::uint64_t number = 0;;) {
    const std::vector<Moments> moments = run.evaluate(number * batch, stride, batch, values, stride);
    for (std::size_t b = 0; b < together; ++b, ++number) {
      const std::span<const double> of_batch = std::span<const double>(values).subspan(b * batch);
      all.add(of_batch, stride, batch, {moments[b]});
      bool settled = number > 0;
      for (std::size_t k = 0; k < outputs; ++k) {
        const auto y = of_batch.subspan(k * stride, batch);
        const double reach = 5 * moments[b].standard_deviation(k);
        const double edges[] = {moments[b].mean[k] - reach, moments[b].mean[k] + reach};
        const SortedTails tails(y, plan.level, edges);
        settling[k].add({.mean = moments[b].mean[k],
                         .standard_uncertainty = moments[b].standard_deviation(k),
                         .symmetric = tails.symmetric()});
        const double u = all.moments().standard_deviation(k);
        settled = settled && settling[k].is_settled(u > 0 ? numerical_tolerance(u, plan.digits) : 0);
      }
      const bool out_of_draws = all.draws() + batch > plan.most_draws;
      if (!settled && !out_of_draws) continue;
      MonteCarlo result = all.summary(plan.level, plan.threads, plan.keep_values);
      if (!settled) result.status = Status::not_converged;
      return result;
    }
  }
}

double numerical_tolerance(double standard_uncertainty, int digits) {
  const double u = standard_uncertainty;
  if (!(u > 0) || !std::isfinite(u)) throw InvalidParameter("standard_uncertainty", u, "a finite number above 0");
  if (digits < 1 || digits > 4) throw InvalidParameter("digits", digits, "1 to 4");
  int exponent = static_cast<int>(std::floor(std::log10(u))) - digits + 1;
  if (std::nearbyint(u * std::pow(10.0, -exponent)) >= std::pow(10.0, digits)) ++exponent;
  return 0.5 * std::pow(10.0, exponent);
}

Validation validate(const Expanded& first_order, double standard_uncertainty, const Interval& draws, int digits) {
  Validation result{.tolerance = numerical_tolerance(standard_uncertainty, digits),
                    .difference_low = std::abs(first_order.interval.low - draws.low),
                    .difference_high = std::abs(first_order.interval.high - draws.high)};
  result.validated = result.difference_low <= result.tolerance && result.difference_high <= result.tolerance;
  return result;
}

namespace {

SortedTails tails_of(std::span<const double> values, double level) {
  require_level(level);
  if (values.size() < 2) throw InvalidParameter("values", static_cast<double>(values.size()), "at least two values");
  for (const double x : values)
    if (!std::isfinite(x)) throw InvalidParameter("values", x, "finite numbers");
  const Moments moments = moments_of(values, 1, values.size(), values.size());
  const double reach = 5 * moments.standard_deviation(0);
  const double edges[] = {moments.mean[0] - reach, moments.mean[0] + reach};
  return {values, level, edges};
}

}  // namespace

Interval symmetric_interval(std::span<const double> values, double level) {
  return tails_of(values, level).symmetric();
}
Interval shortest_interval(std::span<const double> values, double level) { return tails_of(values, level).shortest(); }

double coverage_factor_ellipsoid(double level, std::size_t outputs) {
  require_level(level);
  if (outputs == 0) throw InvalidParameter("outputs", 0, "at least 1");
  return std::sqrt(statistics::chi_squared_quantile(level, static_cast<double>(outputs)));
}

JointRegion joint_region(const MonteCarlo& result) {
  const std::size_t m = result.outputs.size();
  if (result.values.empty()) throw InvalidParameter("values", 0, "draws that were kept (keep_values)");
  const std::size_t n = result.values.size() / m;
  using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;
  const auto size = static_cast<Eigen::Index>(m);
  Matrix correlation(size, size);
  for (std::size_t i = 0; i < m; ++i)
    for (std::size_t j = 0; j < m; ++j)
      correlation(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) =
          result.covariance[i * m + j] /
          (result.outputs[i].standard_uncertainty * result.outputs[j].standard_uncertainty);
  const Eigen::LLT<Matrix> root(correlation);
  constexpr double dependent = 1e-6;
  if (root.info() != Eigen::Success || Matrix(root.matrixL()).diagonal().minCoeff() < dependent)
    throw InvalidParameter("outputs", static_cast<double>(m), "outputs that do not depend on each other linearly");
  std::vector<double> distance(n);
  std::vector<double> farthest(n);
  Eigen::VectorXd z(size);
  for (std::size_t d = 0; d < n; ++d) {
    for (std::size_t k = 0; k < m; ++k)
      z(static_cast<Eigen::Index>(k)) =
          (result.values[k * n + d] - result.outputs[k].mean) / result.outputs[k].standard_uncertainty;
    farthest[d] = z.cwiseAbs().maxCoeff();
    distance[d] = root.matrixL().solve(z).norm();
  }
  const auto held = static_cast<std::ptrdiff_t>(std::ceil(result.level * static_cast<double>(n))) - 1;
  std::nth_element(distance.begin(), distance.begin() + held, distance.end());
  std::nth_element(farthest.begin(), farthest.begin() + held, farthest.end());
  return {.ellipsoid_factor = distance[static_cast<std::size_t>(held)],
          .box_factor = farthest[static_cast<std::size_t>(held)]};
}

}  // namespace ohmward::uncertainty
