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

Limit limit_about(const Tolerance& tolerance) {
  if (!std::isfinite(tolerance.nominal)) throw InvalidParameter("nominal", tolerance.nominal, "a finite number");
  if (tolerance.below < 0) throw InvalidParameter("below", tolerance.below, "at least 0");
  if (tolerance.above < 0) throw InvalidParameter("above", tolerance.above, "at least 0");
  const double unit = tolerance.relative ? std::abs(tolerance.nominal) : 1.0;
  const Limit limit{.lower = tolerance.nominal - tolerance.below * unit,
                    .upper = tolerance.nominal + tolerance.above * unit,
                    .strict = tolerance.strict,
                    .rule = tolerance.rule};
  check(limit);
  return limit;
}

Acceptance acceptance_of(const Limit& limit, double standard_uncertainty, Scale scale) noexcept {
  const double w = limit.rule.guard_factor() * standard_uncertainty;
  if (scale == Scale::log) return {limit.lower * std::exp(w), limit.upper * std::exp(-w)};
  return {limit.lower + w, limit.upper - w};
}

}  // namespace ohmward::conformity
