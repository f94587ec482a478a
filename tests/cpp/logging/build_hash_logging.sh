#!/bin/sh
# Builds hash_logging with one compiler and nothing else, runs it and compares its lines with logging_hashes.txt.
#
#     build_hash_logging.sh <source folder> <program> <work folder> <compiler and options> [-- runner...]
set -eu
source=$1 program=$2 work=$3 compiler=$4
shift 4
[ "${1:-}" = "--" ] && shift
logging=$source/tests/cpp/logging
mkdir -p "$work"
$compiler -std=c++20 -ffp-contract=off -fno-math-errno -fno-trapping-math -DOHMWARD_CONTRACTION_IS_OFF -Wno-psabi \
  -I"$source/cpp/include" -I"$logging" "$logging/$program" -o "$work/hash_logging"
"$@" "$work/hash_logging" >"$work/hashes.txt"
diff "$logging/logging_hashes.txt" "$work/hashes.txt"
awk '/ whole / { n += $4 } END { print n " results equal" }' "$work/hashes.txt"
