"""Make cpp/include/ohmward/numerics/coefficients.hpp: every constant of the elementary functions.

Run: python cpp/src/numerics/generate_coefficients.py          (about ten seconds; needs mpmath and NumPy)
     python cpp/src/numerics/generate_coefficients.py --check  compares with the file in the repository

How. Polynomials are weighted least-squares fits at Chebyshev nodes, made near-minimax by Lawson's re-weighting
(weight times |error|) in 220-bit arithmetic; the lowest coefficient is rounded to double and the others are
fitted again, and so on, so that rounding of one is made good by the next. The table of 2^(j/8) carries a common
factor G close to 1 that brings all eight entries within 0.026 ulp of doubles; that replaces a table of tails.
"""

import argparse
import pathlib
import sys

import mpmath as mp
import numpy as np

mp.mp.prec = 220
TARGET = pathlib.Path(__file__).parents[2] / "include/ohmward/numerics/coefficients.hpp"
ENTRIES = 8
SEARCH_STEP = 46  # the factor is G = 1 + i * 2^-46
SEARCH_END = 1 << 28


def fit(function, weight, low, high, count):
    """Coefficients of count terms: sum c_k x^k close to function(x), error times weight(x) near-minimax."""
    nodes = 5 * count + 7
    points = [(low + high) / 2 + (high - low) / 2 * mp.cos(mp.pi * (2 * i + 1) / (2 * nodes)) for i in range(nodes)]
    scale = [weight(x) for x in points]
    rest = [function(x) for x in points]
    rounded = []
    for lowest in range(count):
        powers = range(lowest, count)
        lawson = [mp.mpf(1)] * nodes
        for _ in range(12):
            normal, right = mp.zeros(len(powers)), mp.zeros(len(powers), 1)
            for x, s, w, y in zip(points, scale, lawson, rest, strict=True):
                row = [x**p * s for p in powers]
                for a in range(len(powers)):
                    right[a] += w * row[a] * y * s
                    for b in range(len(powers)):
                        normal[a, b] += w * row[a] * row[b]
            solution = mp.lu_solve(normal, right)
            errors = [
                abs(sum(solution[a] * x**p for a, p in enumerate(powers)) - y) * s
                for x, s, y in zip(points, scale, rest, strict=True)
            ]
            lawson = [w * e for w, e in zip(lawson, errors, strict=True)]
            total = sum(lawson)
            lawson = [w / total for w in lawson]
        rounded.append(float(solution[0]))
        rest = [y - mp.mpf(rounded[-1]) * x**lowest for x, y in zip(points, rest, strict=True)]
    grid = [low + (high - low) * i / 2000 for i in range(2001)]
    worst = max(
        abs(sum(mp.mpf(c) * x**k for k, c in enumerate(rounded)) - function(x)) * weight(x) for x in grid if x != 0
    )
    return rounded, worst


def common_factor():
    """The i whose factor G = 1 + i * 2^-46 brings every G * 2^(j/8) closest to a double."""
    roots = [mp.mpf(2) ** (mp.mpf(j) / ENTRIES) for j in range(1, ENTRIES)]
    wrap = mp.mpf(2) ** 64
    start = [int(mp.floor((r * 2**52 - mp.floor(r * 2**52)) * wrap)) for r in roots]
    step = [int(mp.floor((r * 64 - mp.floor(r * 64)) * wrap)) for r in roots]
    best, best_i = float("inf"), 0
    block = 1 << 22
    index = np.arange(block, dtype=np.uint64)
    for first in range(0, SEARCH_END, block):
        worst = np.zeros(block)
        for a, d in zip(start, step, strict=True):
            fraction = (np.uint64((a + first * d) % 2**64) + index * np.uint64(d)).astype(np.int64)
            np.maximum(worst, np.abs(fraction.astype(np.float64)), out=worst)
        k = int(np.argmin(worst))
        if worst[k] < best:
            best, best_i = worst[k], first + k
    return best_i, best / 2.0**64


def cut(value, bits):
    """value with only so many significant bits, as a double."""
    exponent = mp.floor(mp.log(abs(value), 2)) + 1 - bits
    return float(mp.nint(value / mp.mpf(2) ** exponent) * mp.mpf(2) ** exponent)


def bits_of(value):
    return int(np.float64(value).view(np.uint64))


