#include <algorithm>
#include <cmath>

#include "ohmward/conformity/limit.hpp"
#include "ohmward/core/errors.hpp"
#include "ohmward/numerics/normal.hpp"

namespace ohmward::conformity {
namespace {

using uncertainty::Quantity;

/// A limit moved by a signed distance on the scale of its quantity.
double moved(double limit, double distance, Scale scale) noexcept {
  return scale == Scale::log ? limit * std::exp(distance) : limit + distance;
}

/// Signed distance from limit to reading on the scale of the quantity, in standard uncertainties.
double distance_in_u(double reading, double limit, double u, Scale scale) noexcept {
  return (scale == Scale::log ? std::log(reading / limit) : reading - limit) / u;
}

/// One end of a limit: which side is good, and the three lines that divide the four statements.
struct End {
  double limit;
  double acceptance;
  double rejection;
  bool lower;
  bool strict;

  /// On the good side of a line; a tie is good unless the limit is strict, and NaN never is.
  [[nodiscard]] bool good(double reading, double line) const noexcept {
    if (lower) return strict ? reading > line : reading >= line;
    return strict ? reading < line : reading <= line;
  }
  [[nodiscard]] Verdict statement(double reading) const noexcept {
    if (good(reading, acceptance)) return Verdict::pass;
    if (good(reading, limit)) return Verdict::conditional_pass;
    if (good(reading, rejection)) return Verdict::conditional_fail;
    return Verdict::fail;
  }
};

End lower_end(const Limit& limit, double guard, Scale scale) noexcept {
  return {limit.lower, moved(limit.lower, guard, scale), moved(limit.lower, -guard, scale), true, limit.strict};
}
End upper_end(const Limit& limit, double guard, Scale scale) noexcept {
  return {limit.upper, moved(limit.upper, -guard, scale), moved(limit.upper, guard, scale), false, limit.strict};
}

struct Outcome {
  Verdict verdict;
  Reason reason;
};

/// A bound on the good side of the limit is judged like a value: the reading is at least as good. A bound beyond the
/// limit on the bad side of a reading that goes on away from it is judged like a value too. Else both stay open.
Outcome judge_end(const End& end, const Quantity& quantity) noexcept {
  const Verdict as_value = end.statement(quantity.value);
  if (quantity.censoring == Censoring::exact) return {as_value, Reason::compared};
  if (quantity.censoring == Censoring::overload) {
    if (end.lower) return {Verdict::undetermined, Reason::unknown_ceiling};
    return {Verdict::fail, Reason::bound_misses_limit};
  }
  const bool goes_towards_good = end.lower == (quantity.censoring == Censoring::above);
  const bool bound_is_good = as_value == Verdict::pass || as_value == Verdict::conditional_pass;
  if (goes_towards_good && bound_is_good) return {as_value, Reason::bound_meets_limit};
  if (!goes_towards_good && !bound_is_good) return {as_value, Reason::bound_misses_limit};
  return {Verdict::undetermined, Reason::bound_leaves_open};
}

/// A fail of one end is a fail; else what is undetermined at one end is undetermined; else the worse statement.
Outcome worse(Outcome first, Outcome second) noexcept {
  const auto weight = [](Verdict verdict) {
    return verdict == Verdict::fail ? 6 : verdict == Verdict::undetermined ? 5 : static_cast<int>(verdict);
  };
  return weight(second.verdict) > weight(first.verdict) ? second : first;
}

Judgement undetermined(Reason reason) noexcept {
  return {.verdict = Verdict::undetermined, .undecided = Undecided::missing_context, .reason = reason};
}

Undecided kind_of(const Outcome& outcome) noexcept {
  if (outcome.verdict != Verdict::undetermined) return Undecided::no;
  return outcome.reason == Reason::bound_leaves_open ? Undecided::better_meter : Undecided::missing_context;
}

}  // namespace

Rule guarded(GuardBand band) {
  if (!(band.multiple > 0) || !std::isfinite(band.multiple))
    throw InvalidParameter("multiple", band.multiple, "a finite number above 0");
  if (!(band.coverage_factor > 0) || !std::isfinite(band.coverage_factor))
    throw InvalidParameter("coverage_factor", band.coverage_factor, "a finite number above 0");
  return {.kind = Rule::Kind::guarded, .multiple = band.multiple, .coverage_factor = band.coverage_factor};
}

Judgement judge(const Quantity& quantity, const Limit& limit) noexcept {
  const bool has_lower = !std::isnan(limit.lower);
  const bool has_upper = !std::isnan(limit.upper);
  if (!has_lower && !has_upper) return undetermined(Reason::no_limit);
  const bool overload = quantity.censoring == Censoring::overload;
  if (!overload && (!has_value(quantity.status) || std::isnan(quantity.value))) return undetermined(Reason::no_value);
  const double u = quantity.standard_uncertainty();
  if (!overload && (!(u > 0) || !std::isfinite(u))) return undetermined(Reason::uncertainty_unknown);

  const double guard = overload ? 0.0 : limit.rule.guard_factor() * u;
  Judgement judgement;
  Outcome outcome{Verdict::none, Reason::compared};
  if (has_lower) {
    const End end = lower_end(limit, guard, quantity.scale);
    judgement.acceptance_lower = end.acceptance;
    outcome = judge_end(end, quantity);
  }
  if (has_upper) {
    const End end = upper_end(limit, guard, quantity.scale);
    judgement.acceptance_upper = end.acceptance;
    outcome = has_lower ? worse(outcome, judge_end(end, quantity)) : judge_end(end, quantity);
  }
  judgement.verdict = outcome.verdict;
  judgement.reason = outcome.reason;
  judgement.undecided = kind_of(outcome);
  if (quantity.censoring == Censoring::exact) {
    const double above_lower =
        has_lower ? numerics::normal_probability(distance_in_u(quantity.value, limit.lower, u, quantity.scale)) : 1.0;
    const double above_upper =
        has_upper ? numerics::normal_probability(distance_in_u(quantity.value, limit.upper, u, quantity.scale)) : 0.0;
    judgement.probability_of_conformity = above_lower - above_upper;
  }
  return judgement;
}

std::string_view text(Verdict verdict) noexcept {
  switch (verdict) {
    case Verdict::none: return "";
    case Verdict::pass: return "pass";
    case Verdict::conditional_pass: return "conditional_pass";
    case Verdict::conditional_fail: return "conditional_fail";
    case Verdict::fail: return "fail";
    case Verdict::undetermined: return "undetermined";
  }
  return "unknown verdict";
}

std::string_view text(Undecided undecided) noexcept {
  switch (undecided) {
    case Undecided::no: return "";
    case Undecided::one_more_reading: return "one_more_reading";
    case Undecided::better_meter: return "better_meter";
    case Undecided::not_decidable: return "not_decidable";
    case Undecided::missing_context: return "missing_context";
  }
  return "unknown kind";
}

std::string_view text(Reason reason) noexcept {
  switch (reason) {
    case Reason::compared: return "value, uncertainty and limit compared";
    case Reason::bound_meets_limit: return "the bound of the over-range reading lies on the good side";
    case Reason::bound_misses_limit: return "the bound of the reading lies on the bad side";
    case Reason::bound_leaves_open: return "the bound of the reading leaves both sides open";
    case Reason::no_value: return "the reading has no value";
    case Reason::uncertainty_unknown: return "standard uncertainty missing or zero";
    case Reason::no_limit: return "the limit has no end";
    case Reason::unknown_ceiling: return "over-range with an unknown ceiling";
  }
  return "unknown reason";
}

}  // namespace ohmward::conformity
