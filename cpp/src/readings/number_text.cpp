#include "readings/number_text.hpp"

#include <array>
#include <charconv>

#include "ohmward/core/floating_point.hpp"
#include "readings/utf8.hpp"

namespace ohmward::readings {
namespace {

constexpr int most_digits = 19;  // always fit 64 bits
constexpr std::size_t most_groups = 8;
constexpr int group_width = 3;

bool is_digit(char c) noexcept { return c >= '0' && c <= '9'; }

/// Length of a mark that only ever groups thousands: an apostrophe or a fixed space, between digits.
std::size_t grouping_mark(std::string_view text) noexcept {
  if (text.starts_with('\'')) return 1;
  if (text.starts_with("\u2019") || text.starts_with("\u2009") || text.starts_with("\u202F")) return 3;
  return text.starts_with("\u00A0") ? 2 : 0;
}

/// Digits between separators, as they stand in the text.
struct Groups {
  std::array<char, most_groups>
      separator{};  // before group i: '.', ',' or '\'' for any grouping mark; 0 before the first
  std::array<int, most_groups> width{};
  std::size_t count = 1;
  std::uint64_t digits = 0;
  int significant = 0;
  bool leading_zero = false;
  bool overfull = false;
  std::size_t length = 0;
};

void take_digit(Groups& groups, char c) noexcept {
  if (groups.count == 1 && groups.width[0] == 0) groups.leading_zero = c == '0';
  ++groups.width[groups.count - 1];
  if (groups.digits == 0 && c == '0') return;
  if (++groups.significant > most_digits) return;
  groups.digits = 10 * groups.digits + static_cast<std::uint64_t>(c - '0');
}

Groups take_groups(std::string_view text) noexcept {
  Groups groups;
  std::size_t at = 0;
  while (at < text.size()) {
    if (is_digit(text[at])) {
      take_digit(groups, text[at++]);
      continue;
    }
    const bool mark = text[at] == '.' || text[at] == ',';
    const std::size_t width = mark ? 1 : grouping_mark(text.substr(at));
    if (width == 0 || (!mark && (at + width >= text.size() || !is_digit(text[at + width])))) break;
    if (groups.count == most_groups) {
      groups.overfull = true;
      break;
    }
    groups.separator[groups.count++] = mark ? text[at] : '\'';
    at += width;
  }
  groups.length = at;
  return groups;
}

/// Do the groups up to `end` form a whole number with thousands marks of one kind?
bool groups_thousands(const Groups& groups, std::size_t end) noexcept {
  if (end == 1) return true;
  if (groups.leading_zero || groups.width[0] < 1 || groups.width[0] > group_width) return false;
  for (std::size_t i = 1; i < end; ++i)
    if (groups.width[i] != group_width || groups.separator[i] != groups.separator[1]) return false;
  return true;
}

DecimalMark mark_of(char separator) noexcept { return separator == ',' ? DecimalMark::comma : DecimalMark::point; }

struct Decimals {
  NumberOutcome outcome;
  int places = 0;
  DecimalMark seen = DecimalMark::not_seen;
};

/// `12.345` or `12,345`: one mark followed by three digits.
Decimals one_mark_three_digits(char separator, DecimalMark file) noexcept {
  constexpr Decimals decimal{.outcome = NumberOutcome::read, .places = group_width};
  if (separator == ',') return file == DecimalMark::comma ? decimal : Decimals{.outcome = NumberOutcome::two_readings};
  const bool point_may_group = file == DecimalMark::comma || file == DecimalMark::mixed;
  return point_may_group ? Decimals{.outcome = NumberOutcome::two_readings} : decimal;
}

Decimals find_decimals(const Groups& groups, DecimalMark file) noexcept {
  const std::size_t last = groups.count - 1;
  if (last == 0) return {.outcome = NumberOutcome::read};
  const char separator = groups.separator[last];
  const bool sole = last == 1;
  if (separator == '\'' || (!sole && separator == groups.separator[last - 1])) {
    // 1,234,567: the mark repeats, so it groups; the last group is no decimal.
    if (!groups_thousands(groups, groups.count)) return {.outcome = NumberOutcome::malformed};
    return {.outcome = NumberOutcome::read};
  }
  if (!sole && !groups_thousands(groups, last)) return {.outcome = NumberOutcome::malformed};
  if (sole && groups.digits == 1 && groups.significant == 1 && groups.width[0] == 1 && groups.width[1] == 0)
    return {.outcome = NumberOutcome::bare_one};
  if (sole && groups_thousands(groups, groups.count)) return one_mark_three_digits(separator, file);
  return {.outcome = NumberOutcome::read, .places = groups.width[last], .seen = mark_of(separator)};
}

/// `e9`, `E-3`: taken only where digits follow, since E alone could begin a unit.
std::size_t read_exponent(std::string_view text, int& exponent) noexcept {
  if (text.size() < 2 || (text[0] != 'e' && text[0] != 'E')) return 0;
  const bool plus = text[1] == '+';
  const char* const begin = text.data() + (plus ? 2 : 1);
  if (plus && (text.size() < 3 || !is_digit(text[2]))) return 0;
  const auto [end, error] = std::from_chars(begin, text.data() + text.size(), exponent);
  if (end == begin) return 0;
  constexpr int beyond_any_double = 9999;
  if (error != std::errc{} || exponent > beyond_any_double)
    exponent = begin[0] == '-' ? -beyond_any_double : beyond_any_double;
  if (exponent < -beyond_any_double) exponent = -beyond_any_double;
  return static_cast<std::size_t>(end - text.data());
}

std::size_t read_sign(std::string_view text, bool& negative) noexcept {
  if (text.starts_with('+')) return 1;
  negative = text.starts_with('-') || text.starts_with("\u2212");
  return text.starts_with('-') ? 1 : negative ? 3 : 0;
}

}  // namespace

NumberText read_number(std::string_view text, DecimalMark mark) noexcept {
  NumberText number;
  const std::size_t sign = read_sign(text, number.negative);
  const Groups groups = take_groups(text.substr(sign));
  int width = 0;
  for (const int each : groups.width) width += each;
  if (width == 0) return number;
  number.length = sign + groups.length;
  number.digits = groups.digits;
  int exponent = 0;
  const std::size_t exponent_length = read_exponent(text.substr(number.length), exponent);
  number.length += exponent_length;
  // Nobody groups thousands in front of an exponent.
  if (exponent_length > 0 && groups.count == 2) mark = mark_of(groups.separator[1]);
  const Decimals decimals = find_decimals(groups, mark);
  number.outcome = groups.overfull                    ? NumberOutcome::malformed
                   : groups.significant > most_digits ? NumberOutcome::too_many_digits
                                                      : decimals.outcome;
  number.decimal_seen = decimals.seen;
  number.last_digit_power = exponent - decimals.places;
  return number;
}

double decimal_to_double(std::uint64_t digits, int power) noexcept {
  static constexpr std::array exact_powers{1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                           1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
  constexpr std::uint64_t exact_digits = std::uint64_t{1} << 53;
  const auto steps = static_cast<std::size_t>(power < 0 ? -power : power);
  if (digits == 0) return 0;
  // Both operands are exact, so the one rounding of the division or product is the right one.
  if (digits <= exact_digits && steps < exact_powers.size())
    return power < 0 ? static_cast<double>(digits) / exact_powers[steps]
                     : static_cast<double>(digits) * exact_powers[steps];
  std::array<char, 48> buffer{};
  char* const last = buffer.data() + buffer.size() - 1;
  char* end = std::to_chars(buffer.data(), buffer.data() + most_digits + 1, digits).ptr;
  *end = 'e';
  end = std::to_chars(end + 1, last, power).ptr;
  double value = 0;
  const auto [parsed, error] = std::from_chars(buffer.data(), end, value);
  if (error == std::errc::result_out_of_range) return power < 0 ? 0 : infinity;
  return value;
}

}  // namespace ohmward::readings
