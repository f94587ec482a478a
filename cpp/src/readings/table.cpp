#include "ohmward/readings/table.hpp"

#include <algorithm>
#include <charconv>
#include <functional>

namespace ohmward::readings {

std::size_t TextColumn::slot_of(std::string_view word) const noexcept {
  const std::size_t mask = slots_.size() - 1;
  std::size_t slot = std::hash<std::string_view>{}(word)&mask;
  while (slots_[slot] != missing && words_[static_cast<std::size_t>(slots_[slot])] != word) slot = (slot + 1) & mask;
  return slot;
}

void TextColumn::grow() {
  slots_.assign(slots_.empty() ? 16 : 2 * slots_.size(), missing);
  for (std::size_t code = 0; code < words_.size(); ++code)
    slots_[slot_of(words_[code])] = static_cast<std::int32_t>(code);
}

std::int32_t TextColumn::code_of(std::string_view word) const noexcept {
  return slots_.empty() ? missing : slots_[slot_of(word)];
}

void TextColumn::append(std::string_view word) {
  if (word.empty()) return append_missing();
  // Neighbouring rows mostly carry the same word.
  if (!codes_.empty() && word_of_code(codes_.back()) == word) return codes_.push_back(codes_.back());
  if (2 * (words_.size() + 1) > slots_.size()) grow();
  std::int32_t& code = slots_[slot_of(word)];
  if (code == missing) {
    code = static_cast<std::int32_t>(words_.size());
    words_.emplace_back(word);
  }
  codes_.push_back(code);
}

void TextColumn::append_missing(std::size_t count) { codes_.insert(codes_.end(), count, missing); }

void RawText::append(std::string_view text) {
  bytes_.append(text);
  ends_.push_back(bytes_.size());
}

std::string Table::id(std::size_t row) const {
  const std::string_view given = reading_id.word(row);
  return given.empty() ? id_of_line(line[row]) : std::string{given};
}

std::optional<std::size_t> Table::row_of(std::string_view wanted_id) const {
  const std::int32_t given = reading_id.code_of(wanted_id);
  if (given != TextColumn::missing)
    return static_cast<std::size_t>(std::ranges::find(reading_id.codes(), given) - reading_id.codes().begin());
  constexpr std::string_view prefix = "R-";
  if (!wanted_id.starts_with(prefix)) return {};
  const std::string_view digits = wanted_id.substr(prefix.size());
  std::int64_t wanted_line = 0;
  std::from_chars(digits.data(), digits.data() + digits.size(), wanted_line);
  const auto row = static_cast<std::size_t>(std::ranges::lower_bound(line, wanted_line) - line.begin());
  if (row == rows() || id(row) != wanted_id) return {};
  return row;
}

std::string id_of_line(std::int64_t line) {
  constexpr std::size_t least_digits = 5;
  std::string digits = std::to_string(line);
  if (digits.size() < least_digits) digits.insert(0, least_digits - digits.size(), '0');
  return "R-" + digits;
}

}  // namespace ohmward::readings
