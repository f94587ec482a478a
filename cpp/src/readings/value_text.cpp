#include "ohmward/readings/value_text.hpp"

#include <cmath>
#include <optional>

#include "ohmward/core/constants.hpp"
#include "readings/number_text.hpp"
#include "readings/unit_text.hpp"
#include "readings/utf8.hpp"

namespace ohmward::readings {
namespace {

ParsedValue refused(Status status, std::string reason) {
  ParsedValue value;
  value.status = status;
  value.reason = std::move(reason);
  return value;
}

ParsedValue over_range() {
  ParsedValue value;
  value.censoring = Censoring::overload;
  value.status = Status::unknown_bound;
  return value;
}

std::string quoted(std::string_view text) {
  std::string out = "'";
  return out.append(shortened(text)).append("'");
}

/// `>4`, `≤ 2`, `4G+`: takes the mark off the text.
std::optional<Censoring> take_bound(std::string_view& text) noexcept {
  struct Mark {
    std::string_view text;
    Censoring censoring;
  };
  static constexpr Mark marks[] = {{">=", Censoring::above}, {"=>", Censoring::above}, {"≥", Censoring::above},
                                   {">", Censoring::above},  {"<=", Censoring::below}, {"=<", Censoring::below},
                                   {"≤", Censoring::below},  {"<", Censoring::below}};
  for (const Mark& mark : marks)
    if (text.starts_with(mark.text)) {
      text = trimmed(text.substr(mark.text.size()));
      return mark.censoring;
    }
  return {};
}

bool take_trailing_plus(std::string_view& text) noexcept {
  if (!text.ends_with('+')) return false;
  text = trimmed(text.substr(0, text.size() - 1));
  return true;
}

/// `OL`, and `OL MΩ` as some people copy the display's unit too.
bool is_over_range(std::string_view text, Dimension dimension, const Words& words) {
  if (words.is_over_range(text)) return true;
  const std::size_t space = text.find_last_of(' ');
  if (space == std::string_view::npos || !parse_unit(text.substr(space + 1), dimension)) return false;
  return words.is_over_range(text.substr(0, space));
}

std::string why_no_number(NumberOutcome outcome, std::string_view text) {
  switch (outcome) {
    case NumberOutcome::two_readings:
      return quoted(text) + " can be read with a decimal or a thousands mark: write more or fewer decimals, or no mark";
    case NumberOutcome::bare_one:
      return quoted(text) +
             " is a number or how a display shows over-range: write OL or 1, or list it in the column map's words";
    case NumberOutcome::too_many_digits: return quoted(text) + " has too many digits, expected at most 19";
    case NumberOutcome::malformed: return quoted(text) + " is no number, expected one decimal mark";
    default: return quoted(text) + " is no number";
  }
}

ParsedValue no_number(NumberOutcome outcome, std::string_view text) {
  const bool ambiguous = outcome == NumberOutcome::two_readings || outcome == NumberOutcome::bare_one;
  return refused(ambiguous ? Status::ambiguous_text : Status::unreadable_text, why_no_number(outcome, text));
}

struct ChosenUnit {
  std::optional<Unit> unit = {};
  Status status = Status::sound;
  std::string reason = {};
};

ChosenUnit unknown_unit(std::string_view unit, Dimension dimension) {
  return {.status = Status::unreadable_text,
          .reason = "unit " + quoted(unit) + " does not fit, expected " + std::string{expected_units(dimension)}};
}

/// The cell's own unit and that of the column or header must not contradict each other.
ChosenUnit choose_unit(std::string_view own_text, std::string_view hint_text, bool hint_is_default,
                       Dimension dimension) {
  const std::optional<Unit> own = parse_unit(own_text, dimension);
  const std::optional<Unit> hint = parse_unit(hint_text, dimension);
  if (!own_text.empty() && !own) return unknown_unit(own_text, dimension);
  if (!hint_text.empty() && !hint) return unknown_unit(hint_text, dimension);
  if (!own && !hint) {
    if (dimension == Dimension::number) return {.unit = Unit{}};
    return {.status = Status::unreadable_text,
            .reason = "unit missing, expected " + std::string{expected_units(dimension)}};
  }
  if (!own) return {.unit = hint};
  if (!hint || hint_is_default || *hint == *own || *hint == Unit{}) return {.unit = own};
  return {.status = Status::ambiguous_text,
          .reason = "the value says " + quoted(own_text) + ", its unit column " + quoted(hint_text) +
                    ": expected one of them"};
}

double in_si(const NumberText& number, const Unit& unit) noexcept {
  const double size = decimal_to_double(number.digits, number.last_digit_power + unit.power);
  return (number.negative ? -size : size) * unit.factor + unit.offset;
}

double last_digit(const NumberText& number, const Unit& unit) noexcept {
  const double size = decimal_to_double(1, number.last_digit_power + unit.power) * unit.factor;
  return size > 0 && size < infinity ? size : nan;
}

/// A log scale has no zero and no negative values; a temperature has a lowest one.
ParsedValue on_its_scale(ParsedValue value, QuantityKind quantity) {
  if (!std::isfinite(value.value)) return refused(Status::out_of_domain, "number too large");
  if (quantity == QuantityKind::temperature && value.value < -celsius_zero_kelvin)
    return refused(Status::out_of_domain, "below absolute zero");
  if (facts(quantity).scale == Scale::linear || value.value > 0) return value;
  const std::string name{facts(quantity).name};
  if (value.value < 0) return refused(Status::out_of_domain, "a negative " + name + " is no value");
  if (value.censoring == Censoring::above) return refused(Status::out_of_domain, "a " + name + " above 0 says nothing");
  if (value.censoring == Censoring::below) return refused(Status::out_of_domain, "no " + name + " is below 0");
  if (std::isnan(value.resolution)) return refused(Status::out_of_domain, "number too small");
  value.value = value.resolution;
  value.censoring = Censoring::below;
  value.status = Status::bound_only;
  return value;
}

}  // namespace

ParsedValue parse_value(const ValueText& written, const Words& words) {
  std::string_view text = trimmed(written.text);
  const std::string_view hint = words.is_missing(written.unit) ? std::string_view{} : trimmed(written.unit);
  const Dimension dimension = readings::dimension(written.quantity);
  if (words.is_missing(text)) return refused(Status::missing_input, "no value written down");
  // A word of the workshop's own, such as ">max" or "1.", outranks every other reading of the text.
  bool over = is_over_range(text, dimension, words);
  std::optional<Censoring> bound;
  if (!over) {
    bound = take_bound(text);
    const bool plus = take_trailing_plus(text);
    if (plus && bound == Censoring::below)
      return refused(Status::ambiguous_text, quoted(written.text) + " says below and above at once");
    if (plus) bound = Censoring::above;
    over = bound && is_over_range(text, dimension, words);
    if (over && bound == Censoring::below) return refused(Status::unreadable_text, "below over-range says nothing");
  }
  if (over) {
    if (!hint.empty() && !parse_unit(hint, dimension))
      return refused(Status::unreadable_text, unknown_unit(hint, dimension).reason);
    return over_range();
  }

  const NumberText number = read_number(text, written.decimal);
  if (number.outcome != NumberOutcome::read) return no_number(number.outcome, trimmed(written.text));
  const ChosenUnit chosen = choose_unit(trimmed(text.substr(number.length)), hint, written.unit_is_default, dimension);
  if (!chosen.unit) return refused(chosen.status, chosen.reason);

  ParsedValue value;
  value.value = in_si(number, *chosen.unit);
  value.resolution = last_digit(number, *chosen.unit);
  value.censoring = bound.value_or(Censoring::exact);
  value.status = bound ? Status::bound_only : Status::sound;
  return on_its_scale(std::move(value), written.quantity);
}

namespace {

struct Bounds {
  double low = -infinity;
  double high = infinity;
  std::string_view expected = "a finite number";
};

/// What a number column can hold at all.
Bounds bounds(NumberName column) noexcept {
  switch (column) {
    case NumberName::part_celsius:
    case NumberName::ambient_celsius: return {.low = -celsius_zero_kelvin, .expected = "at least absolute zero"};
    case NumberName::humidity_percent: return {.low = 0, .high = 100, .expected = "0 to 100 %"};
    case NumberName::part_celsius_u:
    case NumberName::elapsed_second:
    case NumberName::early_second:
    case NumberName::rest_hour:
    case NumberName::capacitance_farad:
    case NumberName::cells: return {.low = 0, .expected = "at least 0"};
    default: return {};
  }
}

}  // namespace

ParsedValue parse_number(std::string_view text, NumberName column, std::string_view unit, DecimalMark decimal,
                         const Words& words) {
  text = trimmed(text);
  if (words.is_missing(text)) return refused(Status::missing_input, "no number written down");
  const NumberText number = read_number(text, decimal);
  if (number.outcome != NumberOutcome::read) return no_number(number.outcome, text);
  const Dimension dimension = readings::dimension(column);
  const std::string_view own = trimmed(text.substr(number.length));
  ParsedValue value;
  Unit chosen;
  if (!own.empty() || !unit.empty()) {
    const ChosenUnit choice = choose_unit(own, unit, true, dimension);
    if (!choice.unit) return refused(choice.status, choice.reason);
    chosen = *choice.unit;
    if (column == NumberName::rest_hour) chosen.factor /= seconds_per_hour;
  }
  value.value = in_si(number, chosen);
  value.resolution = last_digit(number, chosen);
  value.status = Status::sound;
  const Bounds allowed = bounds(column);
  if (!std::isfinite(value.value) || !(value.value >= allowed.low && value.value <= allowed.high))
    return refused(Status::out_of_domain, quoted(text) + " is out of range, expected " + std::string{allowed.expected});
  return value;
}

}  // namespace ohmward::readings
