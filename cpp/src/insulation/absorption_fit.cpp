#include "ohmward/insulation/absorption_fit.hpp"

#include <algorithm>
#include <cmath>

#include "insulation/in_pieces.hpp"
#include "ohmward/formula/forecast.hpp"
#include "ohmward/numerics/elementary.hpp"

namespace ohmward::insulation {
namespace {

constexpr int columns = 3;  // constant, power, decay
constexpr double exponent_low = 0.05, exponent_high = 2;

/// The two parameters that enter nonlinearly.
struct Shape {
  double exponent;
  double log_tau;
};

struct Bounds {
  Shape low, high;
};

bool has_power(AbsorptionModel m) {
  return m == AbsorptionModel::absorption || m == AbsorptionModel::absorption_and_charging;
}
bool has_decay(AbsorptionModel m) {
  return m == AbsorptionModel::charging || m == AbsorptionModel::absorption_and_charging;
}
int parameter_count(AbsorptionModel m) { return 1 + (has_power(m) ? 2 : 0) + (has_decay(m) ? 2 : 0); }

/// Readings as the fit needs them: deviations relative to each current, weighted by the uncertainty of each reading.
/// The weight is 1 for the best reading; target and regressors carry it.
struct Readings {
  std::vector<double> log_minute, second, weight, one;
  double scale;
  double least_u;  // standard uncertainty of a reading of weight 1; NaN where none is stated

  explicit Readings(const TimedRun& run) {
    double sum_of_logs = 0, least = infinity;
    bool all_stated = true;
    const std::size_t most = run.usable().size();
    for (std::vector<double>* column : {&log_minute, &second, &weight, &one}) column->reserve(most);
    for (const Sample& sample : run.usable()) {
      if (sample.censoring != Censoring::exact) continue;
      second.push_back(sample.time_second);
      log_minute.push_back(numerics::log(sample.time_second / 60));
      one.push_back(sample.resistance_ohm);
      sum_of_logs += numerics::log(sample.resistance_ohm);
      const double u = relative_standard_uncertainty(sample, run.conditions());
      weight.push_back(u);
      all_stated = all_stated && u > 0;
      least = std::fmin(least, u);
    }
    least_u = all_stated && !one.empty() ? least : nan;
    scale = one.empty() ? 1 : numerics::exp(-sum_of_logs / static_cast<double>(one.size()));
    for (std::size_t i = 0; i < one.size(); ++i) {
      weight[i] = all_stated ? least / weight[i] : 1;
      one[i] *= scale * weight[i];
    }
  }
  [[nodiscard]] std::size_t size() const noexcept { return one.size(); }
};

/// Amplitudes >= 0 of the present columns that minimise |Phi a - target|^2, from the Gram matrix: the best feasible
/// subset.
struct Amplitudes {
  double a[columns] = {};
  bool active[columns] = {};
};

bool solve(const double (&g)[columns][columns], const double (&b)[columns], const int* subset, int size, double* x) {
  double l[columns][columns] = {}, sub[columns][columns] = {};
  for (int i = 0; i < size; ++i)
    for (int j = 0; j < size; ++j) sub[i][j] = g[subset[i]][subset[j]];
  for (int i = 0; i < size; ++i) x[i] = b[subset[i]];
  if (!formula::detail::cholesky(sub, size, l)) return false;
  formula::detail::forward(l, size, x);
  formula::detail::backward(l, size, x);
  return true;
}

/// Also returns how much of |target|^2 the best subset explains.
double amplitudes(const double (&g)[columns][columns], const double (&b)[columns], unsigned present, Amplitudes& out) {
  double best = -1;
  for (unsigned mask = present; mask != 0; mask = (mask - 1) & present) {
    int subset[columns], size = 0;
    for (int j = 0; j < columns; ++j)
      if ((mask >> j) & 1U) subset[size++] = j;
    double x[columns];
    if (!solve(g, b, subset, size, x)) continue;
    double explained = 0;
    bool feasible = true;
    for (int i = 0; i < size; ++i) {
      feasible = feasible && x[i] >= 0;
      explained += x[i] * b[subset[i]];
    }
    if (!feasible || explained <= best) continue;
    best = explained;
    out = {};
    for (int i = 0; i < size; ++i) {
      out.a[subset[i]] = x[i];
      out.active[subset[i]] = true;
    }
    if (mask == present) break;  // the unconstrained minimum is feasible: no subset explains more
  }
  return best;
}

class Fitter {
 public:
  Fitter(const Readings& readings, const Bounds& bounds)
      : r_(readings), bounds_(bounds), power_(readings.size()), decay_(readings.size()), residual_(readings.size()) {}

