#pragma once

#include <cstdint>
#include <string_view>

#include "ohmward/core/floating_point.hpp"
#include "ohmward/uncertainty/quantity.hpp"

namespace ohmward::conformity {

/// How measurement uncertainty enters a decision (JCGM 106:2012, ILAC-G8:09/2019).
/// The guard band is w = multiple · coverage_factor · u; the simple rule has w = 0.
struct Rule {
  enum class Kind : std::int8_t { simple = 0, guarded = 1 };
  Kind kind = Kind::guarded;
  double multiple = 1;
  double coverage_factor = 2;

  [[nodiscard]] constexpr double guard_factor() const noexcept {
    return kind == Kind::simple ? 0.0 : multiple * coverage_factor;
  }
};

[[nodiscard]] constexpr Rule simple() noexcept {
  return {.kind = Rule::Kind::simple, .multiple = 0, .coverage_factor = 0};
}

struct GuardBand {
  double multiple = 1;
  double coverage_factor = 2;
};
/// @throws InvalidParameter unless both are finite and above 0.
[[nodiscard]] Rule guarded(GuardBand band);

/// A limit for one value: at least one end is set. A reading equal to the limit, or to the acceptance limit,
/// belongs to the better side; `strict` puts it on the worse side.
struct Limit {
  double lower = nan;
  double upper = nan;
  bool strict = false;
  Rule rule{};
};

/// Statement after ILAC-G8:09/2019 4.2.3. Numbers never change meaning.
enum class Verdict : std::int8_t {
  none = 0,
  pass = 1,
  conditional_pass = 2,
  conditional_fail = 3,
  fail = 4,
  undetermined = 5,
};

/// What would settle an undetermined verdict.
enum class Undecided : std::int8_t {
  no = 0,
  one_more_reading = 1,
  better_meter = 2,
  not_decidable = 3,
  missing_context = 4,
};

/// Why a verdict came out as it did. Numbers never change meaning.
enum class Reason : std::int8_t {
  compared = 0,             ///< value, uncertainty and limit were compared
  bound_meets_limit = 1,    ///< the bound of an over-range reading lies on the good side
  bound_misses_limit = 2,   ///< the bound lies on the bad side
  bound_leaves_open = 3,    ///< the bound lies on the side of the limit that leaves both open
  no_value = 4,             ///< the reading has no value
  uncertainty_unknown = 5,  ///< standard uncertainty missing or zero
  no_limit = 6,             ///< the limit has no end
  unknown_ceiling = 7,      ///< over-range with an unknown ceiling
};

[[nodiscard]] std::string_view text(Verdict verdict) noexcept;
[[nodiscard]] std::string_view text(Undecided undecided) noexcept;
[[nodiscard]] std::string_view text(Reason reason) noexcept;

struct Judgement {
  Verdict verdict = Verdict::none;
  Undecided undecided = Undecided::no;
  Reason reason = Reason::no_value;
  double acceptance_lower = nan;           ///< least accepted reading; NaN where there is no lower limit
  double acceptance_upper = nan;           ///< greatest accepted reading; NaN where there is no upper limit
  double probability_of_conformity = nan;  ///< JCGM 106:2012 eq. 8-11; NaN for a censored reading
};

/// Judges a reading against a limit.
///
/// With w = guard factor · u the acceptance limits are T ± w on a linear scale and T·exp(±w) on the log scale.
/// Statement: pass inside the acceptance limits, conditional pass between acceptance limit and limit, conditional
/// fail up to w beyond the limit, fail beyond that. A pass needs a comparison that is true: NaN, u = 0 or an
/// unknown uncertainty give undetermined. A bound (censoring) is guarded like a value.
///
/// Source: `ilac-g8`, `jcgm-106`.
[[nodiscard]] Judgement judge(const uncertainty::Quantity& quantity, const Limit& limit) noexcept;

}  // namespace ohmward::conformity
