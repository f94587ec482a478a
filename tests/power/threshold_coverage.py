"""How often intervals of a study of thresholds hold the truth, in made studies whose truth is known.

    PYTHONPATH=build/dev/python python tests/power/threshold_coverage.py --studies 2000

Seeds are 20260000 + number of the study, fixed before the first run. Scores are normal with the event at a shift, so
the area, the shares at a threshold and the threshold of least cost are known. Clusters add a common normal term; the
truth is then that of a unit of a new cluster against one of another.
"""

import argparse
import math
from concurrent.futures import ProcessPoolExecutor
from functools import cache, partial
from statistics import NormalDist

import numpy as np
from threshold_shapes import SHAPES, with_area

from ohmward import thresholds

FIRST_SEED = 20260000
NORMAL = NormalDist()


def outcome(low, high, truth):
    """0: the interval holds the truth, 1: truth below it, 2: above, 3: no interval; 10 more: an end is open."""
    if math.isnan(low) or math.isnan(high):
        return 3
    return (1 if truth < low else 2 if truth > high else 0) + 10 * (math.isinf(low) or math.isinf(high))


def made(seed, *, events, others, shift, clusters=0, between=0.0):
    """Scores, larger worse; within clusters of mixed class where there are clusters."""
    rng = np.random.default_rng(seed)
    failed = np.arange(events + others) < events
    score = rng.normal(0, 1, failed.size) + shift * failed
    cluster = None
    if clusters:
        cluster = rng.integers(0, clusters, failed.size)
        score += between * rng.normal(0, 1, clusters)[cluster]
    return score, failed, cluster


def area(number, *, events, others, truth, clusters=0, between=0.0):
    scatter = math.sqrt(2 * (1 + between**2))
    shift = NORMAL.inv_cdf(truth) * scatter
    score, failed, cluster = made(
        FIRST_SEED + number, events=events, others=others, shift=shift, clusters=clusters, between=between
    )
    of = thresholds.Study(score, failed, lower_is_worse=False, cluster=cluster).area_under_curve()
    return outcome(of.low, of.high, truth)


def shaped_area(number, *, events, others, truth, shape):
    """As `area`, of scores that are not normal, or not equally wide."""
    rng = np.random.default_rng(FIRST_SEED + number)
    of_failed, of_sound = with_area(shape, truth)
    score = np.concatenate([of_failed.rvs(events, random_state=rng), of_sound.rvs(others, random_state=rng)])
    of = thresholds.Study(score, np.arange(score.size) < events, lower_is_worse=False).area_under_curve()
    return outcome(of.low, of.high, truth)


def plain_normal_area(number, *, events, others, truth):
    """The interval without logit, half a unit and Student's factor, to compare: area ± 1.96 standard errors."""
    shift = NORMAL.inv_cdf(truth) * math.sqrt(2)
    score, failed, _ = made(FIRST_SEED + number, events=events, others=others, shift=shift)
    units = thresholds.Study(score, failed, lower_is_worse=False)._units
    of = thresholds._core.area_under_curve(units, level=0.95)["middle"]
    half = NORMAL.inv_cdf(0.975) * of["standard_error"]
    return outcome(of["area"] - half, of["area"] + half, truth)


def difference(number, *, events, others, truth, noise):
    """Area of a score less that of the same with noise added."""
    shift = NORMAL.inv_cdf(truth) * math.sqrt(2)
    score, failed, _ = made(FIRST_SEED + number, events=events, others=others, shift=shift)
    rng = np.random.default_rng(FIRST_SEED + 10_000_000 + number)
    study = thresholds.Study(score, failed, lower_is_worse=False)
    of = study.compare(score + noise * rng.normal(0, 1, score.size)).difference
    return outcome(of.low, of.high, truth - NORMAL.cdf(shift / math.sqrt(2 * (1 + noise**2))))


def sensitivity(number, *, events, truth, interval="wilson", clusters=0, between=0.0):
    scatter = math.sqrt(1 + between**2)
    at = -NORMAL.inv_cdf(truth) * scatter  # events have mean 0
    score, failed, cluster = made(
        FIRST_SEED + number, events=events, others=5 * events, shift=0, clusters=clusters, between=between
    )
    study = thresholds.Study(score, failed, lower_is_worse=False, cluster=cluster)
    of = study.at(at, interval=interval).sensitivity
    return outcome(of.low, of.high, truth)


