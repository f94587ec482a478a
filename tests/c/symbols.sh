#!/bin/sh
# What the C interface shows and what it needs.
#
#     symbols.sh exported <shared library> <list>   every exported symbol is on the list, and nothing else
#     symbols.sh needed <static library>            the logger's part needs memcpy, memset, sqrt and nothing else:
#                                                   no heap, no exceptions, no C++ library, no variables of its own
set -eu
what=$1 library=$2
case $what in
  exported)
    nm -D --defined-only "$library" | awk '$2 != "A" { print $3 }' | sed 's/@.*//' | sort >"$library.exported"
    diff "$3" "$library.exported"
    echo "$(wc -l <"$3") symbols exported, those of the list"
    ;;
  needed)
    nm --defined-only "$library" | awk 'NF == 3 { print $3 }' | sort -u >"$library.defined"
    needed=$(nm --undefined-only "$library" | awk '$1 == "U" { print $2 }' | sort -u | comm -23 - "$library.defined")
    others=$(printf '%s\n' "$needed" | grep -vxE 'memcpy|memset|memmove|sqrt|_GLOBAL_OFFSET_TABLE_|__stack_chk_fail' || true)
    [ -z "$others" ] || { echo "needs: $others"; exit 1; }
    variables=$(nm --defined-only "$library" | awk '$2 ~ /^[BbDdCG]$/ { print $3 }')
    [ -z "$variables" ] || { echo "variables: $variables"; exit 1; }
    echo "needs:" $needed
    ;;
esac
