# Eigen and Boost.Math are header-only and used in source files only, never in an installed header.
# A system copy is taken where there is one; a wheel build finds the headers of the PyPI packages
# that pyproject.toml names as build requirements.

add_library(ohmward_eigen INTERFACE)
add_library(ohmward_boost_math INTERFACE)

function(_ohmward_pypi_include out module relative)
  find_package(Python COMPONENTS Interpreter QUIET)
  set(${out} "" PARENT_SCOPE)
  if(Python_Interpreter_FOUND)
    execute_process(
      COMMAND ${Python_EXECUTABLE} -c
        "import importlib.util as u, os; s = u.find_spec('${module}'); print(os.path.join(list(s.submodule_search_locations)[0], '${relative}') if s else '')"
      OUTPUT_VARIABLE path OUTPUT_STRIP_TRAILING_WHITESPACE ERROR_QUIET)
    if(path AND EXISTS "${path}")
      set(${out} "${path}" PARENT_SCOPE)
    endif()
  endif()
endfunction()

find_package(Eigen3 CONFIG QUIET)  # no version: 3.4 and 5.x both serve
if(TARGET Eigen3::Eigen)
  get_target_property(_ohmward_eigen_include Eigen3::Eigen INTERFACE_INCLUDE_DIRECTORIES)
else()
  _ohmward_pypi_include(_ohmward_eigen_include cmeel.prefix ../cmeel.prefix/include/eigen3)
  if(NOT _ohmward_eigen_include)
    _ohmward_pypi_include(_ohmward_eigen_include cmeel ../cmeel.prefix/include/eigen3)
  endif()
endif()
if(NOT _ohmward_eigen_include)
  message(FATAL_ERROR "Eigen not found: install libeigen3-dev or the PyPI package cmeel-eigen")
endif()
target_include_directories(ohmward_eigen SYSTEM INTERFACE $<BUILD_INTERFACE:${_ohmward_eigen_include}>)
target_compile_definitions(ohmward_eigen INTERFACE EIGEN_MPL2_ONLY)

find_path(OHMWARD_BOOST_INCLUDE boost/math/distributions/students_t.hpp)
if(NOT OHMWARD_BOOST_INCLUDE)
  _ohmward_pypi_include(_ohmward_boost_include libboost_headers include)
  if(_ohmward_boost_include)
    set(OHMWARD_BOOST_INCLUDE ${_ohmward_boost_include} CACHE PATH "Boost headers" FORCE)
  endif()
endif()
if(NOT OHMWARD_BOOST_INCLUDE)
  message(FATAL_ERROR "Boost.Math not found: install libboost-dev or the PyPI package libboost-headers")
endif()
target_include_directories(ohmward_boost_math SYSTEM INTERFACE $<BUILD_INTERFACE:${OHMWARD_BOOST_INCLUDE}>)
message(STATUS "Ohmward: Eigen from ${_ohmward_eigen_include}, Boost.Math from ${OHMWARD_BOOST_INCLUDE}")
