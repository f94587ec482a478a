// Made by cpp/src/numerics/generate_coefficients.py; do not edit.
// clang-format off
#pragma once

#include <cstdint>

namespace ohmward::numerics::coefficients {

// G = 1 + 236769480 * 2^-46: every G * 2^(j/8) lies within 0.0258 ulp of its entry.
inline constexpr double exp_shift_log2 = 0x1.45c2eabf6d8e8p-18;  // log2 G
inline constexpr double exp_shift_ln = 0x1.c399e73582445p-19;  // ln G
// Bits of G * 2^(j/8), less j << 49, so that adding the whole counter << 49 also sets the exponent.
inline constexpr std::uint64_t exp_table[8] = {
    0x3ff0000387343200,  // 0x1.0000387343200p+0
    0x3fef72bc1570baae,  // 0x1.172bc1570baaep+0
    0x3fef07023c4a6aa4,  // 0x1.307023c4a6aa4p+0
    0x3feebfdf6885a8e7,  // 0x1.4bfdf6885a8e7p+0
    0x3feea0a363d1f83e,  // 0x1.6a0a363d1f83ep+0
    0x3feeaceab318eaa7,  // 0x1.8aceab318eaa7p+0
    0x3feee8a5885b4b2a,  // 0x1.ae8a5885b4b2ap+0
    0x3fef581f557759c3,  // 0x1.d581f557759c3p+0
};
// (2^f - 1) / f, |f| <= 1/16: error of 2^f below 2^-58.2
inline constexpr double exp2_polynomial[] = {
    0x1.62e42fefa39efp-1,
    0x1.ebfbdff82c78dp-3,
    0x1.c6b08d704b32ep-5,
    0x1.3b2ab6ef690eep-7,
    0x1.5d87fe37da3fbp-10,
    0x1.430e614b12e27p-13,
    0x1.ffe0c8aae41e8p-17,
};
// (e^r - 1 - r) / r^2, |r| <= ln2/16: error of e^r below 2^-58.3
inline constexpr double exp_polynomial[] = {
    0x1.000000000010fp-1,
    0x1.5555555555635p-3,
    0x1.55555547f99e8p-5,
    0x1.11111108b3ec1p-7,
    0x1.6c1cc0ac868f0p-10,
    0x1.a0202f313df4ap-13,
};
inline constexpr double exp_per_step = 0x1.71547652b82fep+3;  // 8 / ln 2
inline constexpr double exp_step_high = 0x1.62e42fefa0000p-4;  // ln 2 / 8, 36 bits: its product with the counter is exact
inline constexpr double exp_step_low = 0x1.cf79abc9e3b3ap-43;  // the rest of it
// R / z: error of the logarithm below 2^-56.7 of itself
inline constexpr double log_polynomial[] = {
    0x1.55555555556a8p-1,
    0x1.999999992957ap-2,
    0x1.249249892e154p-2,
    0x1.c71c1c63a9790p-3,
    0x1.74706c03c71eep-3,
    0x1.38af2d954706bp-3,
    0x1.37d75f7610c2bp-3,
};
inline constexpr std::uint64_t log_offset = 0x3fe5a00000000000;  // bits of the lowest reduced argument, 0.67578
inline constexpr double ln2_high = 0x1.62e42fefa4000p-1;  // ln 2, 41 bits: its product with an exponent is exact
inline constexpr double ln2_low = -0x1.8432a1b0e2634p-43;  // the rest of it
inline constexpr double log2e_high = 0x1.7154700000000p+0;  // 1 / ln 2, 21 bits: its product with 32 bits is exact
inline constexpr double log2e_low = 0x1.94ae0bf85ddf4p-22;  // the rest of it
inline constexpr double log2e = 0x1.71547652b82fep+0;  // 1 / ln 2
inline constexpr double ln2 = 0x1.62e42fefa39efp-1;  // ln 2
inline constexpr double ln10 = 0x1.26bb1bbb55516p+1;  // ln 10
// Arguments between which the results are normal numbers.
inline constexpr double exp_lowest = -0x1.6232bdd7abcd2p+9;  // ln 2^-1022, rounded up
inline constexpr double exp_highest = 0x1.62e42fefa39efp+9;  // ln DBL_MAX, rounded down

}  // namespace ohmward::numerics::coefficients
