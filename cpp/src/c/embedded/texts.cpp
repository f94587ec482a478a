// A file of its own, of weak functions: a program that has texts of its own, in its own language, defines the three,
// and none of these is linked. With OWD_WITHOUT_TEXTS nothing is left of them.

#include "ohmward_c/embedded.h"

#if defined(__GNUC__) && !defined(_WIN32)
#define OHMWARD_REPLACEABLE __attribute__((weak))
#else
#define OHMWARD_REPLACEABLE
#endif

#ifndef OWD_WITHOUT_TEXTS

#define OHMWARD_CASE(name, number, text) \
  case number: return text;

OHMWARD_REPLACEABLE const char* owd_error_text(owd_error error) {
  switch (error) {
    OWD_ERROR_TABLE(OHMWARD_CASE)
    default: return "unknown error";
  }
}

OHMWARD_REPLACEABLE const char* owd_status_text(owd_status status) {
  switch (status) {
    OWD_STATUS_TABLE(OHMWARD_CASE)
    default: return "unknown status";
  }
}

OHMWARD_REPLACEABLE const char* owd_finding_text(uint32_t finding) {
  switch (finding) {
    OWD_FINDING_TABLE(OHMWARD_CASE)
    default: return "unknown finding";
  }
}

#endif
