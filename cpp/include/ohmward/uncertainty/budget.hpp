#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/uncertainty/derivatives.hpp"
#include "ohmward/uncertainty/input.hpp"

namespace ohmward::uncertainty {

/// Inputs that were observed together in the same sets: they count as one component with n − 1 degrees of freedom.
struct JointGroup {
  std::vector<std::size_t> members{};
  double degrees_of_freedom = nan;
};

/// Named inputs and their correlation.
class Budget {
 public:
  /// @return position of the input @throws InvalidParameter for a name given twice
  std::size_t add(std::string name, Input input);

  /// @throws InvalidParameter for an unknown name, the same name twice, |r| above 1 or a pair of a joint group
  void correlate(std::string_view first, std::string_view second, double correlation);

  /// Adds quantities observed together: one row of `observations` a quantity, one column a set.
  /// @throws InvalidParameter for fewer than two sets, a missing reading or a quantity that never changed
  void add_observed_together(std::span<const std::string> names, std::span<const double> observations,
                             std::size_t sets);

  [[nodiscard]] std::size_t size() const noexcept { return inputs_.size(); }
  [[nodiscard]] const std::vector<std::string>& names() const noexcept { return names_; }
  [[nodiscard]] const std::vector<Input>& inputs() const noexcept { return inputs_; }
  [[nodiscard]] const std::vector<JointGroup>& groups() const noexcept { return groups_; }
  [[nodiscard]] std::vector<double> estimates() const;
  /// Row after row; size() × size().
  [[nodiscard]] std::vector<double> correlation() const;
  [[nodiscard]] bool is_correlated() const noexcept;

  /// @throws InvalidParameter where the correlation is not positive semidefinite, saying by how much and which pair
  void check() const;

 private:
  struct Pair {
    std::size_t first;
    std::size_t second;
    double correlation;
  };
  [[nodiscard]] std::size_t position(std::string_view name) const;
  [[nodiscard]] bool is_in_group(std::size_t input) const noexcept;

  std::vector<std::string> names_;
  std::vector<Input> inputs_;
  std::vector<Pair> pairs_;
  std::vector<JointGroup> groups_;
};

/// One output of a model.
struct Output {
  double value = nan;
  double standard_uncertainty = nan;
  double degrees_of_freedom = nan;   ///< effective, JCGM 100:2008 G.4
  double second_order_variance = 0;  ///< part of u² that terms of second order add
  std::vector<double> sensitivities{};
  std::vector<double> contributions{};  ///< sensitivity · u of each input, signed
  /// Share of each input in u², correlation included and so possibly negative; with the share of second order
  /// they sum to 1.
  std::vector<double> shares{};
};

struct Propagation {
  std::vector<Output> outputs;
  std::vector<double> covariance;  ///< of the outputs, row after row

  [[nodiscard]] double correlation(std::size_t first, std::size_t second) const;
};

/// Law of propagation of uncertainty, JCGM 100:2008 eq. 13, several outputs by JCGM 102:2011.
///
/// Second order adds Σ_ij [½ f_ij² + f_i f_ijj] u_i² u_j² (5.1.2 note), for independent inputs only; it does not enter
/// covariances. Degrees of freedom: a joint group counts as one component; other inputs by Welch–Satterthwaite in its
/// form for correlated inputs, which is the usual one where there is no correlation.
///
/// @throws InvalidParameter for derivatives that are not finite (naming the input), a wrong shape, second order with
/// correlation, or a correlation that is not positive semidefinite. Sources: `gum`, `jcgm-102`.
[[nodiscard]] Propagation propagate(const Budget& budget, const Derivatives& derivatives);

/// The same for a model that is generic in its number type; derivatives are exact.
template <class Model>
[[nodiscard]] Propagation propagate_model(const Budget& budget, Model&& model, Order order = Order::first) {
  return propagate(budget, differentiate(model, budget.estimates(), order));
}

}  // namespace ohmward::uncertainty
