# One place for everything that the compiler is told.
#
# Equal bits on every machine need plain IEEE arithmetic: no contraction of a*b+c, no fast-math, no -march=native.
# The switches that only concern errno and traps change no result and let loops vectorise.

set(CMAKE_CXX_STANDARD 20)
set(CMAKE_CXX_STANDARD_REQUIRED ON)
set(CMAKE_CXX_EXTENSIONS OFF)
set(CMAKE_C_STANDARD 99)
set(CMAKE_C_EXTENSIONS OFF)
set(CMAKE_POSITION_INDEPENDENT_CODE ON)
set(CMAKE_CXX_VISIBILITY_PRESET hidden)
set(CMAKE_C_VISIBILITY_PRESET hidden)
set(CMAKE_VISIBILITY_INLINES_HIDDEN ON)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)

if(PROJECT_IS_TOP_LEVEL)
  if(NOT CMAKE_BUILD_TYPE AND NOT CMAKE_CONFIGURATION_TYPES)
    set(CMAKE_BUILD_TYPE Release CACHE STRING "" FORCE)
  endif()
  find_program(OHMWARD_CCACHE ccache)
  if(OHMWARD_CCACHE AND NOT CMAKE_CXX_COMPILER_LAUNCHER)
    set(CMAKE_C_COMPILER_LAUNCHER ${OHMWARD_CCACHE})
    set(CMAKE_CXX_COMPILER_LAUNCHER ${OHMWARD_CCACHE})
  endif()
endif()

# What every user of an installed header must compile with too, so that a formula gives the same bits there.
add_library(ohmward_arithmetic INTERFACE)
add_library(ohmward::arithmetic ALIAS ohmward_arithmetic)
set_target_properties(ohmward_arithmetic PROPERTIES EXPORT_NAME arithmetic)
target_compile_features(ohmward_arithmetic INTERFACE cxx_std_20)
target_compile_options(ohmward_arithmetic INTERFACE
  $<$<CXX_COMPILER_ID:GNU,Clang,AppleClang>:-ffp-contract=off>
  $<$<CXX_COMPILER_ID:MSVC>:/fp:precise>)
target_compile_definitions(ohmward_arithmetic INTERFACE OHMWARD_CONTRACTION_IS_OFF)
install(TARGETS ohmward_arithmetic EXPORT ohmwardTargets)

# What only the project's own files are compiled with.
add_library(ohmward_options INTERFACE)
target_link_libraries(ohmward_options INTERFACE ohmward_arithmetic)
if(CMAKE_CXX_COMPILER_ID MATCHES "GNU|Clang")
  target_compile_options(ohmward_options INTERFACE
    -Wall -Wextra -Wconversion -Wshadow -fno-math-errno -fno-trapping-math
    $<$<BOOL:${OHMWARD_WARNINGS_ARE_ERRORS}>:-Werror>)
elseif(MSVC)
  target_compile_options(ohmward_options INTERFACE /W4 /utf-8 $<$<BOOL:${OHMWARD_WARNINGS_ARE_ERRORS}>:/WX>)
endif()
if(OHMWARD_SANITIZE)
  target_compile_options(ohmward_options INTERFACE -fsanitize=${OHMWARD_SANITIZE} -fno-omit-frame-pointer
    -fno-sanitize-recover=all)
  target_link_options(ohmward_options INTERFACE -fsanitize=${OHMWARD_SANITIZE})
endif()
if(OHMWARD_FUZZERS)
  if(NOT CMAKE_CXX_COMPILER_ID MATCHES "Clang")
    message(FATAL_ERROR "OHMWARD_FUZZERS needs clang")
  endif()
  target_compile_options(ohmward_options INTERFACE -fsanitize=fuzzer-no-link)
endif()
