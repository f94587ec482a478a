#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace ohmward::battery {

/// One piece of a density of charge, t = charge − start, on [0, width]: with a `scale` other than 0 as a part of a
/// normal distribution, scale · slope · φ(z + slope t), else exp(constant + linear t + quadratic t²).
struct DensityPiece {
  double start = 0;
  double width = 0;
  double constant = 0, linear = 0, quadratic = 0;
  double z = 0, slope = 0, scale = 0;
  double below_start = 0;           ///< Φ(z)
  double mass = 0;                  ///< integral over the piece
  double before = 0;                ///< masses of the pieces before it in the same component
  double centre = 0, variance = 0;  ///< of the charge within the piece, roughly
};

/// What is known of the charge before the reading. Charge is a fraction 0 ... 1.
class ChargePrior {
 public:
  /// Every charge equally likely.
  ChargePrior();

  struct Normal {
    double mean;
    double standard_uncertainty;
  };
  /// A normal distribution cut off at 0 and 1, as from a coulomb count. Throws InvalidParameter where the mean is not
  /// within 0 ... 1 or the uncertainty is not above 0.
  [[nodiscard]] static ChargePrior normal(const Normal& parts);

  /// A positive density given at rising charges that begin at 0 and end at 1; its logarithm is linear in between.
  [[nodiscard]] static ChargePrior density(std::span<const double> charge, std::span<const double> density);

  [[nodiscard]] std::span<const DensityPiece> pieces() const noexcept { return pieces_; }
  [[nodiscard]] bool is_flat() const noexcept { return flat_; }

 private:
  std::vector<DensityPiece> pieces_;
  bool flat_ = false;
};

struct ChargeInterval {
  double low;
  double high;
};

/// A separate value that the charge may have, and the probability of the stretch around it.
struct ChargeMode {
  double charge;
  double probability;
};

/// Distribution of the charge given a voltage: exact on piecewise-linear curves, a mixture over the possible curves.
///
/// On a piece of a curve with OCV = v + g t the likelihood exp(−(V − v − g t)²/(2u²))/u is log-quadratic in t, so is
/// the prior; every integral is an error function. No grid is involved.
class ChargePosterior {
 public:
  /// A possible curve with its share of the probability.
  struct Component {
    std::size_t type = 0;
    std::size_t curve = 0;
    std::size_t first = 0, last = 0;  ///< its pieces
    double mass = 0;
  };

  /// Built component by component from pieces with their masses; a component without mass is dropped.
  void clear() noexcept;
  void begin_component(std::size_t type, std::size_t curve);
  /// A piece to be filled, all but what is before it.
  [[nodiscard]] DensityPiece& add_piece() { return pieces_.emplace_back(); }
  void end_component();
  void drop_component();

  [[nodiscard]] bool empty() const noexcept { return !(total_ > 0); }
  [[nodiscard]] double total() const noexcept { return total_; }

  /// Probability that the charge is at most `charge`; NaN where there is no distribution.
  [[nodiscard]] double cumulative(double charge) const noexcept;
  /// Probability density [1 per unit of charge].
  [[nodiscard]] double density(double charge) const noexcept;
  /// Charge below which the probability is `level`, 0 < level < 1.
  [[nodiscard]] double quantile(double level) const noexcept;
  [[nodiscard]] double median() const noexcept { return quantile(0.5); }
  /// Interval with equal tails that holds `level` of the probability.
  [[nodiscard]] ChargeInterval interval(double level) const noexcept;
  [[nodiscard]] double mean() const noexcept;
  [[nodiscard]] double standard_uncertainty() const noexcept;
  /// Separate values: peaks of at least 5 % probability with a valley below half of the lower one between them.
  [[nodiscard]] std::vector<ChargeMode> modes() const;
  /// Probability of type `type`.
  [[nodiscard]] double type_probability(std::size_t type) const noexcept;
  /// Variance of the charge between types over its whole variance, 0 ... 1.
  [[nodiscard]] double type_share_of_variance() const noexcept;

  [[nodiscard]] std::span<const Component> components() const noexcept { return components_; }
  [[nodiscard]] std::span<const DensityPiece> pieces() const noexcept { return pieces_; }

 private:
  struct Moments {
    double mass = 0, first = 0, second = 0;
  };
  [[nodiscard]] Moments moments(const Component& component) const noexcept;
  struct At {
    double below;    ///< mass of all components up to a charge
    double density;  ///< their density there
    double slope;    ///< and its derivative
  };
  [[nodiscard]] At at(double charge) const noexcept;
  [[nodiscard]] double quantile_on_one_curve(double wanted) const noexcept;
  [[nodiscard]] double first_guess(double level) const noexcept;

  std::vector<Component> components_;
  std::vector<DensityPiece> pieces_;
  double total_ = 0;
  double first_moment_ = 0, second_moment_ = 0;  ///< roughly
};

}  // namespace ohmward::battery
