#!/bin/sh
# Builds a program for a Cortex-M4 with software doubles, without the C++ standard library, and runs it.
#
#     cortex_m4.sh <source folder> <work folder> hash <program>
#         compares its short hashes with logging_hashes.txt
#     cortex_m4.sh <source folder> <work folder> figures <program of every call> <program that measures>
#         text size, stack, instructions; fails beyond the limits
#     cortex_m4.sh <source folder> <work folder> c_figures <program of every call> <program that measures>
#         the same of the C interface's embedded part
set -eu
source=$1 work=$2 what=$3
shift 3
logging=$source/tests/cpp/logging
mkdir -p "$work"
machine="-mcpu=cortex-m4 -mthumb -mfloat-abi=soft"
flags="-std=c++20 $machine --specs=picolibc.specs -ffreestanding -fno-exceptions -fno-rtti -fno-threadsafe-statics -ffp-contract=off
       -fno-math-errno -fno-trapping-math -ffunction-sections -fdata-sections -Wall -Wextra -Werror
       -DOHMWARD_CONTRACTION_IS_OFF -DOHMWARD_HASH_SHORT -isystem $source/cpp/src/c/freestanding
       -I$source/cpp/include -I$logging"
link() {  # the board mps2-an386: 4 MiB of code memory, 4 MiB of data memory
  arm-none-eabi-gcc $machine --specs=picolibc.specs --oslib=semihost --crt0=hosted -Wl,--gc-sections \
    -Wl,--defsym=__flash=0x0 -Wl,--defsym=__flash_size=0x400000 -Wl,--defsym=__ram=0x20000000 \
    -Wl,--defsym=__ram_size=0x400000 -Wl,--defsym=__stack_size=0x4000 "$@"
}
run() {  # what the program prints comes out of the emulator's error channel
  program=$1
  shift
  qemu-system-arm -M mps2-an386 -display none -monitor none -serial none -semihosting-config enable=on,target=native \
    "$@" -kernel "$program" </dev/null 2>&1 | tr -d '\r'
}
embedded() {  # the C interface's embedded part, at a size or speed
  for file in "$source"/cpp/src/c/embedded/*.cpp; do
    arm-none-eabi-g++ $flags -$1 -I"$source/cpp/src" -DOWD_VERSION='"figures"' -c "$file" \
      -o "$work/$(basename "$file" .cpp).of_c.o"
  done
}
text_of() { arm-none-eabi-size "$1" | awk 'NR == 2 { print $1 }'; }
case $what in
  hash)
    arm-none-eabi-g++ $flags -O2 -c "$logging/$1" -o "$work/hash_logging.o"
    link "$work/hash_logging.o" -o "$work/hash_logging.elf"
    run "$work/hash_logging.elf" >"$work/hashes.txt"
    grep ' short ' "$logging/logging_hashes.txt" | diff - "$work/hashes.txt"
    awk '{ n += $4 } END { print n " results equal on an emulated Cortex-M4 with software doubles" }' "$work/hashes.txt"
    ;;
  figures)
    for size in O2 Os; do
      arm-none-eabi-g++ $flags -$size -c "$logging/$1" -o "$work/all_logs.o"
      link "$work/all_logs.o" -o "$work/all_logs.elf"
      text=$(text_of "$work/all_logs.elf")
      echo "text of every log, software doubles and start-up with -$size: $text bytes"
    done
    echo "needs beside __aeabi_*: $(arm-none-eabi-nm -u "$work/all_logs.o" | awk '$2 !~ /^__aeabi_/ { print $2 }' | tr '\n' ' ')"
    arm-none-eabi-g++ $flags -Os -c "$logging/$2" -o "$work/figures.o"
    link "$work/figures.o" -o "$work/figures.elf"
    run "$work/figures.elf" -icount shift=0 >"$work/figures.txt"
    cat "$work/figures.txt"
    awk '/push with forecast sums/ { printf "at 100 MHz and one instruction a clock: %.0f samples a second\n", 1e8 / $5 }' \
      "$work/figures.txt"
    [ "$text" -le 49152 ]
    awk '/^deepest/ { seen = 1; bad = $3 > 1536 } END { exit !seen || bad }' "$work/figures.txt"
    ;;
  c_figures)
    calls=$1
    groups="absorption_log resting_voltage_log link_discharge_log bonding_log running_mean accuracy_sheet"
    image() {  # of the calls of some groups, or of all
      only=
      for group in $1; do only="$only -DONLY_$group"; done
      arm-none-eabi-gcc -std=c99 $machine --specs=picolibc.specs -Os -Wall -Wextra -Werror -I"$source/cpp/include" $only \
        -c "$source/tests/c/$calls" -o "$work/every_call.o"
      link -Os ${2:-} "$work/every_call.o" "$work"/*.of_c.o -o "$work/every_call.elf" 2>"$work/link.txt"
      text=$(text_of "$work/every_call.elf")
    }
    embedded O2
    image ""
    echo "text of every call, texts, self-test, software doubles and start-up with -O2: $text bytes"
    embedded "Os -flto"
    image "" -flto
    echo "the same with -Os -flto: $text bytes"
    image "$groups" -flto
    echo "the same without texts and self-test: $text bytes"
    [ "$text" -le 49152 ]
    embedded Os
    for group in $groups; do
      image "$group"
      echo "text of $group alone, software doubles and start-up with -Os: $text bytes"
      [ "$text" -le 49152 ]
    done
    image ""
    echo "text of every call, texts, self-test, software doubles and start-up with -Os: $text bytes"
    arm-none-eabi-g++ $flags -Os -I"$source/tests/cpp/logging" -c "$source/tests/c/$2" \
      -o "$work/figures.o"
    link "$work/figures.o" "$work"/*.of_c.o -o "$work/figures.elf"
    run "$work/figures.elf" -icount shift=0 >"$work/figures.txt"
    cat "$work/figures.txt"
    [ "$text" -le 69632 ]
    awk '/^deepest/ { seen = 1; bad = $3 > 1536 } END { exit !seen || bad }' "$work/figures.txt"
    ;;
esac
