#include "fuzz_c_interface.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  ohmward::fuzz::c_interface(data, size);
  return 0;
}
