# ohmward_level_sources(<room> SOURCES file...)
#
# Compiles the files once for each instruction level into the room's library. OHMWARD_LEVEL names the namespace of
# everything that they call, so that no inline function is shared between levels (ohmward/numerics/level.hpp).
# Without optimisation functions of the standard library would be shared after all: these files are always -O3.
# No level has fused multiply-add switched on where that can be had, and none contracts.

set(OHMWARD_LEVELS baseline)
if(CMAKE_SYSTEM_PROCESSOR MATCHES "^(x86_64|AMD64|amd64)$" AND CMAKE_CXX_COMPILER_ID MATCHES "GNU|Clang")
  list(APPEND OHMWARD_LEVELS x86_64_v3 x86_64_v4)
endif()
set(OHMWARD_LEVEL_OPTIONS_x86_64_v3 -mavx2)
set(OHMWARD_LEVEL_OPTIONS_x86_64_v4 -mavx512f -mavx512vl -mavx512bw -mavx512dq -mprefer-vector-width=512)

function(ohmward_level_sources room)
  cmake_parse_arguments(LEVELS "" "" "SOURCES" ${ARGN})
  foreach(level IN LISTS OHMWARD_LEVELS)
    set(objects ohmward_${room}_${level})
    add_library(${objects} OBJECT ${LEVELS_SOURCES})
    target_link_libraries(${objects} PRIVATE ohmward_options)
    target_include_directories(${objects} PRIVATE ${PROJECT_SOURCE_DIR}/cpp/include ${PROJECT_SOURCE_DIR}/cpp/src)
    target_compile_definitions(${objects} PRIVATE OHMWARD_LEVEL=${level})
    if(CMAKE_CXX_COMPILER_ID MATCHES "GNU|Clang")
      target_compile_options(${objects} PRIVATE -O3 ${OHMWARD_LEVEL_OPTIONS_${level}}
        # Which loops clang can vectorise differs by version; the results do not.
        $<$<CXX_COMPILER_ID:Clang,AppleClang>:-Wno-pass-failed>
        # A chain of selections stays one loop body; GCC gives up after four by default.
        $<$<CXX_COMPILER_ID:GNU>:--param=max-tree-if-conversion-phi-args=32>)
    endif()
    target_sources(ohmward_${room} PRIVATE $<TARGET_OBJECTS:${objects}>)
  endforeach()
  if("x86_64_v4" IN_LIST OHMWARD_LEVELS)
    target_compile_definitions(ohmward_${room} PRIVATE OHMWARD_X86_LEVELS)
  endif()
endfunction()
