#pragma once

#include <cstddef>
#include <cstdint>

/// Loops that only move memory, in the shape of the kernels: what no arithmetic could beat with ordinary stores.
namespace ohmward::benchmarks {

void multiply(std::size_t size, const double* a, const double* b, double* out);
void copy(std::size_t size, const double* a, double* out);
void four_in_two_out(std::size_t size, const double* const* in, double* first, double* second, std::int8_t* third);

}  // namespace ohmward::benchmarks
