#pragma once

#include <stdexcept>
#include <string>
#include <string_view>

namespace ohmward {

/// A senseless parameter: names the field, the value given and what was expected.
class InvalidParameter : public std::invalid_argument {
 public:
  InvalidParameter(std::string_view field, std::string_view given, std::string_view expected);
  InvalidParameter(std::string_view field, double given, std::string_view expected);
};

/// A file or table that can not be read; the message names file, line and column where they are known.
class UnreadableInput : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

}  // namespace ohmward
