"""One part over the years, and like parts against each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmward import insulation, temperature
from ohmward._core import fleet as _core
from ohmward._core import temperature as _temperature
from ohmward._core.core import Censoring, Status, status_text
from ohmward._core.fleet import ChangeDirection, ChangeKind
from ohmward._histories import History, histories
from ohmward._quantity import Fields, Quantity

__all__ = [
    "BeforeAfter",
    "Change",
    "ChangeKind",
    "History",
    "Like",
    "LikeScatter",
    "Trend",
    "at_like_temperature",
    "before_after",
    "compare_like",
    "find_change",
    "histories",
    "law_of_like",
    "like_scatter",
    "trend",
    "trend_of",
]


@dataclass(frozen=True)
class LikeScatter:
    """
    How much like parts scatter from day to day about their own trends.

    Attributes
    ----------
    scatter : float
        Standard deviation of ln R, beyond the stated uncertainties.
    degrees_of_freedom : float
        How many of a part's own it is worth. 0: not known.
    """

    scatter: float = math.nan
    degrees_of_freedom: float = 0.0


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
    scatter, degrees_of_freedom : float
        Of ln R about the trend, beyond the stated uncertainties; what the intervals rest on.
    level_day, level_ohm : float
        Day of the last reading, and the trend's height there, after all repairs. [d], [Ω]
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
    degrees_of_freedom: float
    level_day: float
    level_ohm: float
    crossing_day: float
    expected_crossing_day: float
    exact: int
    bounds: int
    left_out: int

    @property
    def reason(self) -> str:
        """Why there is no trend, or what is doubtful about it, in words."""
        return "" if self.status == Status.sound else status_text(int(self.status))


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
    like: LikeScatter | None = None,
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
    like : LikeScatter, optional
        From `like_scatter`: a part with few readings borrows the scatter of its like.

    Returns
    -------
    Trend

    Notes
    -----
    Maximum likelihood with bounds as bounds. The law's constant is one unknown for all readings, so its error follows
    the season of the temperatures and enters the slope as one shared term. With ``like`` the variance is
    :math:`(d_0 s_0^2 + d s^2)/(d_0 + d)` on :math:`d_0 + d` degrees of freedom (source ``moderated-variance``).

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
    days = np.ascontiguousarray(np.asarray(day, dtype=np.float64))
    celsius, u_kelvin = (
        np.ascontiguousarray(np.broadcast_to(np.asarray(value, dtype=np.float64), days.shape))
        for value in (part_celsius, standard_uncertainty_kelvin)
    )
    repaired = np.ascontiguousarray(np.broadcast_to(np.asarray(after_repair, dtype=np.bool_), days.shape))
    if days.shape != (len(resistance),):
        raise ValueError("day and resistance have different lengths")
    return _trend(
        (days, [q.fields() for q in resistance], celsius, u_kelvin, repaired),
        law=law,
        lower_limit_ohm=lower_limit_ohm,
        level=level,
        horizon_day=horizon_day,
        like=like,
    )


def trend_of(
    history: History,
    *,
    law: temperature.Law | None = None,
    lower_limit_ohm: float = math.nan,
    level: float = 0.95,
    horizon_day: float = 3650,
    like: LikeScatter | None = None,
) -> Trend:
    """
    Give the trend of a history from `histories`; arguments as `trend`.

    Examples
    --------
    >>> import ohmward as ow
    >>> ratios = histories(ow.assess(ow.demo()), quantity="insulation_ratio")
    >>> falling = trend_of(ratios["PRESS-1", "winding"])
    >>> round(falling.slope_per_year, 2), falling.slope_high_per_year < 0
    (-0.43, True)
    """
    return _trend(
        history.fields(), law=law, lower_limit_ohm=lower_limit_ohm, level=level, horizon_day=horizon_day, like=like
    )


_Columns = tuple[
    NDArray[np.float64], list[Fields], NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]
]  # as History.fields


def _law(law: temperature.Law | None) -> tuple[_temperature.Law, float]:
    return (_temperature.Law(), math.nan) if law is None else (law._law, law.reference_celsius)


def _trend(
    columns: _Columns,
    *,
    law: temperature.Law | None,
    lower_limit_ohm: float,
    level: float,
    horizon_day: float,
    like: LikeScatter | None,
) -> Trend:
    raw, reference_celsius = _law(law)
    known = like or LikeScatter()
    found = _core.trend(
        *columns,
        law=raw,
        reference_celsius=reference_celsius,
        lower_limit_ohm=lower_limit_ohm,
        level=level,
        horizon_day=horizon_day,
        like_scatter=known.scatter,
        like_degrees_of_freedom=known.degrees_of_freedom,
    )
    return Trend(**{**found, "status": Status(found["status"])})


def like_scatter(parts: Sequence[History], *, law: temperature.Law | None = None) -> LikeScatter:
    """
    Find the scatter that like parts have in common, from each part's own trend.

    Parameters
    ----------
    parts : sequence of History
        Of like parts; those without a degree of freedom do not count. At least 3 must.
    law : temperature.Law, optional
        As in `trend`.

    Returns
    -------
    LikeScatter
        At least 0.2 of ln R, worth 8 degrees of freedom: settings without a source, chosen by
        ``tests/power/trend_power.py``. Not known (0 degrees of freedom) from fewer than 3 parts.

    Notes
    -----
    The most likely :math:`s_0` where the parts' variances are :math:`s_0^2 F(d, d_0)` and one part in five holds an odd
    reading; source ``moderated-variance``.

    Examples
    --------
    >>> import ohmward as ow
    >>> sides = histories(ow.assess(ow.demo()), part="load_side")
    >>> like = like_scatter(list(sides.values()))
    >>> 0.2 <= like.scatter < 0.5, like.degrees_of_freedom
    (True, 8.0)
    """
    raw, reference_celsius = _law(law)
    scatter, freedom = _core.like_scatter(
        [part.fields() for part in parts], law=raw, reference_celsius=reference_celsius
    )
    return LikeScatter(scatter, freedom)


def _known_celsius(parts: Sequence[History]) -> NDArray[np.float64]:
    return np.concatenate([part.part_celsius[~np.isnan(part.part_celsius)] for part in parts])


def _about_own_mean(part: History) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
    """Ln R and temperature of one part about their means; what is a factor of 4 off the part's median stays out."""
    exact = np.array([q.censoring == Censoring.exact for q in part.resistance], dtype=np.bool_)
    known = exact & ~np.isnan(part.part_celsius)
    if known.sum() < 2:
        return None
    y, celsius = np.log([q.value for q in part.resistance])[known], part.part_celsius[known]
    near = np.abs(y - np.median(y)) < math.log(4)
    y, celsius = y[near], celsius[near]
    if y.size < 2:
        return None
    share = math.sqrt(y.size / (y.size - 1))  # one level a part costs a degree of freedom of it
    return share * (y - y.mean()), share * (celsius - celsius.mean())


