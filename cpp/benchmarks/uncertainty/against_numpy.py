"""Print what uncertainty costs against NumPy, in one run.

Whole columns: 1e6 temperature-corrected rows to first order, one thread; NumPy once as one would write it down and once
the fastest way found, into memory that is there already. Ours allocates or takes memory of an earlier result (out=).
Monte Carlo: JCGM 101:2008 9.3, 1e6 draws, both intervals.

With --cpu processor time counts in place of the clock's: on a busy machine it says what an idle one would show for one
thread, and for several what they take together.

usage: benchmark_uncertainty | PYTHONPATH=<build>/python python against_numpy.py [--cpu]
where benchmark_uncertainty lies in <build>/cpp/benchmarks/uncertainty
"""

import os
import sys
import time

import numpy as np

from ohmward import temperature
from ohmward import uncertainty as un
from ohmward._core import numerics

DRAWS = 1_000_000
LEVEL = 0.95
REPEATS = 15
CLOCK = time.process_time if "--cpu" in sys.argv else time.perf_counter


def mass(m_rc, dm_rc, rho_a, rho_w, rho_r):
    return (m_rc + dm_rc) * (1 + (rho_a - 1.2) * (1 / rho_w - 1 / rho_r)) - 100_000


def with_numpy(seed):
    random = np.random.default_rng(seed)
    y = mass(
        random.normal(100_000.0, 0.050, DRAWS),
        random.normal(1.234, 0.020, DRAWS),
        random.uniform(1.10, 1.30, DRAWS),
        random.uniform(7000, 9000, DRAWS),
        random.uniform(7950, 8050, DRAWS),
    )
    mean, u = y.mean(), y.std(ddof=1)
    y.sort()
    q = round(LEVEL * DRAWS)
    r = (DRAWS - q) // 2
    start = int(np.argmin(y[q:] - y[: DRAWS - q]))
    return mean, u, (y[r - 1], y[r + q - 1]), (y[start], y[start + q])


BUDGET = un.Budget(
    m_rc=un.Normal(mean=100_000.0, standard_uncertainty=0.050),
    dm_rc=un.Normal(mean=1.234, standard_uncertainty=0.020),
    rho_a=un.Rectangular(centre=1.20, half_width=0.10),
    rho_w=un.Rectangular(centre=8000, half_width=1000),
    rho_r=un.Rectangular(centre=8000, half_width=50),
)


ROWS = 1_000_000
RATE = np.log(2) / 10
LAW = temperature.HalvingLaw(step_kelvin=10, reference_celsius=40, step_standard_uncertainty_kelvin=1)


def readings():
    """Resistances, their u, temperatures and their u."""
    random = np.random.default_rng(1)
    ohm = 10 ** random.uniform(6, 10, ROWS)
    return ohm, 0.05 * ohm, random.uniform(0, 60, ROWS), np.full(ROWS, 2.0)


def rows_written_down(ohm, u_ohm, celsius, u_kelvin):
    x = (celsius - 40) / 10
    value = ohm * np.exp2(x)
    return value, value * np.sqrt((u_ohm / ohm) ** 2 + (RATE * u_kelvin) ** 2 + (RATE * x * 1.0) ** 2)


def rows_into(memory, ohm, u_ohm, celsius, u_kelvin):
    """The same with the fewest passes: u = 2^x sqrt(u_R^2 + (rate R)^2 (u_T^2 + x^2))."""
    value, u, x, factor = memory
    np.subtract(celsius, 40.0, out=x)
    np.multiply(x, 0.1, out=x)
    np.exp2(x, out=factor)
    np.multiply(ohm, factor, out=value)
    np.multiply(x, x, out=x)
    np.multiply(u_kelvin, u_kelvin, out=u)
    np.add(x, u, out=x)
    np.multiply(ohm, RATE, out=u)
    np.multiply(u, u, out=u)
    np.multiply(x, u, out=x)
    np.multiply(u_ohm, u_ohm, out=u)
    np.add(x, u, out=x)
    np.sqrt(x, out=x)
    np.multiply(x, factor, out=u)
    return value, u


def rows_by_library(ohm, u_ohm, celsius, u_kelvin, *, budget=False, threads=1, out=None):
    return un.propagate_rows(
        LAW,
        resistance_ohm=un.Column(ohm, standard_uncertainty=u_ohm),
        celsius=un.Column(celsius, standard_uncertainty=u_kelvin),
        budget=budget,
        threads=threads,
        out=out,
    )


def compare_rows():
    given = readings()
    memory = [np.empty(ROWS) for _ in range(4)]
    kept, kept_budget = rows_by_library(*given), rows_by_library(*given, budget=True)
    _, u = rows_into(memory, *given)
    assert np.allclose(kept.standard_uncertainty, u, rtol=1e-14, atol=0)
    ways = {
        "NumPy, written down": lambda _: rows_written_down(*given),
        "NumPy, out=, fewest passes": lambda _: rows_into(memory, *given),
        "value, u, status, out=": lambda _: rows_by_library(*given, out=kept),
        "value, u, status, allocating": lambda _: rows_by_library(*given),
        "all, out=": lambda _: rows_by_library(*given, budget=True, out=kept_budget),
        "value, u, status, out=, 2 thr.": lambda _: rows_by_library(*given, out=kept, threads=2),
    }
    took = dict.fromkeys(ways, float("inf"))
    for _ in range(3):  # ways take turns, so that a busy moment meets all of them
        for name, way in ways.items():
            took[name] = min(took[name], best_millisecond(way))
    plain, best, *_ = took.values()
    print(f"\n{ROWS:.0e} temperature-corrected rows to first order")
    for name, ms in took.items():
        print(f"  {name:31} {ms:8.2f} ms   {plain / ms:5.2f} x written down   {best / ms:5.2f} x best NumPy")


def best_millisecond(call):
    best = float("inf")
    for seed in range(REPEATS):
        start = CLOCK()
        call(seed)
        best = min(best, CLOCK() - start)
    return 1e3 * best


def compare_monte_carlo():
    reference = best_millisecond(with_numpy)
    rows = [("NumPy, one thread", reference)]
    for threads in (1, 2):
        took = best_millisecond(
            lambda seed, threads=threads: BUDGET.monte_carlo(mass, level=LEVEL, draws=DRAWS, seed=seed, threads=threads)
        )
        rows.append((f"Python model, {threads} thread(s)", took))
    if not sys.stdin.isatty():
        for line in sys.stdin:
            threads, took = line.split()
            rows.append((f"C++ model, {threads} thread(s)", float(took)))
    print(f"\nMonte Carlo of JCGM 101:2008 9.3, {DRAWS:.0e} draws, both intervals")
    for name, took in rows:
        print(f"  {name:31} {took:8.1f} ms   {reference / took:5.2f} x NumPy")


def main():
    features = [name for name, has in np._core._multiarray_umath.__cpu_features__.items() if has]
    level = next((name for name in ("X86_V4", "AVX512_SKX", "X86_V3", "AVX2") if name in features), "baseline")
    ours = numerics.level_text(numerics.instruction_level())
    print(f"NumPy {np.__version__} at {level}, ohmward at {ours}")
    print(f"best of {REPEATS} by {CLOCK.__name__}, load {os.getloadavg()[0]:.1f}")
    compare_rows()
    compare_monte_carlo()


if __name__ == "__main__":
    main()
