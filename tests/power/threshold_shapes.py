"""Shapes of scores with and without the event whose areas and best thresholds are known; larger scores are worse."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy import integrate, stats

NORMAL = stats.norm()


@dataclass(frozen=True)
class Mixture:
    """Of frozen distributions with their shares."""

    parts: tuple

    def rvs(self, n, random_state):
        of = random_state.choice(len(self.parts), n, p=[share for share, _ in self.parts])
        drawn = [each.rvs(n, random_state=random_state) for _, each in self.parts]
        return np.choose(of, drawn)

    def sf(self, x):
        return sum(share * each.sf(x) for share, each in self.parts)


@dataclass(frozen=True)
class Shape:
    """Scores of failed and of sound units, and what a miss costs where a false alarm costs 1 at a prevalence of 1/2."""

    failed: object
    sound: object
    ratio: float = 1.0

    def cost(self, threshold):
        """A unit, twice."""
        return self.ratio * (1 - self.failed.sf(threshold)) + self.sound.sf(threshold)

    @cached_property
    def best(self):
        """Threshold of least cost."""
        grid = np.linspace(-8, 40, 480_001)
        return float(grid[np.argmin(self.cost(grid))])

    def made(self, rng, events, others):
        failed = np.arange(events + others) < events
        score = np.concatenate([self.failed.rvs(events, random_state=rng), self.sound.rvs(others, random_state=rng)])
        return score, failed


SHAPES = {
    "normal": Shape(stats.norm(1.5), NORMAL),
    "normal, a miss costs 3": Shape(stats.norm(1.5), NORMAL, ratio=3),
    "normal, close": Shape(stats.norm(0.8), NORMAL),
    "normal, far apart": Shape(stats.norm(3), NORMAL),
    "failed twice as wide": Shape(stats.norm(2, 2), NORMAL),
    "failed half as wide": Shape(stats.norm(1.5, 0.5), NORMAL),
    "three of ten failed look sound": Shape(Mixture(((0.7, stats.norm(2.5, 0.7)), (0.3, NORMAL))), NORMAL),
    "Student's, 3 degrees": Shape(stats.t(3, loc=2), stats.t(3)),
    "gamma": Shape(stats.gamma(6), stats.gamma(2)),
    "log-normal, no logarithm taken": Shape(stats.lognorm(1, scale=math.exp(1.5)), stats.lognorm(1)),
}


def area_of(failed, sound):
    """Probability that a failed unit scores above a sound one."""
    return integrate.quad(lambda x: failed.sf(x) * sound.pdf(x), -np.inf, np.inf, limit=200)[0]


def with_area(kind, area):
    """Distributions of failed and sound units that have an area."""
    deviate = stats.norm.ppf(area)
    if kind == "failed twice as wide":
        return stats.norm(deviate * math.sqrt(5), 2), NORMAL
    if kind == "failed half as wide":
        return stats.norm(deviate * math.sqrt(1.25), 0.5), NORMAL
    if kind == "exponential":
        return stats.expon(scale=area / (1 - area)), stats.expon()
    raise ValueError(kind)
