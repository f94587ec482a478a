#include <cstddef>
#include <cstdint>

#include "fuzz_readings.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  ohmward::fuzz::value_text({reinterpret_cast<const char*>(data), size});
  return 0;
}
