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
from ohmward._core.core import Status

__all__ = [
    "BootstrapEstimate",
    "Proportion",
    "bootstrap",
    "clopper_pearson",
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
    Source: ``clopper-pearson``. Within 1e-12 of scipy's ``binomtest``.

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
        few_points: fewer than 20 units or clusters drawn from, or undefined replicates. Without an interval:
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
    Sources: ``efron-tibshirani``, ``philox``. How often the intervals hold the truth is printed by
    tests/power/interval_coverage.py.

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
