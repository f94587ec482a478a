#pragma once

/// @file
/// Random numbers by counter: number i of a block of a seed is a pure function of the three, so that any thread can
/// draw any part and the result never depends on how the work was cut.
///
/// Philox4x32-10, source `philox`, checked against its published answers (test Random.PhiloxKnownAnswers).

#include <array>
#include <cstdint>
#include <span>

#include "ohmward/numerics/normal.hpp"

namespace ohmward::numerics {

/// Names a stream of numbers. Different blocks of one seed are independent: one for each input quantity, say.
struct Stream {
  std::uint64_t seed;
  std::uint64_t block = 0;
};

inline namespace OHMWARD_LEVEL {

using PhiloxCounter = std::array<std::uint32_t, 4>;
using PhiloxKey = std::array<std::uint32_t, 2>;

/// Ten rounds of Philox4x32: 128 random bits for a counter and a key.
[[nodiscard]] constexpr PhiloxCounter philox4x32(PhiloxCounter c, PhiloxKey k) noexcept {
  constexpr std::uint64_t first = 0xD2511F53, second = 0xCD9E8D57;
  for (int round = 0; round < 10; ++round) {
    const std::uint64_t a = first * c[0];
    const std::uint64_t b = second * c[2];
    c = {static_cast<std::uint32_t>(b >> 32) ^ c[1] ^ k[0], static_cast<std::uint32_t>(b),
         static_cast<std::uint32_t>(a >> 32) ^ c[3] ^ k[1], static_cast<std::uint32_t>(a)};
    k = {k[0] + 0x9E3779B9U, k[1] + 0xBB67AE85U};
  }
  return c;
}

namespace detail {

[[nodiscard]] constexpr double open_unit(std::uint32_t high, std::uint32_t low) noexcept {
  const std::uint64_t word = (std::uint64_t{high} << 32 | low) >> 12;
  // 52 bits below 2^52 become a double by way of the bit pattern; the half keeps 0 and 1 out.
  return ((from_bits(word | bits(0x1p52)) - 0x1p52) + 0.5) * 0x1p-52;
}

struct Pair {
  double first, second;
};

/// Numbers 2 * pair and 2 * pair + 1 of a stream.
[[nodiscard]] constexpr Pair uniform_pair(Stream stream, std::uint64_t pair) noexcept {
  const PhiloxCounter w =
      philox4x32({static_cast<std::uint32_t>(pair), static_cast<std::uint32_t>(pair >> 32),
                  static_cast<std::uint32_t>(stream.block), static_cast<std::uint32_t>(stream.block >> 32)},
                 {static_cast<std::uint32_t>(stream.seed), static_cast<std::uint32_t>(stream.seed >> 32)});
  return {open_unit(w[0], w[1]), open_unit(w[2], w[3])};
}

}  // namespace detail

/// Number `index` of a stream, uniform on the open interval (0, 1): an odd multiple of 2^-53.
[[nodiscard]] constexpr double uniform(Stream stream, std::uint64_t index) noexcept {
  const detail::Pair pair = detail::uniform_pair(stream, index / 2);
  return index % 2 == 0 ? pair.first : pair.second;
}

/// Number `index` of a stream, standard normal: the normal quantile of the uniform number.
[[nodiscard]] inline double normal(Stream stream, std::uint64_t index) noexcept {
  return normal_quantile(uniform(stream, index));
}

}  // namespace OHMWARD_LEVEL

/// Numbers first, first + 1, ... of a stream; same bits as one at a time and at every instruction level.
void fill_uniform(std::span<double> out, Stream stream, std::uint64_t first = 0);
void fill_normal(std::span<double> out, Stream stream, std::uint64_t first = 0);

}  // namespace ohmward::numerics
