#pragma once

/// @file
/// The saved state of a log: at most 4 KiB, the same bytes on every machine.
///
/// | bytes | content |
/// |---|---|
/// | 0 ... 3 | `O` `W` `L` `G` |
/// | 4 | version of the layout, 1 |
/// | 5 | kind of log: `RecordKind` |
/// | 6, 7 | length of the whole record |
/// | 8 ... | the fields in a fixed order: integers and the patterns of doubles (IEEE 754), lowest byte first |
/// | last 4 | CRC-32 (polynomial 0xEDB88320 reflected, start and end inverted) of everything before |
///
/// A record holds the configuration too: a resumed log is the one that was saved.

#include <cstddef>
#include <cstdint>

#include "ohmward/core/status.hpp"
#include "ohmward/numerics/elementary.hpp"

#ifdef __GNUC__
#define OHMWARD_OUT_OF_LINE [[gnu::noinline]]
#else
#define OHMWARD_OUT_OF_LINE
#endif

namespace ohmward::logging {

/// Numbers never change meaning.
enum class RecordKind : std::uint8_t {
  absorption = 1,
  resting_voltage = 2,
  link_discharge = 3,
  bonding = 4,
  running_mean = 5,
};

inline constexpr std::uint8_t record_version = 1;
inline constexpr std::size_t greatest_record = 4096;

/// How a saved log goes on.
enum class Resume : std::uint8_t {
  continued = 0,  ///< nothing was lost: voltage and clock went on
  cut = 1,        ///< power was lost: what was learnt stays and says so
};

inline namespace OHMWARD_LEVEL {
namespace detail {

inline constexpr std::size_t record_head = 8, record_tail = 4;

[[nodiscard]] constexpr std::uint32_t crc32(const std::uint8_t* bytes, std::size_t size) noexcept {
  std::uint32_t crc = ~std::uint32_t{0};
  for (std::size_t i = 0; i < size; ++i) {
    crc ^= bytes[i];
    for (int k = 0; k < 8; ++k) crc = (crc >> 1) ^ ((crc & 1) != 0 ? 0xEDB88320 : 0);
  }
  return ~crc;
}

/// What of a field is kept: its bits; of NaN the one pattern, as its sign differs between processors.
[[nodiscard]] constexpr std::uint64_t pattern(double x) noexcept { return numerics::detail::bits(x == x ? x : nan); }
template <class Field>
[[nodiscard]] constexpr std::uint64_t pattern(Field x) noexcept {
  static_assert(sizeof(Field) <= sizeof(std::uint64_t));
  return static_cast<std::uint64_t>(x) & (~std::uint64_t{0} >> (64 - 8 * sizeof(Field)));
}

/// Counts the bytes of the fields.
struct FieldCounter {
  std::size_t bytes = 0;
  template <class... Field>
  constexpr void operator()(const Field&...) noexcept {
    bytes += (sizeof(Field) + ... + 0);
  }
};

struct FieldWriter {
  std::uint8_t* next;

  template <class... Field>
  constexpr void operator()(const Field&... field) noexcept {
    (one(field), ...);
  }
  /// A call a field instead of its code: 15 % less program of all logs at -O2.
  template <class Field>
  OHMWARD_OUT_OF_LINE constexpr void one(const Field& field) noexcept {
    put(pattern(field), sizeof(Field));
  }
  constexpr void put(std::uint64_t bits, std::size_t bytes) noexcept {
    for (std::size_t i = 0; i < bytes; ++i) *next++ = static_cast<std::uint8_t>(bits >> (8 * i));
  }
};

struct FieldReader {
  const std::uint8_t* next;
  bool sound = true;

  template <class... Field>
  constexpr void operator()(Field&... field) noexcept {
    (get(field), ...);
  }

 private:
  [[nodiscard]] constexpr std::uint64_t take(std::size_t bytes) noexcept {
    std::uint64_t bits = 0;
    for (std::size_t i = 0; i < bytes; ++i) bits |= std::uint64_t{*next++} << (8 * i);
    return bits;
  }
  OHMWARD_OUT_OF_LINE constexpr void get(double& x) noexcept { x = numerics::detail::from_bits(take(8)); }
  OHMWARD_OUT_OF_LINE constexpr void get(bool& x) noexcept {
    const std::uint64_t bits = take(1);
    sound = sound && bits <= 1;
    x = bits == 1;
  }
  template <class Field>
  OHMWARD_OUT_OF_LINE constexpr void get(Field& x) noexcept {
    x = static_cast<Field>(take(sizeof(Field)));
  }
};

/// Length of the record of a log.
template <class Log>
[[nodiscard]] constexpr std::size_t record_bytes() noexcept {
  FieldCounter counter;
  const Log log;
  Log::each_field(log, counter);
  return record_head + counter.bytes + record_tail;
}

/// Writes a record; 0 where the memory is too small.
template <class Log>
[[nodiscard]] std::size_t write_record(const Log& log, RecordKind kind, std::uint8_t* record,
                                       std::size_t size) noexcept {
  const std::size_t length = record_bytes<Log>();
  if (record == nullptr || size < length) return 0;
  FieldWriter write{record};
  write(std::uint8_t{'O'}, std::uint8_t{'W'}, std::uint8_t{'L'}, std::uint8_t{'G'}, record_version, kind,
        static_cast<std::uint16_t>(length));
  Log::each_field(log, write);
  write(crc32(record, length - record_tail));
  return length;
}

/// Is it a whole, undamaged record of this kind?
template <class Log>
[[nodiscard]] bool whole_record(RecordKind kind, const std::uint8_t* record, std::size_t size) noexcept {
  const std::size_t length = record_bytes<Log>();
  if (record == nullptr || size < length) return false;
  const bool named = record[0] == 'O' && record[1] == 'W' && record[2] == 'L' && record[3] == 'G' &&
                     record[4] == record_version && record[5] == static_cast<std::uint8_t>(kind);
  const std::size_t stated = record[6] | (std::size_t{record[7]} << 8);
  if (!named || stated != length) return false;
  const std::uint8_t* const tail = record + length - record_tail;
  const std::uint32_t sum =
      tail[0] | (std::uint32_t{tail[1]} << 8) | (std::uint32_t{tail[2]} << 16) | (std::uint32_t{tail[3]} << 24);
  return sum == crc32(record, length - record_tail);
}

/// Makes a log out of a record. The log is set up only where all of it makes sense; `consistent()` of the log tells.
/// Status: sound; run_cut; record_damaged.
template <class Log>
[[nodiscard]] Status read_record(Log& log, RecordKind kind, const std::uint8_t* record, std::size_t size) noexcept {
  if (!whole_record<Log>(kind, record, size)) return Status::record_damaged;
  FieldReader read{.next = record + record_head};
  Log::each_field(log, read);
  return read.sound && log.consistent() ? Status::sound : Status::record_damaged;
}

}  // namespace detail
}  // namespace OHMWARD_LEVEL
}  // namespace ohmward::logging

#undef OHMWARD_OUT_OF_LINE
