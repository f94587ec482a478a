#include "readings/row_reader.hpp"

#include <algorithm>
#include <unordered_map>

#include "ohmward/core/errors.hpp"
#include "ohmward/readings/moment_text.hpp"
#include "readings/number_text.hpp"
#include "readings/utf8.hpp"

namespace ohmward::readings {
namespace {

// Nobody writes that much into one cell: more is a broken file.
constexpr std::size_t longest_cell = 65536;

[[noreturn]] void unreadable(const Header& header, std::string_view column, std::string_view what) {
  std::string text{header.file.empty() ? std::string_view{"readings"} : header.file};
  text.append(", line ")
      .append(std::to_string(header.line))
      .append(", column '")
      .append(column)
      .append("': ")
      .append(what);
  throw UnreadableInput(text);
}

std::string listed(std::span<const std::string> names) {
  std::string text;
  for (const std::string& name : names) text.append(text.empty() ? "" : ", ").append(name);
  return shortened(text);
}

std::string known_quantities() {
  std::string text;
  for (const QuantityKindFacts& entry : quantity_kinds) text.append(text.empty() ? "" : ", ").append(entry.name);
  return text;
}

std::optional<QuantityKind> quantity_named(std::string_view name) {
  const auto* const entry
  = std::ranges::find(quantity_kinds, name, &QuantityKindFacts::name);
  if (entry == quantity_kinds.end()) return {};
  return entry
  ->kind;
}

constexpr std::size_t index(TextName name) noexcept { return static_cast<std::size_t>(name); }
constexpr std::size_t index(NumberName name) noexcept { return static_cast<std::size_t>(name); }

std::string_view without_bound(std::string_view text) noexcept {
  for (const std::string_view mark : {">", "<", "=", "≥", "≤"})
    while (text.starts_with(mark)) text = trimmed(text.substr(mark.size()));
  return text;
}

using Kinds = std::map<std::string, std::string, std::less<>>;

std::string_view kind_of(std::string_view given, std::string_view key, const Kinds& kinds) {
  if (!given.empty() || kinds.empty()) return given;
  const auto found = kinds.find(key);
  return found == kinds.end() ? std::string_view{} : std::string_view{found->second};
}

}  // namespace

std::size_t known_columns(std::span<const std::string_view> names, const ColumnMap& map) {
  const auto named = [&](std::string_view wanted) {
    return std::ranges::any_of(names, [wanted](std::string_view name) { return trimmed(name) == wanted; });
  };
  const auto sought = [&](std::string_view column) {
    const ColumnSource* const source = map.find(column);
    return named(source != nullptr && source->from ? *source->from : column);
  };
  std::size_t count = 0;
  for (const std::string_view column : own_form_names) count += sought(column);
  for (const std::string_view column : text_names) count += sought(column);
  for (const std::string_view column : number_names) count += sought(column);
  for (const WideColumn& column : map.wide) count += named(column.from);
  return count;
}

RowReader::RowReader(const Header& header, const ColumnMap& map, Parsed& out) : map_(map), out_(out) {
  find_headers(header);
  find_columns(header);
  if (!map_.wide.empty()) find_wide(header);
  keep_unknown_columns();
}

void RowReader::find_headers(const Header& header) {
  std::unordered_map<std::string, std::size_t> seen;
  for (std::size_t i = 0; i < header.names.size(); ++i) {
    std::string name{trimmed(header.names[i])};
    if (name.empty()) name = "column " + std::to_string(i + 1);
    if (!seen.emplace(name, i).second)
      unreadable(header, shortened(name), "stands twice in the header, expected each column once");
    headers_.push_back(std::move(name));
  }
  used_.assign(headers_.size(), false);
}

RowReader::Source RowReader::find(std::string_view name, const Header& header) {
  const ColumnSource* const given = map_.find(name);
  Source source{.name = name};
  if (given != nullptr) {
    source.unit = given->unit;
    source.format = given->format;
  }
  if (given != nullptr && given->constant) {
    source.constant = trimmed(*given->constant);
    source.present = true;
    return source;
  }
  const std::string_view wanted = given != nullptr && given->from ? std::string_view{*given->from} : name;
  const auto found = std::ranges::find(headers_, wanted);
  if (found == headers_.end()) {
    if (given != nullptr && given->from)
      unreadable(header, wanted,
                 "missing; the column map reads " + std::string{name} + " from it; found: " + listed(headers_));
    return source;
  }
  source.index = static_cast<std::int32_t>(found - headers_.begin());
  source.present = true;
  used_[static_cast<std::size_t>(source.index)] = true;
  return source;
}

void RowReader::need(const Source& source, std::string_view name, const Header& header) const {
  if (source.present) return;
  unreadable(header, name, "missing, expected it in the header or in the column map; found: " + listed(headers_));
}

void RowReader::find_columns(const Header& header) {
  const bool wide = !map_.wide.empty();
  reading_id_ = find("reading_id", header);
  taken_at_ = find("taken_at", header);
  for (std::size_t i = 0; i < texts_.size(); ++i)
    if (!wide || i != index(TextName::part)) texts_[i] = find(text_names[i], header);
  for (std::size_t i = 0; i < numbers_.size(); ++i) {
    numbers_[i] = find(number_names[i], header);
    if (!numbers_[i].present) continue;
    if (numbers_[i].index >= 0) number_cells_.push_back(static_cast<std::size_t>(numbers_[i].index));
  }
  need(texts_[index(TextName::object_id)], "object_id", header);
  if (!wide) {
    quantity_ = find("quantity", header);
    value_ = find("value", header);
    unit_ = find("unit", header);
    need(texts_[index(TextName::part)], "part", header);
    need(quantity_, "quantity", header);
    need(value_, "value", header);
    if (value_.index >= 0) number_cells_.push_back(static_cast<std::size_t>(value_.index));
  }
  need(taken_at_, "taken_at", header);
  if (!texts_[index(TextName::instrument_id)].present)
    unreadable(header, "instrument_id",
               "missing; where no meter was written down, say so in the column map: instrument_id = {constant = \"\"}; "
               "found: " +
                   listed(headers_));
  if (!map_.parts.empty()) texts_[index(TextName::part_kind)].present = true;
  if (!map_.objects.empty()) texts_[index(TextName::object_kind)].present = true;
  texts_[index(TextName::part)].present = true;
}

void RowReader::find_wide(const Header& header) {
  for (const WideColumn& column : map_.wide) {
    const auto found = std::ranges::find(headers_, column.from);
    if (found == headers_.end())
      unreadable(header, column.from,
                 "missing, the column map reads a wide column from it; found: " + listed(headers_));
    const auto at = static_cast<std::size_t>(found - headers_.begin());
    used_[at] = true;
    number_cells_.push_back(at);
    wide_.push_back(static_cast<std::int32_t>(at));
  }
}

void RowReader::keep_unknown_columns() {
  for (std::size_t i = 0; i < headers_.size(); ++i) {
    if (used_[i]) continue;
    unknown_.emplace_back(i, out_.table.unknown.size());
    out_.table.unknown.emplace_back(headers_[i], TextColumn{});
  }
}

void RowReader::look_for_decimal_mark(Cells cells) {
  if (cells.size() != width()) return;
  for (const std::size_t i : number_cells_) {
    if (cells[i].empty() || cells[i].size() > longest_cell) continue;
    const DecimalMark seen = read_number(without_bound(trimmed(cells[i])), DecimalMark::not_seen).decimal_seen;
    out_.dialect.decimal_points += seen == DecimalMark::point;
    out_.dialect.decimal_commas += seen == DecimalMark::comma;
  }
}

void RowReader::settle_decimal_mark() noexcept {
  const bool points = out_.dialect.decimal_points > 0;
  const bool commas = out_.dialect.decimal_commas > 0;
  out_.dialect.decimal = points && commas ? DecimalMark::mixed
                         : points         ? DecimalMark::point
                         : commas         ? DecimalMark::comma
                                          : DecimalMark::not_seen;
}

std::string_view RowReader::cell(const Source& source, Cells cells) noexcept {
  return source.index >= 0 ? cells[static_cast<std::size_t>(source.index)] : source.constant;
}

std::string_view RowReader::word(const Source& source, Cells cells) const {
  const std::string_view text = trimmed(cell(source, cells));
  // A polarity of "-" is a polarity.
  if (source.name == text_names[index(TextName::polarity)]) return text;
  return map_.words.is_missing(text) ? std::string_view{} : text;
}

std::string_view RowReader::shown_name(const Source& source) const noexcept {
  return source.index >= 0 ? std::string_view{headers_[static_cast<std::size_t>(source.index)]} : source.name;
}

RowReader::MaybeProblem RowReader::check_lengths(Cells cells) const {
  for (std::size_t i = 0; i < cells.size(); ++i)
    if (cells[i].size() > longest_cell)
      return Problem{
          headers_[i], cells[i],
          "cell of " + std::to_string(cells[i].size()) + " bytes, expected at most " + std::to_string(longest_cell)};
  return {};
}

RowReader::MaybeProblem RowReader::read_moment(Row& row, Cells cells) const {
  const std::string_view text = word(taken_at_, cells);
  const Checked<Moment> moment = parse_moment(text, taken_at_.format);
  if (moment.has_value()) {
    row.taken_at = moment.value;
    return {};
  }
  const std::string form = taken_at_.format.empty() ? "ISO 8601, such as 2025-03-04 or 2025-03-04T08:15+01:00"
                                                    : "the column map's form " + std::string{taken_at_.format};
  return Problem{shown_name(taken_at_), cell(taken_at_, cells), "no date of the calendar, expected " + form};
}

RowReader::MaybeProblem RowReader::read_shared(Row& row, Cells cells) const {
  if (MaybeProblem problem = check_lengths(cells)) return problem;
  const Source& object = texts_[index(TextName::object_id)];
  if (word(object, cells).empty())
    return Problem{shown_name(object), cell(object, cells), "blank, expected the vehicle or machine"};
  if (MaybeProblem problem = read_moment(row, cells)) return problem;
  for (std::size_t i = 0; i < numbers_.size(); ++i) {
    row.numbers[i] = nan;
    if (!numbers_[i].present || i == index(NumberName::reference_value)) continue;
    const std::string_view text = cell(numbers_[i], cells);
    if (text.empty()) continue;
    ParsedValue number =
        parse_number(text, static_cast<NumberName>(i), numbers_[i].unit, out_.dialect.decimal, map_.words);
    if (has_value(number.status))
      row.numbers[i] = number.value;
    else if (number.status != Status::missing_input)
      return Problem{shown_name(numbers_[i]), text, std::move(number.reason)};
  }
  return {};
}

RowReader::MaybeProblem RowReader::read_long(Reading& reading, Cells cells) const {
  const std::string_view name = word(quantity_, cells);
  const std::optional<QuantityKind> quantity = quantity_named(name);
  if (!quantity)
    return Problem{shown_name(quantity_), cell(quantity_, cells),
                   (name.empty() ? "blank" : "unknown quantity") + (", expected one of " + known_quantities())};
  reading.quantity = *quantity;
  reading.part = word(texts_[index(TextName::part)], cells);
  reading.text = cell(value_, cells);
  reading.text_column = shown_name(value_);
  reading.unit = word(unit_, cells);
  reading.unit_is_default = unit_.index < 0;
  if (reading.unit.empty()) {
    reading.unit = value_.unit;
    reading.unit_is_default = true;
  }
  return {};
}

RowReader::MaybeProblem RowReader::read_value(Reading& reading) const {
  reading.parsed = parse_value({.text = reading.text,
                                .unit = reading.unit,
                                .unit_is_default = reading.unit_is_default,
                                .quantity = reading.quantity,
                                .decimal = out_.dialect.decimal},
                               map_.words);
  if (reading.parsed.is_reading()) return {};
  return Problem{reading.text_column, reading.text, reading.parsed.reason};
}

/// The known value of a check, in the row's unit. Open leads are over range: no number, and no error.
RowReader::MaybeProblem RowReader::read_reference(Row& row, const Reading& reading, Cells cells) const {
  const std::size_t column = index(NumberName::reference_value);
  if (!numbers_[column].present) return {};
  const std::string_view text = cell(numbers_[column], cells);
  ParsedValue known = parse_value({.text = text,
                                   .unit = reading.unit,
                                   .unit_is_default = true,
                                   .quantity = reading.quantity,
                                   .decimal = out_.dialect.decimal},
                                  map_.words);
  if (known.status == Status::sound) row.numbers[column] = known.value;
  if (known.status == Status::sound || known.status == Status::missing_input || known.status == Status::unknown_bound)
    return {};
  if (known.reason.empty()) known.reason = "a bound, expected a number";
  return Problem{shown_name(numbers_[column]), text, std::move(known.reason)};
}

RowReader::MaybeProblem RowReader::check_id(std::string_view id) const {
  if (id.empty() || out_.table.reading_id.code_of(id) == TextColumn::missing) return {};
  return Problem{shown_name(reading_id_), id, "used by an earlier row, expected each reading_id once"};
}

void RowReader::read(std::int64_t line, Cells cells) {
  Row row{.line = line};
  const MaybeProblem shared = read_shared(row, cells);
  if (!wide_.empty()) return read_wide(row, shared, cells);
  Reading reading;
  MaybeProblem problem = shared ? shared : read_long(reading, cells);
  if (!problem) problem = read_value(reading);
  finish(row, reading, reading_id_.present ? word(reading_id_, cells) : std::string_view{}, cells, std::move(problem));
}

void RowReader::read_wide(Row row, const MaybeProblem& shared, Cells cells) {
  const std::string_view given = reading_id_.present ? word(reading_id_, cells) : std::string_view{};
  const std::string base = given.empty() ? id_of_line(row.line) : shortened(given);
  for (std::size_t i = 0; i < wide_.size(); ++i) {
    const WideColumn& column = map_.wide[i];
    const auto at = static_cast<std::size_t>(wide_[i]);
    Reading reading{.quantity = column.quantity,
                    .part = column.part,
                    .text = cells[at],
                    .text_column = headers_[at],
                    .unit = column.unit,
                    .unit_is_default = true};
    MaybeProblem problem = shared ? shared : read_value(reading);
    finish(row, reading, base + "-" + std::to_string(i + 1), cells, std::move(problem));
  }
}

void RowReader::finish(Row& row, Reading& reading, std::string_view id, Cells cells, MaybeProblem problem) {
  ++out_.rows;
  if (!problem) problem = read_reference(row, reading, cells);
  if (!problem) problem = check_id(id);
  if (problem) return reject(row.line, *problem);
  append(row, reading, id, cells);
}

void RowReader::reject(std::int64_t line, const Problem& problem) {
  out_.rejected.push_back(
      {.line = line, .column = std::string{problem.column}, .text = shortened(problem.text), .why = problem.why});
}

void RowReader::reject_row(std::int64_t line, std::string_view record, const std::string& why) {
  const std::size_t readings = wide_.empty() ? 1 : wide_.size();
  for (std::size_t i = 0; i < readings; ++i) {
    ++out_.rows;
    reject(line, {.column = {}, .text = record, .why = why});
  }
}

void RowReader::append(const Row& row, const Reading& reading, std::string_view id, Cells cells) {
  Table& table = out_.table;
  table.line.push_back(row.line);
  if (reading_id_.present || !wide_.empty()) table.reading_id.append(id);
  table.quantity.push_back(reading.quantity);
  table.value.push_back(reading.parsed.value);
  table.censoring.push_back(reading.parsed.censoring);
  table.resolution.push_back(reading.parsed.resolution);
  table.value_text.append(reading.text);
  table.unit.append(reading.unit);
  table.taken_at_second.push_back(row.taken_at.second);
  table.taken_at_form.push_back(
      static_cast<std::uint8_t>((row.taken_at.has_time ? 1U : 0U) | (row.taken_at.has_offset ? 2U : 0U)));
  for (std::size_t i = 0; i < numbers_.size(); ++i)
    if (numbers_[i].present) table.number[i].push_back(row.numbers[i]);
  append_texts(reading, cells);
  for (const auto& [header, column] : unknown_) table.unknown[column].second.append(cells[header]);
}

void RowReader::append_texts(const Reading& reading, Cells cells) {
  for (std::size_t i = 0; i < texts_.size(); ++i) {
    if (!texts_[i].present) continue;
    std::string_view text = i == index(TextName::part) ? reading.part : word(texts_[i], cells);
    if (i == index(TextName::part_kind)) text = kind_of(text, reading.part, map_.parts);
    if (i == index(TextName::object_kind))
      text = kind_of(text, word(texts_[index(TextName::object_id)], cells), map_.objects);
    out_.table.text[i].append(text);
  }
}

}  // namespace ohmward::readings
