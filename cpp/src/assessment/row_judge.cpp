#include "assessment/row_judge.hpp"

#include <algorithm>
#include <cmath>

#include "assessment/ratio_judge.hpp"
#include "assessment/repeats.hpp"
#include "assessment/verdicts.hpp"

namespace ohmward::assessment {
namespace {

using conformity::Judgement;
using conformity::Undecided;
using conformity::Verdict;
using readings::NumberName;
using readings::TextName;

/// Both ends of a missing context: equal, that one; both on one side of the limit, the conditional one; else open.
Judgement joined(const Judgement& low, const Judgement& high) noexcept {
  Judgement both = low.probability_of_conformity < high.probability_of_conformity ? low : high;
  if (low.verdict == high.verdict) return both;
  if (accepted(low.verdict) && accepted(high.verdict)) {
    both.verdict = Verdict::conditional_pass;
    return both;
  }
  const auto refused = [](Verdict v) { return v == Verdict::fail || v == Verdict::conditional_fail; };
  if (refused(low.verdict) && refused(high.verdict)) {
    both.verdict = Verdict::conditional_fail;
    return both;
  }
  both.verdict = Verdict::undetermined;
  both.undecided = Undecided::missing_context;
  return both;
}

/// Findings that say: this may not be a reading of that part at all. A pass can not rest on it.
constexpr Findings not_to_be_believed = [] {
  Findings all;
  for (const Finding finding :
       {Finding::open_contactor_suspected, Finding::wrong_function_suspected, Finding::copied_suspected,
        Finding::source_check_missing, Finding::null_below_zero, Finding::unit_slip_suspected,
        Finding::object_mistyped_suspected, Finding::being_charged})
    all.add(finding);
  return all;
}();

/// The sign of a voltage between two points is that of the probes: with them exchanged -400 V is no less than 400 V.
uncertainty::Quantity size_of_voltage(uncertainty::Quantity reading, QuantityKind quantity) noexcept {
  if (quantity == QuantityKind::dc_voltage || quantity == QuantityKind::ac_voltage)
    reading.value = std::abs(reading.value);
  return reading;
}

double decision_value(const LimitEntry& limit) noexcept {
  const double lower = limit.lower_value();
  return std::isnan(lower) ? limit.upper : lower;
}

/// A tester's zero says "below its threshold", as its sheet declares it: that threshold is compared with the limit as
/// it stands, without the uncertainty of a value that the display never showed.
conformity::Limit as_declared(conformity::Limit limit, QuantityKind quantity,
                              const uncertainty::Quantity& measured) noexcept {
  const bool is_voltage = quantity == QuantityKind::dc_voltage || quantity == QuantityKind::ac_voltage;
  if (is_voltage && measured.censoring == Censoring::below && std::isnan(limit.lower))
    limit.rule = conformity::simple();
  return limit;
}

NextAction after_fail(QuantityKind quantity) noexcept {
  switch (quantity) {
    case QuantityKind::insulation_resistance: return NextAction::dry_and_measure_again;
    case QuantityKind::bonding_resistance: return NextAction::remake_joint;
    case QuantityKind::dc_voltage:
    case QuantityKind::ac_voltage: return NextAction::isolate_again;
    case QuantityKind::resting_voltage: return NextAction::charge;
    default: return NextAction::examine_part;
  }
}

/// One action for each finding that asks for one.
NextAction asked_by(Finding finding) noexcept {
  switch (finding) {
    case Finding::contact_not_shown: return NextAction::show_contact;
    case Finding::open_contactor_suspected: return NextAction::close_contactor_or_plug;
    case Finding::wrong_function_suspected: return NextAction::check_function;
    case Finding::copied_suspected: return NextAction::repeat_inspection;
    case Finding::source_check_missing: return NextAction::prove_meter;
    case Finding::null_below_zero:
    case Finding::null_not_taken_suspected: return NextAction::null_leads;
    case Finding::whole_vehicle_minimum:
    case Finding::no_limit_applies: return NextAction::ask_for_limit;
    case Finding::out_of_calibration_date:
    case Finding::meter_drift_suspected: return NextAction::check_meter;
    case Finding::test_voltage_too_low:
    case Finding::at_reduced_voltage:
    case Finding::wrong_test_voltage_suspected: return NextAction::read_at_required_voltage;
    case Finding::test_current_too_low: return NextAction::read_at_required_current;
    case Finding::unit_slip_suspected:
    case Finding::ceiling_as_number_suspected: return NextAction::check_unit;
    case Finding::object_mistyped_suspected: return NextAction::check_object;
    case Finding::ratio_times_missing: return NextAction::write_times;
    case Finding::monitor_connected_suspected: return NextAction::disconnect_monitor;
    case Finding::temperature_assumed: return NextAction::write_temperature;
    case Finding::no_law_for_reference: return NextAction::ask_for_law;
    case Finding::instrument_missing:
    case Finding::sheet_missing: return NextAction::name_instrument;
    case Finding::test_voltage_missing:
    case Finding::ceiling_unknown: return NextAction::write_test_voltage;
    case Finding::pair_not_examined: return NextAction::read_each_battery;
    case Finding::being_charged:
    case Finding::rest_time_missing: return NextAction::let_rest;
    case Finding::can_not_show_more:
    case Finding::above_5_gigaohm: return NextAction::nothing_to_learn;
    case Finding::pair_not_named: return NextAction::read_every_pair;
    case Finding::ratio_alone: return NextAction::write_run;
    case Finding::ratio_above_attainable: return NextAction::run_again;
    default: return NextAction::none;
  }
}

struct Next {
  NextAction action = NextAction::none;
  std::int8_t cause = -1;
};

/// First action that the findings ask for, those that can hide a bad part before the others.
Next asked_by(Findings findings) noexcept {
  for (const Findings set : {findings.hiding(), findings})
    for (const FindingFacts& entry : finding_facts)
      if (set.has(entry.finding))
        if (const NextAction action = asked_by(entry.finding); action != NextAction::none) return {
            action, static_cast<std::int8_t>(entry.finding)
          };
  return {};
}

Next otherwise(Next asked, NextAction action) noexcept {
  return asked.action != NextAction::none ? asked : Next{action};
}

/// What a person does next. A bound that leaves both sides open asks for a better meter before anything else; what
/// makes a reading unfit to be believed comes before the comparison and before a repair; a plain fail asks for a
/// repair.
Next next(const RowAssessment& assessment, QuantityKind quantity) noexcept {
  const Judgement& judgement = assessment.judgement;
  switch (judgement.verdict) {
    case Verdict::none:
    case Verdict::pass: return asked_by(assessment.findings.hiding());
    case Verdict::fail:
      return otherwise(asked_by(assessment.findings.those_in(not_to_be_believed)), after_fail(quantity));
    case Verdict::conditional_fail:
    case Verdict::conditional_pass: return otherwise(asked_by(assessment.findings.hiding()), NextAction::read_again);
    case Verdict::undetermined:
      if (judgement.undecided == Undecided::better_meter) return {NextAction::read_with_better_meter};
      return otherwise(asked_by(assessment.findings), NextAction::read_value_again);
  }
  return {};
}

/// The meter's own uncertainty, widened by what its check rows were off.
void widen(uncertainty::Quantity& quantity, double factor) noexcept {
  if (!(factor > 1)) return;
  for (const uncertainty::Part part : {uncertainty::Part::reading, uncertainty::Part::gain})
    quantity.parts.set(part, factor * quantity.parts[part]);
}

}  // namespace

RowJudge::RowJudge(const readings::Table& table, const Context& context)
    : table_(table),
      context_(context),
      limits_(context.limits, table),
      contact_(table, context),
      dead_(table, context),
      batteries_(table, context),
      runs_(table, context),
      meter_check_(table.column(TextName::stage).code_of("meter_check")) {
  for (const std::string& word : table.column(TextName::part_kind).words())
    kind_of_code_.push_back(context.part_kinds.find(word));
  derive();
}

/// Ratios of the times that some limit speaks of; means and worst of repeats where a limit or the settings want them.
void RowJudge::derive() {
  std::vector<insulation::Times> times;
  bool repeats_matter = context_.settings.repeats != Repeats::last;
  for (const LimitEntry& limit : context_.limits) {
    repeats_matter = repeats_matter || limit.repeats.value_or(Repeats::last) != Repeats::last;
    if (!are_known(limit.times)) continue;
    if (std::ranges::none_of(times, [&](const insulation::Times& other) {
          return other.late_second == limit.times.late_second && other.early_second == limit.times.early_second;
        }))
      times.push_back(limit.times);
  }
  derive_ratios(times);
  if (repeats_matter) derive_repeats();
}

void RowJudge::derive_ratios(const std::vector<insulation::Times>& times) {
  for (const Run& run : runs_.all())
    for (const insulation::Times& each : times) {
      const LimitMatcher::Match match = limits_.match({.row = run.place,
                                                       .day = day_of(table_, run.place),
                                                       .quantity = QuantityKind::insulation_ratio,
                                                       .times = each});
      if (match.limit == LimitMatcher::none || !has_value(runs_.ratio(run, each).ratio.status)) continue;
      derived_.push_back({.kind = Together::run_ratio, .rows = run.rows, .place = run.place, .times = each});
    }
}

void RowJudge::derive_repeats() {
  for (std::vector<std::size_t>& rows : repeated_readings(table_)) {
    const std::size_t last = rows.back();
    const std::int32_t limit =
        limits_.match({.row = last, .day = day_of(table_, last), .quantity = table_.quantity[last]}).limit;
    const Repeats rule =
        limit == LimitMatcher::none
            ? Repeats::last
            : context_.limits[static_cast<std::size_t>(limit)].repeats.value_or(context_.settings.repeats);
    if (rule == Repeats::worst)
      worst_of_.push_back(std::move(rows));
    else if (rule == Repeats::mean)
      derived_.push_back({.kind = Together::mean, .rows = std::move(rows), .place = last, .times = no_times});
  }
}

const PartKind* RowJudge::part_kind(std::size_t row) const noexcept {
  const std::int32_t code = table_.column(TextName::part_kind).code(row);
  return code < 0 ? nullptr : kind_of_code_[static_cast<std::size_t>(code)];
}

const temperature::Law& RowJudge::law_of(std::size_t row) const noexcept {
  if (context_.settings.overrides_law) return context_.settings.law;
  const PartKind* const kind = part_kind(row);
  return kind != nullptr ? kind->law : no_law_;
}

/// Part temperature as written on the row, else on another one of its run: ten minutes, one part, one switching on.
double RowJudge::celsius_of(std::size_t row) const noexcept {
  const double celsius = table_.at(NumberName::part_celsius, row);
  const std::int32_t run = runs_.of(row);
  return std::isnan(celsius) && run != Runs::none ? runs_.all()[static_cast<std::size_t>(run)].celsius : celsius;
}

RowJudge::Subject RowJudge::subject_of(std::size_t index, const Screened& screened) const noexcept {
  const Derived* const together = index < table_.rows() ? nullptr : &derived_[index - table_.rows()];
  const std::size_t row = together == nullptr ? index : together->place;
  const bool is_ratio = together != nullptr && together->kind == Together::run_ratio;
  Subject subject{.row = row,
                  .together = together,
                  .quantity = is_ratio ? QuantityKind::insulation_ratio : table_.quantity[row],
                  .times = together == nullptr ? no_times : together->times,
                  .marks = {},
                  .meter_factor = screened.meter_factor.empty() ? nan : 1.0};
  if (together == nullptr && subject.quantity == QuantityKind::insulation_ratio)
    subject.times = {.late_second = table_.at(NumberName::elapsed_second, row),
                     .early_second = table_.at(NumberName::early_second, row)};
  const std::span<const std::size_t> rows =
      together == nullptr ? std::span<const std::size_t>{&index, 1} : std::span<const std::size_t>{together->rows};
  for (const std::size_t each : rows) {
    if (!screened.findings.empty()) subject.marks.add(Findings{screened.findings[each]});
    if (!screened.meter_factor.empty())
      subject.meter_factor = std::fmax(subject.meter_factor, screened.meter_factor[each]);
  }
  return subject;
}

RowAssessment RowJudge::operator()(std::size_t index, const Screened& screened) const noexcept {
  const Subject subject = subject_of(index, screened);
  return subject.marks.has(Finding::meter_drift_suspected) ? judged_with_drifting_meter(subject) : judged(subject);
}

/// A drifting meter is believed as far as its check rows show it: once with its sheet as it stands, once widened by
/// what they were off. A pass has to hold both times; a fail is never taken back.
RowAssessment RowJudge::judged_with_drifting_meter(Subject subject) const noexcept {
  const double factor = subject.meter_factor;
  const bool is_known = factor > 0;
  subject.marks = subject.marks.without(Finding::meter_drift_suspected);
  subject.meter_factor = 1;
  RowAssessment by_sheet = judged(subject);
  subject.marks.add(Finding::meter_drift_suspected);
  subject.meter_factor = is_known ? std::fmax(factor, 1.0) : 1.0;
  RowAssessment widened = judged(subject);
  if (!is_known) refuse_pass(widened.judgement, Undecided::one_more_reading);
  const bool holds = !accepted(by_sheet.judgement.verdict) || by_sheet.judgement.verdict == widened.judgement.verdict;
  if (!holds) {
    const Next todo = next(widened, subject.quantity);
    widened.action = todo.action;
    widened.cause = todo.cause;
    return widened;
  }
  by_sheet.findings.add(Finding::meter_drift_tolerated);
  return by_sheet;
}

instruments::Measured RowJudge::measured(const Subject& subject, double decision_value) const noexcept {
  instruments::Measured reading;
  if (subject.together != nullptr && subject.together->kind == Together::run_ratio)
    reading.quantity = runs_.ratio(runs_.all()[static_cast<std::size_t>(runs_.of(subject.row))], subject.times).ratio;
  else if (subject.together != nullptr)
    reading = mean_of(table_, subject.together->rows, context_, decision_value);
  else if (subject.quantity == QuantityKind::insulation_ratio)
    reading = written_ratio(subject);
  else
    reading = measure(table_, subject.row, instrument_of(table_, subject.row, context_), context_, decision_value);
  widen(reading.quantity, subject.meter_factor);
  return reading;
}

/// A ratio that a person wrote down: of a run whose rows stand in the table, it has that run's uncertainty.
instruments::Measured RowJudge::written_ratio(const Subject& subject) const noexcept {
  instruments::Measured reading = measure(table_, subject.row, instrument_of(table_, subject.row, context_), context_);
  const std::int32_t run = runs_.of(subject.row);
  if (reading.quantity.standard_uncertainty() > 0 || run == Runs::none || !are_known(subject.times)) return reading;
  const uncertainty::Quantity ratio = runs_.ratio(runs_.all()[static_cast<std::size_t>(run)], subject.times).ratio;
  if (!has_value(ratio.status)) return reading;
  reading.quantity.parts = ratio.parts;
  reading.findings = reading.findings.without(Finding::sheet_missing);
  return reading;
}

RowAssessment RowJudge::judged(const Subject& subject) const noexcept {
  const std::size_t row = subject.row;
  const std::int64_t day = day_of(table_, row);
  RowAssessment assessment;
  assessment.instrument = instrument_of(table_, row, context_);
  const LimitMatcher::Match match =
      limits_.match({.row = row, .day = day, .quantity = subject.quantity, .times = subject.times});
  assessment.limit = match.limit;
  assessment.equal_limit = match.equal;
  const double decision =
      match.limit == LimitMatcher::none ? nan : decision_value(context_.limits[static_cast<std::size_t>(match.limit)]);
  const instruments::Measured reading = measured(subject, decision);
  assessment.measured = reading.quantity;
  assessment.compared = size_of_voltage(reading.quantity, subject.quantity);
  assessment.findings = reading.findings;
  assessment.findings.add(subject.marks);
  assessment.findings.add(dead_.findings(row));
  if (subject.quantity == QuantityKind::resting_voltage) look_at_battery(row, assessment);
  look_at_run(subject, assessment);
  if (assessment.instrument != instruments::Instruments::none && day != std::numeric_limits<std::int64_t>::min() &&
      !context_.instruments[assessment.instrument].valid.covers(day))
    assessment.findings.add(Finding::out_of_calibration_date);
  if (match.equal != LimitMatcher::none) assessment.findings.add(Finding::stricter_of_two);

  const bool is_check = meter_check_ >= 0 && table_.column(TextName::stage).code(row) == meter_check_;
  if (table_.column(TextName::doubt).code(row) >= 0) {
    assessment.findings.add(Finding::in_doubt);
  } else if (is_check) {
    assessment.limit = LimitMatcher::none;
  } else if (match.limit == LimitMatcher::none) {
    assessment.findings.add(Finding::no_limit_applies);
  } else {
    compare(subject, assessment);
    if (assessment.limit != LimitMatcher::none) restrict(subject, assessment);
  }
  const Next todo = next(assessment, subject.quantity);
  assessment.action = todo.action;
  assessment.cause = todo.cause;
  return assessment;
}

/// A resistance that was read while the tester still charged the part is lower than the part is.
void RowJudge::look_at_run(const Subject& subject, RowAssessment& assessment) const noexcept {
  const std::int32_t run = runs_.of(subject.row);
  if (run == Runs::none || subject.quantity != QuantityKind::insulation_resistance) return;
  const insulation::SettlingState state = runs_.settling(runs_.all()[static_cast<std::size_t>(run)]);
  if (state.state == insulation::Settling::charging ||
      table_.at(NumberName::elapsed_second, subject.row) < state.charging_until_second)
    assessment.findings.add(Finding::not_settled);
}

/// The battery's words and charge; a voltage that still moves joins the uncertainty of what is compared.
void RowJudge::look_at_battery(std::size_t row, RowAssessment& assessment) const noexcept {
  const battery::RestState state = batteries_.state(row, assessment.measured);
  assessment.findings.add(state.findings);
  assessment.findings.add(batteries_.findings(row));
  assessment.condition = state.condition;
  if (!state.charge.empty()) {
    const auto [low, high] = state.charge.interval(0.95);
    assessment.charge_low = low;
    assessment.charge_median = state.charge.median();
    assessment.charge_high = high;
  }
  if (state.uncertainty.relaxation_volt > 0)
    assessment.measured.parts.add(uncertainty::Part::rest, state.uncertainty.relaxation_volt);
  assessment.compared = assessment.measured;
}

void RowJudge::compare(const Subject& subject, RowAssessment& assessment) const noexcept {
  const LimitEntry& limit = context_.limits[static_cast<std::size_t>(assessment.limit)];
  if (subject.quantity == QuantityKind::insulation_ratio)
    compare_ratio(subject, limit, assessment);
  else if (!std::isnan(limit.reference_celsius))
    compare_corrected(subject, limit, assessment);
  else
    assessment.judgement =
        conformity::judge(assessment.compared, as_declared(limit.limit(), subject.quantity, assessment.compared));
}

void RowJudge::compare_ratio(const Subject& subject, const LimitEntry& limit,
                             RowAssessment& assessment) const noexcept {
  if (!are_known(subject.times)) {
    assessment.findings.add(Finding::ratio_times_missing);
    assessment.judgement = {.verdict = Verdict::undetermined,
                            .undecided = Undecided::missing_context,
                            .reason = conformity::Reason::no_value};
    return;
  }
  constexpr double index_reference_celsius = 40;  // of the 5 GΩ rule. Source: `ieee-43-single-text`.
  const std::int32_t run = runs_.of(subject.row);
  const bool has_run = run != Runs::none;
  judge_ratio({.ratio = assessment.measured,
               .early = has_run ? runs_.ratio(runs_.all()[static_cast<std::size_t>(run)], subject.times).early
                                : uncertainty::Quantity{.scale = Scale::log},
               .capacitance = has_run ? runs_.all()[static_cast<std::size_t>(run)].capacitance
                                      : capacitance_of(table_, subject.row, context_),
               .times = subject.times,
               .to_40_celsius = {.law = law_of(subject.row),
                                 .part_celsius = celsius_of(subject.row),
                                 .standard_uncertainty_kelvin = table_.at(NumberName::part_celsius_u, subject.row),
                                 .reference_celsius = index_reference_celsius,
                                 .defaults = context_.settings.temperature}},
              limit, context_.settings, assessment);
}

void RowJudge::compare_corrected(const Subject& subject, const LimitEntry& limit,
                                 RowAssessment& assessment) const noexcept {
  const std::size_t row = subject.row;
  const temperature::Law& law = law_of(row);
  if (law.kind == temperature::LawKind::none) {
    assessment.findings.add(Finding::no_law_for_reference);
    assessment.judgement = {.verdict = Verdict::undetermined,
                            .undecided = Undecided::missing_context,
                            .reason = conformity::Reason::no_value};
    return;
  }
  struct End {
    uncertainty::Quantity compared;
    Judgement judgement;
  };
  const auto at = [&](double celsius, double u_kelvin) {
    const temperature::Conditions conditions{.law = law,
                                             .part_celsius = celsius,
                                             .standard_uncertainty_kelvin = u_kelvin,
                                             .reference_celsius = limit.reference_celsius,
                                             .defaults = context_.settings.temperature};
    // The limit as this reading would show it: there the meter's counts are weighed.
    const double as_read = decision_value(limit) / temperature::factor_to_reference(conditions).value;
    const uncertainty::Quantity compared = temperature::to_reference(measured(subject, as_read).quantity, conditions);
    return End{compared, conformity::judge(compared, limit.limit())};
  };
  const double celsius = celsius_of(row);
  const double u_kelvin = table_.at(NumberName::part_celsius_u, row);
  assessment.findings.add(Finding::corrected);
  if (std::isnan(law.relative_standard_uncertainty)) assessment.findings.add(Finding::law_uncertainty_assumed);
  if (std::isnan(celsius)) {
    const End low = at(context_.settings.missing_low_celsius, 0);
    const End high = at(context_.settings.missing_high_celsius, 0);
    const bool low_decides = !(low.judgement.probability_of_conformity > high.judgement.probability_of_conformity);
    assessment.findings.add(Finding::temperature_assumed);
    assessment.compared = low_decides ? low.compared : high.compared;
    assessment.corrected_from_celsius =
        low_decides ? context_.settings.missing_low_celsius : context_.settings.missing_high_celsius;
    assessment.corrected_from_celsius_u = 0;
    assessment.judgement = joined(low.judgement, high.judgement);
  } else {
    const End end = at(celsius, u_kelvin);
    if (std::isnan(u_kelvin)) assessment.findings.add(Finding::temperature_uncertainty_assumed);
    assessment.compared = end.compared;
    assessment.corrected_from_celsius = celsius;
    assessment.corrected_from_celsius_u =
        std::isnan(u_kelvin) ? context_.settings.temperature.standard_uncertainty_kelvin : u_kelvin;
    assessment.judgement = end.judgement;
  }
  if (assessment.compared.status == Status::outside_fitted_range)
    assessment.findings.add(Finding::outside_fitted_range);
}

void RowJudge::restrict(const Subject& subject, RowAssessment& assessment) const noexcept {
  const std::size_t row = subject.row;
  const LimitEntry& limit = context_.limits[static_cast<std::size_t>(assessment.limit)];
  const PartKind* kind = part_kind(row);
  Judgement& judgement = assessment.judgement;
  if (limit.whole && !(kind != nullptr && kind->whole)) {
    assessment.findings.add(Finding::whole_vehicle_minimum);
    refuse_pass(judgement, Undecided::missing_context);
  }
  if (!std::isnan(limit.required_test_voltage_volt)) {
    const double set = table_.at(NumberName::test_voltage_volt, row);
    const double applied = table_.at(NumberName::applied_volt, row);
    const double reached = std::isnan(applied) ? set : applied;
    if (std::isnan(reached)) {
      assessment.findings.add(Finding::test_voltage_missing);
      refuse_pass(judgement, Undecided::missing_context);
    } else if (reached < limit.required_test_voltage_volt) {
      assessment.findings.add(Finding::test_voltage_too_low);
      refuse_pass(judgement, Undecided::one_more_reading);
    } else if (assessment.findings.has(Finding::at_reduced_voltage) && std::isnan(applied)) {
      refuse_pass(judgement, Undecided::one_more_reading);
    }
  }
  if (!std::isnan(limit.required_test_ampere)) {
    double ampere = table_.at(NumberName::test_ampere, row);
    if (std::isnan(ampere) && assessment.instrument != instruments::Instruments::none)
      ampere = context_.instruments[assessment.instrument].source_ampere;
    if (ampere < limit.required_test_ampere) {
      assessment.findings.add(Finding::test_current_too_low);
      refuse_pass(judgement, Undecided::one_more_reading);
    }
  }
  if (assessment.findings.has(Finding::pair_not_named)) refuse_pass(judgement, Undecided::missing_context);
  const bool is_open_range =
      subject.quantity == QuantityKind::insulation_resistance && assessment.measured.censoring == Censoring::above;
  if (is_open_range && accepted(judgement.verdict) && !contact_.shown(row, kind))
    assessment.findings.add(Finding::contact_not_shown);
  if (assessment.findings.has(Finding::contact_not_shown) && accepted(judgement.verdict))
    judgement.verdict = Verdict::conditional_pass;
  if (!assessment.findings.those_in(not_to_be_believed).empty()) refuse_pass(judgement, Undecided::one_more_reading);
}

}  // namespace ohmward::assessment
