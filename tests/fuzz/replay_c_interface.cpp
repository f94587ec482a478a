// Replays the corpus of the C interface without the fuzzer, and tells how many edges of the library were taken where it
// was compiled with -fsanitize-coverage=trace-pc-guard.
//
//     replay_c_interface <folder> [<least share in per cent>]

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <vector>

#include "fuzz_c_interface.hpp"

namespace {

unsigned long edges = 0, taken = 0;

}  // namespace

// Called by what the compiler adds: once for each object file, and at each edge.
extern "C" void __sanitizer_cov_trace_pc_guard_init(std::uint32_t* start, std::uint32_t* stop);
extern "C" void __sanitizer_cov_trace_pc_guard(std::uint32_t* guard);
extern "C" void __sanitizer_cov_trace_pc_guard_init(std::uint32_t* start, std::uint32_t* stop) {
  if (start == stop || *start != 0) return;
  for (; start != stop; ++start) {
    *start = 1;
    ++edges;
  }
}
extern "C" void __sanitizer_cov_trace_pc_guard(std::uint32_t* guard) {
  taken += *guard;
  *guard = 0;
}

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  int files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(argv[1])) {
    std::ifstream file(entry.path(), std::ios::binary);
    const std::vector<char> bytes{std::istreambuf_iterator<char>(file), {}};
    ohmward::fuzz::c_interface(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
    ++files;
  }
  std::printf("%d inputs\n", files);
  if (files == 0) return 1;
  if (argc < 3) return 0;
  const double share = edges > 0 ? 100.0 * static_cast<double>(taken) / static_cast<double>(edges) : 0;
  std::printf("%lu of %lu edges of the C interface taken: %.1f %%\n", taken, edges, share);
  return share >= std::strtod(argv[2], nullptr) ? 0 : 1;
}
