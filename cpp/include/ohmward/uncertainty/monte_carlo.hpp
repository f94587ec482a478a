#pragma once

/// @file
/// Propagation of distributions by Monte Carlo, JCGM 101:2008. Results never depend on the number of threads; memory
/// does not grow with the number of draws. Source: `jcgm-101`.

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <vector>

#include "ohmward/core/status.hpp"
#include "ohmward/uncertainty/budget.hpp"
#include "ohmward/uncertainty/coverage.hpp"

namespace ohmward::uncertainty {

/// A model over many draws: `inputs` holds one input after the other, `outputs` takes one output after the other,
/// `count` draws each. Called from several threads at once.
using BatchModel = std::function<void(std::span<const double> inputs, std::size_t count, std::span<double> outputs)>;

/// The draws of one model call: x[i] is input i.
class DrawOfInputs {
 public:
  DrawOfInputs(const double* first, std::size_t stride) noexcept : first_(first), stride_(stride) {}
  double operator[](std::size_t input) const noexcept { return first_[input * stride_]; }

 private:
  const double* first_;
  std::size_t stride_;
};

/// A model of one output for one draw, `[](const auto& x) { return x[0] * x[1]; }`, over many.
template <class Model>
[[nodiscard]] BatchModel over_draws(Model model) {
  return [model](std::span<const double> inputs, std::size_t count, std::span<double> outputs) {
    const double* const from = inputs.data();
    double* const to = outputs.data();
    for (std::size_t i = 0; i < count; ++i) to[i] = model(DrawOfInputs(from + i, count));
  };
}

struct OutputOfDraws {
  double mean = nan;
  double standard_uncertainty = nan;
  Interval symmetric{};  ///< probabilistically symmetric, 7.7.2
  Interval shortest{};   ///< 7.7.3
};

struct MonteCarlo {
  std::vector<OutputOfDraws> outputs{};
  std::vector<double> covariance{};  ///< of the outputs, row after row
  double level = nan;
  std::uint64_t draws = 0;
  Status status = Status::sound;  ///< not_converged where the adaptive procedure ran out of draws
  /// The draws of each output, one output after the other; empty beyond `kept_draws` or where not asked for.
  std::vector<double> values{};
};

/// Up to this many draws the intervals are exact order statistics; beyond, a histogram of 2^18 bins places them within
/// 1e-4 standard uncertainties.
inline constexpr std::uint64_t kept_draws = std::uint64_t{1} << 22;

struct FixedDraws {
  std::uint64_t draws = 1'000'000;
  double level = 0.95;
  std::uint64_t seed = 1;
  int threads = 0;  ///< 0: all cores
  bool keep_values = false;
};
/// @throws InvalidParameter for a senseless plan, or a model that gives no finite number, naming the inputs of the draw
[[nodiscard]] MonteCarlo monte_carlo(const Budget& budget, const BatchModel& model, std::size_t outputs,
                                     const FixedDraws& plan);

struct AdaptiveDraws {
  int digits = 2;  ///< significant digits of the standard uncertainty that must be stable
  double level = 0.95;
  std::uint64_t seed = 1;
  std::uint64_t most_draws = 100'000'000;
  int threads = 0;
  bool keep_values = false;
};
/// Adaptive procedure of 7.9.4: batches of max(⌈100/(1 − p)⌉, 10⁴) draws until twice the standard deviation of mean,
/// standard uncertainty and both ends (of the symmetric interval) is within the tolerance for `digits`.
[[nodiscard]] MonteCarlo monte_carlo(const Budget& budget, const BatchModel& model, std::size_t outputs,
                                     const AdaptiveDraws& plan);

/// Numerical tolerance of a standard uncertainty given to so many digits, ½·10^l (7.9.2). @throws InvalidParameter
[[nodiscard]] double numerical_tolerance(double standard_uncertainty, int digits);

/// Does the law of propagation hold here? (JCGM 101:2008 8.1)
struct Validation {
  double tolerance = nan;
  double difference_low = nan;
  double difference_high = nan;
  bool validated = false;
};
[[nodiscard]] Validation validate(const Expanded& first_order, double standard_uncertainty, const Interval& draws,
                                  int digits);

/// The interval that holds `level` of the values: exact order statistics. @throws InvalidParameter
[[nodiscard]] Interval symmetric_interval(std::span<const double> values, double level);
[[nodiscard]] Interval shortest_interval(std::span<const double> values, double level);

/// Coverage ellipsoid of jointly normal outputs: k = √χ²_p(m), JCGM 102:2011 6.5.2. Source: `jcgm-102`.
[[nodiscard]] double coverage_factor_ellipsoid(double level, std::size_t outputs);

/// Regions for several outputs from their draws (JCGM 102:2011 7.7.2 and 7.7.4): an ellipsoid
/// (y − mean)ᵀ V⁻¹ (y − mean) ≤ k² and a box mean ± k·u, each holding `level` of the draws.
struct JointRegion {
  double ellipsoid_factor = nan;
  double box_factor = nan;
};
/// @throws InvalidParameter where the draws were not kept or outputs are linearly dependent
[[nodiscard]] JointRegion joint_region(const MonteCarlo& result);

}  // namespace ohmward::uncertainty
