#!/bin/sh
# Which share of the edges of the C interface's embedded part does the corpus take? Compiled without inlining: an edge of
# a function counts once for each file that it is in, not once for each place that calls it.
#
#     edges.sh <source folder> <work folder> <clang++> <least share in per cent>
set -eu
source=$1 work=$2 compiler=$3 least=$4
mkdir -p "$work"
flags="-std=c++20 -O1 -fno-inline -ffp-contract=off -fno-math-errno -fno-trapping-math -DOHMWARD_CONTRACTION_IS_OFF
       -I$source/cpp/include -I$source/cpp/src"
for file in "$source"/cpp/src/c/embedded/*.cpp; do
  $compiler $flags -fno-exceptions -fno-rtti -fsanitize-coverage=trace-pc-guard -DOWD_VERSION='"edges"' \
    -c "$file" -o "$work/$(basename "$file" .cpp).o"
done
$compiler $flags "$source/tests/fuzz/replay_c_interface.cpp" "$work"/*.o -o "$work/replay"
"$work/replay" "$source/tests/fuzz/corpus/c_interface" "$least"