def sensitivity_of_any(number, *, events, interval="wilson"):
    """A share takes few values, so what an interval covers swings with the truth: here it is drawn for each study."""
    truth = np.random.default_rng(FIRST_SEED + 30_000_000 + number).uniform(0.5, 0.95)
    return sensitivity(number, events=events, truth=float(truth), interval=interval)


def predictive(number, *, events, others):
    score, failed, _ = made(FIRST_SEED + number, events=events, others=others, shift=2)
    of = thresholds.Study(score, failed, lower_is_worse=False, prevalence=0.03).at(1.2).positive_predictive_value
    hits, alarms = 0.03 * (1 - NORMAL.cdf(1.2 - 2)), 0.97 * (1 - NORMAL.cdf(1.2))
    return outcome(of.low, of.high, hits / (hits + alarms))


def for_target(number, *, events, others, target):
    """The threshold that reaches a target of sensitivity."""
    score, failed, _ = made(FIRST_SEED + number, events=events, others=others, shift=1.5)
    found = thresholds.Study(score, failed, lower_is_worse=False).calibrate(0.75, target_sensitivity=target)
    of = found.threshold_for_sensitivity
    return outcome(of.low, of.high, 1.5 + NORMAL.inv_cdf(1 - target))


def net_benefit(number, *, units, prevalence, probability):
    """Of a threshold, in a cohort."""
    rng = np.random.default_rng(FIRST_SEED + number)
    failed = rng.random(units) < prevalence
    score = rng.normal(0, 1, units) + 1.5 * failed
    curve = thresholds.Study(score, failed, lower_is_worse=False).decision_curve(0.75, probability=[probability])
    odds = probability / (1 - probability)
    truth = prevalence * NORMAL.cdf(0.75) - odds * (1 - prevalence) * NORMAL.cdf(-0.75)
    return outcome(curve.low[0], curve.high[0], truth)


def best(number, *, events, others, clusters=0, between=0.0):
    """Threshold of least cost: with equal costs of both classes together it lies half way between their means."""
    score, failed, cluster = made(
        FIRST_SEED + number, events=events, others=others, shift=1.5, clusters=clusters, between=between
    )
    study = thresholds.Study(score, failed, lower_is_worse=False, cluster=cluster)
    of = study.best_threshold(cost_of_miss=1, cost_of_false_alarm=1, prevalence=0.5, replicates=2, threads=1)
    return outcome(of.threshold.low, of.threshold.high, 0.75)


def shaped_best(number, *, events, others, shape):
    """The threshold of least cost of scores of any shape."""
    of = SHAPES[shape]
    score, failed = of.made(np.random.default_rng(FIRST_SEED + number), events, others)
    study = thresholds.Study(score, failed, lower_is_worse=False)
    found = study.best_threshold(cost_of_miss=of.ratio, cost_of_false_alarm=1, prevalence=0.5, replicates=2, threads=1)
    return outcome(found.threshold.low, found.threshold.high, of.best)


def attenuation(number, *, events, others, u):
    """The area without the meter's noise, which is drawn on top of the scores."""
    shift = 1.5
    score, failed, _ = made(FIRST_SEED + number, events=events, others=others, shift=shift)
    rng = np.random.default_rng(FIRST_SEED + 20_000_000 + number)
    read = score + u * rng.normal(0, 1, score.size)
    study = thresholds.Study(read, failed, lower_is_worse=False, standard_uncertainty=u)
    of = study.attenuation().without_meter
    return outcome(of.low, of.high, NORMAL.cdf(shift / math.sqrt(2)))


RULE = -0.84  # half of what lies below is repaired at once


def failing(score):
    return 1 / (1 + np.exp(2 + 1.5 * score))


