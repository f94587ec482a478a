#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>
#include <random>
#include <vector>

namespace ohmward::testing {

/// Simulated runs of families of relaxation, invented for measuring coverage. Current relative to that at 60 s:
/// I(t) = s + (1 - s) d(t)/d(60), s log-uniform in 0.01 ... 0.95.
/// a power law; b two power laws; c power law and one Debye term; d stretched exponential; e power law under a drift of
/// up to 3 K in 600 s; f power law with rounding to 3 digits and a range step; g crossover of two power laws;
/// Outside the library, and not promised: h power law and three Debye terms; m Cole-Cole (Mittag-Leffler), exponent 0.3
/// to 0.9; l log-normal relaxation times, 0.5 to 2.5 in ln; both with a middle time log-uniform in 3 ... 300 s.
struct SimulatedRun {
  std::vector<double> second;
  std::vector<double> log_current;
  double ratio;  ///< I(60)/I(600) without noise
};

class Simulator {
 public:
  explicit Simulator(std::uint64_t seed) : engine_(seed) {}

  SimulatedRun run(char family, double until_second, double step_second, double noise) {
    const double s = 0.01 * std::pow(95, uniform());
    const double n = 0.3 + 0.7 * uniform();
    const double u = uniform();
    const double drift_kelvin = family == 'e' ? 6 * uniform() - 3 : 0;
    std::vector<double> w(4);
    const double n2 = 0.3 + uniform();
    const double c_share = 0.05 + 0.55 * uniform(), c_tau = 20 * std::pow(6, uniform());
    const double beta = 0.3 + 0.4 * uniform(), d_tau = 3 * std::pow(100, uniform());
    const double p = 0.3 + 0.5 * u, m = 0.6 * uniform(), g_tau = 10 * std::pow(30, uniform());
    double sum = 0;
    for (double& share : w) sum += share = -std::log(1 - uniform());
    for (double& share : w) share /= sum;
    double tau[3];
    for (double& t : tau) t = 5 * std::pow(120, uniform());
    const std::vector<DebyeTerm> spectrum = family == 'm' ? cole_cole() : family == 'l' ? log_normal() : no_terms();
    const auto d = [&](double t) {
      if (!spectrum.empty()) {
        double total = 0;
        for (const DebyeTerm& term : spectrum) total += term.ampere * std::exp(-t * term.rate);
        return total;
      }
      switch (family) {
        case 'b': return (1 - u) * std::pow(t / 60, -n) + u * std::pow(t / 60, -n2);
        case 'c': return (1 - c_share) * std::pow(t / 30, -n) + c_share * std::exp(-(t - 30) / c_tau);
        case 'd': return std::exp(-std::pow(t / d_tau, beta));
        case 'g': return 1 / (std::pow(t / g_tau, p) + std::pow(t / g_tau, 1 + m));
        case 'h': {
          double total = w[0] * std::pow(t / 20, -n);
          for (int i = 0; i < 3; ++i) total += w[static_cast<std::size_t>(i) + 1] * std::exp(-(t - 20) / tau[i]);
          return total;
        }
        default: return std::pow(t / 60, -n);
      }
    };
    const auto current = [&](double t) {
      return (s + (1 - s) * d(t) / d(60)) * std::pow(1.07, drift_kelvin * t / 600);
    };
    SimulatedRun result;
    result.ratio = current(60) / current(600);
    const double gain = 1 + 0.03 * normal();
    const double decade = std::pow(10, uniform());
    const double step_at = 8 * std::pow(600.0 / 8, uniform()), step_factor = 1 + 0.015 * (2 * uniform() - 1);
    for (double t = 5; t <= until_second; t += step_second) {
      double i = current(t) * gain * (1 + noise * normal());
      if (family == 'f') {
        double r = decade / i * (t >= step_at ? step_factor : 1);
        const double unit = std::pow(10, std::floor(std::log10(r)) - 2);
        r = std::round(r / unit) * unit;
        i = decade / r;
      }
      if (!(i > 0)) continue;
      result.second.push_back(t);
      result.log_current.push_back(std::log(i));
    }
    return result;
  }

 private:
  struct DebyeTerm {
    double ampere, rate;
  };
  static std::vector<DebyeTerm> no_terms() { return {}; }

  /// Derivative of the Mittag-Leffler relaxation by its spectral density, trapezoids in ln(rate).
  std::vector<DebyeTerm> cole_cole() {
    const double alpha = 0.3 + 0.6 * uniform(), tau = 3 * std::pow(100, uniform());
    const double sine = std::sin(alpha * std::numbers::pi), cosine = std::cos(alpha * std::numbers::pi);
    std::vector<DebyeTerm> terms;
    for (double ln = -12; ln <= 12; ln += 0.25) {
      const double r = std::exp(ln), power = std::pow(r, alpha);
      terms.push_back({r * power * sine / (power * power + 2 * power * cosine + 1), r / tau});
    }
    return terms;
  }
  std::vector<DebyeTerm> log_normal() {
    const double sigma = 0.5 + 2 * uniform(), tau = 3 * std::pow(100, uniform());
    std::vector<DebyeTerm> terms;
    for (double z = -5; z <= 5; z += 0.125) {
      const double rate = std::exp(-sigma * z) / tau;
      terms.push_back({std::exp(-0.5 * z * z) * rate, rate});
    }
    return terms;
  }

  double uniform() { return static_cast<double>(engine_() >> 11) * 0x1p-53; }
  double normal() {
    const double radius = std::sqrt(-2 * std::log(1 - uniform()));
    return radius * std::cos(2 * std::numbers::pi * uniform());
  }
  std::mt19937_64 engine_;
};

}  // namespace ohmward::testing
