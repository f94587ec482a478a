#include "stream.hpp"

namespace ohmward::benchmarks {

// The machine's own best: compiled for each level by the function attribute, chosen by the loader.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
#define OHMWARD_CLONES __attribute__((target_clones("default", "avx2", "avx512f")))
#else
#define OHMWARD_CLONES
#endif

OHMWARD_CLONES void multiply(std::size_t size, const double* a, const double* b, double* out) {
  for (std::size_t i = 0; i < size; ++i) out[i] = a[i] * b[i];
}

OHMWARD_CLONES void copy(std::size_t size, const double* a, double* out) {
  for (std::size_t i = 0; i < size; ++i) out[i] = a[i] + 1.0;
}

OHMWARD_CLONES void four_in_two_out(std::size_t size, const double* const* in, double* first, double* second,
                                    std::int8_t* third) {
  const double *a = in[0], *b = in[1], *c = in[2], *d = in[3];
  constexpr std::size_t block = 512;
  for (std::size_t begin = 0; begin < size; begin += block) {
    const std::size_t end = begin + block < size ? begin + block : size;
    for (std::size_t i = begin; i < end; ++i) {
      first[i] = a[i] * b[i];
      second[i] = c[i] * d[i];
    }
    for (std::size_t i = begin; i < end; ++i) third[i] = 0;
  }
}

}  // namespace ohmward::benchmarks
