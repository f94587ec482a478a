#pragma once

/// @file
/// Forecast of R(late)/R(early) from the first minutes of a run, in fixed memory.
///
/// A posterior over a fixed library of curves from seven relaxation mechanisms, matched on up to five features of
/// ln I against ln t. The features are polynomial contrasts that the level, hence the gain, does not enter. Where
/// fewer than a stated number of curves lie within the noise, the kernel widens by a factor h and the spread of the
/// cloud is brought back by a linear transport; h is reported.
///
/// Two modes of the one estimator: `compact` (4096 curves, what a logger runs) and `fine` (131072 curves). Sums run in
/// the order of the readings and of the curves, features are kept as float: equal bits everywhere.
///
/// What it can not know: a relaxation slower than the readings reach looks like conduction; a change after the last
/// reading is not forecastable; undeclared temperature drift spoils it. A forecast never replaces a test that runs its
/// full time.
///
/// Source: `forecast-study` (numerical; the library, the factor 1.2 and the coverage are computed from simulated runs).

#include <cstdint>

#include "ohmward/formula/outcome.hpp"

namespace ohmward::formula {

inline constexpr int forecast_bins = 27;     ///< of equal width in ln t, from 4.5 s to 617 s
inline constexpr int forecast_features = 5;  ///< at most
inline constexpr int forecast_moments = 11;  ///< for a polynomial of degree 5
inline constexpr int forecast_mechanisms = 7;
inline constexpr int forecast_rungs = 18;  ///< of the kernel width: h^2 = 1, 2, 4 ... 2^17
inline constexpr double forecast_first_second = 5;
inline constexpr double forecast_last_second = 600;
inline constexpr double forecast_latest_second = 3600;  ///< that a ratio may be forecast to

/// What is to be forecast.
struct ForecastTarget {
  double early_second = 60;          ///< within 5 ... 600
  double late_second = 600;          ///< above early_second, at most 3600
  double drift_kelvin = 0;           ///< greatest drift of the part's temperature in 600 s, either way [K], >= 0
  double current_per_kelvin = 1.07;  ///< factor of the current for a warming of 1 K, > 1
};

/// Size and fineness of the estimator.
struct ForecastMode {
  std::int32_t curves;
  double effective_number;   ///< least (sum w)^2 / sum w^2
  std::int32_t refinements;  ///< bisections of ln h between two rungs
  std::int32_t histogram_bins;
  double histogram_width;             ///< of one bin, in ln ratio
  std::int32_t histogram_below_zero;  ///< bins below a ratio of 1
};
inline constexpr ForecastMode forecast_compact{4096, 80, 0, 256, 0.02, 26};
inline constexpr ForecastMode forecast_fine{131072, 200, 8, 4096, 0.00125, 416};

/// Factor of the interval's halves, measured at a level of 0.95. Source: `forecast-study`.
inline constexpr double forecast_inflation = 1.2;

/// The fewest readings that coverage was measured with (60 s, every 5 s). 7 to 9 readings held 83 to 92 % at 95 %.
inline constexpr double forecast_few_readings = 12;

struct Forecast {
  double value = nan;
  double low = nan;
  double high = nan;
  Status status = Status::too_few_points;
  double noise = nan;           ///< relative standard deviation of one reading
  double kernel_width = nan;    ///< h: 1 where the library is dense enough
  double least_distance = nan;  ///< squared, in standard deviations, of the nearest curve
  double steepening = nan;      ///< second feature in standard deviations; negative: the slope still gets steeper
  double mechanism[forecast_mechanisms] = {};  ///< weights; their sum is 1
};

inline namespace OHMWARD_LEVEL {

struct ForecastScratch;

/// Caller's memory.
struct ForecastWorkspace {
  double* histogram;         ///< histogram_bins values
  ForecastScratch* scratch;  ///< kept off the stack
  /// Both one a curve, or both null: distances are then computed anew in each pass, with the same bits.
  double* distances = nullptr;
  std::int32_t* near = nullptr;
};

namespace detail {

inline constexpr double bin_start_second = 4.5;
inline constexpr double bin_growth = 1.2;
inline constexpr double range_step = 0.004;   // of an unknown range change, per root of ln t
inline constexpr double prior_noise = 0.005;  // worth two readings
inline constexpr double prior_count = 2;

/// Powers g^-1 ... g^-7 of the root of g^8 = g + 1: the additive recurrence that fills seven dimensions evenly.
inline constexpr double even_steps[7] = {0x1.d2bc3ba2fa6b0p-1, 0x1.a978e9c27e78fp-1, 0x1.83db78b6b8d16p-1,
                                         0x1.619158a1e1dbep-1, 0x1.424f4638ada3ap-1, 0x1.25d0a5901a2a8p-1,
                                         0x1.0bd6eb8604871p-1};
inline constexpr int mechanism_of[20] = {0, 0, 0, 1, 1, 1, 2, 2, 2, 2, 2, 3, 3, 3, 4, 4, 5, 5, 6, 6};
/// Of the k-th curve: place 7919 k mod 20, kept in 32 bits, so that a small processor needs no 64-bit division for it.
[[nodiscard]] constexpr int mechanism(std::int32_t k) noexcept { return mechanism_of[19 * (k % 20) % 20]; }

[[nodiscard]] constexpr double fraction(double x) noexcept {
  return x - static_cast<double>(static_cast<std::int64_t>(x));
}

/// Lower triangle L with L L^T = a; false unless a is positive definite. `l` may be `a` itself.
template <int n>
[[nodiscard]] inline bool cholesky(const double (&a)[n][n], int size, double (&l)[n][n]) noexcept {
  for (int i = 0; i < size; ++i) {
    for (int j = 0; j <= i; ++j) {
      double sum = a[i][j];
      for (int k = 0; k < j; ++k) sum -= l[i][k] * l[j][k];
      if (i == j) {
        if (!(sum > 0)) return false;
        l[i][i] = numerics::sqrt(sum);
      } else {
        l[i][j] = sum / l[j][j];
      }
    }
    for (int j = i + 1; j < size; ++j) l[i][j] = 0;
  }
  return true;
}

/// Solves L v = v in place.
template <int n>
inline void forward(const double (&l)[n][n], int size, double* v) noexcept {
  for (int i = 0; i < size; ++i) {
    for (int k = 0; k < i; ++k) v[i] -= l[i][k] * v[k];
    v[i] /= l[i][i];
  }
}

/// Solves L^T v = v in place.
template <int n>
inline void backward(const double (&l)[n][n], int size, double* v) noexcept {
  for (int i = size - 1; i >= 0; --i) {
    for (int k = i + 1; k < size; ++k) v[i] -= l[k][i] * v[k];
    v[i] /= l[i][i];
  }
}

/// One curve of the library: its mechanism and parameters. Conduction is a share of the current at 60 s.
struct Curve {
  int mechanism;
  double conduction;
  double drift;  // per second
  double n, a, b;
  double log_tau, log_tau2;
};

[[nodiscard]] inline Curve curve(std::int32_t k, const ForecastTarget& target) noexcept {
  using numerics::exp, numerics::log;
  double u[7];
  for (int j = 0; j < 7; ++j) u[j] = fraction(0.5 + static_cast<double>(k + 1) * even_steps[j]);
  constexpr double ln3 = 0x1.193ea7aad030bp+0, ln5 = 0x1.9c041f7ed8d33p+0, ln10 = 0x1.26bb1bbb55516p+1,
                   ln15 = 0x1.5aa16394d481fp+1, ln30 = 0x1.b35a6f90bd69bp+1, ln100 = 0x1.26bb1bbb55516p+2,
                   ln120 = 0x1.326643c4479c9p+2;
  Curve c{.mechanism = mechanism(k),
          .conduction = 0.008 * exp(ln120 * u[0]),
          .drift = 0,
          .n = 0.25 + 0.8 * u[1],
          .a = u[2],
          .b = u[3],
          .log_tau = 0,
          .log_tau2 = 0};
  if (target.drift_kelvin > 0)
    c.drift = target.drift_kelvin * (2 * u[6] - 1) * log(target.current_per_kelvin) / forecast_last_second;
  switch (c.mechanism) {
    case 2: c.log_tau = ln15 + ln10 * u[4]; break;
    case 3: [[fallthrough]];
    case 4: c.log_tau = ln3 + ln100 * u[4]; break;
    case 5: c.log_tau = ln10 + ln30 * u[4]; break;
    case 6:
      c.log_tau = ln5 + ln120 * u[4];
      c.log_tau2 = ln5 + ln120 * u[5];
      break;
    default: break;
  }
  return c;
}

/// Absorption current of a curve at exp(log_second), up to a constant factor.
[[nodiscard]] inline double absorption(const Curve& c, double log_second) noexcept {
  using numerics::exp, numerics::log;
  constexpr double ln10 = 0x1.26bb1bbb55516p+1, ln20 = 0x1.7f7427b73e391p+1, ln30 = 0x1.b35a6f90bd69bp+1,
                   ln60 = 0x1.0609bdc65328bp+2;
  const double second = exp(log_second);
  switch (c.mechanism) {
    case 0: return exp(-c.n * (log_second - ln60));
    case 1: return (1 - c.a) * exp(-c.n * (log_second - ln60)) + c.a * exp(-(0.3 + c.b) * (log_second - ln60));
    case 2: {
      const double w = 0.7 * c.a;
      return (1 - w) * exp(-c.n * (log_second - ln30)) + w * exp((30 - second) * exp(-c.log_tau));
    }
    case 3: return exp(-exp((0.3 + 0.4 * c.b) * (log_second - c.log_tau)));
    case 4: {
      const double beta = 0.3 + 0.7 * c.b;
      const double stretched = exp(exp(beta * (ln10 - c.log_tau)) - exp(beta * (log_second - c.log_tau)));
      return (1 - c.a) * exp(-c.n * (log_second - ln10)) + c.a * stretched;
    }
    case 5:
      return 1 / (exp((0.3 + 0.5 * c.b) * (log_second - c.log_tau)) + exp((1 + 0.6 * c.a) * (log_second - c.log_tau)));
    default: {
      const double w1 = c.a, w2 = (1 - c.a) * c.b;
      return (1 - w1 - w2) * exp(-c.n * (log_second - ln20)) + w1 * exp((20 - second) * exp(-c.log_tau)) +
             w2 * exp((20 - second) * exp(-c.log_tau2));
    }
  }
}

/// ln I of a curve, up to its level.
[[nodiscard]] inline double log_current(const Curve& c, double absorption_at_60, double log_second) noexcept {
  const double relative = c.conduction + (1 - c.conduction) * absorption(c, log_second) / absorption_at_60;
  const double ln = numerics::log(relative);
  return c.drift == 0 ? ln : ln + c.drift * numerics::exp(log_second);
}

}  // namespace detail

/// Sums over the readings of a run: fixed memory, mergeable.
class ForecastSums {
 public:
  /// Takes a reading: time since the voltage was on and ln of the current, or -ln of the resistance, of any level.
  /// Readings before 5 s or after 600 s are passed over; so is NaN.
  constexpr void push(double second, double log_current) noexcept {
    if (takes(second, log_current)) add(second, numerics::log(second), log_current);
  }

  /// The same where ln of the time is known already.
  constexpr void push(double second, double log_second, double log_current) noexcept {
    if (takes(second, log_current)) add(second, log_second, log_current);
  }
  /// Joins the sums of another part of the same run. Both must count from one level: the second part is begun with
  /// `continued()`. False, and nothing is changed, where they do not.
  [[nodiscard]] bool merge(const ForecastSums& other) noexcept {
    if (other.count_ == 0) return true;
    if (count_ == 0) {
      *this = other;
      return true;
    }
    if (level_ != other.level_) return false;
    for (int b = 0; b < forecast_bins; ++b) {
      bins_[b].count += other.bins_[b].count;
      bins_[b].sum_x += other.bins_[b].sum_x;
      bins_[b].sum_y += other.bins_[b].sum_y;
    }
    for (int k = 0; k < forecast_moments; ++k) moments_[k] += other.moments_[k];
    for (int k = 0; k <= forecast_features; ++k) moments_y_[k] += other.moments_y_[k];
    sum_yy_ += other.sum_yy_;
    count_ += other.count_;
    last_second_ = other.last_second_ > last_second_ ? other.last_second_ : last_second_;
    return true;
  }

  /// Empty sums that count from this one's level.
  [[nodiscard]] ForecastSums continued() const noexcept {
    ForecastSums next;
    next.level_ = level_;
    next.has_level_ = has_level_;
    return next;
  }

  [[nodiscard]] double count() const noexcept { return count_; }
  [[nodiscard]] double last_second() const noexcept { return last_second_; }

  struct Bin {
    double count;
    double sum_x;
    double sum_y;
  };
  [[nodiscard]] const Bin& bin(int b) const noexcept { return bins_[b]; }

  /// Variance of one reading about a polynomial in ln t, drawn towards 0.5 % with the weight of two readings; NaN where
  /// there are too few.
  [[nodiscard]] double noise_variance() const noexcept {
    const int degree = last_second_ <= 90 ? 3 : 5;
    const double freedom = count_ - degree - 1;
    if (!(freedom > 0)) return nan;
    double a[6][6] = {}, v[6] = {};
    for (int i = 0; i <= degree; ++i) {
      for (int j = 0; j <= degree; ++j) a[i][j] = moments_[i + j];
      v[i] = moments_y_[i];
    }
    if (!detail::cholesky(a, degree + 1, a)) return nan;
    detail::forward(a, degree + 1, v);
    double residual = sum_yy_;
    for (int i = 0; i <= degree; ++i) residual -= v[i] * v[i];
    residual = residual > 0 ? residual : 0;
    using detail::prior_count, detail::prior_noise;
    return (residual + prior_count * prior_noise * prior_noise) / (freedom + prior_count);
  }

  template <class Self, class Visit>
  static constexpr void each_field(Self& self, Visit& visit) noexcept {
    for (auto& bin : self.bins_) visit(bin.count, bin.sum_x, bin.sum_y);
    for (auto& moment : self.moments_) visit(moment);
    for (auto& moment : self.moments_y_) visit(moment);
    visit(self.sum_yy_, self.count_, self.last_second_, self.level_, self.has_level_);
  }

 private:
  [[nodiscard]] static constexpr bool takes(double second, double log_current) noexcept {
    return second >= forecast_first_second && second <= forecast_last_second && detail::finite(log_current);
  }

  constexpr void add(double second, double log_second, double log_current) noexcept {
    if (!has_level_) level_ = log_current;
    has_level_ = true;
    const double y = log_current - level_;
    constexpr double ln60 = 0x1.0609bdc65328bp+2;
    constexpr double log_start = numerics::log(detail::bin_start_second),
                     log_growth = numerics::log(detail::bin_growth);
    int bin = static_cast<int>((log_second - log_start) / log_growth);
    bin = bin < 0 ? 0 : (bin >= forecast_bins ? forecast_bins - 1 : bin);
    bins_[bin].count += 1;
    bins_[bin].sum_x += log_second - ln60;
    bins_[bin].sum_y += y;
    constexpr double scale = numerics::log(forecast_last_second / forecast_first_second);
    constexpr double log_first = numerics::log(forecast_first_second);
    const double x = 2 * (log_second - log_first) / scale - 1;
    double power = 1;
    for (int k = 0; k < forecast_moments; ++k) {
      moments_[k] += power;
      if (k <= forecast_features) moments_y_[k] += y * power;
      power *= x;
    }
    sum_yy_ += y * y;
    count_ += 1;
    last_second_ = second > last_second_ ? second : last_second_;
  }

  Bin bins_[forecast_bins] = {};
  double moments_[forecast_moments] = {};
  double moments_y_[forecast_features + 1] = {};
  double sum_yy_ = 0;
  double count_ = 0;
  double last_second_ = 0;
  double level_ = 0;
  bool has_level_ = false;
};

/// Where the readings of a run lie, and the contrasts that make features of them.
struct ForecastGrid {
  int bins = 0;
  int features = 0;              ///< 0: too few readings
  double x[forecast_bins] = {};  ///< mean ln(t/60 s) of each bin that holds readings
  double contrast[forecast_features][forecast_bins] = {};

  friend bool operator==(const ForecastGrid& one, const ForecastGrid& other) noexcept {
    if (one.bins != other.bins || one.features != other.features) return false;
    for (int b = 0; b < one.bins; ++b) {
      if (one.x[b] != other.x[b]) return false;
      for (int j = 0; j < one.features; ++j)
        if (one.contrast[j][b] != other.contrast[j][b]) return false;
    }
    return true;
  }
};

/// The grid of a run, written where it shall stay. Weighted QR of powers of x: the columns but the first are the
/// contrasts, so a level drops out.
inline void forecast_grid(const ForecastSums& sums, ForecastGrid& grid) noexcept {
  grid = {};
  double root_count[forecast_bins];
  double largest = 0;
  for (int b = 0; b < forecast_bins; ++b) {
    const ForecastSums::Bin& bin = sums.bin(b);
    if (!(bin.count > 0)) continue;
    grid.x[grid.bins] = bin.sum_x / bin.count;
    root_count[grid.bins] = numerics::sqrt(bin.count);
    const double size = numerics::detail::absolute(grid.x[grid.bins]);
    largest = size > largest ? size : largest;
    ++grid.bins;
  }
  constexpr int least_bins = 5;
  if (grid.bins < least_bins) return;
  grid.features = grid.bins - 2 < forecast_features ? grid.bins - 2 : forecast_features;
  double level[forecast_bins];  // column 0 of Q; the others grow in grid.contrast
  const auto column = [&grid, &level](int j) noexcept { return j == 0 ? level : grid.contrast[j - 1]; };
  for (int j = 0; j <= grid.features; ++j) {
    double* const q = column(j);
    for (int b = 0; b < grid.bins; ++b) q[b] = j == 0 ? root_count[b] : column(j - 1)[b] * (grid.x[b] / largest);
    // Powers of x by way of the orthonormal columns span the same spaces; twice for orthogonality to the last bits.
    for (int pass = 0; pass < 2; ++pass)
      for (int i = 0; i < j; ++i) {
        double product = 0;
        for (int b = 0; b < grid.bins; ++b) product += column(i)[b] * q[b];
        for (int b = 0; b < grid.bins; ++b) q[b] -= product * column(i)[b];
      }
    double square = 0;
    for (int b = 0; b < grid.bins; ++b) square += q[b] * q[b];
    const double length = numerics::sqrt(square);
    for (int b = 0; b < grid.bins; ++b) q[b] /= length;
  }
  for (int j = 0; j < grid.features; ++j)
    for (int b = 0; b < grid.bins; ++b) grid.contrast[j][b] *= root_count[b];
}

[[nodiscard]] inline ForecastGrid forecast_grid(const ForecastSums& sums) noexcept {
  ForecastGrid grid;
  forecast_grid(sums, grid);
  return grid;
}

/// Features and ln ratio of one curve of the library on a grid, as they are kept: float.
struct ForecastCurve {
  float feature[forecast_features];
  float log_ratio;
};

[[nodiscard]] inline ForecastCurve forecast_curve(std::int32_t k, const ForecastGrid& grid,
                                                  const ForecastTarget& target) noexcept {
  constexpr double ln60 = 0x1.0609bdc65328bp+2;
  const detail::Curve c = detail::curve(k, target);
  const double at_60 = detail::absorption(c, ln60);
  double sum[forecast_features] = {};
  for (int b = 0; b < grid.bins; ++b) {
    const double y = detail::log_current(c, at_60, grid.x[b] + ln60);
    for (int j = 0; j < grid.features; ++j) sum[j] += grid.contrast[j][b] * y;
  }
  ForecastCurve kept{};
  for (int j = 0; j < forecast_features; ++j) kept.feature[j] = static_cast<float>(sum[j]);
  kept.log_ratio = static_cast<float>(detail::log_current(c, at_60, numerics::log(target.early_second)) -
                                      detail::log_current(c, at_60, numerics::log(target.late_second)));
  return kept;
}

/// A library kept in memory: `feature[j][k]` at feature[j * curves + k].
struct ForecastTable {
  const float* feature;
  const float* log_ratio;
  std::int32_t curves;

  [[nodiscard]] ForecastCurve curve(std::int32_t k) const noexcept {
    ForecastCurve c{};
    for (int j = 0; j < forecast_features; ++j) c.feature[j] = feature[static_cast<std::int64_t>(j) * curves + k];
    c.log_ratio = log_ratio[k];
    return c;
  }
};

/// A library made anew whenever a curve is asked for: no table, more work, the same bits.
struct ForecastRegenerated {
  const ForecastGrid& grid;
  const ForecastTarget& target;

  [[nodiscard]] ForecastCurve curve(std::int32_t k) const noexcept { return forecast_curve(k, grid, target); }
};

namespace detail {

/// Squared distance, and whitened difference, of a curve from the observed features.
struct Whitener {
  int size = 0;
  double inverse[forecast_features][forecast_features] = {};  // of the Cholesky factor
  double observed[forecast_features] = {};                    // whitened

  [[nodiscard]] double distance(const ForecastCurve& c, double (&z)[forecast_features]) const noexcept {
    double square = 0;
    for (int i = 0; i < forecast_features; ++i) {
      double sum = -observed[i];
      for (int j = 0; j <= i; ++j) sum += inverse[i][j] * static_cast<double>(c.feature[j]);
      z[i] = sum;
      square += sum * sum;
    }
    return square;
  }
};

/// Noise plus a random walk in ln t that stands for unknown range changes.
[[nodiscard]] inline bool whitener(const ForecastSums& sums, const ForecastGrid& grid, double variance,
                                   Whitener& w) noexcept {
  const double start = numerics::log(forecast_first_second / 60) - 0.1;
  double cov[forecast_features][forecast_features] = {};
  for (int i = 0; i < grid.features; ++i)
    for (int j = 0; j < grid.features; ++j) {
      double sum = 0;
      for (int a = 0; a < grid.bins; ++a)
        for (int b = 0; b < grid.bins; ++b) {
          const double lower = (grid.x[a] < grid.x[b] ? grid.x[a] : grid.x[b]) - start;
          sum += grid.contrast[i][a] * grid.contrast[j][b] * lower;
        }
      cov[i][j] = range_step * range_step * sum + (i == j ? variance : 0);
    }
  if (!cholesky(cov, grid.features, cov)) return false;
  w = {};
  w.size = grid.features;
  for (int column = 0; column < grid.features; ++column) {
    double unit[forecast_features] = {};
    unit[column] = 1;
    forward(cov, grid.features, unit);
    for (int i = 0; i < grid.features; ++i) w.inverse[i][column] = unit[i];
  }
  int occupied = 0;
  double feature[forecast_features] = {};
  for (int b = 0; b < forecast_bins; ++b) {
    const ForecastSums::Bin& bin = sums.bin(b);
    if (!(bin.count > 0)) continue;
    for (int j = 0; j < grid.features; ++j) feature[j] += grid.contrast[j][occupied] * (bin.sum_y / bin.count);
    ++occupied;
  }
  for (int i = 0; i < grid.features; ++i)
    for (int j = 0; j <= i; ++j) w.observed[i] += w.inverse[i][j] * feature[j];
  return true;
}

inline constexpr double negligible = 50;  // exp(-50/2) = 1.4e-11

/// Rung whose 2 h^2 is the least that is not below a distance.
[[nodiscard]] constexpr int rung_of(double beyond) noexcept {
  if (!(beyond > 2)) return 0;
  // beyond = 2^e * m, 1 <= m < 2: 2 * 2^r >= beyond from r = e - 1 on where m is 1, else from r = e on.
  const std::uint64_t pattern = numerics::detail::bits(beyond);
  const int exponent = static_cast<int>(pattern >> 52) - 1023;
  const int rung = (pattern & ((std::uint64_t{1} << 52) - 1)) == 0 ? exponent - 1 : exponent;
  return rung < forecast_rungs ? rung : forecast_rungs;
}

/// Distances of a whole table in blocks that vectorise; each curve by the operations of Whitener::distance.
inline double distances_of(const Whitener& w, const ForecastTable& table, double* out) noexcept {
  constexpr std::int32_t lanes = 64;
  double least = infinity;
  for (std::int32_t start = 0; start < table.curves; start += lanes) {
    const std::int32_t count = table.curves - start < lanes ? table.curves - start : lanes;
    double square[lanes] = {}, sum[lanes];
    for (int i = 0; i < forecast_features; ++i) {
      for (std::int32_t lane = 0; lane < count; ++lane) sum[lane] = -w.observed[i];
      for (int j = 0; j <= i; ++j) {
        const float* feature = table.feature + static_cast<std::int64_t>(j) * table.curves + start;
        const double factor = w.inverse[i][j];
        for (std::int32_t lane = 0; lane < count; ++lane) sum[lane] += factor * static_cast<double>(feature[lane]);
      }
      for (std::int32_t lane = 0; lane < count; ++lane) square[lane] += sum[lane] * sum[lane];
    }
    for (std::int32_t lane = 0; lane < count; ++lane) {
      out[start + lane] = square[lane];
      least = square[lane] < least ? square[lane] : least;
    }
  }
  return least;
}

template <class Library>
inline double distances_of(const Whitener& w, const Library& library, double*, std::int32_t curves) noexcept {
  double least = infinity, z[forecast_features];
  for (std::int32_t k = 0; k < curves; ++k) {
    const double d = w.distance(library.curve(k), z);
    least = d < least ? d : least;
  }
  return least;
}

/// The curves within a limit of the nearest one, in their order: from memory where there is some.
template <class Library>
struct Neighbourhood {
  const Whitener& w;
  const Library& library;
  const ForecastWorkspace& workspace;
  std::int32_t curves;
  std::int32_t listed = -1;  // -1: not listed yet
  double least = infinity;

  void begin() noexcept {
    if constexpr (requires { library.feature; }) {
      if (workspace.distances != nullptr) {
        least = distances_of(w, library, workspace.distances);
        return;
      }
    }
    least = distances_of(w, library, nullptr, curves);
  }

  /// Calls visit(k, distance beyond the least) for each curve within `limit` of the least distance.
  template <class Visit>
  void visit(double limit, const Visit& visit_curve) const noexcept {
    double z[forecast_features];
    if (listed >= 0) {
      for (std::int32_t i = 0; i < listed; ++i) {
        const double beyond = workspace.distances[i];
        if (beyond <= limit) visit_curve(workspace.near[i], beyond);
      }
      return;
    }
    const bool kept = has_memory();
    for (std::int32_t k = 0; k < curves; ++k) {
      const double beyond = (kept ? workspace.distances[k] : w.distance(library.curve(k), z)) - least;
      if (beyond <= limit) visit_curve(k, beyond);
    }
  }

  /// Keeps only the curves within a limit; later limits must not be larger.
  void narrow(double limit) noexcept {
    if (!has_memory()) return;
    std::int32_t count = 0;
    for (std::int32_t k = 0; k < curves; ++k) {
      const double beyond = workspace.distances[k] - least;
      workspace.distances[count] = beyond;
      workspace.near[count] = k;
      count += beyond <= limit ? 1 : 0;
    }
    listed = count;
  }

 private:
  [[nodiscard]] bool has_memory() const noexcept {
    return requires { library.feature; } && workspace.distances != nullptr && workspace.near != nullptr;
  }
};

/// Kernel sums.
struct KernelSums {
  double weight = 0;
  double square = 0;

  [[nodiscard]] double effective() const noexcept { return weight * weight / square; }
};

/// Linear map that brings a cloud widened by h back: delta p = vector . z + constant.
struct Transport {
  double vector[forecast_features] = {};
  double constant = 0;
};

/// Weighted means and second moments of the cloud.
struct Cloud {
  double weight = 0;
  double z[forecast_features] = {};
  double zz[forecast_features][forecast_features] = {};
  double p = 0;
  double zp[forecast_features] = {};

  void add(double w, const double (&at)[forecast_features], double value) noexcept {
    weight += w;
    p += w * value;
    for (int i = 0; i < forecast_features; ++i) {
      z[i] += w * at[i];
      zp[i] += w * at[i] * value;
      for (int j = 0; j <= i; ++j) zz[i][j] += w * at[i] * at[j];
    }
  }
};

/// Matrices of the transport.
struct TransportMatrices {
  static constexpr int n = forecast_features;
  double l[n][n] = {};  // Cholesky factor of S
  double inverse_l[n][n] = {};
  double other[n][n] = {};     // the ridge, then the precision
  double narrowed[n][n] = {};  // S', then its Cholesky factor
};

/// S' = (S^-1 + (1 - 1/h^2) I)^-1, m' = S' S^-1 m, z' = m' + L' L^-1 (z - m), delta p = beta . (z' - z).
[[nodiscard]] inline bool transport(const Cloud& cloud, int size, double h2, TransportMatrices& m,
                                    Transport& out) noexcept {
  constexpr int n = forecast_features;
  m = {};
  double mean[n] = {}, beta[n] = {};
  const double mean_p = cloud.p / cloud.weight;
  for (int i = 0; i < size; ++i) mean[i] = cloud.z[i] / cloud.weight;
  for (int i = 0; i < size; ++i) {
    for (int j = 0; j <= i; ++j) {
      m.l[i][j] = cloud.zz[i][j] / cloud.weight - mean[i] * mean[j] + (i == j ? 1e-6 : 0);
      m.other[i][j] = m.l[i][j] + (i == j ? 0.002 * h2 : 0);
    }
    beta[i] = cloud.zp[i] / cloud.weight - mean[i] * mean_p;
  }
  if (!cholesky(m.l, size, m.l) || !cholesky(m.other, size, m.other)) return false;
  forward(m.other, size, beta);
  backward(m.other, size, beta);

  for (int column = 0; column < size; ++column) {
    double unit[n] = {};
    unit[column] = 1;
    forward(m.l, size, unit);
    for (int i = 0; i < size; ++i) m.inverse_l[i][column] = unit[i];
  }
  for (int i = 0; i < size; ++i)
    for (int j = 0; j < size; ++j) {
      double sum = i == j ? 1 - 1 / h2 : 0;
      for (int k = 0; k < size; ++k) sum += m.inverse_l[k][i] * m.inverse_l[k][j];
      m.other[i][j] = sum;
    }
  if (!cholesky(m.other, size, m.other)) return false;
  for (int column = 0; column < size; ++column) {
    double unit[n] = {};
    unit[column] = 1;
    forward(m.other, size, unit);
    backward(m.other, size, unit);
    for (int i = 0; i < size; ++i) m.narrowed[i][column] = unit[i];
  }
  for (int i = 0; i < size; ++i)
    for (int j = 0; j < i; ++j) m.narrowed[j][i] = m.narrowed[i][j];

  double moved[n] = {};  // m' = S' S^-1 m
  for (int i = 0; i < size; ++i) moved[i] = mean[i];
  forward(m.l, size, moved);
  backward(m.l, size, moved);
  double new_mean[n] = {};
  for (int i = 0; i < size; ++i)
    for (int j = 0; j < size; ++j) new_mean[i] += m.narrowed[i][j] * moved[j];
  if (!cholesky(m.narrowed, size, m.narrowed)) return false;

  // beta . (L' L^-1) as a row vector, less beta itself.
  double row[n] = {};
  for (int j = 0; j < size; ++j)
    for (int i = j; i < size; ++i) row[j] += beta[i] * m.narrowed[i][j];
  for (int j = 0; j < size; ++j) {
    double sum = 0;
    for (int i = j; i < size; ++i) sum += row[i] * m.inverse_l[i][j];
    out.vector[j] = sum - beta[j];
    out.constant += beta[j] * new_mean[j] - sum * mean[j];
  }
  return true;
}

}  // namespace detail

/// What a forecast works with between its passes; its content means nothing afterwards.
struct ForecastScratch {
  detail::Whitener whitener = {};
  detail::KernelSums kernel[forecast_rungs] = {};
  detail::Cloud cloud = {};
  detail::TransportMatrices matrices = {};
  std::int32_t within[forecast_rungs + 1] = {};
};

/// The forecast of a run by a library on its grid.
///
/// level: of the interval, within (0, 1); 0.95 is what the inflation was measured at, any other is `interval_scaled`.
/// Status: sound; wide (8): high - low exceeds the value; few_points (3): fewer readings than `forecast_few_readings`,
/// the interval may hold less than it says; interval_scaled (7); too_few_points (-7): readings in fewer than 5 bins
/// of time, or no more readings than the noise fit takes, or none at 30 s or later; out_of_domain (-2): senseless level
/// or target; no_solution (-10).
template <class Library>
[[nodiscard]] inline Forecast forecast_ratio(const ForecastSums& sums, const ForecastGrid& grid, const Library& library,
                                             const ForecastMode& mode, const ForecastTarget& target, double level,
                                             const ForecastWorkspace& workspace) noexcept {
  using numerics::exp, numerics::sqrt;
  Forecast out;
  const bool sensible = (level > 0) && (level < 1) && (target.early_second >= forecast_first_second) &&
                        (target.early_second <= forecast_last_second) && (target.late_second > target.early_second) &&
                        (target.late_second <= forecast_latest_second) && (target.drift_kelvin >= 0) &&
                        (target.drift_kelvin <= 1000) && (target.current_per_kelvin > 1) &&
                        (target.current_per_kelvin <= 2);
  if (!sensible) {
    out.status = Status::out_of_domain;
    return out;
  }
  constexpr double least_last_second = 30;
  const double variance = sums.noise_variance();
  if (grid.features == 0 || !(variance > 0) || sums.last_second() < least_last_second) return out;
  ForecastScratch& scratch = *workspace.scratch;
  detail::Whitener& w = scratch.whitener;
  out.status = Status::no_solution;
  if (!detail::whitener(sums, grid, variance, w)) return out;
  out.noise = sqrt(variance);
  out.steepening = w.observed[1];

  // 1. The nearest curve.
  detail::Neighbourhood<Library> near{.w = w, .library = library, .workspace = workspace, .curves = mode.curves};
  near.begin();
  if (!(near.least < infinity)) return out;

  // 2. A rung that is surely wide enough: weights are at most 1, so the effective number is at least sum w, which is at
  //    least 1/e of the curves within 2 h^2.
  std::int32_t (&within)[forecast_rungs + 1] = scratch.within;
  for (std::int32_t& count : within) count = 0;
  near.visit(infinity, [&within](std::int32_t, double beyond) noexcept { ++within[detail::rung_of(beyond)]; });
  int top = 0;
  double top_h2 = 1, inside = within[0];
  while (top + 1 < forecast_rungs && inside < 3 * mode.effective_number) {
    ++top;
    top_h2 *= 2;
    inside += within[top];
  }
  near.narrow(detail::negligible * top_h2);

  // 3. Sums of all rungs up to that one in one pass: the weight of the next lower rung is the square.
  detail::KernelSums(&kernel)[forecast_rungs] = scratch.kernel;
  for (detail::KernelSums& sum : kernel) sum = {};
  near.visit(detail::negligible * top_h2, [&kernel, top, top_h2](std::int32_t, double beyond) noexcept {
    double weight = exp(-beyond / (2 * top_h2));
    double h2 = top_h2;
    int r = top;
    while (r >= 0 && beyond <= detail::negligible * h2) {
      const double square = weight * weight;
      kernel[r].weight += weight;
      kernel[r].square += square;
      weight = square;
      h2 *= 0.5;
      --r;
    }
  });
  int rung = 0;
  double h2 = 1;
  while (rung < top && kernel[rung].effective() < mode.effective_number) {
    ++rung;
    h2 *= 2;
  }
  if (rung > 0) {
    double low_h2 = h2 / 2;
    for (int step = 0; step < mode.refinements; ++step) {
      const double middle = sqrt(low_h2 * h2);
      detail::KernelSums sum;
      near.visit(detail::negligible * middle, [&sum, middle](std::int32_t, double beyond) noexcept {
        const double weight = exp(-beyond / (2 * middle));
        sum.weight += weight;
        sum.square += weight * weight;
      });
      (sum.effective() < mode.effective_number ? low_h2 : h2) = middle;
    }
  }
  out.kernel_width = sqrt(h2);
  out.least_distance = near.least;

  // 4. The cloud and the transport that undoes its widening.
  detail::Transport transport;
  if (h2 > 1) {
    detail::Cloud& cloud = scratch.cloud;
    cloud = {};
    near.visit(detail::negligible * h2, [&](std::int32_t k, double beyond) noexcept {
      const ForecastCurve c = library.curve(k);
      double z[forecast_features];
      static_cast<void>(w.distance(c, z));
      cloud.add(exp(-beyond / (2 * h2)), z, static_cast<double>(c.log_ratio));
    });
    if (!detail::transport(cloud, grid.features, h2, scratch.matrices, transport)) return out;
  }

  // 5. Weighted histogram of the transported ln ratio. Without drift the current can not rise: what falls below a ratio
  //    of 1 lies at 1.
  for (int i = 0; i < mode.histogram_bins; ++i) workspace.histogram[i] = 0;
  const bool may_rise = target.drift_kelvin > 0;
  double total = 0, at_one = 0;
  near.visit(detail::negligible * h2, [&](std::int32_t k, double beyond) noexcept {
    const double weight = exp(-beyond / (2 * h2));
    const ForecastCurve c = library.curve(k);
    double z[forecast_features];
    static_cast<void>(w.distance(c, z));
    double p = static_cast<double>(c.log_ratio) + transport.constant;
    for (int i = 0; i < grid.features; ++i) p += transport.vector[i] * z[i];
    total += weight;
    out.mechanism[detail::mechanism(k)] += weight;
    if (!may_rise && p <= 0) {
      at_one += weight;
      return;
    }
    const double place = p / mode.histogram_width + mode.histogram_below_zero;
    const double last = mode.histogram_bins - 1;
    const double clamped = place < 0 ? 0 : (place > last ? last : place);
    workspace.histogram[static_cast<std::int32_t>(clamped)] += weight;
  });
  for (double& share : out.mechanism) share /= total;

  const auto quantile = [&](double probability) noexcept {
    double wanted = probability * total - at_one;
    if (wanted <= 0 && at_one > 0) return 0.0;
    for (int i = 0; i < mode.histogram_bins; ++i) {
      const double here = workspace.histogram[i];
      if (here > 0 && wanted <= here) return (i - mode.histogram_below_zero + wanted / here) * mode.histogram_width;
      wanted -= here;
    }
    return (mode.histogram_bins - mode.histogram_below_zero) * mode.histogram_width;
  };
  const double centre = quantile(0.5);
  double low = centre - forecast_inflation * (centre - quantile((1 - level) / 2));
  if (!may_rise && low < 0) low = 0;
  const double high = centre + forecast_inflation * (quantile((1 + level) / 2) - centre);
  out.value = exp(centre);
  out.low = exp(low);
  out.high = exp(high);
  out.status = out.high - out.low > out.value         ? Status::wide
               : sums.count() < forecast_few_readings ? Status::few_points
               : level != 0.95                        ? Status::interval_scaled
                                                      : Status::sound;
  return out;
}

}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::formula
