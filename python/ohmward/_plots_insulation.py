"""Pictures of insulation in time: a run, its forecast, a step test, a trend. Each takes ``ax=`` and returns it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from ohmward._core.core import Censoring
from ohmward._plot_ground import axes_or_new, si_axis

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from ohmward._quantity import Quantity
    from ohmward.fleet import Change, Trend
    from ohmward.insulation import AbsorptionFit, Forecast, SettlingState, Steps, TimedRun

__all__ = ["forecast_fan", "run_in_time", "step_test", "trend_of_part"]

_BLUE, _ORANGE, _GREY, _INK = "#0072B2", "#D55E00", "#999999", "#222222"
_BOUND_MARKERS = {Censoring.above: "^", Censoring.below: "v"}


def _bare(ax: Axes) -> None:
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)


def _si_log_axis(axis: Any, unit: str) -> None:
    from matplotlib.ticker import LogLocator, NullFormatter

    si_axis(axis, unit)
    axis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axis.set_minor_formatter(NullFormatter())


def _readings(ax: Axes, run: TimedRun, volt: float | None) -> None:
    time, ohm, censoring = run.usable
    shown = ohm if volt is None else volt / ohm
    exact = censoring == Censoring.exact
    ax.plot(time[exact], shown[exact], linestyle="none", marker="o", markersize=3.5, color=_BLUE, label="read")
    for kind, marker in _BOUND_MARKERS.items():
        bound = censoring == kind
        if not np.any(bound):
            continue
        turned = marker if volt is None else {"^": "v", "v": "^"}[marker]
        label = "over range: at least" if kind == Censoring.above else "below: at most"
        ax.plot(time[bound], shown[bound], linestyle="none", marker=turned, color=_ORANGE, label=label)


def run_in_time(
    run: TimedRun,
    *,
    show: Literal["resistance", "current"] = "resistance",
    test_voltage_volt: float = math.nan,
    settling: SettlingState | None = None,
    fit: AbsorptionFit | None = None,
    ax: Axes | None = None,
) -> Axes:
    """
    Draw R(t) or I(t), both axes logarithmic, with the window in which this part can tell anything.

    Parameters
    ----------
    run : TimedRun
        The readings; bounds are arrows.
    show : {"resistance", "current"}, default "resistance"
        Current needs ``test_voltage_volt``.
    test_voltage_volt : float, optional
        [V]
    settling : SettlingState, optional
        From `TimedRun.settled`, with the part's capacitance: shades what lies outside the window.
    fit : AbsorptionFit, optional
        Its curve.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> from ohmward import insulation
    >>> run = insulation.TimedRun(time_second=[10, 20, 40, 60], resistance_ohm=[1e9, 1.2e9, 1.4e9, 1.5e9])
    >>> run_in_time(run, settling=run.settled(capacitance_farad=10e-9)).get_xlabel()
    'time since the voltage was on'
    """
    if show == "current" and not test_voltage_volt > 0:
        raise ValueError(f"test_voltage_volt is {test_voltage_volt}, expected above 0 for a current")
    ax = axes_or_new(ax, width=6.4, height=3.8)
    volt = test_voltage_volt if show == "current" else None
    _readings(ax, run, volt)
    time, _, _ = run.usable
    if fit is not None and fit.status >= 0 and time.size:
        at = np.geomspace(time[0], time[-1], 200)
        ohm = fit.resistance_ohm(at)
        name = fit.model.name.replace("_", " ")
        ax.plot(at, ohm if volt is None else volt / ohm, color=_INK, linewidth=1, label=f"fit: {name}")
    ax.set_xscale("log")
    ax.set_yscale("log")
    if settling is not None and time.size:
        _shade_outside_window(ax, settling, float(time[0]), float(time[-1]))
    ax.set_xlabel("time since the voltage was on")
    ax.set_ylabel("insulation resistance" if volt is None else "current")
    _si_log_axis(ax.xaxis, "s")
    _si_log_axis(ax.yaxis, "Ω" if volt is None else "A")
    ax.legend(frameon=False, fontsize="small")
    _bare(ax)
    return ax


def _shade_outside_window(ax: Axes, settling: SettlingState, first: float, last: float) -> None:
    start, end = settling.charging_until_second, settling.absorption_until_second
    low, high = first / 1.2, last * 1.2
    if start > low:
        ax.axvspan(low, min(start, high), color=_GREY, alpha=0.25, linewidth=0, label="charging")
    if end < high:
        label = "nothing more to learn on this part"
        ax.axvspan(max(end, low), high, color=_GREY, alpha=0.25, linewidth=0, hatch="//", label=label)
    ax.set_xlim(low, high)


def forecast_fan(
    run: TimedRun,
    forecasts: Sequence[tuple[float, Forecast]],
    *,
    late_second: float = 600,
    early_second: float = 60,
    limit: float = math.nan,
    ax: Axes | None = None,
) -> Axes:
    """
    Draw forecasts of one ratio from growing parts of a run, against what the whole run showed.

    Parameters
    ----------
    run : TimedRun
        The whole run; where it reaches ``late_second`` its ratio is drawn as a line.
    forecasts : sequence of (second, Forecast)
        How much of the run each one saw. [s]
    late_second, early_second : float
        The two times. [s]
    limit : float, optional
        Of the ratio.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> import numpy as np
    >>> from ohmward import insulation
    >>> t = np.arange(5.0, 601, 5)
    >>> run = insulation.TimedRun(time_second=t, resistance_ohm=1e9 * (t / 60) ** 0.3)
    >>> seen = [(s, run.first(s).forecast(mode="compact")) for s in (90, 180)]
    >>> forecast_fan(run, seen, limit=2).get_ylabel()
    'R(600 s) / R(60 s)'
    """
    ax = axes_or_new(ax, width=6.4, height=3.6)
    told = [(second, f) for second, f in forecasts if f.status >= 0]
    if told:
        second = np.array([s for s, _ in told])
        value, low, high = (np.array([getattr(f, name) for _, f in told]) for name in ("value", "low", "high"))
        ax.fill_between(second, low, high, color=_BLUE, alpha=0.2, linewidth=0)
        ax.errorbar(
            second, value, yerr=[value - low, high - value], color=_BLUE, marker="o", capsize=3, label="forecast"
        )
    whole = run.ratio(late_second=late_second, early_second=early_second)
    if whole.status >= 0:
        ax.axhline(whole.value, color=_INK, linewidth=1, label=f"whole run: {whole}")
    if not math.isnan(limit):
        ax.axhline(limit, color=_ORANGE, linestyle="--", linewidth=1, label=f"limit {limit:g}")
    ax.set_yscale("log")
    ax.set_xlabel("readings up to")
    ax.set_ylabel(f"R({late_second:g} s) / R({early_second:g} s)")
    si_axis(ax.xaxis, "s")
    _plain_log_ticks(ax)
    ax.legend(frameon=False, fontsize="small")
    _bare(ax)
    return ax


def _plain_log_ticks(ax: Axes) -> None:
    from matplotlib.ticker import LogLocator, NullFormatter, ScalarFormatter

    ax.yaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 3.0, 5.0)))
    ax.yaxis.set_major_formatter(ScalarFormatter())
    ax.yaxis.set_minor_formatter(NullFormatter())


def step_test(applied_volt: Any, resistance_ohm: Any, found: Steps, *, ax: Axes | None = None) -> Axes:
    """
    Draw current against voltage of a step test, with its line.

    Parameters
    ----------
    applied_volt, resistance_ohm : array_like
        As given to `insulation.steps`. [V], [Ω]
    found : Steps
        Its result.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> from ohmward import insulation
    >>> volt, ohm = [250, 500, 1000], [900e6, 700e6, 500e6]
    >>> found = insulation.steps(applied_volt=volt, resistance_ohm=ohm, relative_standard_uncertainty=0.03)
    >>> step_test(volt, ohm, found).get_title(loc="left")
    'the resistance falls with voltage; no straight line'
    """
    ax = axes_or_new(ax, width=5.2, height=3.6)
    volt, ohm = np.asarray(applied_volt, dtype=np.float64), np.asarray(resistance_ohm, dtype=np.float64)
    ax.plot(volt, volt / ohm, linestyle="none", marker="o", color=_BLUE, label="read")
    if found.status >= 0:
        at = np.array([0, float(np.nanmax(volt))])
        ax.plot(at, found.offset_ampere + found.conductance_siemens * at, color=_INK, linewidth=1, label="line")
    said = [
        text
        for text, holds in (("the resistance falls with voltage", found.falls), ("no straight line", found.bends))
        if holds
    ]
    ax.set_title("; ".join(said), fontsize="medium", loc="left")
    ax.set_xlabel("applied voltage")
    ax.set_ylabel("current")
    si_axis(ax.xaxis, "V")
    si_axis(ax.yaxis, "A")
    ax.legend(frameon=False, fontsize="small")
    _bare(ax)
    return ax


def trend_of_part(
    day: Any,
    resistance: Sequence[Quantity],
    found: Trend,
    *,
    change: Change | None = None,
    lower_limit_ohm: float = math.nan,
    label: str = "insulation resistance",
    unit: str = "Ω",
    ax: Axes | None = None,
) -> Axes:
    """
    Draw one part over the years: readings with intervals, bounds as arrows, the limit, and when it may be reached.

    Parameters
    ----------
    day : array_like
        Of each reading. [d]
    resistance : sequence of Quantity
        As read, or corrected.
    found : Trend
        From `fleet.trend`.
    change : Change, optional
        From `fleet.find_change`: where one was found, an arrow from the old height to the new.
    lower_limit_ohm : float, optional
        [Ω]
    label, unit : str
        Of the axis; a ratio has the unit "".
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> from ohmward import fleet
    >>> from ohmward._quantity import log_quantity
    >>> days = [0, 200, 400, 600, 800, 1000]
    >>> readings = [log_quantity(2e9 * 0.6 ** (d / 365), relative_standard_uncertainty=0.05) for d in days]
    >>> trend_of_part(days, readings, fleet.trend(days, readings)).get_ylabel()
    'insulation resistance'
    """
    ax = axes_or_new(ax, width=6.4, height=3.6)
    days = np.asarray(day, dtype=np.float64)
    for at, q in zip(days, resistance, strict=True):
        if q.status < 0:
            continue
        marker = _BOUND_MARKERS.get(q.censoring, "o")
        low, high = (q.value * math.exp(sign * 2 * q.standard_uncertainty) for sign in (-1, 1))
        colour = _BLUE if q.censoring == Censoring.exact else _ORANGE
        ax.plot([at, at], [low, high], color=colour, linewidth=1)
        ax.plot(at, q.value, marker=marker, color=colour)
    if change is not None and change.kind != 0 and days.size:
        _change_arrow(ax, days, resistance, change)
    if not math.isnan(lower_limit_ohm):
        ax.axhline(lower_limit_ohm, color=_ORANGE, linestyle="--", linewidth=1, label="limit")
    for when, text, style in (
        (found.crossing_day, "lower bound reaches the limit", ":"),
        (found.expected_crossing_day, "trend reaches the limit", "-."),
    ):
        if not math.isnan(when):
            ax.axvline(when, color=_INK, linestyle=style, linewidth=1, label=text)
    if found.status >= 0:
        low, high = (100 * (math.exp(x) - 1) for x in (found.slope_low_per_year, found.slope_high_per_year))
        ax.set_title(f"change in a year: between {low:+.0f} % and {high:+.0f} %", fontsize="medium", loc="left")
    ax.set_yscale("log")
    ax.set_xlabel("day")
    ax.set_ylabel(label)
    if unit:
        _si_log_axis(ax.yaxis, unit)
    else:
        _plain_log_ticks(ax)
    if ax.get_legend_handles_labels()[0]:
        ax.legend(frameon=False, fontsize="small")
    _bare(ax)
    return ax


def _change_arrow(ax: Axes, days: Any, resistance: Sequence[Quantity], change: Change) -> None:
    """An arrow of the size that was found: upright at a step, along the record otherwise; its words at the tip."""
    if not math.isfinite(change.ln_ratio):
        return
    is_step = change.kind.name == "step"
    before = [
        math.log(q.value)
        for at, q in zip(days, resistance, strict=True)
        if q.status >= 0 and (at < change.from_day or not is_step)
    ]
    ln = float(np.median(before)) if is_step else before[0]
    start, end = (change.from_day, change.from_day) if is_step else (float(days[0]), float(days[-1]))
    words = f"{change.kind.name}: to {100 * math.exp(change.ln_ratio):.3g} %"
    ax.annotate(
        "",
        xy=(end, math.exp(ln + change.ln_ratio)),
        xytext=(start, math.exp(ln)),
        arrowprops={"arrowstyle": "->", "color": _INK, "linewidth": 1.2},
    )
    ax.annotate(words, xy=(0.98, 0.97), xycoords="axes fraction", ha="right", va="top", fontsize="small")
