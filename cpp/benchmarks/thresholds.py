"""Print what studies of thresholds cost, and the clustered bootstrap against NumPy in the same run.

usage: PYTHONPATH=<build>/python python cpp/benchmarks/thresholds.py

Three programs in NumPy smooth and choose as the core does: one copies the drawn clusters and puts them into cells anew
for each replicate, as it is mostly written; one counts each unit as often as its cluster was drawn; one keeps smoothed
cells of each cluster and adds them up for all replicates in one matrix product, which takes dense clusters and memory.
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


CELLS_A_BANDWIDTH = 2


class Cells:
    """Cells of half the bandwidth, with the core's rule for it."""

    def __init__(self, score, failed):
        classes = (score[failed], score[~failed])
        spreads = [min(np.std(x, ddof=1), np.subtract(*np.percentile(x, [75, 25])) / 1.349) for x in classes]
        bandwidth = 0.9 * min(spreads) * min(x.size for x in classes) ** -0.25
        self.width = bandwidth / CELLS_A_BANDWIDTH
        self.first = score.min() - 5 * bandwidth
        self.size = int((score.max() + 5 * bandwidth - self.first) / self.width) + 1
        self.of = np.round((score - self.first) / self.width).astype(np.int64)
        reach = np.arange(-4 * CELLS_A_BANDWIDTH, 4 * CELLS_A_BANDWIDTH + 1) / CELLS_A_BANDWIDTH
        self.kernel = np.exp(-0.5 * reach**2)
        self.kernel /= self.kernel.sum()

    def masses(self, cell, weights=None):
        return np.convolve(np.bincount(cell, weights, minlength=self.size), self.kernel, mode="same")

    def best(self, failed, sound):
        """Of masses of both classes along the last axis."""
        odds = PREVALENCE * MISS / ((1 - PREVALENCE) * ALARM)
        missed = np.cumsum(failed, axis=-1) / failed.sum(axis=-1, keepdims=True)
        spared = np.cumsum(sound, axis=-1) / sound.sum(axis=-1, keepdims=True)
        return self.first + (np.argmin(odds * missed + 1 - spared, axis=-1) + 0.5) * self.width


def by_copying(score, failed, cluster, replicates):
    rng = np.random.default_rng(2)
    cells = Cells(score, failed)
    clusters = cluster.max() + 1
    rows = np.argsort(cluster, kind="stable")
    first = np.searchsorted(cluster[rows], np.arange(clusters + 1))
    members = [rows[first[c] : first[c + 1]] for c in range(clusters)]
    out = np.empty(replicates)
    for r in range(replicates):
        drawn = np.concatenate([members[c] for c in rng.integers(0, clusters, clusters)])
        of, f = cells.of[drawn], failed[drawn]
        out[r] = cells.best(cells.masses(of[f]), cells.masses(of[~f]))
    return out


def by_weights(score, failed, cluster, replicates):
    rng = np.random.default_rng(2)
    cells = Cells(score, failed)
    clusters = cluster.max() + 1
    parts = [(cells.of[rows], cluster[rows]) for rows in (failed, ~failed)]
    out = np.empty(replicates)
    for r in range(replicates):
        times = np.bincount(rng.integers(0, clusters, clusters), minlength=clusters).astype(float)
        out[r] = cells.best(*(cells.masses(of, times[c]) for of, c in parts))
    return out


def by_product(score, failed, cluster, replicates):
    rng = np.random.default_rng(2)
    cells = Cells(score, failed)
    clusters = cluster.max() + 1
    drawn = rng.integers(0, clusters, (replicates, clusters)) + clusters * np.arange(replicates)[:, None]
    times = np.bincount(drawn.ravel(), minlength=replicates * clusters).reshape(replicates, clusters).astype(float)
    spread = np.array([np.convolve(row, cells.kernel, mode="same") for row in np.eye(cells.size)])
    masses = []
    for rows in (failed, ~failed):
        counts = np.bincount(cluster[rows] * cells.size + cells.of[rows], minlength=clusters * cells.size)
        masses.append(times @ (counts.reshape(clusters, cells.size) @ spread))
    return cells.best(*masses)


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

    loops = {"copy and count": by_copying, "weigh": by_weights, "one matrix product, all cores": by_product}
    # Memory that a process has used once is not asked of the system again: ours after theirs, the product once more.
    times = {name: best_second(lambda loop=loop: loop(score, failed, cluster, 1000), 3) for name, loop in loops.items()}
    one, two = best_second(lambda: ours(1)), best_second(lambda: ours(2))
    times["one matrix product, all cores"] = best_second(lambda: by_product(score, failed, cluster, 1000))
    print(f"best threshold, 1,000 replicates of 1e5 scores in 500 clusters: {one:.4f} s, on two threads {two:.4f} s")
    for name, numpy in times.items():
        print(f"NumPy, {name}: {numpy:.4f} s, {numpy / one:.1f} times, {numpy / two:.1f} times two threads")
    chosen, numpy = ours(0).resampled, by_weights(score, failed, cluster, 1000)
    print(f"replicates: {chosen.mean():.4f} ± {chosen.std():.4f}, by NumPy {numpy.mean():.4f} ± {numpy.std():.4f}")


if __name__ == "__main__":
    main()
