#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <random>
#include <vector>

#include "ohmward/formula/highvoltage.hpp"
#include "ohmward/highvoltage/isolation.hpp"

/// @file
/// The law of the lower bound: random circuits, errors inside the sheet, what the stated bound is worth.

namespace ohmward::testing {

/// Sheet of the law: 10 MΩ meter, common gain ± 0.5 %, ± 2 counts of 0.1 V each, resistor ± 1 %.
struct Sheet {
  double meter_ohm = 10e6;
  double gain = 0.005;
  double counts_volt = 0.2;
  double resistor = 0.01;
  bool normal = false;  ///< normal errors of the same standard uncertainty instead of rectangular ones
};

struct Bin {
  double below;  ///< upper end of relative standard uncertainty
  long cases = 0;
  long held = 0;
  long refused = 0;
  std::vector<double> bound_to_exact{};

  [[nodiscard]] double coverage() const { return static_cast<double>(held) / static_cast<double>(cases - refused); }
  [[nodiscard]] double refusals() const { return static_cast<double>(refused) / static_cast<double>(cases); }
  [[nodiscard]] double median_of_exact() {
    const auto middle = bound_to_exact.begin() + static_cast<std::ptrdiff_t>(bound_to_exact.size() / 2);
    std::nth_element(bound_to_exact.begin(), middle, bound_to_exact.end());
    return *middle;
  }
};

using Bins = std::array<Bin, 4>;
[[nodiscard]] inline Bins empty_bins() { return {Bin{0.01}, Bin{0.03}, Bin{0.10}, Bin{0.30}}; }

[[nodiscard]] inline Bin* bin_of(Bins& bins, double relative) {
  for (Bin& bin : bins)
    if (relative <= bin.below) return &bin;
  return nullptr;
}

struct LawTable {
  Bins by_circuit = empty_bins();    ///< relative u at the true circuit (Cramér-Rao: as many readings as unknowns)
  Bins by_statement = empty_bins();  ///< relative u as stated with the result
  long contradictions = 0;
};

class IsolationBoundLaw {
 public:
  IsolationBoundLaw(Sheet sheet, unsigned seed) : sheet_(sheet), random_(seed) {}

  /// @param cases       cases in each bin of the true circuit
  /// @param exact_each  cases of each bin compared with the exact bound, of `draws` draws
  LawTable run(long cases, std::size_t exact_each, std::size_t draws) {
    LawTable table;
    const auto is_full = [&](const Bin& bin) { return bin.cases >= cases; };
    while (!std::all_of(table.by_circuit.begin(), table.by_circuit.end(), is_full))
      one_case(table, cases, exact_each, draws);
    return table;
  }

 private:
  struct Circuit {
    double pack, negative, positive, resistor;
  };
  struct Volts {
    double pack, negative, positive, loaded;
  };

  double error(double half_width) {
    return sheet_.normal ? std::normal_distribution<>(0, half_width / std::sqrt(3.0))(random_)
                         : std::uniform_real_distribution<>(-half_width, half_width)(random_);
  }
  double log_uniform(double low, double high) {
    return std::exp(std::uniform_real_distribution<>(std::log(low), std::log(high))(random_));
  }

  /// Pole voltage with conductances from that pole and from the other one to chassis.
  static double pole(double pack, double own, double other) { return pack * other / (own + other); }

  Volts true_volts(const Circuit& c) const {
    const double meter = 1 / sheet_.meter_ohm;
    const double n = 1 / c.negative;
    const double p = 1 / c.positive;
    const double load = 1 / c.resistor;
    Volts v{
        .pack = c.pack, .negative = pole(c.pack, n + meter, p), .positive = pole(c.pack, p + meter, n), .loaded = 0};
    v.loaded = v.negative >= v.positive ? pole(c.pack, n + meter + load, p) : pole(c.pack, p + meter + load, n);
    return v;
  }

