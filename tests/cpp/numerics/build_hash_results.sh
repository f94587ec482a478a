#!/bin/sh
# Builds hash_results with one compiler and nothing else, and runs it.
#
#     build_hash_results.sh <source folder> <work folder> <compiler> <levels: baseline | x86> <optimisation> [-- runner options...]
set -eu
source=$1 work=$2 compiler=$3 levels=$4 optimisation=$5
shift 5
[ "${1:-}" = "--" ] && shift
mkdir -p "$work"
flags="-std=c++20 $optimisation -ffp-contract=off -fno-math-errno -fno-trapping-math -DOHMWARD_CONTRACTION_IS_OFF
       -Wno-unknown-warning-option -Wno-pass-failed -Wno-psabi -I$source/cpp/include -I$source/cpp/src"
objects=
compile() {
  for file in numerics/functions_of_level formula/formulas_of_level; do
    object=$work/$(basename "$file")_$1.o
    $compiler $flags $2 -DOHMWARD_LEVEL="$1" -c "$source/cpp/src/$file.cpp" -o "$object"
    objects="$objects $object"
  done
}
compile baseline ""
defines=
if [ "$levels" = x86 ]; then
  compile x86_64_v3 -mavx2
  compile x86_64_v4 "-mavx512f -mavx512vl -mavx512bw -mavx512dq -mprefer-vector-width=512"
  defines=-DOHMWARD_X86_LEVELS
fi
static=
[ "$levels" = x86 ] || static=-static
$compiler $flags $defines $static "$source/tests/cpp/numerics/hash_results.cpp" $objects -o "$work/hash_results"
"$@" "$work/hash_results" "$source/tests/cpp/numerics/result_hashes.txt" ${OHMWARD_HASH_OPTIONS:-}
