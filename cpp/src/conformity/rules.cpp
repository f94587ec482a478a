#include "ohmward/conformity/rules.hpp"

#include <cmath>

#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/normal.hpp"
#include "ohmward/statistics/distributions.hpp"

namespace ohmward::conformity {

Rule iso_14253_1() { return guarded({.multiple = 0.83, .coverage_factor = 2}); }

Rule rule_named(std::string_view name) {
  if (name == "simple") return simple();
  if (name == "guarded") return guarded({});
  if (name == "iso_14253_1") return iso_14253_1();
  if (name == "guarded_1.5") return guarded({.multiple = 1.5, .coverage_factor = 2});
  if (name == "guarded_3") return guarded({.multiple = 3, .coverage_factor = 2});
  throw InvalidParameter("rule", name, "simple, guarded, iso_14253_1, guarded_1.5 or guarded_3");
}

Rule rule_for_risk(double risk, double degrees_of_freedom) {
  if (!(risk > 0 && risk <= 0.5)) throw InvalidParameter("risk", risk, "above 0, at most 0.5");
  if (!(degrees_of_freedom >= 1)) throw InvalidParameter("degrees_of_freedom", degrees_of_freedom, "at least 1");
  const double z = -statistics::student_t_quantile(risk, degrees_of_freedom);
  return z > 0 ? guarded({.multiple = 1, .coverage_factor = z}) : simple();
}

double greatest_specific_risk(const Rule& rule) noexcept { return numerics::normal_probability(-rule.guard_factor()); }

void check(const Limit& limit) {
  const bool has_lower = !std::isnan(limit.lower);
  const bool has_upper = !std::isnan(limit.upper);
  if (!has_lower && !has_upper) throw InvalidParameter("limit", nan, "a lower or an upper end");
  if (has_lower && std::isinf(limit.lower)) throw InvalidParameter("lower", limit.lower, "a finite number");
  if (has_upper && std::isinf(limit.upper)) throw InvalidParameter("upper", limit.upper, "a finite number");
  if (has_lower && has_upper && !(limit.lower < limit.upper))
    throw InvalidParameter("upper", limit.upper, "above lower: the interval is empty");
}

Limit limit_about(const Tolerance& of) {
  if (!std::isfinite(of.nominal)) throw InvalidParameter("nominal", of.nominal, "a finite number");
  if (of.below < 0) throw InvalidParameter("below", of.below, "at least 0");
  if (of.above < 0) throw InvalidParameter("above", of.above, "at least 0");
  const double unit = of.relative ? std::abs(of.nominal) : 1.0;
  const Limit limit{.lower = of.nominal - of.below * unit,
                    .upper = of.nominal + of.above * unit,
                    .strict = of.strict,
                    .rule = of.rule};
  check(limit);
  return limit;
}

Acceptance acceptance_of(const Limit& limit, double u, Scale scale) noexcept {
  const double w = limit.rule.guard_factor() * u;
  if (scale == Scale::log) return {limit.lower * std::exp(w), limit.upper * std::exp(-w)};
  return {limit.lower + w, limit.upper - w};
}

}  // namespace ohmward::conformity
