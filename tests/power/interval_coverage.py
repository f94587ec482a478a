"""How often the intervals of the statistics room hold the truth.

    PYTHONPATH=build/dev/python python tests/power/interval_coverage.py --runs 4000 --seed 20260301

The coverage of shares is summed exactly over all counts; the rest is simulated, with numbers that nothing was chosen
on. A cell promises 93 to 97 % at a level of 95 %, or at least the level, or nothing: there it shows how far an interval
falls short where its status says few_points, or where theory says that it must.
"""

import argparse
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from scipy.stats import binom, norm

from ohmward import statistics

LEVEL = 0.95
NEAR_LEVEL = (0.93, 0.97)
AT_LEAST = (LEVEL, 1.0)
NOTHING = (0.0, 1.0)


class Cell(NamedTuple):
    """One line of the table: what is covered, how often it should be, and a draw that tells whether it was."""

    name: str
    promise: tuple[float, float]
    covered: Callable[[np.random.Generator], bool]


def share_coverage(interval, trials, shares):
    """Coverage of each share: the probability of the counts whose interval holds it."""
    ends = [interval(events=k, trials=trials, level=LEVEL) for k in range(trials + 1)]
    low, high = (np.array([getattr(end, name) for end in ends])[:, None] for name in ("low", "high"))
    probability = binom.pmf(np.arange(trials + 1)[:, None], trials, shares)
    return (probability * ((low <= shares) & (shares <= high))).sum(axis=0)


SHARES = np.linspace(0.001, 0.999, 1997)
TRIALS = (5, 10, 30, 100, 500)


def share_table():
    """Name, promise, coverage: least of the exact interval over shares; mean and least of the score interval."""
    for trials in TRIALS:
        exact = share_coverage(statistics.clopper_pearson, trials, SHARES)
        score = share_coverage(statistics.wilson, trials, SHARES)
        yield f"Clopper-Pearson, n = {trials}: least over shares", AT_LEAST, exact.min()
        yield f"Wilson, n = {trials}: mean over shares", NEAR_LEVEL, score.mean()
        yield f"Wilson, n = {trials}: least over shares", NOTHING, score.min()


def holds(of, truth):
    return bool(of.low <= truth <= of.high)


def bootstrap_of_mean(sample, truth, clusters=None, interval="percentile", seed=1):
    found = statistics.bootstrap(
        lambda times: times @ sample / times.sum(),
        sample.size,
        clusters=clusters,
        replicates=999,
        level=LEVEL,
        interval=interval,
        seed=seed,
        threads=1,
    )
    return holds(found, truth)


def bootstrap_cell(size, kind, promise):
    def covered(random):
        sample = random.standard_normal(size)
        return bootstrap_of_mean(sample, 0, interval=kind, seed=int(random.integers(2**40)))

    return Cell(f"bootstrap, {kind}, normal mean, n = {size}", promise, covered)


def skewed_bootstrap_cell(size, kind, promise):
    def covered(random):
        sample = random.exponential(size=size)
        return bootstrap_of_mean(sample, 1, interval=kind, seed=int(random.integers(2**40)))

    return Cell(f"bootstrap, {kind}, exponential mean, n = {size}", promise, covered)


def clustered_cell(clusters, promise, *, respect=True):
    """Half of the variance is common to a cluster of five."""

    def covered(random):
        labels = np.repeat(np.arange(clusters), 5)
        sample = random.standard_normal(clusters)[labels] + random.standard_normal(labels.size)
        seed = int(random.integers(2**40))
        return bootstrap_of_mean(sample, 0, clusters=labels.tolist() if respect else None, seed=seed)

    kind = "clustered bootstrap" if respect else "bootstrap that ignores clusters"
    return Cell(f"{kind}, {clusters} clusters of 5", promise, covered)


def lifetimes(random, size, *, late):
    """Weibull lifetimes of median 1; a third or so leaves whole; half of the others' watching begins late."""
    failure, leaving, entry = [], [], []
    while len(failure) < size:
        fails = random.weibull(1.5) / np.log(2) ** (1 / 1.5)
        leaves, begins = random.uniform(0.3, 3), random.uniform(0, 0.6) if late and random.random() < 0.5 else 0
        if begins < min(fails, leaves):
            failure.append(fails), leaving.append(leaves), entry.append(begins)
    failure, leaving = np.array(failure), np.array(leaving)
    return np.minimum(failure, leaving), failure <= leaving, np.array(entry)


