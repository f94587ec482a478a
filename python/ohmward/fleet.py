"""One part over the years, and like parts against each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ohmward import temperature
from ohmward._core import fleet as _core
from ohmward._core import temperature as _temperature
from ohmward._core.core import Status
from ohmward._quantity import Quantity

__all__ = ["Like", "Trend", "compare_like", "trend"]


@dataclass(frozen=True)
class Trend:
    """
    ln R = level + slope · time, with a step at each repair.

    Attributes
    ----------
    slope_per_year, slope_standard_uncertainty_per_year : float
        Of ln R; -0.69 is halving in a year. The law's constant is one shared term in the uncertainty.
    slope_low_per_year, slope_high_per_year : float
        Interval at the level, with Student's factor: honest with three points.
    robust_slope_per_year, robust_low_per_year, robust_high_per_year : float
        Median of the slopes of pairs, not moved by one wild reading.
    law_share : float
        Share of the slope's variance that the law's constant makes.
    repair_step, repair_step_standard_uncertainty : list of float
        ln(R after / R before), one a repair.
    scatter : float
        Of ln R about the trend, beyond the stated uncertainties.
    crossing_day, expected_crossing_day : float
        First day on which the trend's lower bound, and the trend, lie below the limit; NaN: not within the horizon.
    exact, bounds, left_out : int
        Counts of readings.
    status : Status
        few_points below 6 exact readings; too_few_points: no slope.
    """

    status: Status
    slope_per_year: float
    slope_standard_uncertainty_per_year: float
    slope_low_per_year: float
    slope_high_per_year: float
    robust_slope_per_year: float
    robust_low_per_year: float
    robust_high_per_year: float
    law_share: float
    repair_step: list[float]
    repair_step_standard_uncertainty: list[float]
    scatter: float
    crossing_day: float
    expected_crossing_day: float
    exact: int
    bounds: int
    left_out: int


def trend(
    day: Any,
    resistance: Sequence[Quantity],
    *,
    part_celsius: Any = math.nan,
    standard_uncertainty_kelvin: Any = math.nan,
    after_repair: Any = False,
    law: temperature.Law | None = None,
    lower_limit_ohm: float = math.nan,
    level: float = 0.95,
    horizon_day: float = 3650,
) -> Trend:
    """
    Give the trend of one part, as read or at a law's reference temperature.

    Parameters
    ----------
    day : array_like
        Of each reading, since any origin. [d]
    resistance : sequence of Quantity
        Bounds count as bounds.
    part_celsius, standard_uncertainty_kelvin : float or array_like
        Needed with a law. [°C], [K]
    after_repair : bool or array_like of bool
        The first reading after a repair.
    law : temperature.Law, optional
        Without one the readings are taken as read.
    lower_limit_ohm : float, optional
        At the reference temperature. [Ω]
    level : float, default 0.95
        Of intervals and of the bound that crosses the limit.
    horizon_day : float, default 3650
        No crossing is told beyond it. [d]

    Returns
    -------
    Trend

    Examples
    --------
    >>> from ohmward._quantity import log_quantity
    >>> days = [0, 200, 400, 600, 800, 1000]
    >>> readings = [log_quantity(2e9 * 0.5 ** (d / 365.25) * f, relative_standard_uncertainty=0.05)
    ...             for d, f in zip(days, [1.02, 0.97, 1.01, 0.98, 1.03, 0.99])]
    >>> found = trend(days, readings, lower_limit_ohm=100e6)
    >>> round(found.slope_per_year, 1), found.crossing_day < found.expected_crossing_day
    (-0.7, True)
    """
    days = np.asarray(day, dtype=np.float64)
    celsius, u_kelvin = (
        np.ascontiguousarray(np.broadcast_to(np.asarray(value, dtype=np.float64), days.shape))
        for value in (part_celsius, standard_uncertainty_kelvin)
    )
    repaired = np.ascontiguousarray(np.broadcast_to(np.asarray(after_repair, dtype=np.bool_), days.shape))
    if days.shape != (len(resistance),):
        raise ValueError("day and resistance have different lengths")
    found = _core.trend(
        np.ascontiguousarray(days),
        [q.fields() for q in resistance],
        celsius,
        u_kelvin,
        repaired,
        law=_temperature.Law() if law is None else law._law,
        reference_celsius=math.nan if law is None else law.reference_celsius,
        lower_limit_ohm=lower_limit_ohm,
        level=level,
        horizon_day=horizon_day,
    )
    return Trend(**{**found, "status": Status(found["status"])})


@dataclass(frozen=True)
class Like:
    """
    One of several like readings against the rest.

    Attributes
    ----------
    ratio, standard_uncertainty : float
        To the median of all, of two to the other; u of ln(ratio).
    stands_out : bool
        Outside the factor by more than two standard uncertainties; a bound only where it says so.
    status : Status
        few_points of two.
    """

    ratio: float
    standard_uncertainty: float
    stands_out: bool
    status: Status


def compare_like(readings: Sequence[Quantity], *, factor: float = 3) -> list[Like]:
    """
    Compare phases or like parts with each other.

    Parameters
    ----------
    readings : sequence of Quantity
        On the log scale.
    factor : float, default 3
        Ratio to the median that counts; a setting without a source.

    Examples
    --------
    >>> from ohmward._quantity import log_quantity
    >>> phases = [log_quantity(ohm, relative_standard_uncertainty=0.05) for ohm in (2e9, 1.8e9, 0.1e9)]
    >>> [one.stands_out for one in compare_like(phases)]
    [False, False, True]
    """
    found = _core.compare_like([q.fields() for q in readings], factor=factor)
    return [Like(ratio, u, stands_out, Status(status)) for ratio, u, stands_out, status in found]
