#include "ohmward/numerics/random.hpp"

#include <algorithm>

#include "numerics/level_tables.hpp"

namespace ohmward::numerics {

const Draws& draws_baseline() noexcept;
const Draws& draws_x86_64_v3() noexcept;
const Draws& draws_x86_64_v4() noexcept;

namespace {

/// Pairs whose numbers stay in the first-level cache between drawing and transforming them.
constexpr std::size_t block = 256;

template <class One>
void fill(std::span<double> out, Stream stream, std::uint64_t first, Draws::Loop pairs, One one) {
  std::size_t i = 0;
  if (first % 2 != 0 && !out.empty()) out[i++] = one(stream, first);
  while (out.size() - i >= 2) {
    const std::size_t count = std::min(block, (out.size() - i) / 2);
    pairs(count, out.data() + i, stream, (first + i) / 2);
    i += 2 * count;
  }
  if (i < out.size()) out[i] = one(stream, first + i);
}

const Draws& draws() { return OHMWARD_PICK_LEVEL(instruction_level(), draws_)(); }

}  // namespace

void fill_uniform(std::span<double> out, Stream stream, std::uint64_t first) {
  fill(out, stream, first, draws().uniform, [](Stream s, std::uint64_t i) { return uniform(s, i); });
}

void fill_normal(std::span<double> out, Stream stream, std::uint64_t first) {
  fill(out, stream, first, draws().normal, [](Stream s, std::uint64_t i) { return normal(s, i); });
}

}  // namespace ohmward::numerics
