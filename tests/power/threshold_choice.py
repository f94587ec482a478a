"""What a best threshold costs new units over the true best: chosen on smoothed costs, or as it looks on the units.

    PYTHONPATH=build/dev/python python tests/power/threshold_choice.py --studies 2000

Seeds are 20270000 + number of the study, fixed before the first run. The excess is of the expected cost a unit where a
false alarm costs 1 at a prevalence of 1/2; the plain choice is the middle between the two scores of least cost, of
several the middle one.
"""

import argparse
import math
from concurrent.futures import ProcessPoolExecutor
from functools import partial

import numpy as np
from threshold_shapes import SHAPES

from ohmward import thresholds

FIRST_SEED = 20270000


def plain_choice(score, failed, ratio):
    order = np.argsort(score)
    score, failed = score[order], failed[order]
    cost = ratio * np.cumsum(np.r_[0, failed]) / failed.sum() + 1 - np.cumsum(np.r_[0, ~failed]) / (~failed).sum()
    equal = np.flatnonzero(cost <= cost.min() + 1e-12)
    at = int(equal[equal.size // 2])
    if at in (0, score.size):
        return -math.inf if at == 0 else math.inf
    return 0.5 * (score[at - 1] + score[at])


def excess(number, *, name, events, others):
    shape = SHAPES[name]
    score, failed = shape.made(np.random.default_rng(FIRST_SEED + number), events, others)
    study = thresholds.Study(score, failed, lower_is_worse=False)
    smoothed = study.best_threshold(
        cost_of_miss=shape.ratio, cost_of_false_alarm=1, prevalence=0.5, replicates=2, threads=1
    ).threshold.estimate
    return shape.cost(smoothed), shape.cost(plain_choice(score, failed, shape.ratio))


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--studies", type=int, default=2000)
    parser.add_argument("--workers", type=int, default=2)
    arguments = parser.parse_args()
    for events, others in ((12, 200), (20, 100), (100, 400), (1000, 4000)):
        for name, shape in SHAPES.items():
            run = partial(excess, name=name, events=events, others=others)
            with ProcessPoolExecutor(arguments.workers) as pool:
                cost = np.array(list(pool.map(run, range(arguments.studies), chunksize=50)))
            smoothed, plain = 0.5 * (cost.mean(axis=0) - shape.cost(shape.best))
            print(
                f"{events:4} and {others:4}, {name:32} smoothed {smoothed:.4f}, plain {plain:.4f}, "
                f"{plain / smoothed:.1f} times",
                flush=True,
            )


if __name__ == "__main__":
    main()
