#ifndef OHMWARD_TESTS_C_CHECK_H
#define OHMWARD_TESTS_C_CHECK_H

/* Counts what does not hold, and goes on. */

#include <stdio.h>

static int failures = 0;

static void check_(int holds, const char* what, const char* file, int line) {
  if (holds) return;
  ++failures;
  printf("%s:%d: does not hold: %s\n", file, line, what);
}
#define CHECK(condition) check_((condition) != 0, #condition, __FILE__, __LINE__)

#endif
