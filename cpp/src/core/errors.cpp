#include "ohmward/core/errors.hpp"

#include <array>
#include <charconv>

namespace ohmward {
namespace {

std::string shown(double value) {
  std::array<char, 32> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  return {buffer.data(), end.ptr};
}

std::string message(std::string_view field, std::string_view given, std::string_view expected) {
  std::string text;
  text.append(field).append(" is ").append(given).append(", expected ").append(expected);
  return text;
}

}  // namespace

InvalidParameter::InvalidParameter(std::string_view field, std::string_view given, std::string_view expected)
    : std::invalid_argument(message(field, given, expected)) {}

InvalidParameter::InvalidParameter(std::string_view field, double given, std::string_view expected)
    : InvalidParameter(field, shown(given), expected) {}

}  // namespace ohmward
