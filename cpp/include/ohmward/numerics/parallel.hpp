#pragma once

#include <cstddef>
#include <memory>

#include "ohmward/numerics/level.hpp"

namespace ohmward::numerics {

/// How a batch call runs. The result never depends on it.
struct BatchOptions {
  int threads = 0;  ///< 0: all cores; short batches use one in any case
  InstructionLevel level = instruction_level();
};

namespace threading {
using RangeTask = void (*)(const void* context, std::size_t first, std::size_t last);
void run_ranges(std::size_t size, int threads, std::size_t grain, RangeTask task, const void* context);
}  // namespace threading

/// Elements below which a second thread costs more than it brings, for work of about a nanosecond an element.
inline constexpr std::size_t elements_worth_a_thread = 100'000;

/// Calls body(first, last) for ranges that cover [0, size), from several threads. Ranges begin at multiples of `grain`;
/// which thread takes which is not fixed, so a body may only write what belongs to its range. If `body` throws, the
/// first exception is thrown again here after all threads have ended.
/// @throws InvalidParameter if threads < 0.
template <class Body>
void in_parallel(std::size_t size, int threads, const Body& body, std::size_t grain = 32768) {
  threading::run_ranges(
      size, threads, grain,
      [](const void* context, std::size_t first, std::size_t last) {
        (*static_cast<const Body*>(context))(first, last);
      },
      std::addressof(body));
}

}  // namespace ohmward::numerics