  highvoltage::VoltmeterReadings readings(const Volts& v, double resistor) const {
    const double u = sheet_.counts_volt / std::sqrt(3.0);
    return {.pack = {v.pack, u},
            .negative = {v.negative, u},
            .positive = {v.positive, u},
            .loaded = {v.loaded, u},
            .resistor_ohm = resistor,
            .resistor_relative_standard_uncertainty = sheet_.resistor / std::sqrt(3.0),
            .meter_ohm = sheet_.meter_ohm};
  }

  double relative_at_truth(const Volts& v) const {
    const double u = sheet_.counts_volt / std::sqrt(3.0);
    const double free = std::max(v.negative, v.positive);
    const double drop = free - v.loaded;
    return std::sqrt(std::pow(u * free / (v.loaded * drop), 2) + std::pow(u * v.loaded / (free * drop), 2) +
                     std::pow(u / v.pack, 2) + sheet_.resistor * sheet_.resistor / 3);
  }

  void one_case(LawTable& table, long cases, std::size_t exact_each, std::size_t draws) {
    const double pack = random_() % 2 ? 400 : 800;
    const double nominal = 500 * pack;
    const Circuit circuit{.pack = pack,
                          .negative = log_uniform(1e4, 1e10),
                          .positive = log_uniform(1e4, 1e10),
                          .resistor = nominal * (1 + error(sheet_.resistor))};
    const Volts truth = true_volts(circuit);
    Bin* bin = bin_of(table.by_circuit, relative_at_truth(truth));
    if (bin == nullptr || bin->cases >= cases) return;
    const double gain = 1 + error(sheet_.gain);
    const auto shown = [&](double volt) { return gain * volt + error(sheet_.counts_volt); };
    const Volts read{.pack = shown(truth.pack),
                     .negative = shown(truth.negative),
                     .positive = shown(truth.positive),
                     .loaded = shown(truth.loaded)};
    // The person loads the pole that reads more; where the noise turns that over, it is the other pole's reading.
    Circuit as_loaded = circuit;
    Volts v = read;
    if ((read.negative >= read.positive) != (truth.negative >= truth.positive))
      v.loaded = gain * loaded_other(as_loaded) + error(sheet_.counts_volt);
    const auto result = highvoltage::isolation_by_voltmeter(readings(v, nominal));
    table.contradictions += result.weak.status == Status::contradiction;
    const bool stated = result.weak.status == Status::sound && !std::isnan(result.lower_bound_ohm);
    const bool held = stated && std::min(circuit.negative, circuit.positive) >= result.lower_bound_ohm;
    ++bin->cases;
    bin->held += held;
    bin->refused += !stated;
    if (!stated) return;
    if (Bin* said = bin_of(table.by_statement, result.weak.standard_uncertainty())) {
      ++said->cases;
      said->held += held;
    }
    if (bin->bound_to_exact.size() < exact_each)
      bin->bound_to_exact.push_back(result.lower_bound_ohm / exact_bound(v, nominal, draws));
  }

  double loaded_other(const Circuit& c) const {
    const double meter = 1 / sheet_.meter_ohm;
    const double n = 1 / c.negative;
    const double p = 1 / c.positive;
    const double load = 1 / c.resistor;
    return n + meter > p + meter ? pole(c.pack, n + meter + load, p) : pole(c.pack, p + meter + load, n);
  }

  /// 5 % quantile of the published form over the errors that may lie in these readings.
  double exact_bound(const Volts& v, double nominal, std::size_t draws) {
    std::vector<double> sides(draws);
    for (double& side : sides) {
      const double loaded = v.loaded - error(sheet_.counts_volt);
      const double free = std::max(v.negative, v.positive) - error(sheet_.counts_volt);
      const double pack = v.pack - error(sheet_.counts_volt);
      const double conductance = free * loaded / ((free - loaded) * pack * nominal * (1 + error(sheet_.resistor)));
      side = conductance > 0 ? 1 / conductance : infinity;
    }
    const auto quantile = sides.begin() + static_cast<std::ptrdiff_t>(draws / 20);
    std::nth_element(sides.begin(), quantile, sides.end());
    return *quantile;
  }

  Sheet sheet_;
  std::mt19937_64 random_;
};

}  // namespace ohmward::testing
