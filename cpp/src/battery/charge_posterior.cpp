#include "ohmward/battery/charge_posterior.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "log_quadratic.hpp"
#include "normal_tail.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/core/floating_point.hpp"
#include "ohmward/numerics/normal.hpp"

namespace ohmward::battery {
namespace {

constexpr double narrowest_bracket = 1e-12;

/// From a residual of this share of the smaller tail, the last step leaves less than 1e-6 of it.
constexpr double last_residual = 1e-4;

/// How much the third order may shorten or lengthen a step.
constexpr double least_bend = 0.3, most_bend = 3;

LogQuadratic shape(const DensityPiece& piece) {
  if (piece.scale == 0) return {piece.constant, piece.linear, piece.quadratic};
  const double height = piece.scale * piece.slope * std::numbers::inv_sqrtpi / std::numbers::sqrt2;
  return {std::log(height) - piece.z * piece.z / 2, -piece.z * piece.slope, -piece.slope * piece.slope / 2};
}

/// The piece of a component that holds `charge`, or that ends last before it.
const DensityPiece* piece_at(const DensityPiece* first, const DensityPiece* last, double charge) {
  const DensityPiece* after =
      std::upper_bound(first, last, charge, [](double s, const DensityPiece& piece) { return s < piece.start; });
  return after == first ? nullptr : after - 1;
}

}  // namespace

ChargePrior::ChargePrior() : pieces_{{.start = 0, .width = 1}}, flat_(true) {}

ChargePrior ChargePrior::normal(const Normal& parts) {
  if (!(parts.mean >= 0 && parts.mean <= 1)) throw InvalidParameter("mean", parts.mean, "a charge from 0 to 1");
  if (!(parts.standard_uncertainty > 0 && std::isfinite(parts.standard_uncertainty)))
    throw InvalidParameter("standard_uncertainty", parts.standard_uncertainty, "above 0");
  const double variance = parts.standard_uncertainty * parts.standard_uncertainty;
  const LogQuadratic raw{-parts.mean * parts.mean / (2 * variance), parts.mean / variance, -1 / (2 * variance)};
  ChargePrior prior;
  prior.flat_ = false;
  prior.pieces_ = {{.start = 0,
                    .width = 1,
                    .constant = raw.constant - std::log(raw.integral(1)),
                    .linear = raw.linear,
                    .quadratic = raw.quadratic}};
  return prior;
}

ChargePrior ChargePrior::density(std::span<const double> charge, std::span<const double> density) {
  if (charge.size() < 2 || charge.size() != density.size())
    throw InvalidParameter("density", static_cast<double>(density.size()), "one value a charge, at least two");
  if (charge.front() != 0) throw InvalidParameter("charge", charge.front(), "a first point of 0");
  if (charge.back() != 1) throw InvalidParameter("charge", charge.back(), "a last point of 1");
  for (const double value : density)
    if (!(value > 0 && std::isfinite(value))) throw InvalidParameter("density", value, "above 0");
  ChargePrior prior;
  prior.flat_ = false;
  prior.pieces_.clear();
  double total = 0;
  for (std::size_t i = 0; i + 1 < charge.size(); ++i) {
    const double width = charge[i + 1] - charge[i];
    if (!(width > 0)) throw InvalidParameter("charge", charge[i + 1], "strictly rising points");
    const LogQuadratic q{std::log(density[i]), std::log(density[i + 1] / density[i]) / width, 0};
    total += q.integral(width);
    prior.pieces_.push_back({.start = charge[i], .width = width, .constant = q.constant, .linear = q.linear});
  }
  for (DensityPiece& piece : prior.pieces_) piece.constant -= std::log(total);
  return prior;
}

void ChargePosterior::clear() noexcept {
  components_.clear();
  pieces_.clear();
  total_ = first_moment_ = second_moment_ = 0;
}

void ChargePosterior::begin_component(std::size_t type, std::size_t curve) {
  components_.push_back({.type = type, .curve = curve, .first = pieces_.size(), .last = pieces_.size()});
}

void ChargePosterior::end_component() {
  Component& component = components_.back();
  component.last = pieces_.size();
  double first_moment = 0, second_moment = 0;
  for (std::size_t i = component.first; i < component.last; ++i) {
    DensityPiece& piece = pieces_[i];
    piece.before = component.mass;
    component.mass += piece.mass;
    first_moment += piece.mass * piece.centre;
    second_moment += piece.mass * (piece.centre * piece.centre + piece.variance);
  }
  if (!(component.mass > 0)) return drop_component();
  total_ += component.mass;
  first_moment_ += first_moment;
  second_moment_ += second_moment;
}

void ChargePosterior::drop_component() {
  pieces_.resize(components_.back().first);
  components_.pop_back();
}

ChargePosterior::At ChargePosterior::at(double charge) const noexcept {
  At sum{0, 0, 0};
  for (const Component& component : components_) {
    const DensityPiece* piece = piece_at(pieces_.data() + component.first, pieces_.data() + component.last, charge);
    if (piece == nullptr) continue;
    const double t = charge - piece->start;
    if (t >= piece->width) {
      sum.below += piece->before + piece->mass;
      continue;
    }
    if (piece->scale == 0) {
      sum.below += piece->before + shape(*piece).integral(t);
      const double density = std::exp(shape(*piece).log_density(t));
      sum.density += density;
      sum.slope += density * (piece->linear + 2 * piece->quadratic * t);
    } else {
      const NormalAt here = normal_at(piece->z + piece->slope * t);
      sum.below += piece->before + piece->scale * (normal_below(here.z, here.tail) - piece->below_start);
      const double density = piece->scale * piece->slope * here.density;
      sum.density += density;
      sum.slope -= density * here.z * piece->slope;
    }
  }
  return sum;
}

double ChargePosterior::cumulative(double charge) const noexcept {
  if (empty() || std::isnan(charge)) return nan;
  return std::min(1.0, at(charge).below / total_);
}

double ChargePosterior::density(double charge) const noexcept {
  if (empty() || std::isnan(charge)) return nan;
  return at(charge).density / total_;
}

/// Where a normal distribution of the same mean and variance has it.
double ChargePosterior::first_guess(double level) const noexcept {
  const double mean = first_moment_ / total_, variance = second_moment_ / total_ - mean * mean;
  return mean + numerics::normal_quantile(level) * std::sqrt(std::max(0.0, variance));
}

/// On one curve alone the piece is known, and inside it a normal distribution is inverted.
double ChargePosterior::quantile_on_one_curve(double wanted) const noexcept {
  const auto after = std::upper_bound(pieces_.begin(), pieces_.end(), wanted,
                                      [](double mass, const DensityPiece& piece) { return mass < piece.before; });
  const DensityPiece& piece = *(after - 1);
  const double below = std::clamp(piece.below_start + (wanted - piece.before) / piece.scale, 0.0, 1.0);
  const double inside = (numerics::normal_quantile(below) - piece.z) / piece.slope;
  return piece.scale == 0 ? nan : piece.start + std::clamp(inside, 0.0, piece.width);
}

double ChargePosterior::quantile(double level) const noexcept {
  if (empty() || !(level > 0 && level < 1)) return nan;
  const double wanted = level * total_;
  if (components_.size() == 1) {
    const double charge = quantile_on_one_curve(wanted);
    if (!std::isnan(charge)) return charge;
  }
  double low = pieces_[components_.front().first].start, high = low;
  for (const Component& component : components_) {
    low = std::min(low, pieces_[component.first].start);
    high = std::max(high, pieces_[component.last - 1].start + pieces_[component.last - 1].width);
  }
  double charge = std::clamp(first_guess(level), low, high);
  while (high - low > narrowest_bracket) {  // a step of third order where it stays inside the bracket, else halving
    const At here = at(charge);
    (here.below < wanted ? low : high) = charge;
    const double newton = (wanted - here.below) / here.density;
    const double next = charge + newton * std::clamp(1 - here.slope / here.density * newton / 2, least_bend, most_bend);
    const bool inside = next > low && next < high;
    if (inside && std::abs(wanted - here.below) < last_residual * std::min(wanted, total_ - wanted)) return next;
    charge = inside ? next : low + (high - low) / 2;
  }
  return charge;
}

ChargeInterval ChargePosterior::interval(double level) const noexcept {
  return {quantile((1 - level) / 2), quantile((1 + level) / 2)};
}

ChargePosterior::Moments ChargePosterior::moments(const Component& component) const noexcept {
  Moments sum;
  for (std::size_t i = component.first; i < component.last; ++i) {
    const DensityPiece& piece = pieces_[i];
    const LogQuadratic::Moments own = shape(piece).moments(piece.width);
    sum.mass += piece.mass;
    sum.first += piece.start * piece.mass + own.first;
    sum.second += piece.start * piece.start * piece.mass + 2 * piece.start * own.first + own.second;
  }
  return sum;
}

double ChargePosterior::mean() const noexcept {
  if (empty()) return nan;
  double sum = 0;
  for (const Component& component : components_) sum += moments(component).first;
  return sum / total_;
}

double ChargePosterior::standard_uncertainty() const noexcept {
  if (empty()) return nan;
  double sum = 0;
  for (const Component& component : components_) sum += moments(component).second;
  const double average = mean();
  return std::sqrt(std::max(0.0, sum / total_ - average * average));
}

double ChargePosterior::type_probability(std::size_t type) const noexcept {
  if (empty()) return nan;
  double mass = 0;
  for (const Component& component : components_)
    if (component.type == type) mass += component.mass;
  return mass / total_;
}

double ChargePosterior::type_share_of_variance() const noexcept {
  if (empty()) return nan;
  const double average = mean(), uncertainty = standard_uncertainty();
  double between = 0;
  for (std::size_t i = 0; i < components_.size();) {
    Moments type;
    const std::size_t name = components_[i].type;
    for (; i < components_.size() && components_[i].type == name; ++i) {
      const Moments one = moments(components_[i]);
      type.mass += one.mass;
      type.first += one.first;
    }
    const double offset = type.first / type.mass - average;
    between += type.mass / total_ * offset * offset;
  }
  return uncertainty > 0 ? std::min(1.0, between / (uncertainty * uncertainty)) : 0.0;
}

std::vector<ChargeMode> ChargePosterior::modes() const {
  if (empty()) return {};
  std::vector<double> at;  // every place where a component peaks, and what lies between
  for (const DensityPiece& piece : pieces_) {
    at.push_back(piece.start);
    at.push_back(piece.start + shape(piece).mode(piece.width));
    at.push_back(piece.start + piece.width);
  }
  std::sort(at.begin(), at.end());
  at.erase(std::unique(at.begin(), at.end()), at.end());
  for (std::size_t i = 0, knots = at.size(); i + 1 < knots; ++i) at.push_back((at[i] + at[i + 1]) / 2);
  std::sort(at.begin(), at.end());
  std::vector<double> height(at.size());
  std::transform(at.begin(), at.end(), height.begin(), [this](double s) { return density(s); });

  std::vector<ChargeMode> found;
  std::vector<double> valleys;
  std::size_t peak = 0, valley = 0;
  for (std::size_t i = 1; i < at.size(); ++i) {
    if (height[i] < height[valley]) valley = i;
    if (height[i] > height[peak] && height[valley] >= 0.5 * height[peak]) {
      peak = valley = i;
    } else if (height[valley] < 0.5 * std::min(height[peak], height[i])) {
      found.push_back({at[peak], 0});
      valleys.push_back(at[valley]);
      peak = valley = i;
    }
  }
  found.push_back({at[peak], 0});
  for (std::size_t i = 0; i < found.size(); ++i) {
    const double low = i == 0 ? 0 : cumulative(valleys[i - 1]);
    const double high = i + 1 == found.size() ? 1 : cumulative(valleys[i]);
    found[i].probability = high - low;
  }
  std::erase_if(found, [](const ChargeMode& mode) { return mode.probability < 0.05; });
  return found;
}

}  // namespace ohmward::battery
