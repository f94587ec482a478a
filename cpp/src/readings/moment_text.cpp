#include "ohmward/readings/moment_text.hpp"

#include <optional>

#include "readings/utf8.hpp"

namespace ohmward::readings {
namespace {

constexpr std::int64_t day_second = 86400;

/// Days from 1970-01-01 in the proleptic Gregorian calendar; years begin in March so that the leap day comes last.
constexpr std::int64_t days_from_civil(std::int64_t year, int month, int day) noexcept {
  year -= month <= 2;
  const std::int64_t era = (year >= 0 ? year : year - 399) / 400;
  const std::int64_t year_of_era = year - era * 400;
  const std::int64_t day_of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
  const std::int64_t day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
  return era * 146097 + day_of_era - 719468;
}
static_assert(days_from_civil(1970, 1, 1) == 0 && days_from_civil(2000, 3, 1) == 11017);

constexpr bool is_leap(int year) noexcept { return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0); }

constexpr int days_in_month(int year, int month) noexcept {
  constexpr int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return month == 2 && is_leap(year) ? 29 : days[month - 1];
}

struct Fields {
  int year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0;
  bool has_time = false;
  std::optional<int> offset_minute;
};

/// Takes pieces off the front of a text.
class Scanner {
 public:
  explicit Scanner(std::string_view text) noexcept : text_(text) {}
  [[nodiscard]] bool done() const noexcept { return text_.empty(); }
  [[nodiscard]] bool digit_next() const noexcept { return !done() && text_[0] >= '0' && text_[0] <= '9'; }

  bool literal(char c) noexcept {
    if (done() || text_[0] != c) return false;
    text_.remove_prefix(1);
    return true;
  }
  bool number(int& out, int least, int most) noexcept {
    int width = 0;
    out = 0;
    while (width < most && digit_next()) {
      out = 10 * out + (text_[0] - '0');
      text_.remove_prefix(1);
      ++width;
    }
    return width >= least;
  }
  void skip_digits() noexcept {
    while (digit_next()) text_.remove_prefix(1);
  }
  [[nodiscard]] char peek() const noexcept { return done() ? '\0' : text_[0]; }

 private:
  std::string_view text_;
};

/// `Z`, `+01:00`, `+0100`, `+01`
bool read_offset(Scanner& text, Fields& fields) noexcept {
  if (text.literal('Z') || text.literal('z')) {
    fields.offset_minute = 0;
    return true;
  }
  const bool minus = text.peek() == '-';
  if (!text.literal('+') && !text.literal('-')) return false;
  int hours = 0;
  int minutes = 0;
  if (!text.number(hours, 2, 2)) return false;
  const bool colon = text.literal(':');
  if ((colon || text.digit_next()) && !text.number(minutes, 2, 2)) return false;
  if (hours > 23 || minutes > 59) return false;
  fields.offset_minute = (minus ? -1 : 1) * (60 * hours + minutes);
  return true;
}

bool read_iso_time(Scanner& text, Fields& fields) noexcept {
  fields.has_time = true;
  if (!text.number(fields.hour, 2, 2)) return false;
  const bool colon = text.literal(':');
  if (!text.number(fields.minute, 2, 2)) return false;
  if (colon ? text.literal(':') : text.digit_next()) {
    if (!text.number(fields.second, 2, 2)) return false;
    if (text.literal('.') || text.literal(',')) {
      if (!text.digit_next()) return false;
      text.skip_digits();
    }
  }
  return text.done() || read_offset(text, fields);
}

bool read_iso(Scanner text, Fields& fields) noexcept {
  if (!text.number(fields.year, 4, 4)) return false;
  const bool dash = text.literal('-');
  if (!text.number(fields.month, 2, 2) || (dash && !text.literal('-')) || !text.number(fields.day, 2, 2)) return false;
  if (text.done()) return true;
  if (!text.literal('T') && !text.literal('t') && !text.literal(' ')) return false;
  return read_iso_time(text, fields) && text.done();
}

bool read_directive(Scanner& text, char directive, Fields& fields) noexcept {
  switch (directive) {
    case 'd': return text.number(fields.day, 1, 2);
    case 'm': return text.number(fields.month, 1, 2);
    case 'Y': return text.number(fields.year, 4, 4);
    case 'y': {
      constexpr int last_year_of_this_century = 68;  // Source: `posix-strptime`
      if (!text.number(fields.year, 2, 2)) return false;
      fields.year += fields.year <= last_year_of_this_century ? 2000 : 1900;
      return true;
    }
    case 'H': fields.has_time = true; return text.number(fields.hour, 1, 2);
    case 'M': return text.number(fields.minute, 1, 2);
    case 'S': return text.number(fields.second, 1, 2);
    case 'z': return read_offset(text, fields);
    case '%': return text.literal('%');
    default: return false;
  }
}

bool read_format(Scanner text, std::string_view format, Fields& fields) noexcept {
  for (std::size_t i = 0; i < format.size(); ++i) {
    if (format[i] != '%') {
      if (!text.literal(format[i])) return false;
      continue;
    }
    ++i;
    if (i == format.size() || !read_directive(text, format[i], fields)) return false;
  }
  return text.done();
}

bool valid(const Fields& f) noexcept {
  constexpr int leap_second = 60;
  return f.year >= 1 && f.month >= 1 && f.month <= 12 && f.day >= 1 && f.day <= days_in_month(f.year, f.month) &&
         f.hour <= 23 && f.minute <= 59 && f.second <= leap_second;
}

}  // namespace

Checked<Moment> parse_moment(std::string_view text, std::string_view format) noexcept {
  text = trimmed(text);
  if (text.empty()) return {{}, Status::missing_input};
  Fields fields;
  const Scanner scanner{text};
  const bool read = format.empty() ? read_iso(scanner, fields) : read_format(scanner, format, fields);
  if (!read || !valid(fields)) return {{}, Status::unreadable_text};
  Moment moment;
  moment.second = days_from_civil(fields.year, fields.month, fields.day) * day_second +
                  fields.hour * std::int64_t{3600} +
                  (fields.minute - fields.offset_minute.value_or(0)) * std::int64_t{60} + fields.second;
  moment.has_time = fields.has_time;
  moment.has_offset = fields.offset_minute.has_value();
  return {moment, Status::sound};
}

bool is_moment_format(std::string_view format) noexcept {
  bool day = false;
  bool month = false;
  bool year = false;
  for (std::size_t i = 0; i < format.size(); ++i) {
    if (format[i] != '%') continue;
    ++i;
    if (i == format.size() || std::string_view{"dmYyHMSz%"}.find(format[i]) == std::string_view::npos) return false;
    day = day || format[i] == 'd';
    month = month || format[i] == 'm';
    year = year || format[i] == 'Y' || format[i] == 'y';
  }
  return day && month && year;
}

}  // namespace ohmward::readings
