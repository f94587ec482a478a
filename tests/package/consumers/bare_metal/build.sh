#!/bin/sh
# A firmware outside the project: the shipped sources of the C interface and the shipped test vectors for a Cortex-M4 with
# software doubles, run in an emulator. There is no C++ library on the target.
#
#     build.sh <installed tree> <work folder>
set -eu
tree=$1 work=$2
share=$tree/share/ohmward
mkdir -p "$work"
machine="-mcpu=cortex-m4 -mthumb -mfloat-abi=soft --specs=picolibc.specs -Os -ffunction-sections -fdata-sections"
for source in "$share"/embedded/c/embedded/*.cpp; do
  arm-none-eabi-g++ -std=c++20 $machine -ffreestanding -fno-exceptions -fno-rtti -fno-threadsafe-statics \
    -ffp-contract=off -fno-math-errno -fno-trapping-math -Wall -Wextra -Werror -DOHMWARD_CONTRACTION_IS_OFF \
    -DOWD_VERSION='"0.1.0"' -isystem "$share/embedded/freestanding" -I"$tree/include" -I"$share/embedded" \
    -c "$source" -o "$work/$(basename "$source" .cpp).o"
done
{ echo '.section .rodata'; echo '.global owd_vectors'; echo 'owd_vectors:'
  echo ".incbin \"$share/vectors/vectors.txt\""; echo '.byte 0'; } >"$work/vectors.s"
arm-none-eabi-gcc -mcpu=cortex-m4 -mthumb -c "$work/vectors.s" -o "$work/vectors.o"
link() {  # the board mps2-an386: 4 MiB of code memory, 4 MiB of data memory
  arm-none-eabi-gcc -std=c99 -pedantic -Wall -Wextra -Werror $machine -I"$tree/include" --oslib=semihost --crt0=hosted \
    -Wl,--gc-sections -Wl,--defsym=__flash=0x0 -Wl,--defsym=__flash_size=0x400000 -Wl,--defsym=__ram=0x20000000 \
    -Wl,--defsym=__ram_size=0x400000 -Wl,--defsym=__stack_size=0x4000 "$@"
}
objects="$work/absorption_log.o $work/accuracy_sheet.o $work/bonding_log.o $work/library.o $work/link_discharge_log.o
         $work/resting_voltage_log.o $work/running_mean.o $work/texts.o"
link -DOWD_VECTORS_IN_MEMORY "$share/vectors/run_vectors.c" "$work/vectors.o" $objects -o "$work/run_vectors.elf"
others=$(arm-none-eabi-nm -u $objects | awk '$1 == "U" { print $2 }' | sort -u |
  grep -vE '^(__aeabi_.*|memcpy|memset|sqrt|owd_.*|_ZN7ohmward.*)$' || true)
[ -z "$others" ] || { echo "needs: $others"; exit 1; }
timeout 300 qemu-system-arm -M mps2-an386 -display none -monitor none -serial none \
  -semihosting-config enable=on,target=native -kernel "$work/run_vectors.elf" </dev/null 2>&1 | tr -d '\r' |
  tee "$work/said.txt"
grep -q ' 0 differ$' "$work/said.txt"
arm-none-eabi-size "$work/run_vectors.elf"
