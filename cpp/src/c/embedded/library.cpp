#include "c/embedded/self_test.hpp"

#ifndef OWD_VERSION
#error "OWD_VERSION is not defined: the build tells it, such as -DOWD_VERSION=\"0.1.0\""
#endif

const char* owd_version() { return OWD_VERSION; }

uint32_t owd_abi_version() { return OWD_ABI_VERSION; }

owd_error owd_self_test(owd_forecast_memory* memory, size_t size, owd_self_test_result* result) {
  using namespace ohmward::c;
  if (memory == nullptr) return OWD_ERROR_NULL;
  if (size < sizeof *memory) return OWD_ERROR_SIZE;
  const owd_self_test_result found{.tables = self_test::tables(),
                                   .tables_expected = self_test::tables_expected,
                                   .formulas = self_test::formulas(*memory),
                                   .formulas_expected = self_test::formulas_expected};
  if (result != nullptr) *result = found;
  const bool passed = found.tables == found.tables_expected && found.formulas == found.formulas_expected;
  return passed ? OWD_OK : OWD_ERROR_SELF_TEST;
}
