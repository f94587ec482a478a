#pragma once

/// @file
/// Instructions and stack of a call on a Cortex-M4.
///
/// Under qemu-system-arm -M mps2-an386 -icount shift=0 one instruction takes one nanosecond, and the board's 25 MHz
/// timer counts one for each 40. The stack is painted before each call and looked over afterwards.

#include <stdio.h>

#include <cstdint>

namespace ohmward::logging::testing {

inline volatile std::uint32_t* const timer = reinterpret_cast<volatile std::uint32_t*>(0x40000000);
inline constexpr std::uint32_t instructions_per_tick = 40;

inline void start_timer() {
  timer[0] = 0;
  timer[2] = 0xFFFFFFFF;
  timer[1] = 0xFFFFFFFF;
  timer[0] = 1;
}
inline double instructions_since_start() { return static_cast<double>(0xFFFFFFFF - timer[1]) * instructions_per_tick; }

inline constexpr std::uint32_t paint = 0xA5C35A3C;
inline constexpr int painted_words = 1500;

/// Lowest address of the words below this function's frame that are painted.
__attribute__((noinline)) inline volatile std::uint32_t* painted() {
  volatile std::uint32_t* const here = static_cast<volatile std::uint32_t*>(__builtin_frame_address(0));
  volatile std::uint32_t* const end = here - painted_words - 16;
  for (int i = 0; i < painted_words; ++i) end[i] = paint;
  return end;
}

/// Bytes of stack that a call used beyond its caller's frame.
template <class Call>
__attribute__((noinline)) int stack_of(Call call) {
  volatile std::uint32_t* const end = painted();
  call();
  int clean = 0;
  while (clean < painted_words && end[clean] == paint) ++clean;
  return static_cast<int>(static_cast<volatile std::uint32_t*>(__builtin_frame_address(0)) - (end + clean)) * 4;
}

inline int deepest = 0;

template <class Call>
void print(const char* name, int times, Call call) {
  const int stack = stack_of([&] { call(0); });
  deepest = stack > deepest ? stack : deepest;
  double all = 0, worst = 0;
  for (int i = 1; i <= times; ++i) {
    start_timer();
    call(i);
    const double each = instructions_since_start();
    all += each;
    worst = each > worst ? each : worst;
  }
  printf("%-46s %12.0f instructions %6d bytes of stack, worst %.0f\n", name, all / times, stack, worst);
}

}  // namespace ohmward::logging::testing
