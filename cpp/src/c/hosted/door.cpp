#include "c/hosted/door.hpp"

#include <algorithm>
#include <array>

namespace {

/// Fixed memory, so that running out of memory can be told too.
thread_local std::array<char, 256> last_error{};

}  // namespace

namespace ohmward::c {

void keep_error(std::string_view text) noexcept {
  const std::size_t length = std::min(text.size(), last_error.size() - 1);
  std::copy_n(text.begin(), length, last_error.begin());
  last_error[length] = '\0';
}

}  // namespace ohmward::c

const char* owd_last_error() { return last_error.data(); }
