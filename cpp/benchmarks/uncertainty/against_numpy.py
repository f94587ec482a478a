"""Print what Monte Carlo costs against NumPy, in one run: JCGM 101:2008 9.3, 1e6 draws, both intervals.

usage: <build>/cpp/benchmarks/uncertainty/benchmark_uncertainty | PYTHONPATH=<build>/python python against_numpy.py
"""

import sys
import time

import numpy as np

from ohmward import uncertainty as un

DRAWS = 1_000_000
LEVEL = 0.95
REPEATS = 15


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


def best_millisecond(call):
    best = float("inf")
    for seed in range(REPEATS):
        start = time.perf_counter()
        call(seed)
        best = min(best, time.perf_counter() - start)
    return 1e3 * best


def main():
    features = [name for name, has in np._core._multiarray_umath.__cpu_features__.items() if has]
    level = next((name for name in ("AVX512_SKX", "AVX2", "SSE42") if name in features), "baseline")
    print(f"NumPy {np.__version__}, CPU level {level}; best of {REPEATS}")
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
    for name, took in rows:
        print(f"{name:28} {took:8.1f} ms   {reference / took:5.2f} x NumPy")


if __name__ == "__main__":
    main()
