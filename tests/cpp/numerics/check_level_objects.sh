#!/bin/sh
# check_level_objects.sh <nm> <objdump> <level> <object file>...
# Fails if an object defines a function that the linker may take for another level's, or contains a fused multiply-add.
set -eu
nm=$1 objdump=$2 level=$3
shift 3
code=0
for object in "$@"; do
  shared=$("$nm" --defined-only "$object" | awk '$2 == "W" || $2 == "T"' | grep -v "$level" || true)
  if [ -n "$shared" ]; then
    echo "$object: functions without the level in their names:"
    echo "$shared"
    code=1
  fi
  if "$objdump" -d "$object" | grep -q -E '[[:space:]]vfn?m(add|sub)'; then
    echo "$object: fused multiply-add"
    code=1
  fi
done
exit $code
