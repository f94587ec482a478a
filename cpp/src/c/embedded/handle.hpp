#pragma once

/// @file
/// Between the structures of C and the objects of C++: placed into the caller's memory, known by a tag, never trusted.

#include <cstddef>
#include <cstdint>

#include "ohmward/core/status.hpp"
#include "ohmward/logging/record.hpp"
#include "ohmward/logging/sample.hpp"
#include "ohmward_c/embedded.h"

namespace ohmward::c {

/// Where an object is made. A form of our own, as a compiler without a C++ library has no <new>.
struct Place {
  void* at;
};

}  // namespace ohmward::c

inline void* operator new(std::size_t, ohmward::c::Place place) noexcept { return place.at; }
inline void operator delete(void*, ohmward::c::Place) noexcept {}

namespace ohmward::c {

static_assert(OWD_GREATEST_RECORD == logging::greatest_record);

/// What a structure of C holds; `Object` and `tag` of each are told where they are used.
template <class Handle>
struct Holds;

/// A tag names kind and layout: what another version of the library left there is not taken for an object.
[[nodiscard]] constexpr std::uint64_t tag_of(logging::RecordKind kind) noexcept {
  return 0x4F574C4F47000000 + (std::uint64_t{OWD_ABI_VERSION} << 8) + static_cast<std::uint64_t>(kind);
}

template <class Handle>
using ObjectOf = typename Holds<Handle>::Object;

template <class Handle>
[[nodiscard]] auto& object(Handle* handle) noexcept {
  return *reinterpret_cast<ObjectOf<Handle>*>(handle->opaque);
}
template <class Handle>
[[nodiscard]] const auto& object(const Handle* handle) noexcept {
  return *reinterpret_cast<const ObjectOf<Handle>*>(handle->opaque);
}

/// Makes an object that is not set up yet.
template <class Handle>
void place(Handle* handle) noexcept {
  using Object = ObjectOf<Handle>;
  static_assert(__is_trivially_copyable(Object), "a structure of C may be copied byte by byte");
  static_assert(sizeof(Object) + sizeof(Object) / 32 <= sizeof(handle->opaque), "the reserve is used up");
  static_assert(alignof(Object) <= alignof(Handle));
  new (Place{handle->opaque}) Object;
  handle->tag = Holds<Handle>::tag;
}

template <class Handle>
[[nodiscard]] owd_error place(Handle* handle, std::size_t size) noexcept {
  if (handle == nullptr) return OWD_ERROR_NULL;
  if (size < sizeof(Handle)) return OWD_ERROR_SIZE;
  place(handle);
  return OWD_OK;
}

/// Was it initialised?
template <class Handle>
[[nodiscard]] owd_error known(const Handle* handle) noexcept {
  if (handle == nullptr) return OWD_ERROR_NULL;
  return handle->tag == Holds<Handle>::tag ? OWD_OK : OWD_ERROR_NOT_INITIALISED;
}

/// Can the configuration be read at all? Reserved bytes that are not zero ask for what this version does not know.
template <class Config>
[[nodiscard]] owd_error readable(const Config* config) noexcept {
  if (config == nullptr) return OWD_ERROR_NULL;
  if (config->size != sizeof(Config)) return OWD_ERROR_SIZE;
  for (const std::uint8_t byte : config->reserved)
    if (byte != 0) return OWD_ERROR_RESERVED;
  return OWD_OK;
}

/// A switch in a configuration is 0 or 1.
[[nodiscard]] inline logging::Fault switch_fault(const char* field, std::uint8_t given) noexcept {
  if (given <= 1) return {};
  return {field, static_cast<double>(given), "0 or 1"};
}

/// `fault_of` tells what is wrong with a configuration that can be read.
template <class Config>
[[nodiscard]] owd_error check(const Config* config, owd_fault* fault,
                              logging::Fault (*fault_of)(const Config&) noexcept) noexcept {
  if (const owd_error error = readable(config); error != OWD_OK) return error;
  const logging::Fault found = fault_of(*config);
  if (fault != nullptr) *fault = {.field = found.field, .expected = found.expected, .given = found.given};
  return found ? OWD_ERROR_CONFIG : OWD_OK;
}

/// `start` sets the object up by a configuration without a fault. What fails leaves an object that answers "not
/// configured".
template <class Handle, class Config>
[[nodiscard]] owd_error init(Handle* handle, std::size_t size, const Config* config,
                             logging::Fault (*fault_of)(const Config&) noexcept,
                             void (*start)(ObjectOf<Handle>&, const Config&) noexcept) noexcept {
  if (const owd_error error = place(handle, size); error != OWD_OK) return error;
  if (const owd_error error = check(config, nullptr, fault_of); error != OWD_OK) return error;
  start(object(handle), *config);
  return OWD_OK;
}

[[nodiscard]] constexpr owd_status number(Status status) noexcept { return static_cast<owd_status>(status); }
[[nodiscard]] constexpr owd_censoring number(Censoring censoring) noexcept {
  return static_cast<owd_censoring>(censoring);
}

/// Hands a sample over: `push` is given the object and the sample.
template <class Handle, class Sample, class Push>
[[nodiscard]] owd_error push(Handle* handle, const Sample* sample, owd_status* status, Push push) noexcept {
  if (sample == nullptr) return OWD_ERROR_NULL;
  if (const owd_error error = known(handle); error != OWD_OK) return error;
  const Status found = push(object(handle), *sample);
  if (status != nullptr) *status = number(found);
  return OWD_OK;
}

/// Does something to an object.
template <class Handle, class Act>
[[nodiscard]] owd_error act(Handle* handle, Act act) noexcept {
  if (const owd_error error = known(handle); error != OWD_OK) return error;
  act(object(handle));
  return OWD_OK;
}

/// Reads something from an object: `read` gives what is written to *out.
template <class Handle, class Out, class Read>
[[nodiscard]] owd_error read(const Handle* handle, Out* out, Read read) noexcept {
  if (out == nullptr) return OWD_ERROR_NULL;
  if (const owd_error error = known(handle); error != OWD_OK) return error;
  *out = read(object(handle));
  return OWD_OK;
}

[[nodiscard]] inline owd_counts to_c(const logging::Counts& c) noexcept {
  return {.samples = c.samples,
          .taken = c.taken,
          .missing = c.missing,
          .impossible = c.impossible,
          .doubled = c.doubled,
          .out_of_order = c.out_of_order,
          .over_range = c.over_range,
          .after_gap = c.after_gap,
          .sagging = c.sagging,
          .slips = c.slips,
          .jumps = c.jumps,
          .in_noise = c.in_noise,
          .range_changes = c.range_changes,
          .tick_wraps = c.tick_wraps,
          .refused = c.refused,
          .reserved = 0};
}

template <class Handle>
[[nodiscard]] owd_error counts(const Handle* handle, owd_counts* out) noexcept {
  return read(handle, out, [](const auto& log) { return to_c(log.counts()); });
}

template <class Handle>
[[nodiscard]] owd_error save(const Handle* handle, std::uint8_t* record, std::size_t size,
                             std::size_t* written) noexcept {
  if (record == nullptr || written == nullptr) return OWD_ERROR_NULL;
  if (const owd_error error = known(handle); error != OWD_OK) return error;
  const std::size_t bytes = object(handle).save(record, size);
  if (bytes == 0) return OWD_ERROR_SIZE;
  *written = bytes;
  return OWD_OK;
}

/// `take` is given the object and how it goes on. A damaged record leaves an object that is not set up, and nothing of
/// the record in it.
template <class Handle, class Take>
[[nodiscard]] owd_error resume(Handle* handle, std::size_t handle_size, const std::uint8_t* record, std::uint8_t how,
                               owd_status* status, Take take) noexcept {
  if (record == nullptr) return OWD_ERROR_NULL;
  if (how > OWD_RESUME_CUT) return OWD_ERROR_PARAMETER;
  if (const owd_error error = place(handle, handle_size); error != OWD_OK) return error;
  const Status found = take(object(handle), static_cast<logging::Resume>(how));
  if (found == Status::record_damaged) place(handle);
  if (status != nullptr) *status = number(found);
  return OWD_OK;
}

}  // namespace ohmward::c
