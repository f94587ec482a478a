#include "ohmward/uncertainty/sampler.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/random.hpp"
#include "ohmward/statistics/distributions.hpp"

namespace ohmward::uncertainty {
namespace {

using numerics::fill_normal;
using numerics::fill_uniform;
using numerics::Stream;

/// Numbers of one input come from its own streams; a second one serves shapes that need two numbers a draw.
Stream stream(std::uint64_t seed, std::size_t input, std::uint64_t lane) noexcept {
  constexpr std::uint64_t lanes = 2;
  return {.seed = seed, .block = input * lanes + lane};
}

template <class Function>
void map(std::span<double> values, Function&& f) {
  for (double& value : values) value = f(value);
}

void draw_one(const Input& input, std::size_t position, std::uint64_t seed, std::uint64_t first,
              std::span<double> out) {
  const double location = input.parameters[0];
  const double scale = input.parameters[1];
  const double third = input.parameters[2];
  const Stream one = stream(seed, position, 0);
  const auto with_second = [&](auto&& f) {
    std::vector<double> second(out.size());
    fill_uniform(out, one, first);
    fill_uniform(second, stream(seed, position, 1), first);
    for (std::size_t i = 0; i < out.size(); ++i) out[i] = f(out[i], second[i]);
  };
  switch (input.shape) {
    case Shape::normal:
      fill_normal(out, one, first);
      map(out, [=](double z) { return location + scale * z; });
      return;
    case Shape::rectangular:
    case Shape::asymmetric: {
      fill_uniform(out, one, first);
      const double low = location - scale;
      const double width = 2 * scale;
      map(out, [=](double r) { return low + width * r; });
      return;
    }
    case Shape::triangular: with_second([=](double r, double s) { return location + scale * (r + s - 1); }); return;
    case Shape::trapezoidal: {
      const double wide = (1 + third) * scale;
      const double narrow = (1 - third) * scale;
      with_second([=](double r, double s) { return location + wide * (r - 0.5) + narrow * (s - 0.5); });
      return;
    }
    case Shape::curvilinear_trapezoidal:
      with_second([=](double r, double s) {
        const double half_width = scale + third * (2 * r - 1);
        return location + half_width * (2 * s - 1);
      });
      return;
    case Shape::arcsine:
      fill_uniform(out, one, first);
      map(out, [=](double r) { return location + scale * std::cos(std::numbers::pi * r); });
      return;
    case Shape::student_t:
    case Shape::student_t_with_standard_uncertainty:
      if (std::isinf(third)) {
        fill_normal(out, one, first);
        map(out, [=](double z) { return location + scale * z; });
        return;
      }
      // Bailey's polar form, exact for any degrees of freedom. Source: `bailey-t`.
      with_second([=](double r, double s) {
        const double size = std::sqrt(third * std::expm1(-2 / third * numerics::log(r)));
        return location + scale * size * std::cos(2 * std::numbers::pi * s);
      });
      return;
    case Shape::lognormal:
      fill_normal(out, one, first);
      map(out, [=](double z) { return numerics::exp(location + scale * z); });
      return;
    case Shape::exponential:
      fill_uniform(out, one, first);
      map(out, [=](double r) { return -scale * numerics::log(r); });
      return;
    case Shape::gamma:
      fill_uniform(out, one, first);
      map(out, [=](double r) { return statistics::gamma_quantile(r, third); });
      return;
    case Shape::sample: {
      fill_uniform(out, one, first);
      const std::vector<double>& values = *input.values;
      const double n = static_cast<double>(values.size());
      map(out, [&](double r) { return values[static_cast<std::size_t>(r * n)]; });
      return;
    }
  }
}

/// Lower triangle L with L Lᵀ = r; a direction without any variance gets a zero.
std::vector<double> lower_triangle(const std::vector<double>& r, std::size_t n) {
  constexpr double negligible = 1e-12;
  std::vector<double> lower(n * n, 0.0);
  for (std::size_t j = 0; j < n; ++j)
    for (std::size_t i = j; i < n; ++i) {
      double rest = r[i * n + j];
      for (std::size_t k = 0; k < j; ++k) rest -= lower[i * n + k] * lower[j * n + k];
      if (i == j)
        lower[j * n + j] = rest > negligible ? std::sqrt(rest) : 0.0;
      else
        lower[i * n + j] = lower[j * n + j] > 0 ? rest / lower[j * n + j] : 0.0;
    }
  return lower;
}

}  // namespace

Sampler::Sampler(const Budget& budget) : inputs_(budget.inputs()), joint_input_(budget.size(), false) {
  budget.check();
  const std::vector<double> correlation = budget.correlation();
  for (const JointGroup& group : budget.groups()) add_joint(group.members, correlation, group.degrees_of_freedom);
  std::vector<std::size_t> correlated;
  for (std::size_t i = 0; i < inputs_.size(); ++i) {
    if (joint_input_[i]) continue;
    for (std::size_t j = 0; j < inputs_.size(); ++j)
      if (j != i && correlation[i * inputs_.size() + j] != 0) {
        if (inputs_[i].shape != Shape::normal)
          throw InvalidParameter(
              "input '" + budget.names()[i] + "'", text(inputs_[i].shape),
              "a normal input: correlation alone fixes the joint distribution of normal inputs only");
        correlated.push_back(i);
        break;
      }
  }
  if (!correlated.empty()) add_joint(correlated, correlation, infinity);
}

void Sampler::add_joint(std::vector<std::size_t> members, const std::vector<double>& correlation,
                        double degrees_of_freedom) {
  std::vector<double> among;
  for (const std::size_t i : members) {
    joint_input_[i] = true;
    for (const std::size_t j : members) among.push_back(correlation[i * inputs_.size() + j]);
  }
  const std::size_t n = members.size();
  joints_.push_back({std::move(members), lower_triangle(among, n), degrees_of_freedom});
}

void Sampler::draw(std::uint64_t seed, std::uint64_t first, std::size_t count, std::span<double> out) const {
  const auto column = [&](std::size_t input) { return out.subspan(input * count, count); };
  for (std::size_t i = 0; i < inputs_.size(); ++i) {
    if (joint_input_[i])
      fill_normal(column(i), stream(seed, i, 0), first);
    else
      draw_one(inputs_[i], i, seed, first, column(i));
  }
  for (const Joint& joint : joints_) {
    const std::size_t n = joint.members.size();
    std::vector<double> widening(count, 1.0);
    if (std::isfinite(joint.degrees_of_freedom)) {
      fill_uniform(widening, stream(seed, joint.members.front(), 1), first);
      const double half = joint.degrees_of_freedom / 2;
      map(widening, [half](double r) { return std::sqrt(half / statistics::gamma_quantile(r, half)); });
    }
    for (std::size_t i = n; i-- > 0;) {  // from the last: earlier standard draws are still needed
      const Input& input = inputs_[joint.members[i]];
      const std::span<double> values = column(joint.members[i]);
      for (std::size_t d = 0; d < count; ++d) {
        double z = 0;
        for (std::size_t k = 0; k <= i; ++k) z += joint.triangle[i * n + k] * column(joint.members[k])[d];
        values[d] = input.parameters[0] + input.parameters[1] * (z * widening[d]);
      }
    }
  }
}

}  // namespace ohmward::uncertainty
