#include "ohmward/assessment/explain.hpp"

#include <array>
#include <cmath>
#include <cstdio>

#include "assessment/row_judge.hpp"

namespace ohmward::assessment {
namespace {

using readings::NumberName;
using readings::TextName;

std::string number(double value, const char* format = "%.4g") {
  std::array<char, 48> buffer{};
  const int length = std::snprintf(buffer.data(), buffer.size(), format, value);
  return {buffer.data(), static_cast<std::size_t>(length > 0 ? length : 0)};
}

std::string joined(std::string first, std::string_view separator, std::string_view second) {
  if (second.empty()) return first;
  if (first.empty()) return std::string{second};
  return first.append(separator).append(second);
}

class Explainer {
 public:
  Explainer(const readings::Table& table, std::size_t row, const Derived* together, const Context& context,
            const RowAssessment& assessment)
      : table_(table),
        row_(row),
        together_(together),
        context_(context),
        assessment_(assessment),
        kind_(is_of_a_run() ? QuantityKind::insulation_ratio : table.quantity[row]) {}

  [[nodiscard]] std::vector<ExplanationStep> steps() const {
    std::vector<ExplanationStep> steps{{"reading", reading()}, {"value", value()}};
    if (const std::string parts = uncertainty_parts(); !parts.empty()) steps.push_back({"uncertainty", parts});
    if (const std::string could = could_show(); !could.empty()) steps.push_back({"could show", could});
    if (assessment_.limit >= 0) {
      if (kind_ != QuantityKind::insulation_ratio) steps.push_back({"correction", correction()});
      steps.push_back({"limit", limit()});
      steps.push_back({"rule", rule()});
    }
    steps.push_back({"verdict", verdict()});
    for (const FindingFacts& entry : finding_facts)
      if (assessment_.findings.has(entry.finding)) steps.push_back({"finding", std::string{entry.text}});
    if (assessment_.action != NextAction::none) steps.push_back({"next", std::string{text(assessment_.action)}});
    return steps;
  }

 private:
  [[nodiscard]] std::string_view word(TextName name) const { return table_.column(name).word(row_); }

  [[nodiscard]] bool is_of_a_run() const noexcept {
    return together_ != nullptr && together_->kind == Together::run_ratio;
  }

  /// What was written down: one text, or what several of them make.
  [[nodiscard]] std::string origin() const {
    if (is_of_a_run())
      return number(together_->times.late_second) + " s over " + number(together_->times.early_second) + " s of run " +
             std::string{word(TextName::run_id)} + ", " + std::to_string(together_->rows.size()) + " readings";
    if (together_ == nullptr)
      return joined(std::string{table_.value_text[row_]}, " ", table_.unit.word(row_)).append(" as written");
    std::string out = "mean of " + std::to_string(together_->rows.size()) + ":";
    for (const std::size_t row : together_->rows)
      out = joined(out.append(" ").append(table_.value_text[row]), " ", table_.unit.word(row)).append(",");
    out.back() = ' ';
    return out.append("as written");
  }

  [[nodiscard]] std::string reading() const {
    std::string out = origin();
    out.append(", ").append(facts(kind_).name);
    out = joined(out, " of ", word(TextName::part));
    out = joined(out, ", ", word(TextName::object_id));
    if (!word(TextName::from_point).empty() || !word(TextName::to_point).empty())
      out.append(", ").append(word(TextName::from_point)).append(" to ").append(word(TextName::to_point));
    if (const double volt = table_.at(NumberName::test_voltage_volt, row_); !std::isnan(volt))
      out.append(", at ").append(number(volt)).append(" V");
    if (table_.line.size() > row_) out.append(" (line ").append(std::to_string(table_.line[row_])).append(")");
    return out;
  }

  [[nodiscard]] std::string value() const {
    std::string out = shown(assessment_.measured, kind_);
    const std::string interval = shown_interval(assessment_.measured, kind_);
    if (!interval.empty()) out.append(", with k = 2: ").append(interval);
    if (assessment_.instrument >= 0)
      out.append(", meter ").append(context_.instruments[assessment_.instrument].id);
    else if (!word(TextName::instrument_id).empty())
      out.append(", meter ").append(word(TextName::instrument_id)).append(" (no sheet)");
    else
      out.append(", meter not named");
    if (!has_value(assessment_.measured.status)) out.append(": ").append(text(assessment_.measured.status));
    return out;
  }

  /// What decides whether a ratio says anything: the resistance at the earlier time, and what the part could show.
  [[nodiscard]] std::string could_show() const {
    if (kind_ != QuantityKind::insulation_ratio) return {};
    std::string out;
    if (has_value(assessment_.early.status))
      out = "resistance at the earlier time " + shown(assessment_.early, QuantityKind::insulation_resistance);
    const double attainable = assessment_.attainable.value;
    if (!has_value(assessment_.attainable.status)) return out;
    if (!std::isfinite(attainable)) return joined(out, "; ", "nothing limits the ratio that this part can show");
    out = joined(out, "; ", "this part can show a ratio of up to ").append(number(attainable, "%.3g"));
    if (assessment_.findings.has(Finding::can_not_show_more)) out.append(": this part can not show more, dry or not");
    return out;
  }