  /// Everything at one shape that a step needs.
  struct Point {
    Shape shape{};
    Amplitudes amplitudes{};
    double sum_of_squares = infinity;
    double curvature[2][2] = {};  // of the projected problem, by exponent and ln tau
    double slope[2] = {};
  };

  struct Grid;
  void start_simple(Grid& grid);
  void start_full(Grid& grid, double fitted_exponent);
  Point evaluate(AbsorptionModel model, const Shape& shape);
  Point minimise(AbsorptionModel model, const Shape& start, bool& converged);
  AbsorptionFit fit(AbsorptionModel model);

 private:
  static unsigned present(AbsorptionModel model) {
    return 1U | (has_power(model) ? 2U : 0U) | (has_decay(model) ? 4U : 0U);
  }
  void fill_power(double exponent, double* out) const;
  void fill_decay(double log_tau, double* out) const;
  void uncertainties(AbsorptionFit& fit, const Point& at);

  void add_to_grid(Grid& grid, int first, int last) const;
  static double explained(const Grid& grid, int power, int decay);

  const Readings& r_;
  Bounds bounds_;
  std::vector<double> power_, decay_, residual_;
  Shape starts_[3] = {};
  std::vector<std::pair<double, Shape>> full_starts_;
};

void Fitter::fill_power(double exponent, double* out) const {
  for (std::size_t i = 0; i < r_.size(); ++i) out[i] = r_.one[i] * numerics::exp(-exponent * r_.log_minute[i]);
}
void Fitter::fill_decay(double log_tau, double* out) const {
  const double rate = numerics::exp(-log_tau);
  for (std::size_t i = 0; i < r_.size(); ++i) out[i] = r_.one[i] * numerics::exp(-r_.second[i] * rate);
}

/// Columns of the grid and their inner products, each formed once. The last power is the exponent of the fitted
/// absorption model: a weak charging term shows only beside it.
struct Fitter::Grid {
  static constexpr int powers = 7, decays = 8, count = 1 + powers + decays;
  double exponent[powers] = {0.15, 0.4, 0.65, 0.9, 1.2, 1.7, nan};
  double log_tau[decays];
  double gram[count][count];
  double target[count];
  std::vector<double> column;
};

void Fitter::add_to_grid(Grid& grid, int first, int last) const {
  const std::size_t n = r_.size();
  const auto at = [&](int c) { return grid.column.data() + static_cast<std::size_t>(c) * n; };
  for (int a = first; a < last; ++a) {
    if (a == 0) std::copy(r_.one.begin(), r_.one.end(), at(0));
    if (a >= 1 && a < 1 + Grid::powers) fill_power(grid.exponent[a - 1], at(a));
    if (a >= 1 + Grid::powers) fill_decay(grid.log_tau[a - 1 - Grid::powers], at(a));
    grid.target[a] = 0;
    for (std::size_t i = 0; i < n; ++i) grid.target[a] += at(a)[i] * r_.weight[i];
  }
  for (int a = first; a < last; ++a)
    for (int b = 0; b < Grid::count; ++b) {
      const bool filled = b < last || (b >= 1 + Grid::powers && first == Grid::powers);
      const bool of_one_kind = a != b && a > 0 && b > 0 && (a <= Grid::powers) == (b <= Grid::powers);
      if (!filled || of_one_kind) continue;
      double sum = 0;
      for (std::size_t i = 0; i < n; ++i) sum += at(a)[i] * at(b)[i];
      grid.gram[a][b] = grid.gram[b][a] = sum;
    }
}

/// How much of |target|^2 the constant, a power and a decay (0: none) explain together; -1 unless every nonlinear term
/// is really there.
double Fitter::explained(const Grid& grid, int power, int decay) {
  const int index[columns] = {0, power, decay};
  const unsigned mask = 1U | (power > 0 ? 2U : 0U) | (decay > 0 ? 4U : 0U);
  double g[columns][columns] = {}, b[columns] = {};
  for (int i = 0; i < columns; ++i) {
    if (!((mask >> i) & 1U)) continue;
    b[i] = grid.target[index[i]];
    for (int j = 0; j < columns; ++j)
      if ((mask >> j) & 1U) g[i][j] = grid.gram[index[i]][index[j]];
  }
  Amplitudes a;
  const double value = amplitudes(g, b, mask, a);
  return (power == 0 || a.active[1]) && (decay == 0 || a.active[2]) ? value : -1;
}

/// Starts of the models with one nonlinear term.
void Fitter::start_simple(Grid& grid) {
  for (int d = 0; d < Grid::decays; ++d)
    grid.log_tau[d] = bounds_.low.log_tau + (d + 0.5) / Grid::decays * (bounds_.high.log_tau - bounds_.low.log_tau);
  grid.column.resize(static_cast<std::size_t>(Grid::count) * r_.size());
  add_to_grid(grid, 0, Grid::powers);
  add_to_grid(grid, 1 + Grid::powers, Grid::count);
  double best_power = -infinity, best_decay = -infinity;
  for (int p = 1; p < Grid::powers; ++p) {
    const double value = explained(grid, p, 0);
    if (value <= best_power) continue;
    best_power = value;
    starts_[static_cast<int>(AbsorptionModel::absorption)] = {grid.exponent[p - 1], bounds_.low.log_tau};
  }
  for (int d = 1 + Grid::powers; d < Grid::count; ++d) {
    const double value = explained(grid, 0, d);
    if (value <= best_decay) continue;
    best_decay = value;
    starts_[static_cast<int>(AbsorptionModel::charging)] = {exponent_low, grid.log_tau[d - 1 - Grid::powers]};
  }
}

/// Starts of the full model: the best local maxima over ln tau of what is explained.
void Fitter::start_full(Grid& grid, double fitted_exponent) {
  grid.exponent[Grid::powers - 1] = fitted_exponent;
  add_to_grid(grid, Grid::powers, Grid::powers + 1);
  double best[Grid::decays + 2];
  Shape shape[Grid::decays + 2];
  best[0] = best[Grid::decays + 1] = -1;
  for (int d = 1; d <= Grid::decays; ++d) {
    best[d] = -1;
    for (int p = 1; p <= Grid::powers; ++p) {
      const double value = explained(grid, p, d + Grid::powers);
      if (value <= best[d]) continue;
      best[d] = value;
      shape[d] = {grid.exponent[p - 1], grid.log_tau[d - 1]};
    }
  }
  full_starts_.clear();
  for (int d = 1; d <= Grid::decays; ++d)
    if (best[d] >= 0 && best[d] >= best[d - 1] && best[d] > best[d + 1]) full_starts_.push_back({best[d], shape[d]});
  std::sort(full_starts_.begin(), full_starts_.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
  constexpr std::size_t most = 2;
  if (full_starts_.size() > most) full_starts_.resize(most);
  // No charging term explains anything: the absorption model is the minimum.
  if (full_starts_.empty()) full_starts_.push_back({0, {fitted_exponent, grid.log_tau[0]}});
}

Fitter::Point Fitter::evaluate(AbsorptionModel model, const Shape& shape) {
  const unsigned mask = present(model);
  const bool with_power = has_power(model), with_decay = has_decay(model);
  if (with_power) fill_power(shape.exponent, power_.data());
  if (with_decay) fill_decay(shape.log_tau, decay_.data());
  double g[columns][columns] = {}, b[columns] = {}, dg[2][columns] = {}, dd[2][2] = {};
  const double rate = with_decay ? numerics::exp(-shape.log_tau) : 0;
  for (std::size_t i = 0; i < r_.size(); ++i) {
    const double o = r_.one[i], p = with_power ? power_[i] : 0, e = with_decay ? decay_[i] : 0;
    const double dp = -r_.log_minute[i] * p, de = r_.second[i] * rate * e;
    const double w = r_.weight[i];
    b[0] += w * o, b[1] += w * p, b[2] += w * e;
    g[0][0] += o * o, g[1][0] += o * p, g[1][1] += p * p, g[2][0] += o * e, g[2][1] += p * e, g[2][2] += e * e;
    dg[0][0] += dp * o, dg[0][1] += dp * p, dg[0][2] += dp * e, dg[1][0] += de * o, dg[1][1] += de * p,
        dg[1][2] += de * e;
    dd[0][0] += dp * dp, dd[0][1] += dp * de, dd[1][1] += de * de;
  }
  for (int i = 0; i < columns; ++i)
    for (int j = 0; j < i; ++j) g[j][i] = g[i][j];
  Point at{.shape = shape};
  if (amplitudes(g, b, mask, at.amplitudes) < 0) return at;
  const double* a = at.amplitudes.a;
  at.sum_of_squares = 0;
  for (std::size_t i = 0; i < r_.size(); ++i) {
    residual_[i] =
        r_.weight[i] - a[0] * r_.one[i] - (with_power ? a[1] * power_[i] : 0) - (with_decay ? a[2] * decay_[i] : 0);
    at.sum_of_squares += residual_[i] * residual_[i];
    if (with_power) at.slope[0] -= a[1] * r_.log_minute[i] * power_[i] * residual_[i];
    if (with_decay) at.slope[1] += a[2] * r_.second[i] * rate * decay_[i] * residual_[i];
  }
  // Curvature of the problem with the active amplitudes projected out.
  const double size[2] = {a[1], a[2]};
  dd[1][0] = dd[0][1];
  int subset[columns], active = 0;
  for (int j = 0; j < columns; ++j)
    if (at.amplitudes.active[j]) subset[active++] = j;
  for (int i = 0; i < 2; ++i) {
    double x[columns];
    if (active == 0 || !solve(g, dg[i], subset, active, x)) continue;
    for (int j = 0; j < 2; ++j) {
      double projected = dd[i][j];
      for (int k = 0; k < active; ++k) projected -= x[k] * dg[j][subset[k]];
      at.curvature[i][j] = size[i] * size[j] * projected;
    }
  }
  return at;
}

/// Damped Gauss-Newton on the one or two shape parameters.
Fitter::Point Fitter::minimise(AbsorptionModel model, const Shape& start, bool& converged) {
  const bool free_of[2] = {has_power(model), has_decay(model)};
  Point best = evaluate(model, start);
  converged = !free_of[0] && !free_of[1];
  double damping = 1e-3;
  constexpr int most_steps = 60;
  for (int step = 0; step < most_steps && !converged; ++step) {
    const double low[2] = {bounds_.low.exponent, bounds_.low.log_tau},
                 high[2] = {bounds_.high.exponent, bounds_.high.log_tau};
    const double here[2] = {best.shape.exponent, best.shape.log_tau};
    bool moves[2];
    for (int i = 0; i < 2; ++i) {
      const bool against_bound = (here[i] <= low[i] && best.slope[i] < 0) || (here[i] >= high[i] && best.slope[i] > 0);
      moves[i] = free_of[i] && best.curvature[i][i] > 0 && !against_bound;
    }
    double m[2][2], delta[2] = {0, 0};
    for (int i = 0; i < 2; ++i)
      for (int j = 0; j < 2; ++j) m[i][j] = best.curvature[i][j] * (i == j ? 1 + damping : 1);
    if (moves[0] && moves[1]) {
      const double determinant = m[0][0] * m[1][1] - m[0][1] * m[1][0];
      delta[0] = (m[1][1] * best.slope[0] - m[0][1] * best.slope[1]) / determinant;
      delta[1] = (m[0][0] * best.slope[1] - m[1][0] * best.slope[0]) / determinant;
    } else {
      for (int i = 0; i < 2; ++i)
        if (moves[i]) delta[i] = best.slope[i] / m[i][i];
    }
    double there[2], largest = 0;
    for (int i = 0; i < 2; ++i) {
      there[i] = std::clamp(here[i] + std::clamp(delta[i], -1.0, 1.0), low[i], high[i]);
      largest = std::max(largest, std::abs(there[i] - here[i]));
    }
    if (!(largest > 1e-9)) {
      converged = true;
      break;
    }
    const Point tried = evaluate(model, {there[0], there[1]});
    if (tried.sum_of_squares < best.sum_of_squares) {
      const bool enough = best.sum_of_squares - tried.sum_of_squares < 1e-9 * best.sum_of_squares;
      best = tried;
      damping = std::max(damping * 0.1, 1e-12);
      converged = enough;
    } else {
      converged = tried.sum_of_squares - best.sum_of_squares < 1e-12 * best.sum_of_squares;
      damping *= 10;
      if (damping > 1e12) converged = true;
    }
  }
  return best;
}

/// From the full Jacobian of the free parameters, in relative deviations.
void Fitter::uncertainties(AbsorptionFit& fit, const Point& at) {
  const std::size_t n = r_.size();
  const double* a = at.amplitudes.a;
  const double rate = numerics::exp(-at.shape.log_tau);
  int free_of[fit_parameters], count = 0;
  const auto use = [&](FitParameter parameter, bool present, bool inside) {
    const int index = static_cast<int>(parameter);
    if (present && inside) free_of[count++] = index;
    if (present && !inside) fit.at_bound = static_cast<std::uint8_t>(fit.at_bound | (1U << index));
  };
  const bool with_power = has_power(fit.model), with_decay = has_decay(fit.model);
  const auto inside = [](double x, double low, double high) { return x > low && x < high; };
  use(FitParameter::conduction, true, a[0] > 0);
  use(FitParameter::absorption, with_power, a[1] > 0);
  use(FitParameter::exponent, with_power,
      a[1] > 0 && inside(at.shape.exponent, bounds_.low.exponent, bounds_.high.exponent));
  use(FitParameter::capacitive, with_decay, a[2] > 0);
  use(FitParameter::tau, with_decay, a[2] > 0 && inside(at.shape.log_tau, bounds_.low.log_tau, bounds_.high.log_tau));

  double normal[fit_parameters][fit_parameters] = {}, l[fit_parameters][fit_parameters] = {};
  double lag = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const double p = with_power ? power_[i] : 0, e = with_decay ? decay_[i] : 0;
    // By ln of each amplitude and of tau, by the exponent itself: columns of like size.
    const double all[fit_parameters] = {a[0] * r_.one[i], a[1] * p, -a[1] * r_.log_minute[i] * p, a[2] * e,
                                        a[2] * r_.second[i] * rate * e};
    for (int j = 0; j < count; ++j)
      for (int k = 0; k <= j; ++k) normal[j][k] += all[free_of[j]] * all[free_of[k]];
    if (i > 0) lag += residual_[i] * residual_[i - 1];
  }
  const double freedom = static_cast<double>(n) - parameter_count(fit.model);
  fit.relative_scatter = std::sqrt(fit.sum_of_squares / freedom);
  fit.autocorrelation = fit.sum_of_squares > 0 ? std::clamp(lag / fit.sum_of_squares, -0.99, 0.99) : 0;
  const double r = std::max(fit.autocorrelation, 0.0);
  const double u = std::max(fit.relative_scatter, r_.least_u > 0 ? r_.least_u : 0.0) * std::sqrt((1 + r) / (1 - r));
  if (count == 0 || !formula::detail::cholesky(normal, count, l)) return;
  double covariance[fit_parameters][fit_parameters] = {};
  for (int column = 0; column < count; ++column) {
    double unit[fit_parameters] = {};
    unit[column] = 1;
    formula::detail::forward(l, count, unit);
    formula::detail::backward(l, count, unit);
    for (int i = 0; i < count; ++i) covariance[i][column] = unit[i];
  }
  for (int i = 0; i < count; ++i) {
    const int p = free_of[i];
    const double size = p == static_cast<int>(FitParameter::exponent) ? 1 : fit.value[p];
    fit.standard_uncertainty[p] = u * size * std::sqrt(covariance[i][i]);
    for (int j = 0; j < count; ++j)
      fit.correlation[p][free_of[j]] = covariance[i][j] / std::sqrt(covariance[i][i] * covariance[j][j]);
  }
}

AbsorptionFit Fitter::fit(AbsorptionModel model) {
  AbsorptionFit fit{.model = model};
  const double n = static_cast<double>(r_.size()), k = parameter_count(model);
  fit.points = n;
  if (n <= k) return fit;
  bool converged = false;
  const bool full = model == AbsorptionModel::absorption_and_charging;
  Point best = minimise(model, full ? full_starts_[0].second : starts_[static_cast<int>(model)], converged);
  for (std::size_t other = 1; full && other < full_starts_.size(); ++other) {
    bool other_converged = false;
    const Point found = minimise(model, full_starts_[other].second, other_converged);
    if (found.sum_of_squares < best.sum_of_squares) {
      best = found;
      converged = other_converged;
    }
  }
  if (!(best.sum_of_squares < infinity)) {
    fit.status = Status::no_solution;
    return fit;
  }
  const Point at = evaluate(model, best.shape);  // leaves its columns and residuals for the uncertainties
  fit.status = converged ? Status::sound : Status::not_converged;
  fit.sum_of_squares = at.sum_of_squares;
  fit.value[0] = at.amplitudes.a[0] * r_.scale;
  if (has_power(model)) {
    fit.value[1] = at.amplitudes.a[1] * r_.scale;
    fit.value[2] = at.shape.exponent;
  }
  if (has_decay(model)) {
    fit.value[3] = at.amplitudes.a[2] * r_.scale;
    fit.value[4] = numerics::exp(at.shape.log_tau);
  }
  uncertainties(fit, at);
  const double small_sample = n - k - 2 > 0 ? 2 * (k + 1) * n / (n - k - 2) : infinity;
  constexpr double rounding = 1e-12;  // a scatter of 1e-6: no display has more digits, so a smaller sum says nothing
  fit.criterion = n * std::log(std::max(at.sum_of_squares / n, rounding)) + small_sample;
  return fit;
}

}  // namespace

double AbsorptionFit::conductance(double second) const noexcept {
  double sum = value[0];
  if (has_power(model)) sum += value[1] * numerics::exp(-value[2] * numerics::log(second / 60));
  if (has_decay(model)) sum += value[3] * numerics::exp(-second / value[4]);
  return sum;
}

AbsorptionFits fit_absorption(const TimedRun& run) {
  AbsorptionFits fits;
  for (int m = 0; m < 4; ++m) fits.of[m].model = static_cast<AbsorptionModel>(m);
  fits.status = run.status();
  if (!has_value(run.status())) {
    for (AbsorptionFit& fit : fits.of) fit.status = run.status();
    return fits;
  }
  const Readings readings(run);
  fits.status = Status::too_few_points;
  if (readings.size() < 2) return fits;
  const double first = readings.second.front(), last = readings.second.back();
  const Bounds bounds{.low = {exponent_low, numerics::log(first / 5)}, .high = {exponent_high, numerics::log(last)}};
  Fitter fitter(readings, bounds);
  Fitter::Grid grid;
  fitter.start_simple(grid);
  double least = infinity;
  for (int m = 0; m < 4; ++m) {
    if (m == static_cast<int>(AbsorptionModel::absorption_and_charging))
      fitter.start_full(
          grid, fits.of[static_cast<int>(AbsorptionModel::absorption)].value[static_cast<int>(FitParameter::exponent)]);
    fits.of[m] = fitter.fit(static_cast<AbsorptionModel>(m));
    const bool first_with_value = !has_value(fits.status) && has_value(fits.of[m].status);
    if (!has_value(fits.of[m].status) || !(fits.of[m].criterion < least || first_with_value)) continue;
    least = fits.of[m].criterion;
    fits.chosen = static_cast<AbsorptionModel>(m);
    fits.status = fits.of[m].status;
  }
  return fits;
}

void fit_absorption(std::size_t count, const RunMaker& run, const FitTaker& take, unsigned threads) {
  in_turns(count, threads, [&](std::size_t i) { take(i, fit_absorption(run(i))); });
}

std::vector<AbsorptionFits> fit_absorption(std::span<const TimedRun> runs, unsigned threads) {
  std::vector<AbsorptionFits> fits(runs.size());
  in_turns(runs.size(), threads, [&](std::size_t i) { fits[i] = fit_absorption(runs[i]); });
  return fits;
}

}  // namespace ohmward::insulation
