#pragma once

#include <cstddef>
#include <cstdint>
#include <cstring>
#include <string>
#include <string_view>

namespace ohmward::readings {

/// Length of the well-formed UTF-8 sequence at the start of `text`, 0 where there is none.
/// Overlong forms, surrogates and code points above U+10FFFF are malformed. Source: `unicode`.
inline std::size_t utf8_sequence(std::string_view text) noexcept {
  const auto byte = [text](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const auto tail = [&](std::size_t i) { return i < text.size() && (byte(i) & 0xC0U) == 0x80U; };
  if (text.empty()) return 0;
  const unsigned first = byte(0);
  if (first < 0x80U) return 1;
  if (first < 0xC2U || first > 0xF4U || !tail(1)) return 0;
  if (first < 0xE0U) return 2;
  const unsigned second = byte(1);
  if (!tail(2)) return 0;
  if (first < 0xF0U) {
    if ((first == 0xE0U && second < 0xA0U) || (first == 0xEDU && second > 0x9FU)) return 0;
    return 3;
  }
  if ((first == 0xF0U && second < 0x90U) || (first == 0xF4U && second > 0x8FU) || !tail(3)) return 0;
  return 4;
}

/// Position of the first byte that is not well-formed UTF-8, npos where all is well.
inline std::size_t first_bad_utf8(std::string_view text) noexcept {
  std::size_t at = 0;
  while (at < text.size()) {
    std::uint64_t eight = 0;
    if (text.size() - at >= sizeof eight) {
      std::memcpy(&eight, text.data() + at, sizeof eight);
      if ((eight & 0x8080808080808080U) == 0) {
        at += sizeof eight;
        continue;
      }
    }
    const std::size_t length = utf8_sequence(text.substr(at));
    if (length == 0) return at;
    at += length;
  }
  return std::string_view::npos;
}

/// Length of the white space at the start of `text`: ASCII blanks and the no-break, thin and narrow spaces.
inline std::size_t leading_space(std::string_view text) noexcept {
  if (text.empty()) return 0;
  if (text[0] == ' ' || (text[0] >= '\t' && text[0] <= '\r')) return 1;
  if (text.starts_with("\u00A0")) return 2;
  if (text.starts_with("\u2009") || text.starts_with("\u202F")) return 3;
  return 0;
}

inline std::size_t trailing_space(std::string_view text) noexcept {
  if (text.empty()) return 0;
  const char last = text.back();
  if (last == ' ' || (last >= '\t' && last <= '\r')) return 1;
  if (text.ends_with("\u00A0")) return 2;
  if (text.ends_with("\u2009") || text.ends_with("\u202F")) return 3;
  return 0;
}

inline std::string_view trimmed(std::string_view text) noexcept {
  while (const std::size_t space = leading_space(text)) text.remove_prefix(space);
  while (const std::size_t space = trailing_space(text)) text.remove_suffix(space);
  return text;
}

inline char lower(char c) noexcept { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + ('a' - 'A')) : c; }

/// Lower case of ASCII and of the Latin-1 letters (Ä, Ö, Ü, É ...).
inline std::string folded(std::string_view text) {
  std::string out{text};
  for (std::size_t i = 0; i < out.size(); ++i) {
    const auto byte = static_cast<unsigned char>(out[i]);
    const bool latin = i > 0 && static_cast<unsigned char>(out[i - 1]) == 0xC3U && byte >= 0x80U && byte <= 0x9EU;
    out[i] = latin && byte != 0x97U ? static_cast<char>(byte + 0x20U) : lower(out[i]);
  }
  return out;
}

/// Text for a message: long ones are cut between characters and their length is told.
inline std::string shortened(std::string_view text) {
  constexpr std::size_t shown = 200;
  if (text.size() <= shown) return std::string{text};
  std::size_t end = shown;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
  return std::string{text.substr(0, end)} + " … (" + std::to_string(text.size()) + " bytes)";
}

}  // namespace ohmward::readings