  /// Parts of the uncertainty of what was compared, largest shares named.
  [[nodiscard]] std::string uncertainty_parts() const {
    const uncertainty::Parts& parts = assessment_.compared.parts;
    const double whole = parts.combined();
    if (!(whole > 0) || !std::isfinite(whole)) return {};
    const bool log = assessment_.compared.scale == Scale::log;
    std::string out = log ? "relative u " + number(100 * whole, "%.2g") + " %" : "u " + shown(whole, kind_);
    for (const uncertainty::PartFacts& part : uncertainty::part_facts) {
      const double share = parts[part.part] * parts[part.part] / (whole * whole);
      if (share >= 0.01) out.append("; ").append(number(100 * share, "%.0f")).append(" % from ").append(part.text);
    }
    return out;
  }

  [[nodiscard]] const LimitEntry& entry()
  const { return context_.limits[static_cast<std::size_t>(assessment_.limit)]; }

  [[nodiscard]] std::string correction() const {
    if (std::isnan(entry().reference_celsius)) return "compared as read: the limit names no reference temperature";
    if (std::isnan(assessment_.corrected_from_celsius)) return "none: no temperature law holds for this part";
    std::string out = "from " + number(assessment_.corrected_from_celsius) + " °C to " +
                      number(entry().reference_celsius) + " °C: " + shown(assessment_.compared, kind_);
    if (assessment_.findings.has(Finding::temperature_assumed))
      out.append(" (part temperature missing: judged at ")
          .append(number(context_.settings.missing_low_celsius))
          .append(" and ")
          .append(number(context_.settings.missing_high_celsius))
          .append(" °C, the worse end is shown)");
    return out;
  }

  [[nodiscard]] std::string limit() const {
    const LimitEntry& limit = entry();
    std::string out;
    if (!std::isnan(limit.lower_value()))
      out = (limit.strict ? "above " : "at least ") + shown(limit.lower_value(), kind_);
    if (!std::isnan(limit.upper))
      out = joined(out, ", ", (limit.strict ? "below " : "at most ") + shown(limit.upper, kind_));
    if (!std::isnan(limit.per_volt) && !std::isnan(limit.working_volt))
      out.append(" (")
          .append(number(limit.per_volt))
          .append(" Ω/V at ")
          .append(number(limit.working_volt))
          .append(" V)");
    out.append(", ").append(limit.id).append(", authority: ").append(text(limit.authority));
    if (limit.whole) out.append(", minimum of the whole vehicle");
    if (!limit.source.empty()) out.append(", source ").append(limit.source);
    if (!limit.edition.empty()) out.append(", edition ").append(limit.edition);
    if (assessment_.equal_limit >= 0)
      out.append("; of equal rank with ")
          .append(context_.limits[static_cast<std::size_t>(assessment_.equal_limit)].id)
          .append(", the stricter decided");
    return out;
  }

  [[nodiscard]] std::string rule() const {
    const conformity::Rule& rule = entry()
    .rule;
    if (rule.kind == conformity::Rule::Kind::simple) return "simple acceptance, no guard band";
    std::string out = "guard band " + number(rule.multiple) + " × " + number(rule.coverage_factor) + " · u";
    const conformity::Judgement& judgement = assessment_.judgement;
    if (is_declared_threshold())
      out = "a tester's threshold as its sheet declares it is compared as it stands, without a guard band";
    if (!std::isnan(judgement.acceptance_lower))
      out.append(": accepted from ").append(shown(judgement.acceptance_lower, kind_));
    if (!std::isnan(judgement.acceptance_upper))
      out.append(": accepted up to ").append(shown(judgement.acceptance_upper, kind_));
    return out;
  }

  [[nodiscard]] bool is_declared_threshold() const noexcept {
    return (kind_ == QuantityKind::dc_voltage || kind_ == QuantityKind::ac_voltage) &&
           assessment_.measured.censoring == Censoring::below && std::isnan(entry().lower_value());
  }

  [[nodiscard]] std::string verdict() const {
    const conformity::Judgement& judgement = assessment_.judgement;
    if (judgement.verdict == conformity::Verdict::none) return "none";
    std::string out{text(judgement.verdict)};
    if (judgement.undecided != conformity::Undecided::no) out.append(", ").append(text(judgement.undecided));
    out.append(": ").append(text(judgement.reason));
    if (!std::isnan(judgement.probability_of_conformity))
      out.append("; probability that the true value meets the limit ")
          .append(number(judgement.probability_of_conformity, "%.3f"));
    return out;
  }

  const readings::Table& table_;
  std::size_t row_;
  const Derived* together_;  ///< nullptr: the row itself
  const Context& context_;
  const RowAssessment& assessment_;
  QuantityKind kind_;
};

}  // namespace

std::vector<ExplanationStep> explain(const readings::Table& table, std::size_t row, const Context& context,
                                     const Screened& screened) {
  const RowJudge judge(table, context);
  const RowAssessment assessment = judge(row, screened);
  const Derived* const together = row < table.rows() ? nullptr : &judge.derived()[row - table.rows()];
  return Explainer(table, together == nullptr ? row : together->place, together, context, assessment).steps();
}

}  // namespace ohmward::assessment
