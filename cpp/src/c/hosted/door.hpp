#pragma once

/// @file
/// The one door of the hosted part: no exception leaves it, and its text is kept a thread.

#include <cstddef>
#include <exception>
#include <new>
#include <string_view>

#include "ohmward/core/errors.hpp"
#include "ohmward_c/hosted.h"

namespace ohmward::c {

/// Keeps the text of this thread.
void keep_error(std::string_view text) noexcept;

/// Keeps the text and gives the error back.
inline owd_error failed(owd_error error, std::string_view text) noexcept {
  keep_error(text);
  return error;
}

/// Runs `body`, which returns an error or throws.
template <class Body>
[[nodiscard]] owd_error guarded(const Body& body) noexcept {
  try {
    return body();
  } catch (const InvalidParameter& e) {
    return failed(OWD_ERROR_PARAMETER, e.what());
  } catch (const std::bad_alloc&) {
    return failed(OWD_ERROR_MEMORY, "no memory");
  } catch (const std::exception& e) {
    return failed(OWD_ERROR_INTERNAL, e.what());
  } catch (...) {
    return failed(OWD_ERROR_INTERNAL, "an error without a text");
  }
}

/// Can it be read? Its size is the one of this version, and its reserve is zero.
template <class Sized>
[[nodiscard]] owd_error readable(const Sized* given, const char* name) noexcept {
  if (given == nullptr) return failed(OWD_ERROR_NULL, name);
  if (given->size != sizeof(Sized)) return failed(OWD_ERROR_SIZE, name);
  for (const std::uint8_t byte : given->reserved)
    if (byte != 0) return failed(OWD_ERROR_RESERVED, name);
  return OWD_OK;
}

/// Is every array there? Of no elements none is needed.
template <class... Pointer>
[[nodiscard]] owd_error there(std::size_t size, Pointer... array) noexcept {
  const bool all = size == 0 || ((array != nullptr) && ...);
  return all ? owd_error{OWD_OK} : failed(OWD_ERROR_NULL, "an array is null");
}

/// A number of C as an enumeration of C++, if it is within.
template <class Enumeration>
[[nodiscard]] Enumeration enumeration(const char* field, int number, Enumeration last) {
  if (number < 0 || number > static_cast<int>(last))
    throw InvalidParameter(field, static_cast<double>(number), "a number of its list");
  return static_cast<Enumeration>(number);
}

}  // namespace ohmward::c
