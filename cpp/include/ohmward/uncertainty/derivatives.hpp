#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "ohmward/uncertainty/dual.hpp"

namespace ohmward::uncertainty {

enum class Order : std::int8_t { first = 1, second = 2 };

/// A model at the estimates of its inputs. The last two stay empty at first order.
struct Derivatives {
  std::size_t inputs = 0;
  std::vector<double> values{};    ///< one an output
  std::vector<double> gradient{};  ///< ∂f/∂x_i: outputs × inputs
  std::vector<double> mixed{};     ///< ∂²f/∂x_i∂x_j: outputs × inputs × inputs
  std::vector<double> third{};     ///< ∂³f/∂x_i∂x_j²: outputs × inputs × inputs
};

namespace detail {

template <class T>
std::vector<T> as_outputs(T single) {
  return {single};
}
template <class T, std::size_t n>
std::vector<T> as_outputs(const std::array<T, n>& several) {
  return {several.begin(), several.end()};
}
template <class T>
std::vector<T> as_outputs(std::vector<T> several) {
  return several;
}

template <class T, class Model>
std::vector<T> outputs_at(Model& model, const std::vector<T>& x) {
  return as_outputs<T>(model(std::span<const T>(x)));
}

}  // namespace detail

/// Exact derivatives of a model that is generic in its number type:
/// `[](const auto& x) { return x[0] / x[1] * cos(x[2]); }`, or an array or vector of outputs.
template <class Model>
[[nodiscard]] Derivatives differentiate(Model&& model, std::span<const double> at, Order order = Order::first) {
  using One = Dual<double>;
  using Three = Dual<Dual<One>>;
  const std::size_t n = at.size();
  Derivatives result;
  result.inputs = n;
  result.values = detail::outputs_at<double>(model, {at.begin(), at.end()});
  const std::size_t m = result.values.size();
  result.gradient.resize(m * n);
  for (std::size_t i = 0; i < n; ++i) {
    std::vector<One> x(at.begin(), at.end());
    x[i].slope = 1;
    const std::vector<One> y = detail::outputs_at<One>(model, x);
    for (std::size_t k = 0; k < m; ++k) result.gradient[k * n + i] = y[k].slope;
  }
  if (order == Order::first) return result;
  result.mixed.resize(m * n * n);
  result.third.resize(m * n * n);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j) {
      std::vector<Three> x(at.begin(), at.end());
      x[i].slope.value.value = 1;
      x[j].value.slope.value = 1;
      x[j].value.value.slope = 1;
      const std::vector<Three> y = detail::outputs_at<Three>(model, x);
      for (std::size_t k = 0; k < m; ++k) {
        result.mixed[(k * n + i) * n + j] = y[k].slope.slope.value;
        result.third[(k * n + i) * n + j] = y[k].slope.slope.slope;
      }
    }
  return result;
}

}  // namespace ohmward::uncertainty
