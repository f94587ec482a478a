"""Kernels against the best NumPy expression for the same result, in one process.

Run: python cpp/benchmarks/compare_numpy.py [repetitions]      with the built package on PYTHONPATH

Best of the repetitions, which take turns; nanoseconds an element and the factor by which the kernel is faster. NumPy's
expressions write into memory that is there already (out=) and yield no status.
"""

import sys
import time

import numpy as np

from ohmward._core import formula, numerics

HALVING = (10.0, 40.0, 0.0, 60.0)
LAW = {"step_kelvin": 10.0, "reference_celsius": 40.0, "low_celsius": 0.0, "high_celsius": 60.0}


def columns(size):
    """Resistances, temperatures and their uncertainties, some missing."""
    r = 1e6 * (1 + 1000 * numerics.uniform(size, seed=1, block=0))
    t = -10 + 60 * numerics.uniform(size, seed=1, block=1)
    r[17::400], t[117::400] = np.nan, np.nan
    return r, t, 0.05 * numerics.uniform(size, seed=1, block=2), 3 * numerics.uniform(size, seed=1, block=3)


def numpy_halving(r, t, out):
    np.subtract(t, 40.0, out=out)
    np.divide(out, 10.0, out=out)
    np.exp2(out, out=out)
    np.multiply(r, out, out=out)


def numpy_arrhenius(r, t, out, kelvin):
    np.add(t, 273.15, out=kelvin)
    np.subtract(t, 40.0, out=out)
    np.divide(out, kelvin, out=out)
    np.multiply(out, 0.7 / 8.617333262e-5 / 313.15, out=out)
    np.exp(out, out=out)
    np.multiply(r, out, out=out)


def numpy_fused(r, t, ur, ut):
    x = (t - 40.0) / 10.0
    value = r * np.exp2(x)
    u = np.sqrt(ur**2 + (0.06931471805599453 * ut) ** 2 + (0.06931471805599453 * x) ** 2)
    status = np.select([np.isnan(r) | np.isnan(t), r < 0, (t < 0) | (t > 60)], [-1, -2, 1], 0).astype(np.int8)
    return value, u, status


def pairs(size):
    """Name, NumPy's way, ours."""
    r, t, ur, ut = columns(size)
    out, more = np.empty(size), np.empty(size)
    positive = np.nan_to_num(r, nan=1.0)
    yield "halving", lambda: numpy_halving(r, t, out), lambda: formula.halving_to_reference(r, t, *HALVING, out=out)
    yield (
        "Arrhenius",
        lambda: numpy_arrhenius(r, t, out, more),
        lambda: formula.arrhenius_to_reference(r, t, 0.7, *HALVING[1:], out=out),
    )
    yield "exp2", lambda: np.exp2(t, out=out), lambda: numerics.exp2(t, out=out)
    yield "exp", lambda: np.exp(t, out=out), lambda: numerics.exp(t, out=out)
    yield "log", lambda: np.log(positive, out=out), lambda: numerics.log(positive, out=out)
    yield "t^-0.731", lambda: np.power(positive, -0.731, out=out), lambda: numerics.pow(positive, -0.731, out=out)
    for threads in (1, 2):
        yield (
            f"value + u + status, {threads} thr.",
            lambda: numpy_fused(r, t, ur, ut),
            lambda threads=threads: formula.halving_correction(
                r, t, ur, ut, **LAW, step_standard_uncertainty_kelvin=1.0, threads=threads
            ),
        )


def best(work, often):
    start = time.perf_counter()
    for _ in range(often):
        work()
    return (time.perf_counter() - start) / often


def measure(size, often, repetitions):
    print(f"\n{size} elements {'':14} NumPy    ours   factor      [ns an element]")
    for name, theirs, ours in pairs(size):
        times = [(best(theirs, often), best(ours, often)) for _ in range(repetitions)]
        a, b = (min(column) / size * 1e9 for column in zip(*times, strict=True))
        print(f"  {name:26} {a:7.2f} {b:7.2f} {a / b:7.2f}")


def features():
    from numpy.lib import introspect

    report = introspect.opt_func_info(func_name="^(exp2|log|multiply)$", signature="float64")
    return {name: {key: value["current"] for key, value in of.items()} for name, of in report.items()}


if __name__ == "__main__":
    repetitions = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    print(f"NumPy {np.__version__}; loops in use: {features()}")
    print(f"ohmward level: {numerics.level_text(numerics.instruction_level())}")
    with np.errstate(all="ignore"):
        measure(1024, 2000, repetitions)
        measure(10_000_000, 1, repetitions)
