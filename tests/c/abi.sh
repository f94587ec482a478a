#!/bin/sh
# Compares the ABI of the C interface with the recorded one.
#
#     abi.sh compare <shared library with debug information> <headers> <record>
#     abi.sh guard   <the same>     the comparison itself: a structure that grew and a function that is gone are found
#     abi.sh record  <the same>     writes the record: after an addition, never after a change
set -eu
what=$1 library=$2 headers=$3 record=$4
# Without --headers-dir: the record holds no places, so all its types would count as private and be left out.
see() { abidiff --no-show-locs --no-added-syms "$1" "$library"; }
case $what in
  compare)
    see "$record"
    functions=$(grep -c '<function-decl ' "$record")
    echo "the ABI of $functions functions is the recorded one"
    ;;
  guard)
    sed "/class-decl name='owd_absorption_log_config'/s/size-in-bits='[0-9]*'/size-in-bits='64'/" "$record" >"$library.grown.abi"
    sed "s/owd_abi_version/owd_abi_vers1on/g" "$record" >"$library.gone.abi"
    for changed in grown gone; do
      cmp -s "$record" "$library.$changed.abi" && { echo "nothing was changed for '$changed'"; exit 1; }
      see "$library.$changed.abi" >"$library.$changed.txt" && { echo "'$changed' was not found"; exit 1; }
    done
    echo "a change of the ABI is found"
    ;;
  record)
    abidw --exported-interfaces-only --headers-dir "$headers" --drop-private-types --no-corpus-path --no-comp-dir-path --no-show-locs \
      --out-file "$record" "$library"
    ;;
esac
