#pragma once

#include "ohmward/conformity/limit.hpp"

namespace ohmward::assessment {

[[nodiscard]] constexpr bool accepted(conformity::Verdict verdict) noexcept {
  return verdict == conformity::Verdict::pass || verdict == conformity::Verdict::conditional_pass;
}

/// Takes back a pass that the reading can not carry; a fail stays.
constexpr void refuse_pass(conformity::Judgement& judgement, conformity::Undecided kind) noexcept {
  if (!accepted(judgement.verdict)) return;
  judgement.verdict = conformity::Verdict::undetermined;
  judgement.undecided = kind;
}

}  // namespace ohmward::assessment