@cache
def truths_of_weighted():
    """Of the rule, of the area, and of the best threshold where a miss costs 2 at a prevalence of 0.3."""
    grid = np.linspace(-9, 9, 200_001)
    failed = np.exp(-0.5 * grid**2) * failing(grid)
    sound = np.exp(-0.5 * grid**2) * (1 - failing(grid))
    failed, sound = failed / failed.sum(), sound / sound.sum()
    cost = 0.3 * 2 * (1 - np.cumsum(failed)) + 0.7 * np.cumsum(sound)  # flagged is what lies below
    return {
        "sensitivity": failed[grid < RULE].sum(),
        "specificity": sound[grid >= RULE].sum(),
        "area": (failed * (1 - np.cumsum(sound) + sound / 2)).sum(),
        "best threshold": grid[np.argmin(cost)],
    }


def weighted(number, *, units, figure):
    """A rule whose flagged units were in part repaired, with units that were let be in their place."""
    rng = np.random.default_rng(FIRST_SEED + number)
    score = rng.normal(0, 1, units)
    failed = rng.random(units) < failing(score)
    repaired = (score < RULE) & (rng.random(units) < 0.5)
    study = thresholds.Study(
        score,
        failed & ~repaired,
        lower_is_worse=True,
        repaired_because_of_reading=repaired,
        repaired="weights",
        weight_bands=[RULE, 0.5],
    )
    ways = {
        "sensitivity": lambda: study.at(RULE).sensitivity,
        "specificity": lambda: study.at(RULE).specificity,
        "area": study.area_under_curve,
        "best threshold": lambda: (
            study.best_threshold(
                cost_of_miss=2, cost_of_false_alarm=1, prevalence=0.3, replicates=2, threads=1
            ).threshold
        ),
    }
    of = ways[figure]()
    return outcome(of.low, of.high, truths_of_weighted()[figure])


