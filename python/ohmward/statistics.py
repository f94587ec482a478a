"""Statistics behind the judgements: shares, bootstrap, survival, censored samples, scatter by causes, slopes.

Senseless parameters raise ``ValueError`` with the field, its value and what was expected. Data that can not answer give
NaN and a status.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from operator import index
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from ohmward._arrays import Doubles, as_doubles
from ohmward._core import statistics as _core
from ohmward._core.core import Censoring, Status

__all__ = [
    "BootstrapEstimate",
    "CensoredSample",
    "Component",
    "LogRank",
    "LogRankGroup",
    "Proportion",
    "RobustSlope",
    "SurvivalCurve",
    "SurvivalStep",
    "TwoWayComponents",
    "bootstrap",
    "censored_lognormal",
    "censored_normal",
    "clopper_pearson",
    "crossed_components",
    "kaplan_meier",
    "log_rank",
    "nested_components",
    "robust_slope",
    "wilson",
]


def _count(value: Any, name: str) -> int:
    """Return a whole number that is not below 0; a truth value is none."""
    if isinstance(value, bool | np.bool_):
        raise TypeError(f"{name} must be a whole number, not {type(value).__name__}")
    try:
        number = index(value)
    except TypeError:
        raise TypeError(f"{name} must be a whole number, not {type(value).__name__}") from None
    if number < 0:
        raise ValueError(f"{name} is {number}, expected 0 or more")
    return number


def _column(value: Any, name: str) -> Doubles:
    return np.ascontiguousarray(as_doubles(value, name)).reshape(-1)


def _numbered(labels: Iterable[Hashable] | None) -> list[int]:
    """Give each different label a number, in order of appearance."""
    if labels is None:
        return []
    listed = list(labels)
    numbers = {label: number for number, label in enumerate(dict.fromkeys(listed))}
    return [numbers[label] for label in listed]


def _truths(value: Any, name: str) -> NDArray[np.bool_]:
    """Return truth values, given as such or as 0 and 1."""
    array = np.asarray(value)
    if array.dtype.kind not in "biu" or (array.dtype.kind != "b" and not np.isin(array, (0, 1)).all()):
        raise TypeError(f"{name} must be true or false, not {array.dtype}")
    return np.ascontiguousarray(array, dtype=np.bool_).reshape(-1)


@dataclass(frozen=True)
class Proportion:
    """
    A share of trials with its interval.

    Attributes
    ----------
    value : float
        Events over trials, 0 to 1.
    low, high : float
        Ends of the two-sided interval.
    status : Status
        sound, or too_few_points without a trial: all are NaN.
    """

    value: float
    low: float
    high: float
    status: Status


def clopper_pearson(*, events: int, trials: int, level: float = 0.95) -> Proportion:
    """
    Give the exact interval of a binomial share.

    It covers at least the level whatever the true share is; without an event its low end is 0, with nothing but events
    its high end is 1.

    Parameters
    ----------
    events, trials : int
        0 <= events <= trials.
    level : float, default 0.95
        Within (0, 1).

    Returns
    -------
    Proportion

    Raises
    ------
    ValueError
        For negative counts, more events than trials, or a level outside (0, 1).

    Notes
    -----
    Source: ``clopper-pearson``. Within 1e-12, relative, of statsmodels' ``proportion_confint``.

    Examples
    --------
    >>> share = clopper_pearson(events=1, trials=29)
    >>> round(share.low, 4), round(share.high, 4)
    (0.0009, 0.1776)
    """
    counts = {"events": _count(events, "events"), "trials": _count(trials, "trials")}
    return Proportion(*_core.clopper_pearson(**counts, level=level))


def wilson(*, events: int, trials: int, level: float = 0.95) -> Proportion:
    """
    Give the interval of a binomial share from its score statistic.

    Shorter than the exact one; covers the level on average over true shares, not at each of them.

    Parameters
    ----------
    events, trials : int
        0 <= events <= trials.
    level : float, default 0.95
        Within (0, 1).

    Returns
    -------
    Proportion

    Raises
    ------
    ValueError
        For negative counts, more events than trials, or a level outside (0, 1).

    Notes
    -----
    Source: ``wilson-score``. Within 1e-13 of scipy's ``binomtest``.

    Examples
    --------
    >>> share = wilson(events=1, trials=29)
    >>> round(share.low, 4), round(share.high, 4)
    (0.0061, 0.1718)
    """
    counts = {"events": _count(events, "events"), "trials": _count(trials, "trials")}
    return Proportion(*_core.wilson(**counts, level=level))


@dataclass(frozen=True)
class BootstrapEstimate:
    """
    A statistic, how it scatters over resampled units, and its interval.

    Attributes
    ----------
    value : float
        Of the sample itself.
    standard_deviation : float
        Of the replicates: the bootstrap's standard uncertainty of the value.
    low, high : float
        Ends of the interval.
    undefined : int
        Replicates without a value, left out.
    replicates : ndarray
        In the order drawn, NaN where undefined.
    status : Status
        few_points: fewer than 30 units or clusters drawn from, or undefined replicates. Without an interval:
        too_few_points (one unit or cluster, no value of the sample, more than half of the replicates undefined) or
        out_of_domain (the bias-corrected interval has no answer).
    """

    value: float
    standard_deviation: float
    low: float
    high: float
    undefined: int
    replicates: Doubles
    status: Status


def bootstrap(
    statistic: Callable[[NDArray[np.uint32]], float | Sequence[float]],
    units: int,
    *,
    clusters: Iterable[Hashable] | None = None,
    replicates: int = 2000,
    level: float = 0.95,
    interval: Literal["percentile", "bias_corrected"] = "percentile",
    seed: int = 1,
    threads: int = 0,
) -> BootstrapEstimate | list[BootstrapEstimate]:
    """
    Resample units, or whole clusters of units, and give an interval of a statistic.

    Parameters
    ----------
    statistic : callable
        Takes how often each unit counts, an array of whole numbers of length ``units``; gives a number, or several.
        NaN says that there is none. A replicate copies no data.
    units : int
        At least 1.
    clusters : iterable, optional
        One label a unit: the depot, say. Units of one label come and go together.
    replicates : int, default 2000
        At least 2.
    level : float, default 0.95
        Within (0, 1).
    interval : {"percentile", "bias_corrected"}, default "percentile"
        Quantiles of the replicates; or the same moved by median bias and acceleration (BCa), which calls the statistic
        once more for each unit or cluster.
    seed : int, default 1
        Same seed, same bits, for any number of threads.
    threads : int, default 0
        0: all cores. A statistic written in Python runs in one at a time.

    Returns
    -------
    BootstrapEstimate, or a list of them where the statistic gives several numbers

    Raises
    ------
    ValueError
        For no unit, one label too many or too few, fewer than 2 replicates, or a level outside (0, 1).

    Notes
    -----
    Sources: ``efron-tibshirani``, ``philox``. At 95 % the interval of a mean of 50 normal values holds the truth in
    94 % of samples, of 20 values in 93 %, of 10 values in 89 %; of skewed values in less
    (tests/power/interval_coverage.py).

    Examples
    --------
    >>> import numpy as np
    >>> ohm = np.array([2.1, 2.4, 1.9, 3.0, 2.2, 2.6])
    >>> found = bootstrap(lambda times: np.average(ohm, weights=times), ohm.size)
    >>> round(found.value, 3), found.low < found.value < found.high, found.status.name
    (2.367, True, 'few_points')
    """
    kinds = {kind.name: kind for kind in _core.BootstrapInterval}
    if interval not in kinds:
        raise ValueError(f"interval is {interval!r}, expected one of {', '.join(kinds)}")
    if not _count(units, "units"):
        raise ValueError("units is 0, expected at least one")
    first = np.asarray(statistic(np.ones(units, dtype=np.uint32)), dtype=np.float64)
    if first.ndim > 1:
        raise ValueError(f"statistic gives an array of {first.ndim} dimensions, expected a number or a row of numbers")
    found = _core.bootstrap(
        lambda times: np.atleast_1d(np.asarray(statistic(times), dtype=np.float64)),
        units=units,
        clusters=_numbered(clusters),
        estimates=first.size,
        replicates=_count(replicates, "replicates"),
        level=level,
        interval=kinds[interval],
        seed=_count(seed, "seed"),
        threads=threads,
    )
    estimates = [BootstrapEstimate(*each) for each in found]
    return estimates if first.ndim else estimates[0]


@dataclass(frozen=True)
class SurvivalStep:
    """
    The curve at one time.

    Attributes
    ----------
    survival : float
        Share that outlives the time.
    standard_uncertainty : float
        By Greenwood; NaN where the curve has reached 0.
    low, high : float
        Ends of the interval; NaN where the curve has reached 0.
    """

    survival: float
    standard_uncertainty: float
    low: float
    high: float


class SurvivalCurve:
    """
    Share of units that outlives each time: steps at the times of failure.

    Attributes
    ----------
    time : ndarray
        Different times of failure, ascending.
    at_risk, failed : ndarray
        Units at risk, and failed, at each.
    survival, standard_uncertainty, low, high : ndarray
        From each time until the next; the last three NaN where the curve has reached 0.
    last_time : float
        Latest ``until``: beyond it nothing was seen.
    status : Status
        few_points: fewer than 10 failures, or the curve reached 0 while others were still to come. too_few_points: no
        failure, no step; ``at`` still gives the low end.
    """

    def __init__(self, raw: _core.SurvivalCurve) -> None:
        self._raw = raw
        self.time = raw.time
        self.at_risk = raw.at_risk
        self.failed = raw.failed
        self.survival = raw.survival
        self.standard_uncertainty = raw.standard_uncertainty
        self.low = raw.low
        self.high = raw.high
        self.last_time = raw.last_time
        self.status = raw.status

    def at(self, time: float) -> SurvivalStep:
        """
        Give the curve at a time.

        Before the first failure it is 1 without a standard uncertainty, and its low end the exact one of n units of
        which none failed, where n counts those watched from the earliest entry until then. NaN beyond ``last_time``.
        """
        return SurvivalStep(*self._raw.at(time))


def _lifetimes(until: Any, failed: Any, entry: Any) -> dict[str, Any]:
    ends = _column(until, "until")
    begins = np.full(ends.size, -np.inf) if entry is None else _column(entry, "entry")
    return {"entry": begins, "until": ends, "failed": _truths(failed, "failed")}


def kaplan_meier(until: Any, *, failed: Any, entry: Any = None, level: float = 0.95) -> SurvivalCurve:
    r"""
    Estimate the share that outlives each time, with units that entered late or left whole.

    Parameters
    ----------
    until : array_like
        When each unit failed, or was last seen whole. Any one unit of time.
    failed : array_like of bool
        True: it failed then. One that leaves whole at a time of failure was at risk there.
    entry : array_like, optional
        From when on each unit was watched, before ``until`` (left truncation). Without it: from the beginning.
    level : float, default 0.95
        Of the pointwise intervals, within (0, 1).

    Returns
    -------
    SurvivalCurve

    Raises
    ------
    ValueError
        For no unit, unequal lengths, a missing time, an entry not before ``until``, or a level outside (0, 1).

    Notes
    -----
    .. math:: S(t) = \prod_{t_i \le t} (1 - d_i / n_i), \quad
       \operatorname{var} \ln S = \sum d_i / (n_i (n_i - d_i))

    The ends are symmetric in ln(-ln S). Source: ``kaplan-meier``. Within 1e-12 of lifelines and statsmodels.

    Examples
    --------
    >>> curve = kaplan_meier([2, 3, 3, 5, 8], failed=[True, True, False, True, False])
    >>> curve.time.tolist(), curve.survival.round(3).tolist()
    ([2.0, 3.0, 5.0], [0.8, 0.6, 0.3])
    >>> round(curve.at(4).survival, 3), curve.status.name
    (0.6, 'few_points')
    """
    return SurvivalCurve(_core.kaplan_meier(**_lifetimes(until, failed, entry), level=level))


@dataclass(frozen=True)
class LogRankGroup:
    """
    One group of a log-rank test.

    Attributes
    ----------
    label : hashable
        As given.
    units, failed : int
        How many there are, and failed.
    expected : float
        Failures if all groups had one curve.
    """

    label: Hashable
    units: int
    failed: int
    expected: float


@dataclass(frozen=True)
class LogRank:
    """
    Whether groups fail alike.

    Attributes
    ----------
    groups : list of LogRankGroup
        In order of appearance.
    chi_squared, degrees_of_freedom, p_value : float
        Of the test that all groups have one curve.
    status : Status
        few_points: fewer than 5 failures expected in a group. too_few_points: one group, no failure, or groups that
        were never at risk together.
    """

    groups: list[LogRankGroup]
    chi_squared: float
    degrees_of_freedom: float
    p_value: float
    status: Status


def log_rank(until: Any, *, failed: Any, groups: Iterable[Hashable], entry: Any = None) -> LogRank:
    """
    Test whether groups fail alike.

    Parameters
    ----------
    until, failed, entry : array_like
        As in `kaplan_meier`.
    groups : iterable
        One label a unit; two groups or more.

    Returns
    -------
    LogRank

    Raises
    ------
    ValueError
        As `kaplan_meier`, or for a label too many or too few.

    Notes
    -----
    Observed less expected failures with their hypergeometric covariance. Source: ``mantel-logrank``. Within 1e-10 of
    lifelines and statsmodels.

    Examples
    --------
    >>> test = log_rank([2, 3, 3, 5, 8, 9], failed=[1, 1, 0, 1, 0, 1], groups=list("aaabbb"))
    >>> round(test.chi_squared, 3), [group.failed for group in test.groups]
    (2.469, [2, 2])
    """
    labels = list(groups)
    names = list(dict.fromkeys(labels))
    found = _core.log_rank(**_lifetimes(until, failed, entry), groups=_numbered(labels))
    rows, chi_squared, degrees_of_freedom, p_value, status = found
    listed = [LogRankGroup(names[number], units, count, expected) for number, units, count, expected in rows]
    return LogRank(listed, chi_squared, degrees_of_freedom, p_value, status)


@dataclass(frozen=True)
class CensoredSample:
    """
    Normal distribution of a sample that is partly known by bounds.

    Attributes
    ----------
    mean, standard_deviation : float
        Of the likelihood; of ln x for `censored_lognormal`. Without bounds divided by n, not by n - 1.
    mean_standard_uncertainty, standard_deviation_standard_uncertainty : float
        From the second derivatives of the likelihood.
    correlation : float
        Of the errors of the two.
    log_likelihood : float
        At its maximum.
    exact, bounded, missing : int
        Counts of observations.
    status : Status
        few_points: fewer than 10 observations. Without a value: too_few_points (none or one), no_solution (one value
        meets all bounds, or they do not fix the scatter). not_converged: the best found.
    """

    mean: float
    standard_deviation: float
    mean_standard_uncertainty: float
    standard_deviation_standard_uncertainty: float
    correlation: float
    log_likelihood: float
    exact: int
    bounded: int
    missing: int
    status: Status


def censored_normal(low: Any, high: Any) -> CensoredSample:
    """
    Fit a normal distribution to values of which some are only known to lie between bounds.

    Parameters
    ----------
    low, high : array_like
        Ends of what is known of each value. Equal: an exact value; -inf or inf: that end is open; NaN: left out.

    Returns
    -------
    CensoredSample

    Raises
    ------
    ValueError
        For no observation, unequal lengths, or a low end above its high end.

    Notes
    -----
    Maximum likelihood by Newton's method where the likelihood is concave. Source: ``olsen-1978``.

    Examples
    --------
    >>> import numpy as np
    >>> fit = censored_normal([1.0, 1.4, 2.2, 3.0], [1.0, 1.4, 2.2, np.inf])
    >>> round(fit.mean, 3), round(fit.standard_deviation, 3), fit.status.name
    (2.031, 0.989, 'few_points')
    """
    return CensoredSample(*_core.censored_normal(low=_column(low, "low"), high=_column(high, "high")))


def censored_lognormal(low: Any, high: Any) -> CensoredSample:
    """
    Fit a lognormal distribution to positive values of which some are only known to lie between bounds.

    Parameters
    ----------
    low, high : array_like
        As in `censored_normal`; a low end of 0 or less is no bound, a high end is above 0.

    Returns
    -------
    CensoredSample
        Mean and standard deviation are those of ln x.

    Raises
    ------
    ValueError
        As `censored_normal`, or for a high end not above 0.

    Notes
    -----
    Source: ``olsen-1978``.

    Examples
    --------
    >>> import numpy as np
    >>> ohm = np.array([0.4e9, 0.9e9, 1.5e9, 2e9, 2e9])  # the last two only "over 2 GOhm"
    >>> fit = censored_lognormal(ohm, np.where(ohm < 2e9, ohm, np.inf))
    >>> fit.exact, fit.bounded, round(float(np.exp(fit.mean)) / 1e9, 2)
    (3, 2, 1.51)
    """
    return CensoredSample(*_core.censored_lognormal(low=_column(low, "low"), high=_column(high, "high")))


@dataclass(frozen=True)
class Component:
    """
    One cause of scatter.

    Attributes
    ----------
    variance : float
        As estimated; below 0 where chance made it so.
    standard_deviation : float
        Its root; 0 where the estimate is negative.
    levels : int
        How many different ones were seen.
    """

    variance: float
    standard_deviation: float
    levels: int


@dataclass(frozen=True)
class TwoWayComponents:
    """
    Scatter of readings split by two causes.

    Attributes
    ----------
    mean, standard_uncertainty : float
        Of all readings; negative variances counted as 0.
    first, second : Component
        Crossed: the two causes. Nested: the outer one, and the inner one within it.
    interaction : Component
        Crossed only, where asked for and where cells repeat; else NaN.
    within : Component
        Of one reading: what no cause explains.
    status : Status
        few_points: a cause with fewer than 4 levels. Without a value: too_few_points (fewer than 2 readings),
        no_solution (the design can not tell the causes apart).
    """

    mean: float
    standard_uncertainty: float
    first: Component
    second: Component
    interaction: Component
    within: Component
    status: Status


def _components(raw: Any) -> TwoWayComponents:
    mean, standard_uncertainty, *causes, status = raw
    first, second, interaction, within = (Component(*cause) for cause in causes)
    return TwoWayComponents(mean, standard_uncertainty, first, second, interaction, within, status)


def nested_components(readings: Any, *, outer: Iterable[Hashable], inner: Iterable[Hashable]) -> TwoWayComponents:
    """
    Split scatter by inner groups within outer ones: readings of a set-up, set-ups of a day.

    One cause alone is `ohmward.uncertainty.variance_components`.

    Parameters
    ----------
    readings : array_like
        NaN is left out.
    outer, inner : iterable
        One label a reading. Unequal numbers are allowed; inner labels may repeat in another outer group.

    Returns
    -------
    TwoWayComponents

    Raises
    ------
    ValueError
        For no reading, or a label too many or too few.

    Notes
    -----
    Sums of squares equal their expectations (Henderson's method I): unbiased for any numbers, the usual analysis of
    variance for equal ones. A negative variance is reported as estimated and leaves the others as they are. Source:
    ``henderson-1953``.

    Examples
    --------
    >>> volt = [1.0, 1.2, 2.0, 2.1, 3.0, 3.1, 5.0, 5.3]
    >>> found = nested_components(volt, outer=list("aaaabbbb"), inner=[1, 1, 2, 2] * 2)
    >>> [round(cause.standard_deviation, 3) for cause in (found.first, found.second, found.within)]
    [1.589, 1.148, 0.137]
    """
    return _components(
        _core.nested_components(_column(readings, "readings"), outer=_numbered(outer), inner=_numbered(inner))
    )


def crossed_components(
    readings: Any, *, first: Iterable[Hashable], second: Iterable[Hashable], interaction: bool = True
) -> TwoWayComponents:
    """
    Split scatter by two causes that meet: operators and meters that read the same parts.

    Parameters
    ----------
    readings : array_like
        NaN is left out.
    first, second : iterable
        One label a reading. Unequal numbers and empty cells are allowed.
    interaction : bool, default True
        Ask for a component of the cell as well. Where no cell has two readings it can not be told from the scatter of
        one reading, which then holds both.

    Returns
    -------
    TwoWayComponents

    Raises
    ------
    ValueError
        For no reading, or a label too many or too few.

    Notes
    -----
    As in `nested_components`. Source: ``henderson-1953``.

    Examples
    --------
    >>> found = crossed_components([1.0, 1.2, 2.0, 2.1, 3.0, 3.4], first=list("aabbcc"), second=list("xyxyxy"))
    >>> [round(cause.standard_deviation, 3) for cause in (found.first, found.second, found.within)]
    [1.049, 0.153, 0.108]
    """
    return _components(
        _core.crossed_components(
            _column(readings, "readings"), first=_numbered(first), second=_numbered(second), interaction=interaction
        )
    )


@dataclass(frozen=True)
class RobustSlope:
    """
    A straight line that wild readings do not move.

    Attributes
    ----------
    slope, low, high : float
        Median of the slopes of all pairs, and its interval by Kendall's statistic.
    intercept : float
        median(y) - slope · median(x), of exact values.
    status : Status
        few_points: below 4 points, or so few that the ends are the outermost slopes and cover less than the level.
        too_few_points: no two different x.
    """

    slope: float
    low: float
    high: float
    intercept: float
    status: Status


def robust_slope(x: Any, y: Any, *, censoring: Any = None, level: float = 0.95) -> RobustSlope:
    """
    Give the median of the slopes of all pairs (Theil, Sen).

    Parameters
    ----------
    x, y : array_like
        Points; those with a NaN are left out.
    censoring : array_like of Censoring, optional
        Of each y: a bound counts in pairs whose order it settles.
    level : float, default 0.95
        Within (0, 1).

    Returns
    -------
    RobustSlope

    Raises
    ------
    ValueError
        For unequal lengths or a level outside (0, 1).

    Notes
    -----
    All slopes are kept and sorted: 4 n² bytes, so 10 000 points take 400 MB and some 7 s. The ends are slopes at ranks
    by the variance of Kendall's statistic with ties in x; ties in y count as none, which never makes the interval too
    short.
    Source: ``sen-1968``. Equals scipy's ``theilslopes`` where no y is tied.

    Examples
    --------
    >>> found = robust_slope([0, 1, 2, 3, 4, 5], [1.0, 3.1, 4.9, 7.0, 90.0, 11.2])
    >>> round(found.slope, 3), found.status.name
    (2.1, 'sound')
    """
    abscissa = _column(x, "x")
    kinds = np.zeros(abscissa.size, dtype=np.int8) if censoring is None else np.asarray(censoring)
    if kinds.dtype.kind not in "iu" or not np.isin(kinds, [int(kind) for kind in Censoring]).all():
        raise ValueError("censoring must be values of Censoring")
    return RobustSlope(
        *_core.robust_slope(abscissa, _column(y, "y"), np.ascontiguousarray(kinds, dtype=np.int8), level=level)
    )
