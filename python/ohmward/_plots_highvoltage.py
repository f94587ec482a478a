"""Pictures of a job: its chain of links, the unplug ladder, a discharge. Each takes ``ax=`` and returns it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ohmward._marks import BLACK, BLUE, GREY, VERMILLION
from ohmward._plot_ground import axes_or_new, si_axis, written
from ohmward._report_job import LINK_MARKS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from ohmward.highvoltage import Decay, Leak
    from ohmward.record import Record

__all__ = ["chain", "decay", "ladder"]


def chain(record: Record, *, ax: Axes | None = None) -> Axes:
    """
    Draw the links of a job as a list in their order: state by mark and word, what was written, why it is open.

    Parameters
    ----------
    record : Record
        By :func:`ohmward.record.judge`.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> from ohmward import _datasets, record
    >>> judged = record.judge(_datasets.path("jobs", "source_after_missing.toml"))
    >>> axes = chain(judged)
    >>> len(axes.texts) > 0
    True
    """
    ax = axes_or_new(ax, width=10.5, height=0.28 * len(record.links) + 0.8)
    ax.plot([0, 0], [0, len(record.links) - 1], color=GREY, linewidth=0.8, zorder=1)
    for place, link in enumerate(record.links):
        mark = LINK_MARKS[link.state]
        face = mark.colour if mark.filled else "white"
        ax.plot(0, place, marker=mark.marker, color=mark.colour, markerfacecolor=face, linestyle="none", zorder=2)
        weight = "bold" if link.needs_attention else "normal"
        ax.text(0.03, place, written(link.title), va="center", fontsize="small", fontweight=weight, parse_math=False)
        ax.text(0.58, place, written(link.shown), va="center", fontsize="small", parse_math=False)
        # What made a reading void says more than that it is void; of a missed limit the limit itself.
        why = link.because if link.state == "void" and link.because else link.cause
        why = link.limit if link.state == "limit missed" and link.limit else why
        said = f"{link.state}: {why}" if link.cause else link.state
        ax.text(0.72, place, written(said), va="center", fontsize="small", color=BLACK, parse_math=False)
    ax.set(xlim=(-0.02, 1.3), ylim=(len(record.links) - 0.4, -0.6))
    ax.set_title(
        written(f"{record.job.job_id}, {record.job.object_id}: {record.completeness}, {record.conformity}"),
        loc="left", fontsize="medium", parse_math=False,
    )  # fmt: skip
    ax.set_axis_off()
    return ax


def _ends(leak: Leak, largest: float) -> tuple[float, float]:
    """Interval as it fits into the picture; an open end goes to its edge."""
    low, high = leak.interval
    return low, high if math.isfinite(high) else largest


def ladder(found: dict[str, Any], readings_ohm: Sequence[float] | None = None, *, ax: Axes | None = None) -> Axes:
    """
    Draw the unplug ladder: the leak of each removed part with its interval, what is still open as an arrow.

    Parameters
    ----------
    found : dict
        By :func:`ohmward.highvoltage.unplug_ladder`.
    readings_ohm : sequence of float, optional
        The readings between which the parts were removed; drawn as a step line. [Ω]
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> from ohmward import highvoltage
    >>> readings = [420e3, 430e3, 2.4e6, 2.5e6]
    >>> found = highvoltage.unplug_ladder(["heater", "compressor", "charger"], readings,
    ...                                   relative_standard_uncertainty=0.02)
    >>> axes = ladder(found, readings)
    >>> [text.get_text() for text in axes.get_yticklabels()]
    ['heater', 'compressor', 'charger']
    """
    leaks: list[Leak] = found["leaks"]
    ax = axes_or_new(ax, width=7.5, height=0.5 * len(leaks) + 1.4)
    finite = [x for leak in leaks for x in (*leak.interval, leak.ohm) if math.isfinite(x) and x > 0]
    shown = finite + [x for x in readings_ohm or () if math.isfinite(x)]
    if not shown:
        raise ValueError("the ladder has no leak with a value or a bound")
    edge = max(shown) * 3
    for place, leak in enumerate(leaks):
        if math.isnan(leak.interval[0]):
            ax.text(min(shown), place, " no interval", va="center", fontsize="small", color=GREY)
            continue
        low, high = _ends(leak, edge)
        largest = found["parts"][place] == found["largest"]
        ax.plot([low, high], [place, place], color=VERMILLION if largest else BLUE, linewidth=3 if largest else 1.5)
        if not math.isfinite(leak.interval[1]):
            ax.plot(high, place, marker=">", color=BLUE, linestyle="none")
        if math.isfinite(leak.ohm):
            ax.plot(
                leak.ohm, place, marker="D" if largest else "o", color=VERMILLION if largest else BLUE, linestyle="none"
            )
        ax.text(edge * 1.15, place, _remark(leak, largest), va="center", fontsize="small")
    if readings_ohm is not None:
        places = np.arange(len(readings_ohm)) - 0.5
        ax.plot(list(readings_ohm), places, color=GREY, linewidth=0.8, marker="|", label="reading of the whole")
        ax.legend(frameon=False, fontsize="small", loc="lower left", bbox_to_anchor=(0, 1))
    ax.set_xscale("log")
    ax.set_xlim(right=edge * 1.05)
    ax.set_yticks(range(len(leaks)), [written(name) for name in found["parts"]], parse_math=False)
    ax.set_ylim(len(leaks) - 0.3, -0.7)
    ax.set_xlabel("leak of the removed part, 95 % interval")
    si_axis(ax.xaxis, "Ω")
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    return ax


def _remark(leak: Leak, largest: bool) -> str:
    if leak.status < 0:
        return "not this part, or something changed"
    share = f"{100 * leak.share:.0f} % of the leakage before" if math.isfinite(leak.share) else "a bound"
    return f"{share}, the most" if largest else share


def decay(
    time_second: Sequence[float],
    volt: Sequence[float],
    fit: Decay,
    *,
    standard_uncertainty_volt: float | Sequence[float] | None = None,
    threshold_volt: float = 60.0,
    ax: Axes | None = None,
) -> Axes:
    """
    Draw a discharge: readings, fitted line, threshold and the interval in which it is crossed.

    Parameters
    ----------
    time_second, volt : sequence of float
        The readings. [s], [V]
    fit : Decay
        By :func:`ohmward.highvoltage.fit_decay`.
    standard_uncertainty_volt : float or sequence, optional
        Drawn as ± 2 u. [V]
    threshold_volt : float, default 60
        As in the fit. Source ``un-r100-class-b``. [V]
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> from ohmward import highvoltage
    >>> t, v = [0, 15, 30, 45], [600, 430, 308, 221]
    >>> axes = decay(t, v, highvoltage.fit_decay(t, v, standard_uncertainty_volt=2), standard_uncertainty_volt=2)
    >>> axes.get_yscale()
    'log'
    """
    ax = axes_or_new(ax, width=6.5, height=3.6)
    u = (
        None
        if standard_uncertainty_volt is None
        else 2 * np.broadcast_to(np.asarray(standard_uncertainty_volt, dtype=float), len(volt))
    )
    ax.errorbar(time_second, np.abs(volt), yerr=u, fmt="o", color=BLUE, capsize=2, label="readings ± 2 u")
    low, high = fit.threshold_interval
    last = max(time_second)
    end = max(x for x in (last, fit.threshold_second, high) if math.isfinite(x)) * 1.05
    if math.isfinite(fit.time_constant_second) and math.isfinite(fit.threshold_second):
        t = np.linspace(min(time_second), end, 200)
        ax.plot(
            t,
            threshold_volt * np.exp(-(t - fit.threshold_second) / fit.time_constant_second),
            color=BLACK,
            linewidth=1,
            label="fitted decay",
        )
    ax.axhline(threshold_volt, color=GREY, linewidth=0.8, linestyle="--")
    ax.text(end, threshold_volt, f" {threshold_volt:g} V", va="center", ha="left", color=GREY, fontsize="small")
    if math.isfinite(low):
        right = high if math.isfinite(high) else end
        ax.plot(
            [low, right],
            [threshold_volt] * 2,
            color=VERMILLION,
            linewidth=4,
            solid_capstyle="butt",
            label="crossed within",
        )
        if not math.isfinite(high):
            ax.plot(right, threshold_volt, marker=">", color=VERMILLION, linestyle="none")
    ax.set_yscale("log")
    ax.set_xlim(right=end)
    ax.set(xlabel="time [s]", ylabel="voltage [V]")
    ax.yaxis.set_major_formatter("{x:g}")
    ax.yaxis.set_minor_formatter("{x:g}")
    if fit.remarks:
        ax.set_title(written("; ".join(fit.remarks)), loc="left", fontsize="small", parse_math=False)
    ax.legend(frameon=False, fontsize="small")
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    return ax
