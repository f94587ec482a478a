# ohmward_table(<csv> <name>)
#
# Compiles a table of datasets/tables into a header: <build>/generated/ohmward_tables/<name>.hpp holds
#   namespace ohmward::tables::<name> { constexpr double <column>[] = {...}; constexpr const char* <column>[] = {...}; constexpr std::size_t rows; }
# A column whose cells are all numbers becomes double, any other const char*. Lines that begin with # are comments;
# the first other line names the columns. Cells are separated by commas and hold none.
function(ohmward_table csv name)
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${csv})
  file(READ ${csv} text)
  string(REGEX REPLACE "(^|\n)#[^\n]*" "\\1" text "${text}")  # a bracket in a comment would break a CMake list
  string(REPLACE "\r" "" text "${text}")
  string(REPLACE "\n" ";" lines "${text}")
  set(columns "")
  set(rows 0)
  foreach(line IN LISTS lines)
    if(line STREQUAL "")
      continue()
    endif()
    string(REPLACE "," ";" cells "${line}")
    if(NOT columns)
      set(columns ${cells})
      foreach(column IN LISTS columns)
        set(cells_${column} "")
        set(number_${column} TRUE)
      endforeach()
      list(LENGTH columns width)
      continue()
    endif()
    list(LENGTH cells count)
    if(NOT count EQUAL width)
      message(FATAL_ERROR "${csv}: '${line}' has ${count} cells, expected ${width}")
    endif()
    math(EXPR rows "${rows} + 1")
    foreach(column cell IN ZIP_LISTS columns cells)
      string(STRIP "${cell}" cell)
      list(APPEND cells_${column} "${cell}")
      if(NOT cell MATCHES "^[-+]?[0-9]*\\.?[0-9]+([eE][-+]?[0-9]+)?$")
        set(number_${column} FALSE)
      endif()
    endforeach()
  endforeach()
  set(body "")
  foreach(column IN LISTS columns)
    if(number_${column})
      list(JOIN cells_${column} ", " joined)
      string(APPEND body "inline constexpr double ${column}[] = {${joined}};\n")
    else()
      list(JOIN cells_${column} "\", \"" joined)
      string(APPEND body "inline constexpr const char* ${column}[] = {\"${joined}\"};\n")
    endif()
  endforeach()
  file(RELATIVE_PATH shown ${PROJECT_SOURCE_DIR} ${csv})
  file(CONFIGURE OUTPUT ${PROJECT_BINARY_DIR}/generated/ohmward_tables/${name}.hpp CONTENT
"// Made from ${shown}; do not edit.
#pragma once
#include <cstddef>
namespace ohmward::tables::${name} {
inline constexpr std::size_t rows = ${rows};
${body}}
" @ONLY)
endfunction()