def survival_cell(size, truth, promise, *, late=False):
    time = (-np.log(truth) / np.log(2)) ** (1 / 1.5)

    def covered(random):
        until, failed, entry = lifetimes(random, size, late=late)
        return holds(statistics.kaplan_meier(until, failed=failed, entry=entry, level=LEVEL).at(time), truth)

    name = f"Kaplan-Meier{', late entries' if late else ''}, S = {truth}, n = {size}"
    return Cell(name, promise, covered)


def slope_cell(name, size, errors, promise, *, tied=1, step=0.0):
    def covered(random):
        x = np.repeat(np.arange(size / tied), tied)[:size]
        y = 0.3 * x + errors(random, size)
        return holds(statistics.robust_slope(x, np.round(y / step) * step if step else y, level=LEVEL), 0.3)

    return Cell(f"Theil-Sen, {name}, n = {size}", promise, covered)


def censored_cell(size, censored, promise):
    """Mean of a normal sample whose values above a ceiling are only known to lie there; 1.96 standard uncertainties."""

    def covered(random):
        x = random.standard_normal(size)
        ceiling = norm.ppf(1 - censored)
        high = np.where(x < ceiling, x, np.inf)
        of = statistics.censored_normal(np.minimum(x, ceiling), high)
        return bool(abs(of.mean) <= 1.959964 * of.mean_standard_uncertainty)

    return Cell(f"censored normal mean, {100 * censored:.0f} % above, n = {size}", promise, covered)


def normal(random, size):
    return random.standard_normal(size)


def heavy(random, size):
    return random.standard_t(2, size)


CELLS = [
    bootstrap_cell(10, "percentile", NOTHING),
    bootstrap_cell(20, "percentile", NOTHING),
    bootstrap_cell(50, "percentile", NEAR_LEVEL),
    bootstrap_cell(50, "bias_corrected", NEAR_LEVEL),
    bootstrap_cell(100, "percentile", NEAR_LEVEL),
    skewed_bootstrap_cell(50, "percentile", NOTHING),
    skewed_bootstrap_cell(50, "bias_corrected", NOTHING),
    skewed_bootstrap_cell(200, "percentile", NEAR_LEVEL),
    skewed_bootstrap_cell(200, "bias_corrected", NEAR_LEVEL),
    clustered_cell(10, NOTHING),
    clustered_cell(20, NOTHING),
    clustered_cell(50, NEAR_LEVEL),
    clustered_cell(50, NOTHING, respect=False),
    *(
        survival_cell(size, truth, NEAR_LEVEL if size > 25 else NOTHING, late=late)
        for size in (25, 50, 100)
        for truth in (0.9, 0.75, 0.5, 0.25)
        for late in (False, True)
    ),
    *(censored_cell(size, 0.3, NOTHING if size < 50 else NEAR_LEVEL) for size in (10, 20, 50, 200)),
    slope_cell("normal", 5, normal, NOTHING),
    *(slope_cell("normal", size, normal, NEAR_LEVEL) for size in (10, 20, 50)),
    *(slope_cell("Student 2", size, heavy, NEAR_LEVEL) for size in (10, 50)),
    slope_cell("pairs of one x", 20, normal, NEAR_LEVEL, tied=2),
    slope_cell("y in steps of half a deviation", 20, normal, NEAR_LEVEL, step=0.5),
    slope_cell("y in steps of two deviations", 20, normal, NOTHING, step=2.0),
]


def coverage(cell, runs, seed):
    """Share of runs whose interval holds the truth; each cell has numbers of its own."""
    random = np.random.default_rng([seed, *cell.name.encode()])
    return sum(cell.covered(random) for _ in range(runs)) / runs


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=4000)
    parser.add_argument("--bootstrap-runs", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=20260301)
    given = parser.parse_args()
    for name, promise, found in share_table():
        print_row(name, promise, found)
    for cell in CELLS:
        runs = given.bootstrap_runs if "bootstrap" in cell.name else given.runs
        print_row(cell.name, cell.promise, coverage(cell, runs, given.seed))


def print_row(name, promise, found):
    text = {NEAR_LEVEL: "93-97 %", AT_LEAST: ">= 95 %", NOTHING: "none"}[promise]
    short = "" if promise[0] <= found <= promise[1] else "  <- outside"
    print(f"{name:58} {text:>8} {100 * found:6.1f} %{short}", flush=True)


if __name__ == "__main__":
    main()
