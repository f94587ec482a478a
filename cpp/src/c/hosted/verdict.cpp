#include "c/hosted/quantity.hpp"
#include "ohmward/conformity/limit.hpp"
#include "ohmward/conformity/rules.hpp"

namespace ohmward::c {
namespace {

conformity::Limit from_c(const owd_limit& c) {
  if (c.strict > 1) throw InvalidParameter("strict", static_cast<double>(c.strict), "0 or 1");
  const auto kind = enumeration("rule", c.rule, conformity::Rule::Kind::guarded);
  const conformity::Limit limit{
      .lower = c.lower,
      .upper = c.upper,
      .strict = c.strict != 0,
      .rule = kind == conformity::Rule::Kind::simple
                  ? conformity::simple()
                  : conformity::guarded({.multiple = c.multiple, .coverage_factor = c.coverage_factor})};
  conformity::check(limit);
  return limit;
}

}  // namespace
}  // namespace ohmward::c

using namespace ohmward::c;

owd_error owd_judge(const owd_quantity* quantity, const owd_limit* limit, owd_judgement* judgement) {
  return guarded([=] {
    if (quantity == nullptr || judgement == nullptr) return failed(OWD_ERROR_NULL, "quantity or judgement");
    if (const owd_error error = readable(limit, "limit"); error != OWD_OK) return error;
    const ohmward::conformity::Judgement j = ohmward::conformity::judge(from_c(*quantity), from_c(*limit));
    *judgement = {.acceptance_lower = j.acceptance_lower,
                  .acceptance_upper = j.acceptance_upper,
                  .probability_of_conformity = j.probability_of_conformity,
                  .verdict = static_cast<std::int8_t>(j.verdict),
                  .undecided = static_cast<std::int8_t>(j.undecided),
                  .reason = static_cast<std::int8_t>(j.reason),
                  .reserved = {}};
    return owd_error{OWD_OK};
  });
}

// The texts are literals, so they end in zero.
const char* owd_verdict_text(int8_t verdict) {
  return ohmward::conformity::text(static_cast<ohmward::conformity::Verdict>(verdict)).data();
}

const char* owd_reason_text(int8_t reason) {
  return ohmward::conformity::text(static_cast<ohmward::conformity::Reason>(reason)).data();
}
