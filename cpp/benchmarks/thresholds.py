"""Print what studies of thresholds cost, and the clustered bootstrap against NumPy in the same run.

usage: PYTHONPATH=<build>/python python cpp/benchmarks/thresholds.py

Two loops in NumPy do what the core does, with like multiplicities: one copies and sorts the drawn clusters anew for
each replicate, as it is mostly written; one sorts once and takes cumulative sums of weights, the best that whole-array
calls allow.
"""

import os
import time

import numpy as np

from ohmward import thresholds

REPEATS = 7
MISS, ALARM, PREVALENCE = 20.0, 1.0, 0.05


def best_second(call, repeats=REPEATS):
    best = float("inf")
    for _ in range(repeats):
        start = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - start)
    return best


def made(n, clusters):
    rng = np.random.default_rng(1)
    failed = rng.random(n) < PREVALENCE
    cluster = rng.integers(0, clusters, n)
    score = rng.normal(0, 1, n) + 1.5 * failed + 0.5 * rng.normal(0, 1, clusters)[cluster]
    return score, failed, cluster


def least_cost(score, with_flagged, without_flagged):
    cost = PREVALENCE * MISS * (1 - with_flagged / with_flagged[-1])
    cost += (1 - PREVALENCE) * ALARM * without_flagged / without_flagged[-1]
    at = int(np.argmin(cost))
    return 0.5 * (score[at] + score[min(at + 1, score.size - 1)])


def by_copying(score, failed, cluster, replicates):
    rng = np.random.default_rng(2)
    clusters = cluster.max() + 1
    rows = np.argsort(cluster, kind="stable")
    first = np.searchsorted(cluster[rows], np.arange(clusters + 1))
    members = [rows[first[c] : first[c + 1]] for c in range(clusters)]
    out = np.empty(replicates)
    for r in range(replicates):
        drawn = np.concatenate([members[c] for c in rng.integers(0, clusters, clusters)])
        s, f = score[drawn], failed[drawn]
        order = np.argsort(-s)
        f = f[order]
        out[r] = least_cost(s[order], np.cumsum(f), np.cumsum(~f))
    return out


def by_weights(score, failed, cluster, replicates):
    rng = np.random.default_rng(2)
    clusters = cluster.max() + 1
    order = np.argsort(-score)
    s, f, c = score[order], failed[order].astype(float), cluster[order]
    out = np.empty(replicates)
    for r in range(replicates):
        times = np.bincount(rng.integers(0, clusters, clusters), minlength=clusters)[c]
        out[r] = least_cost(s, np.cumsum(times * f), np.cumsum(times * (1 - f)))
    return out


def main():
    print(f"NumPy {np.__version__}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}; best of {REPEATS}")
    score, failed, _ = made(1_000_000, 1000)
    units = thresholds.Study(score, failed, lower_is_worse=False)._units
    area = best_second(lambda: thresholds._core.area_under_curve(units, level=0.95))
    print(f"area with DeLong's variance, 1e6 scores, one thread: {1e3 * area:.0f} ms")
    score, failed, cluster = made(100_000, 500)
    study = thresholds.Study(score, failed, lower_is_worse=False, cluster=cluster)

    def ours(threads):
        return study.best_threshold(cost_of_miss=MISS, cost_of_false_alarm=ALARM, prevalence=PREVALENCE,
                                    replicates=1000, threads=threads)  # fmt: skip

    one, two = best_second(lambda: ours(1)), best_second(lambda: ours(2))
    print(f"best threshold, 1,000 replicates of 1e5 scores in 500 clusters: {one:.3f} s, on two threads {two:.3f} s")
    for name, loop in (("copy and sort", by_copying), ("sort once, weights", by_weights)):
        numpy = best_second(lambda loop=loop: loop(score, failed, cluster, 1000), repeats=1)
        print(f"NumPy, {name}: {numpy:.2f} s, {numpy / one:.0f} times, {numpy / two:.0f} times two threads")
    low, high = np.quantile(by_weights(score, failed, cluster, 1000), [0.025, 0.975])
    ends = ours(0).threshold
    print(f"interval {ends.low:.3f} to {ends.high:.3f}, by NumPy {low:.3f} to {high:.3f}")


if __name__ == "__main__":
    main()
