#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

#include "fuzz_readings.hpp"

namespace ohmward {
namespace {

template <class Target>
int replay(const char* folder, const Target& target) {
  int count = 0;
  for (const auto& entry : std::filesystem::directory_iterator(std::string(OHMWARD_FUZZ_CORPUS) + "/" + folder)) {
    std::ostringstream bytes;
    bytes << std::ifstream(entry.path(), std::ios::binary).rdbuf();
    target(bytes.str());
    ++count;
  }
  return count;
}

// A violation aborts.
TEST(FuzzCorpus, ValueTextHoldsItsPromises) { EXPECT_GT(replay("value_text", fuzz::value_text), 10); }
TEST(FuzzCorpus, CsvHoldsItsPromises) { EXPECT_GT(replay("csv", fuzz::csv), 5); }

}  // namespace
}  // namespace ohmward