def law_of_like(parts: Sequence[History], *, kind: str = "halving") -> temperature.LawFit:
    """
    Find how like parts follow their temperature, from each part's own readings about its own mean.

    Parameters
    ----------
    parts : sequence of History
        Of like parts; readings without a temperature do not count, nor those off their part's median by a factor of 4.
    kind : {"halving", "arrhenius"}, default "halving"
        Which law.

    Returns
    -------
    temperature.LawFit
        "No law holds" is an answer. Good for comparing a part with itself; for a limit only where it allows a law.

    Examples
    --------
    >>> import ohmward as ow
    >>> motors = histories(ow.assess(ow.demo()), part="motor_rear")
    >>> fit = law_of_like(list(motors.values()))
    >>> fit.reason.name, 5 < fit.constant < 40
    ('fitted', True)
    """
    about = [found for found in (_about_own_mean(part) for part in parts) if found is not None]
    if not about:
        return temperature.fit_law([], [], kind=kind)
    y, at = (np.concatenate([found[i] for found in about]) for i in (0, 1))
    middle = float(np.mean(_known_celsius(parts)))
    slope = float(np.sum(y * at) / np.sum(at * at)) if np.any(at != 0) else 0.0
    scatter = float(np.sqrt(np.mean((y - slope * at) ** 2)))
    readings = [insulation.log_quantity(math.exp(value), relative_standard_uncertainty=scatter) for value in y]
    return temperature.fit_law(readings, middle + at, standard_uncertainty_kelvin=0.0, kind=kind)


def at_like_temperature(
    parts: Sequence[History], *, kind: str = "halving"
) -> tuple[temperature.Law | None, list[History]]:
    """
    Make histories of like parts comparable in temperature, where a law holds among them.

    Parameters
    ----------
    parts : sequence of History
        Of like parts.
    kind : {"halving", "arrhenius"}, default "halving"
        Which law is looked for, by `law_of_like`.

    Returns
    -------
    law : temperature.Law or None
        Referring to the mean of the temperatures that are known; None where no law holds: compare as read.
    histories : list of History
        Where a temperature is not known that mean stands in its place, with the spread of the known ones as its
        standard uncertainty.

    Examples
    --------
    >>> import ohmward as ow
    >>> sides = list(histories(ow.assess(ow.demo()), part="load_side").values())
    >>> law, comparable = at_like_temperature(sides)
    >>> any(np.isnan(side.part_celsius).any() for side in comparable)
    False
    """
    fit = law_of_like(parts, kind=kind)
    if fit.status < 0:
        return None, list(parts)
    known = _known_celsius(parts)
    middle, spread = float(known.mean()), float(known.std(ddof=1))
    return fit.law(reference_celsius=middle), [part.with_celsius(middle, spread) for part in parts]