def header():
    lines = []

    def constant(name, value, comment):
        lines.append(f"inline constexpr double {name} = {float(value).hex()};  // {comment}")

    def polynomial(name, coefficients, comment):
        lines.append(f"// {comment}")
        lines.append(f"inline constexpr double {name}[] = {{")
        lines.extend(f"    {c.hex()}," for c in coefficients)
        lines.append("};")

    i, table_error = common_factor()
    shift = 1 + mp.mpf(i) * mp.mpf(2) ** -SEARCH_STEP
    factor = f"G = 1 + {i} * 2^-{SEARCH_STEP}"
    lines.append(f"// {factor}: every G * 2^(j/8) lies within {table_error:.4f} ulp of its entry.")
    constant("exp_shift_log2", mp.log(shift, 2), "log2 G")
    constant("exp_shift_ln", mp.log(shift), "ln G")
    lines.append("// Bits of G * 2^(j/8), less j << 49, so that adding the whole counter << 49 also sets the exponent.")
    lines.append(f"inline constexpr std::uint64_t exp_table[{ENTRIES}] = {{")
    for j in range(ENTRIES):
        entry = float(shift * mp.mpf(2) ** (mp.mpf(j) / ENTRIES))
        lines.append(f"    {bits_of(entry) - (j << 49):#018x},  // {entry.hex()}")
    lines.append("};")

    edge = mp.mpf(1) / 16 + mp.mpf(2) ** -17
    c, worst = fit(lambda f: (mp.mpf(2) ** f - 1) / f if f else mp.log(2), abs, -edge, edge, 7)
    polynomial("exp2_polynomial", c, f"(2^f - 1) / f, |f| <= 1/16: error of 2^f below 2^{float(mp.log(worst, 2)):.1f}")
    edge = mp.log(2) / 16 + mp.mpf(2) ** -17
    d, worst = fit(lambda r: (mp.exp(r) - 1 - r) / r**2, lambda r: r * r, -edge, edge, 6)
    polynomial(
        "exp_polynomial", d, f"(e^r - 1 - r) / r^2, |r| <= ln2/16: error of e^r below 2^{float(mp.log(worst, 2)):.1f}"
    )
    constant("exp_per_step", 8 / mp.log(2), "8 / ln 2")
    high = cut(mp.log(2) / 8, 36)
    constant("exp_step_high", high, "ln 2 / 8, 36 bits: its product with the counter is exact")
    constant("exp_step_low", mp.log(2) / 8 - mp.mpf(high), "the rest of it")

    # log(1 + f) = f - (h - s (h + R)) with s = f / (2 + f), z = s^2, h = f^2 / 2, R = z * polynomial(z)
    low_mantissa = mp.mpf(float.fromhex("0x1.5a00000000000p-1"))
    z_end = max(((m - 1) / (m + 1)) ** 2 for m in (low_mantissa, 2 * low_mantissa))
    lg, worst = fit(
        lambda z: (2 * mp.atanh(mp.sqrt(z)) / mp.sqrt(z) - 2) / z if z > mp.mpf(2) ** -90 else mp.mpf(2) / 3,
        lambda z: z / 2,
        mp.mpf(0),
        z_end,
        7,
    )
    polynomial("log_polynomial", lg, f"R / z: error of the logarithm below 2^{float(mp.log(worst, 2)):.1f} of itself")
    lines.append(
        f"inline constexpr std::uint64_t log_offset = {bits_of(float(low_mantissa)):#x};"
        "  // bits of the lowest reduced argument, 0.67578"
    )
    ln2_high = cut(mp.log(2), 41)
    constant("ln2_high", ln2_high, "ln 2, 41 bits: its product with an exponent is exact")
    constant("ln2_low", mp.log(2) - mp.mpf(ln2_high), "the rest of it")
    log2e_high = cut(1 / mp.log(2), 21)
    constant("log2e_high", log2e_high, "1 / ln 2, 21 bits: its product with 32 bits is exact")
    constant("log2e_low", 1 / mp.log(2) - mp.mpf(log2e_high), "the rest of it")
    constant("log2e", 1 / mp.log(2), "1 / ln 2")
    constant("ln2", mp.log(2), "ln 2")
    constant("ln10", mp.log(10), "ln 10")
    lines.append("// Arguments between which the results are normal numbers.")
    constant("exp_lowest", _inward(mp.log(mp.mpf(2) ** -1022), +1), "ln 2^-1022, rounded up")
    constant("exp_highest", _inward(mp.log((2 - mp.mpf(2) ** -52) * mp.mpf(2) ** 1023), -1), "ln DBL_MAX, rounded down")

    body = "\n".join(lines)
    return f"""// Made by cpp/src/numerics/generate_coefficients.py; do not edit.
// clang-format off
#pragma once

#include <cstdint>

namespace ohmward::numerics::coefficients {{

{body}

}}  // namespace ohmward::numerics::coefficients
"""


def _inward(value, direction):
    """The double next to value on the given side."""
    nearest = float(value)
    if (mp.mpf(nearest) - value) * direction < 0:
        nearest = float(np.nextafter(nearest, np.inf * direction))
    return nearest


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true", help="compare instead of writing")
    made = header()
    if parser.parse_args().check:
        same = made == TARGET.read_text(encoding="utf-8")
        sys.exit(0 if same else "coefficients.hpp differs from what the script makes")
    TARGET.write_text(made, encoding="utf-8")
