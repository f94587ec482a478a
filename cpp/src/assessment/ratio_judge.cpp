#include "assessment/ratio_judge.hpp"

#include <cmath>

#include "assessment/verdicts.hpp"
#include "ohmward/numerics/elementary.hpp"

namespace ohmward::assessment {
namespace {

using conformity::Reason;
using conformity::Undecided;
using conformity::Verdict;
using insulation::IndexCriterion;
using uncertainty::Quantity;

conformity::Judgement open(Undecided kind) noexcept {
  return {.verdict = Verdict::undetermined, .undecided = kind, .reason = Reason::compared};
}

bool is_polarisation_index(const insulation::Times& times) noexcept {
  return times.late_second == 600 && times.early_second == 60;
}

IndexCriterion at_one_temperature(const RatioCase& ratio, double celsius) noexcept {
  temperature::Conditions conditions = ratio.to_40_celsius;
  conditions.part_celsius = celsius;
  const Quantity corrected = temperature::to_reference(ratio.early, conditions);
  const bool has_law = ratio.to_40_celsius.law.kind != temperature::LawKind::none;
  return insulation::index_criterion({.as_read = ratio.early, .at_40_celsius = has_law ? corrected : ratio.early});
}

/// Without a part temperature both ends of the stated range have to agree.
IndexCriterion criterion(const RatioCase& ratio, const Settings& settings, Findings& findings) noexcept {
  if (!is_polarisation_index(ratio.times)) return IndexCriterion::applies;
  const double celsius = ratio.to_40_celsius.part_celsius;
  if (!std::isnan(celsius)) return at_one_temperature(ratio, celsius);
  const IndexCriterion cold = at_one_temperature(ratio, settings.missing_low_celsius);
  const IndexCriterion warm = at_one_temperature(ratio, settings.missing_high_celsius);
  if (cold == warm) return cold;
  findings.add(Finding::temperature_assumed);
  return IndexCriterion::undetermined;
}

/// Where the earlier resistance is not known: at the 5 GΩ above which the index is no criterion anyhow.
insulation::AttainableRatio attainable_of(const RatioCase& ratio) noexcept {
  if (has_value(ratio.early.status) || ratio.early.censoring == Censoring::overload)
    return insulation::attainable_ratio({.early = ratio.early, .capacitance = ratio.capacitance, .times = ratio.times});
  if (!is_polarisation_index(ratio.times)) return {};
  const Quantity ceiling{
      .value = insulation::index_criterion_ceiling_ohm, .scale = Scale::log, .status = Status::sound};
  return insulation::attainable_ratio({.early = ceiling, .capacitance = ratio.capacitance, .times = ratio.times});
}

bool lies_above(const Quantity& ratio, double attainable) noexcept {
  constexpr double coverage_factor = 2;
  const double u = ratio.standard_uncertainty();
  if (ratio.censoring == Censoring::below || !(u > 0)) return false;
  return ratio.value * numerics::exp(-coverage_factor * u) > attainable;
}

}  // namespace

void judge_ratio(const RatioCase& ratio, const LimitEntry& limit, const Settings& settings,
                 RowAssessment& assessment) noexcept {
  assessment.early = ratio.early;
  assessment.attainable = attainable_of(ratio);
  const bool early_known = has_value(ratio.early.status);
  const bool can_not_show_it = assessment.attainable.excludes(limit.lower_value());
  const IndexCriterion applies =
      early_known ? criterion(ratio, settings, assessment.findings) : IndexCriterion::applies;
  if (applies == IndexCriterion::does_not_apply) {
    assessment.findings.add(Finding::above_5_gigaohm);
    assessment.limit = LimitMatcher::none;
    return;
  }
  if (can_not_show_it) {
    assessment.findings.add(Finding::can_not_show_more);
    assessment.judgement = open(Undecided::not_decidable);
    return;
  }
  if (applies == IndexCriterion::undetermined) {
    assessment.findings.add(Finding::above_5_gigaohm);
    const bool for_want_of_temperature = assessment.findings.has(Finding::temperature_assumed);
    assessment.judgement = open(for_want_of_temperature ? Undecided::missing_context : Undecided::not_decidable);
    return;
  }
  if (!early_known || !has_value(assessment.attainable.status)) {
    assessment.findings.add(Finding::ratio_alone);
    assessment.judgement = open(Undecided::missing_context);
    return;
  }
  assessment.judgement = conformity::judge(ratio.ratio, limit.limit());
  if (lies_above(ratio.ratio, assessment.attainable.value)) {
    assessment.findings.add(Finding::ratio_above_attainable);
    refuse_pass(assessment.judgement, Undecided::one_more_reading);
  }
}

}  // namespace ohmward::assessment