@dataclass(frozen=True)
class Change:
    """
    The most plausible change of one part.

    Attributes
    ----------
    kind : ChangeKind
        none, steady, growing (more from reading to reading), or step from one reading on.
    status : Status
        few_points below 6 exact readings; too_few_points: nothing can be said.
    probability : float
        That a part without a change shows as much, all that was tried counted.
    ln_ratio, standard_uncertainty : float
        ln of the step, or from the first reading to the last.
    from_day : float
        First reading at the new level; the first of all for a steady change. [d]
    scatter, degrees_of_freedom : float
        Of ln R about it.
    tried, odd : int
        Alternatives that were weighed; readings alone far off both neighbours, left out.
    """

    kind: ChangeKind
    status: Status
    probability: float
    ln_ratio: float
    standard_uncertainty: float
    from_day: float
    scatter: float
    degrees_of_freedom: float
    tried: int
    odd: int


def find_change(
    history: History,
    *,
    law: temperature.Law | None = None,
    false_rate: float = 0.01,
    direction: str = "fall",
    like: LikeScatter | None = None,
) -> Change:
    """
    Tell whether a part changed, steadily or from one reading on.

    Parameters
    ----------
    history : History
        From `histories`.
    law : temperature.Law, optional
        Without one the readings are taken as read.
    false_rate : float, default 0.01
        Of naming a part that did not change.
    direction : {"fall", "rise", "either"}, default "fall"
        Which change is looked for.
    like : LikeScatter, optional
        From `like_scatter`.

    Returns
    -------
    Change

    Notes
    -----
    Each alternative is weighed against no change by the likelihood ratio, bounds counting as bounds, with Student's
    tail; the least probability is corrected for the number tried. Measured on depots made anew: see DEVELOPERS.md.

    Examples
    --------
    >>> import ohmward as ow
    >>> ratios = histories(ow.assess(ow.demo()), quantity="insulation_ratio")
    >>> [key[0] for key, history in ratios.items() if find_change(history).kind != ChangeKind.none]
    ['PRESS-1']
    """
    if direction not in ChangeDirection.__members__:
        raise ValueError(f"direction is {direction!r}, expected one of {', '.join(ChangeDirection.__members__)}")
    if not 0 < false_rate < 1:
        raise ValueError(f"false_rate is {false_rate}, expected within 0 and 1")
    raw, reference_celsius = _law(law)
    known = like or LikeScatter()
    found = _core.find_change(
        *history.fields(),
        law=raw,
        reference_celsius=reference_celsius,
        false_rate=false_rate,
        direction=ChangeDirection[direction],
        like_scatter=known.scatter,
        like_degrees_of_freedom=known.degrees_of_freedom,
    )
    return Change(**{**found, "kind": ChangeKind(found["kind"]), "status": Status(found["status"])})


@dataclass(frozen=True)
class BeforeAfter:
    """
    Two readings of one part, before and after something was done.

    Attributes
    ----------
    ratio : Quantity
        R(after)/R(before); a bound where one was over range.
    low, high : float
        Two standard uncertainties of ln(ratio); open where only a bound is known.
    said : {"rose", "fell", "no difference shown"}
        Beyond that interval.
    """

    ratio: Quantity
    low: float
    high: float
    said: str


def before_after(
    before: Quantity, after: Quantity, *, same_range: bool = True, repeat_standard_uncertainty: float = 0.0
) -> BeforeAfter:
    """
    Compare a part before and after drying, cleaning or repair.

    Parameters
    ----------
    before, after : Quantity
        On the log scale; bounds make bounds.
    same_range : bool, default True
        Both on one range of one meter: its common gain cancels.
    repeat_standard_uncertainty : float, default 0
        Of ln R, from one reading of this part to the next though nothing was done: 0.05 within the hour, the scatter
        of `like_scatter` between days.

    Returns
    -------
    BeforeAfter

    Examples
    --------
    >>> wet = insulation.log_quantity(1.2e6, relative_standard_uncertainty=0.03)
    >>> dry = insulation.log_quantity(85e6, relative_standard_uncertainty=0.03)
    >>> found = before_after(wet, dry, repeat_standard_uncertainty=0.05)
    >>> found.said, round(found.low), round(found.high)
    ('rose', 60, 84)
    """
    ratio = insulation.ratio(late=after, early=before, same_range=same_range)
    repeat = math.sqrt(2) * repeat_standard_uncertainty
    parts = {**ratio.parts, "repeat": math.hypot(ratio.parts.get("repeat", 0.0), repeat)}
    ratio = Quantity(ratio.value, True, ratio.censoring, ratio.status, parts, ratio.degrees_of_freedom)
    if ratio.status < 0:
        return BeforeAfter(ratio, math.nan, math.nan, "no difference shown")
    factor = math.exp(2 * ratio.standard_uncertainty)
    low = 0.0 if ratio.censoring == Censoring.below else ratio.value / factor
    high = math.inf if ratio.censoring == Censoring.above else ratio.value * factor
    return BeforeAfter(ratio, low, high, "rose" if low > 1 else "fell" if high < 1 else "no difference shown")


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
