# Eigen and Boost.Math are header-only and used in source files only, never in an installed header.
# A system copy is taken where there is one. On a machine without, the headers come from the PyPI packages
# cmeel-eigen and libboost-headers, which pyproject.toml names as build requirements.

option(OHMWARD_IGNORE_SYSTEM_HEADERS "Take Eigen and Boost.Math from PyPI packages even where the system has them" OFF)

# The first folder of Python's module search path that holds <relative>.
function(_ohmward_pypi_include out relative)
  find_package(Python COMPONENTS Interpreter QUIET)
  set(found "")
  if(Python_Interpreter_FOUND)
    execute_process(
      COMMAND ${Python_EXECUTABLE} -c
        "import pathlib, sys; print(next((p.as_posix() for p in (pathlib.Path(s, '${relative}') for s in sys.path) if p.is_dir()), ''))"
      OUTPUT_VARIABLE found OUTPUT_STRIP_TRAILING_WHITESPACE ERROR_QUIET)
  endif()
  set(${out} "${found}" PARENT_SCOPE)
endfunction()

set(_ohmward_eigen "")
set(_ohmward_boost "")
if(NOT OHMWARD_IGNORE_SYSTEM_HEADERS)
  find_package(Eigen3 CONFIG QUIET)  # no version: 3.4 and 5.x both serve
  if(TARGET Eigen3::Eigen)
    get_target_property(_ohmward_eigen Eigen3::Eigen INTERFACE_INCLUDE_DIRECTORIES)
  endif()
  find_path(OHMWARD_BOOST_INCLUDE boost/math/distributions/students_t.hpp)
  if(OHMWARD_BOOST_INCLUDE)
    set(_ohmward_boost ${OHMWARD_BOOST_INCLUDE})
  endif()
endif()
if(NOT _ohmward_eigen)
  _ohmward_pypi_include(_ohmward_eigen cmeel.prefix/include/eigen3)
endif()
if(NOT _ohmward_boost)
  _ohmward_pypi_include(_ohmward_boost libboost_headers/include)
endif()
if(NOT _ohmward_eigen)
  message(FATAL_ERROR "Eigen not found: install libeigen3-dev or the PyPI package cmeel-eigen")
endif()
if(NOT _ohmward_boost)
  message(FATAL_ERROR "Boost.Math not found: install libboost-dev or the PyPI package libboost-headers")
endif()
message(STATUS "Ohmward: Eigen from ${_ohmward_eigen}, Boost.Math from ${_ohmward_boost}")

add_library(ohmward_eigen INTERFACE)
target_include_directories(ohmward_eigen SYSTEM INTERFACE $<BUILD_INTERFACE:${_ohmward_eigen}>)
target_compile_definitions(ohmward_eigen INTERFACE EIGEN_MPL2_ONLY)
add_library(ohmward_boost_math INTERFACE)
target_include_directories(ohmward_boost_math SYSTEM INTERFACE $<BUILD_INTERFACE:${_ohmward_boost}>)
