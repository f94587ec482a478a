#pragma once

/// @file
/// Risks of a decision. Specific: for this one reading. Global: for the next item, before it is measured, given how
/// items are distributed (the prior). Joint and conditional risks are different numbers and have different names.
/// Source: `jcgm-106`.

#include <functional>

#include "ohmward/conformity/rules.hpp"

namespace ohmward::conformity {

/// Probability that the true value conforms given one reading (JCGM 106:2012 eq. 8 to 11); t where degrees of freedom
/// are finite. NaN where there is no value, no uncertainty or no limit.
[[nodiscard]] double probability_of_conformity(const uncertainty::Quantity& quantity, const Limit& limit) noexcept;

/// Risk that goes with one reading's statement: of a false pass where it is accepted (1 − p_c), of a false fail where
/// it is rejected (p_c). JCGM 106:2012 9.3.
struct SpecificRisk {
  bool accepted = false;
  double risk = nan;
};
[[nodiscard]] SpecificRisk specific_risk(const uncertainty::Quantity& quantity, const Limit& limit) noexcept;

/// Measurement capability index C_m = T/(2U) with U = 2u (JCGM 106:2012 7.6.3); NaN for a one-sided limit.
[[nodiscard]] double capability_index(const Limit& limit, double standard_uncertainty) noexcept;

/// How the quantity is distributed over items before they are measured.
struct Prior {
  std::function<double(double)> density;  ///< of the value; need not be normalised
  double low = -infinity;                 ///< support
  double high = infinity;
  double location = nan;  ///< where most of it lies
  double scale = nan;     ///< about how wide that is
};
struct LocationAndScale {
  double location = nan;
  double scale = nan;
};
/// location = mean, scale = standard deviation. @throws InvalidParameter
[[nodiscard]] Prior normal_prior(const LocationAndScale& of);
/// location = median, scale = standard deviation of ln. @throws InvalidParameter
[[nodiscard]] Prior lognormal_prior(const LocationAndScale& of);
/// location = centre, scale = half-width. @throws InvalidParameter
[[nodiscard]] Prior rectangular_prior(const LocationAndScale& of);

/// A meter that reads normally about the true value.
struct Meter {
  double standard_uncertainty = nan;  ///< on the log scale: of ln value
  Scale scale = Scale::linear;
};

struct GlobalRisks {
  double conforming = nan;            ///< P(conforms), before measuring
  double accepted = nan;              ///< P(accepted)
  double consumer_joint = nan;        ///< P(accepted and does not conform): R_C
  double producer_joint = nan;        ///< P(rejected and conforms): R_P
  double consumer_conditional = nan;  ///< P(does not conform | accepted)
  double producer_conditional = nan;  ///< P(conforms | rejected)
};
/// JCGM 106:2012 eq. 17 to 20, for any prior. Relative accuracy 1e-7, absolute 1e-12.
/// @throws InvalidParameter for a senseless limit or meter, or a prior without mass
[[nodiscard]] GlobalRisks global_risks(const Prior& prior, const Meter& meter, const Limit& limit);

/// What one reading says when the prior is taken in (JCGM 106:2012 6.2, 7.2): the posterior and its conformity.
struct Posterior {
  double mean = nan;
  double standard_deviation = nan;
  double probability_of_conformity = nan;
};
[[nodiscard]] Posterior with_prior(const Prior& prior, const Meter& meter, double reading, const Limit& limit);

/// The rule with the smallest guard band whose joint consumer's risk is at most `risk`; simple where w = 0 suffices.
/// @throws InvalidParameter where no guard band up to 10 u reaches it
[[nodiscard]] Rule rule_for_consumer_risk(const Prior& prior, const Meter& meter, const Limit& limit, double risk);

/// Operating characteristic: probability that an item of this true value is accepted.
[[nodiscard]] double probability_of_acceptance(double true_value, const Meter& meter, const Limit& limit) noexcept;

}  // namespace ohmward::conformity
