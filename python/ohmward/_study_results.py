"""What a study of thresholds answers with: each figure with its interval and its cautions in words."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from ohmward._arrays import Doubles
from ohmward._core.core import Status

__all__ = [
    "AtThreshold",
    "Attenuation",
    "BestThreshold",
    "Calibration",
    "Comparison",
    "Counts",
    "DecisionCurve",
    "Figure",
    "RocCurve",
]


def _shown(value: float) -> str:
    return "none" if math.isnan(value) else f"{value:.3g}"


def _text(title: str, lines: Iterable[object], cautions: Iterable[str]) -> str:
    """A title, a line each, then the cautions."""
    return "\n".join([title, *(f"  {line}" for line in lines), *cautions])


def _told(figures: Iterable[Figure]) -> list[Figure]:
    """Figures of which anything is known."""
    return [each for each in figures if not (math.isnan(each.low) and math.isnan(each.worst))]


@dataclass(frozen=True)
class Figure:
    """
    One figure of a study.

    Attributes
    ----------
    name : str
        What it is of.
    estimate : float
        NaN where the data give only bounds, or nothing.
    low, high : float
        Interval at the level: from the lower end at worst to the upper end at best.
    worst, best : float
        What the figure becomes when all that is not known (over-range scores, unknown outcomes) speaks against the
        score, or for it. Equal to the estimate where all is known.
    level : float
        Of the interval.
    cautions : tuple of str
        What somebody who cites the figure must add.
    """

    name: str
    estimate: float
    low: float
    high: float
    worst: float
    best: float
    level: float = 0.95
    cautions: tuple[str, ...] = ()

    def __str__(self) -> str:
        """Estimate, bounds where they differ, and interval."""
        text = f"{self.name} {_shown(self.estimate)}"
        if math.isnan(self.estimate) and not math.isnan(self.worst):
            text = f"{self.name} between {_shown(self.worst)} and {_shown(self.best)}"
        elif self.worst != self.best and not math.isnan(self.worst):
            text += f", between {_shown(self.worst)} and {_shown(self.best)}"
        if math.isnan(self.low):
            return f"{text} (no interval)"
        return f"{text} ({100 * self.level:g} %: {_shown(self.low)} to {_shown(self.high)})"


@dataclass(frozen=True)
class Counts:
    """
    How many readings a threshold flags, as (surely, at most) pairs.

    Numbers of readings, or sums of weights where the study weighs.
    """

    failed: float
    sound: float
    unknown: float
    failed_flagged: tuple[float, float]
    sound_flagged: tuple[float, float]
    unknown_flagged: tuple[float, float]
    left_out: int


@dataclass(frozen=True)
class AtThreshold:
    """
    What a threshold does on the units of a study.

    Attributes
    ----------
    threshold : float
        Flagged is what lies beyond it: below where lower is worse.
    counts : Counts
        The two-by-two table.
    sensitivity, specificity : Figure
        Shares of failed units that are flagged, of sound ones that are not.
    positive_predictive_value, negative_predictive_value : Figure
        Shares of the flagged that fail, of the others that do not. NaN in a case-control study without a prevalence.
    cautions : tuple of str
        Of all four together.
    """

    threshold: float
    counts: Counts
    sensitivity: Figure
    specificity: Figure
    positive_predictive_value: Figure
    negative_predictive_value: Figure
    cautions: tuple[str, ...] = ()

    def __str__(self) -> str:
        """One line a figure, then the cautions."""
        figures = (
            self.sensitivity,
            self.specificity,
            self.positive_predictive_value,
            self.negative_predictive_value,
        )
        return _text(f"at {self.threshold:g}", figures, self.cautions)


@dataclass(frozen=True)
class BestThreshold:
    """
    The threshold of least expected cost.

    Attributes
    ----------
    threshold : Figure
        With its interval. Infinite where flagging nothing, or all, is cheapest. Its worst and best
        are the thresholds if all units of unknown outcome had failed, and if none had; else its own value.
    same_from, same_to : float
        Any threshold between these two neighbouring scores flags the same units.
    cost, cost_of_none, cost_of_all : float
        Expected cost a unit: of this rule as it looks on the units it was chosen on, of flagging nothing, of all.
    optimism, cost_corrected : float
        By how much the cost looks too low because the threshold was chosen on the same units, and the cost with it.
    sensitivity, specificity : float
        As they look on the same units.
    resampled : ndarray
        Thresholds of the replicates.
    flags_none, flags_all : float
        Shares of replicates whose best rule flags nothing, or all.
    prevalence : float
        That the costs were weighed with.
    cautions : tuple of str
    """

    threshold: Figure
    same_from: float
    same_to: float
    cost: float
    cost_of_none: float
    cost_of_all: float
    optimism: float
    cost_corrected: float
    sensitivity: float
    specificity: float
    flags_none: float
    flags_all: float
    prevalence: float
    resampled: Doubles = field(repr=False)
    cautions: tuple[str, ...] = ()

    def __str__(self) -> str:
        """The threshold and what it costs, then the cautions."""
        lines = [
            f"the same units are flagged from {_shown(self.same_from)} to {_shown(self.same_to)}",
            f"sensitivity {_shown(self.sensitivity)} and specificity {_shown(self.specificity)} as they look here",
            f"cost a unit {_shown(self.cost_corrected)}, of it {_shown(self.optimism)} for having been chosen here",
            f"flagging nothing costs {_shown(self.cost_of_none)}, everything {_shown(self.cost_of_all)}",
            f"at a prevalence of {_shown(self.prevalence)}",
        ]
        return _text(str(self.threshold), lines, self.cautions)


@dataclass(frozen=True)
class Comparison:
    """
    Two scores of the same units.

    Attributes
    ----------
    first, second : Figure
        Their areas on the units that have both.
    difference : Figure
        First less second.
    p_value : float
        Two-sided, that the areas are equal.
    scatter_ratio : float
        Standard deviation of the second score over that of the first among sound units, on the scale of the study.
        NaN unless asked for by `Study.as_read_against_corrected`.
    left_out : int
        Units that lack one of the scores or the outcome.
    cautions : tuple of str
    """

    first: Figure
    second: Figure
    difference: Figure
    p_value: float
    left_out: int
    scatter_ratio: float = math.nan
    cautions: tuple[str, ...] = ()

    def __str__(self) -> str:
        """Difference, both areas and the p-value, then the cautions."""
        lines = [str(self.first), str(self.second), f"p = {_shown(self.p_value)} that the areas are equal"]
        if not math.isnan(self.scatter_ratio):
            lines.append(f"sound units scatter {self.scatter_ratio:.2f} times as much in the second")
        return _text(str(self.difference), lines, self.cautions)


@dataclass(frozen=True)
class DecisionCurve:
    """
    Net benefit a unit over the probability of failure at which somebody would act.

    Attributes
    ----------
    threshold : float
        Of the rule.
    probability : ndarray
        0.02 says: fifty needless looks are worth one failure found.
    rule, low, high : ndarray
        Net benefit of the rule with its interval.
    flag_all : ndarray
        Of flagging everything; flagging nothing has none, 0.
    best_here : ndarray
        Of the rule that looks best on these very units, at each probability another: no threshold gets more on them.
    prevalence : float
    level : float
    cautions : tuple of str
    """

    threshold: float
    probability: Doubles
    rule: Doubles
    low: Doubles
    high: Doubles
    flag_all: Doubles
    best_here: Doubles
    prevalence: float
    level: float
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class RocCurve:
    """
    Shares flagged at each threshold.

    Attributes
    ----------
    threshold : ndarray
        From the strictest to the laxest.
    sensitivity, false_share : ndarray
        Shares of failed and of sound units that are flagged, scores of unknown side counting half.
    sensitivity_worst, sensitivity_best, false_share_best, false_share_worst : ndarray
        Bounds from scores that are bounds.
    sensitivity_low, sensitivity_high, false_share_low, false_share_high : ndarray
        Intervals at each threshold for itself, not of the whole curve.
    level : float
    """

    threshold: Doubles
    sensitivity: Doubles
    false_share: Doubles
    sensitivity_worst: Doubles
    sensitivity_best: Doubles
    false_share_best: Doubles
    false_share_worst: Doubles
    sensitivity_low: Doubles
    sensitivity_high: Doubles
    false_share_low: Doubles
    false_share_high: Doubles
    level: float


@dataclass(frozen=True)
class Calibration:
    """
    A published threshold on this fleet.

    Attributes
    ----------
    here : AtThreshold
        What the threshold does here.
    threshold_for_sensitivity, threshold_for_specificity : Figure
        Which threshold reaches the stated target here; NaN where none was stated.
    sensitivity_less_published, specificity_less_published : Figure
        What it does here less what was published; NaN where nothing was.
    false_alarms_a_unit_year : Figure
        Flags on units that did not fail, a unit and year under observation; NaN without entry and exit.
    cautions : tuple of str
    """

    here: AtThreshold
    threshold_for_sensitivity: Figure
    threshold_for_specificity: Figure
    sensitivity_less_published: Figure
    specificity_less_published: Figure
    false_alarms_a_unit_year: Figure
    cautions: tuple[str, ...] = ()

    def __str__(self) -> str:
        """What the threshold does here and what would do what was promised, then the cautions."""
        here = self.here
        figures = _told(
            (
                here.sensitivity,
                self.sensitivity_less_published,
                self.threshold_for_sensitivity,
                here.specificity,
                self.specificity_less_published,
                self.threshold_for_specificity,
                self.false_alarms_a_unit_year,
            )
        )
        return _text(f"published threshold {here.threshold:g} on these units", figures, self.cautions)


@dataclass(frozen=True)
class Attenuation:
    """
    How much of the overlap of failed and sound units the meter makes.

    Attributes
    ----------
    as_read, without_meter : Figure
        Areas by ranks, and what a meter without scatter of its own would reach.
    normal_as_read, normal_without_meter : float
        The same areas of two fitted normal distributions: where they differ much from the ranks, distrust both.
    meter_share : float
        Of the variance of scores within failed and within sound units.
    status : Status
    cautions : tuple of str
    """

    as_read: Figure
    without_meter: Figure
    normal_as_read: float
    normal_without_meter: float
    meter_share: float
    status: Status
    cautions: tuple[str, ...] = ()

    def __str__(self) -> str:
        """Both areas and the meter's share, then the cautions."""
        lines = [
            f"{100 * self.meter_share:.3g} % of the variance within both groups is the meter's",
            f"two fitted normal distributions: {_shown(self.normal_as_read)} as read, "
            f"{_shown(self.normal_without_meter)} without it",
        ]
        return _text(f"{self.as_read}\n{self.without_meter}", lines, self.cautions)
