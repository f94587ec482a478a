#include "ohmward/readings/words.hpp"

#include <algorithm>

#include "ohmward/core/errors.hpp"
#include "readings/utf8.hpp"

namespace ohmward::readings {
namespace {

// Neither list holds `--` and `1.`: some displays show them over range, some people write them for "not measured".
constexpr std::string_view standard_over_range[] = {
    "ol",         "o.l",      "o.l.",      "0l",       "0.l", "0.l.", "0l.",  "ovl",       "ofl",
    "of",         "∞",        "inf",       "infinite", "max", "max.", "over", "overrange", "over-range",
    "over range", "overload", "off scale", "ü.b.",     "ü.b", "üb",   "u.b.", "überlauf",  "außer bereich"};
constexpr std::string_view standard_missing[] = {"-", "–", "—", "n/a", "n.a.", "na", "k.a.", "none", "null", "entf."};

void extend(std::vector<std::string>& words, std::span<const std::string> more, std::string_view field) {
  for (const std::string& word : more) {
    const std::string_view text = trimmed(word);
    if (text.empty()) throw InvalidParameter(field, "a blank word", "words with at least one character");
    words.push_back(folded(text));
  }
}

}  // namespace

Words::Words() : Words(std::span<const std::string>{}, std::span<const std::string>{}) {}

Words::Words(std::span<const std::string> over_range, std::span<const std::string> missing) {
  extend(over_range_, over_range, "words.over_range");
  extend(missing_, missing, "words.missing");
  for (const std::string& word : over_range_)
    if (std::ranges::find(missing_, word) != missing_.end())
      throw InvalidParameter("words", word, "each word in one of over_range and missing, not in both");
  // A workshop's own word outranks the standard meaning.
  const std::vector<std::string> own_over_range = over_range_;
  const auto add = [](std::vector<std::string>& words, const auto& standard, const std::vector<std::string>& other) {
    for (const std::string_view word : standard)
      if (std::ranges::find(other, word) == other.end()) words.emplace_back(word);
  };
  add(over_range_, standard_over_range, missing_);
  add(missing_, standard_missing, own_over_range);
  for (const auto* words : {&over_range_, &missing_})
    for (const std::string& word : *words) {
      longest_ = std::max(longest_, word.size());
      const auto first = static_cast<unsigned char>(word[0]);
      begins_a_word_[first] = true;
      if (first >= 'a' && first <= 'z') begins_a_word_[first - ('a' - 'A')] = true;
    }
}

bool Words::listed(std::span<const std::string> words, std::string_view text) const {
  if (text.size() > longest_ || !begins_a_word_[static_cast<unsigned char>(text[0])]) return false;
  const bool one_is_as_long = std::ranges::any_of(
      words, [&](const std::string& word) { return word.size() == text.size() && word[0] == lower(text[0]); });
  return one_is_as_long && std::ranges::find(words, folded(text)) != words.end();
}

bool Words::is_over_range(std::string_view text) const {
  text = trimmed(text);
  return !text.empty() && listed(over_range_, text);
}

bool Words::is_missing(std::string_view text) const {
  text = trimmed(text);
  return text.empty() || listed(missing_, text);
}

const Words& standard_words() {
  static const Words words;
  return words;
}

}  // namespace ohmward::readings
