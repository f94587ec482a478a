#pragma once

#include <array>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace ohmward::readings {

/// Words that people write where a display showed no number. Upper and lower case are alike.
///
/// A workshop adds its own. Source: `written-readings`.
class Words {
 public:
  /// The standard words.
  Words();
  /// The standard words and those given on top; a given word outranks the standard meaning.
  /// @throws InvalidParameter if a word is blank or stands in both lists.
  Words(std::span<const std::string> over_range, std::span<const std::string> missing);

  /// OL, O.L, inf, max ... : the display was over range.
  [[nodiscard]] bool is_over_range(std::string_view text) const;
  /// Blank, -, n/a ... : nothing was written down.
  [[nodiscard]] bool is_missing(std::string_view text) const;

  [[nodiscard]] std::span<const std::string> over_range() const noexcept { return over_range_; }
  [[nodiscard]] std::span<const std::string> missing() const noexcept { return missing_; }

 private:
  [[nodiscard]] bool listed(std::span<const std::string> words, std::string_view text) const;

  std::vector<std::string> over_range_;  ///< folded to lower case
  std::vector<std::string> missing_;
  std::array<bool, 256> begins_a_word_{};  ///< by first byte; with the length it spares most cells the look-up
  std::size_t longest_ = 0;
};

/// The standard words alone.
[[nodiscard]] const Words& standard_words();

}  // namespace ohmward::readings