CASES = {
    "area 0.80, 12 and 200": partial(area, events=12, others=200, truth=0.8),
    "area 0.95, 12 and 200": partial(area, events=12, others=200, truth=0.95),
    "area 0.80, 30 and 100": partial(area, events=30, others=100, truth=0.8),
    "area 0.80, 100 and 400": partial(area, events=100, others=400, truth=0.8),
    "area 0.95, 100 and 400": partial(area, events=100, others=400, truth=0.95),
    "area 0.98, 100 and 400": partial(area, events=100, others=400, truth=0.98),
    "area 0.90, 12 and 200, failed twice as wide": partial(
        shaped_area, events=12, others=200, truth=0.9, shape="failed twice as wide"
    ),
    "area 0.90, 12 and 200, failed half as wide": partial(
        shaped_area, events=12, others=200, truth=0.9, shape="failed half as wide"
    ),
    "area 0.90, 12 and 200, exponential": partial(shaped_area, events=12, others=200, truth=0.9, shape="exponential"),
    "area 0.80, 12 and 200, plain ± 1.96 s": partial(plain_normal_area, events=12, others=200, truth=0.8),
    "area 0.95, 12 and 200, plain ± 1.96 s": partial(plain_normal_area, events=12, others=200, truth=0.95),
    "difference of areas, 40 and 160": partial(difference, events=40, others=160, truth=0.85, noise=0.7),
    "difference of areas, 12 and 200": partial(difference, events=12, others=200, truth=0.85, noise=0.7),
    "area, 100 and 300 in 40 clusters": partial(area, events=100, others=300, truth=0.8, clusters=40, between=0.7),
    "area, 100 and 300 in 20 clusters": partial(area, events=100, others=300, truth=0.8, clusters=20, between=0.7),
    "area, 100 and 300 in 8 clusters": partial(area, events=100, others=300, truth=0.8, clusters=8, between=0.7),
    "sensitivity 0.80 of 12, Wilson": partial(sensitivity, events=12, truth=0.8),
    "sensitivity 0.80 of 12, exact": partial(sensitivity, events=12, truth=0.8, interval="exact"),
    "sensitivity of 12 over all shares, Wilson": partial(sensitivity_of_any, events=12),
    "sensitivity of 40 over all shares, Wilson": partial(sensitivity_of_any, events=40),
    "sensitivity 0.80 of 40, Wilson": partial(sensitivity, events=40, truth=0.8),
    "sensitivity 0.80 of 150, Wilson": partial(sensitivity, events=150, truth=0.8),
    "specificity 0.95 of 400, Wilson": partial(sensitivity, events=400, truth=0.95),
    "sensitivity 0.80 of 150 in 40 clusters": partial(sensitivity, events=150, truth=0.8, clusters=40, between=0.5),
    "sensitivity 0.80 of 150 in 20 clusters": partial(sensitivity, events=150, truth=0.8, clusters=20, between=0.5),
    "sensitivity 0.80 of 150 in 8 clusters": partial(sensitivity, events=150, truth=0.8, clusters=8, between=0.5),
    "positive predictive value at 3 %, 50 and 200": partial(predictive, events=50, others=200),
    "positive predictive value at 3 %, 12 and 200": partial(predictive, events=12, others=200),
    "threshold for sensitivity 0.80, 12 and 200": partial(for_target, events=12, others=200, target=0.8),
    "threshold for sensitivity 0.80, 100 and 400": partial(for_target, events=100, others=400, target=0.8),
    "net benefit at 0.1, a cohort of 200 with 6 %": partial(net_benefit, units=200, prevalence=0.06, probability=0.1),
    "net benefit at 0.1, a cohort of 1000 with 6 %": partial(net_benefit, units=1000, prevalence=0.06, probability=0.1),
    "area without the meter, 12 and 200, u = 0.5": partial(attenuation, events=12, others=200, u=0.5),
    "area without the meter, 30 and 100, u = 0.5": partial(attenuation, events=30, others=100, u=0.5),
    "area without the meter, 100 and 400, u = 0.5": partial(attenuation, events=100, others=400, u=0.5),
    "area without the meter, 100 and 400, u = 1": partial(attenuation, events=100, others=400, u=1.0),
    "best threshold, 3 and 100": partial(best, events=3, others=100),
    "best threshold, 5 and 100": partial(best, events=5, others=100),
    "best threshold, 12 and 200": partial(best, events=12, others=200),
    "best threshold, 20 and 100": partial(best, events=20, others=100),
    "best threshold, 100 and 400": partial(best, events=100, others=400),
    "best threshold, 100 and 400 in 40 clusters": partial(best, events=100, others=400, clusters=40, between=0.3),
    "best threshold, 100 and 400 in 20 clusters": partial(best, events=100, others=400, clusters=20, between=0.5),
    "best threshold, 1000 and 4000": partial(best, events=1000, others=4000),
}
CASES |= {
    f"{figure} by weights, {units} units": partial(weighted, units=units, figure=figure)
    for figure in ("sensitivity", "specificity", "area", "best threshold")
    for units in (300, 1000)
}
CASES |= {
    f"best threshold, {events} and {others}, {shape}": partial(shaped_best, events=events, others=others, shape=shape)
    for events, others in ((12, 200), (100, 400))
    for shape in list(SHAPES)[1:]
}


def coverage(case, studies, workers=2):
    """Shares of studies: held, truth below, truth above, without an interval, with an open one."""
    with ProcessPoolExecutor(workers) as pool:
        found = np.array(list(pool.map(CASES[case], range(studies), chunksize=50)))
    return [float(np.mean(found % 10 == kind)) for kind in range(4)] + [float(np.mean(found >= 10))]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--studies", type=int, default=2000)
    parser.add_argument("--only", default="", help="cases whose name holds this text")
    parser.add_argument("--workers", type=int, default=2)
    arguments = parser.parse_args()
    error = math.sqrt(0.95 * 0.05 / arguments.studies)
    print(f"{arguments.studies} studies a case; standard error of a coverage of 95 %: {100 * error:.1f} %")
    for case in CASES:
        if arguments.only in case:
            held, below, above, without, endless = (
                100 * share for share in coverage(case, arguments.studies, arguments.workers)
            )
            missing = f", no interval {without:.1f} %" if without else ""
            missing += f", an end open {endless:.1f} %" if endless else ""
            print(
                f"{case:58} held {held:5.1f} %, truth below {below:4.1f} %, above {above:4.1f} %{missing}", flush=True
            )


if __name__ == "__main__":
    main()
