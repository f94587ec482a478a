"""Pictures of batteries at rest; every function draws into `ax` and returns it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from ohmward._plot_ground import axes_or_new

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from ohmward.battery import Battery, PackState, Relaxation, RestState

__all__ = ["pack_bars", "pairs_by_month", "posterior_on_curve", "relaxation_fan"]

# Okabe and Ito's colours; every series also has its own marker, line or word.
_BLUE, _ORANGE, _GREEN, _VERMILION, _PURPLE, _SKY, _GREY = (
    "#0072B2", "#E69F00", "#009E73", "#D55E00", "#CC79A7", "#56B4E9", "#666666",
)  # fmt: skip
_STYLES = (
    ("-", _BLUE), ("--", _ORANGE), ("-.", _GREEN), (":", _VERMILION), ((0, (5, 1, 1, 1)), _PURPLE), ((0, (1, 2)), _SKY),
)  # fmt: skip


def _annotate(ax: Axes, text: str, at: tuple[float, float], *, above: float) -> None:
    ax.annotate(text, at, xytext=(0, above), textcoords="offset points", ha="center", fontsize=7)


def posterior_on_curve(battery: Battery, state: RestState, voltage_volt: float, *, ax: Axes | None = None) -> Axes:
    """
    Draw the curves that the battery may have, the reading with its band, and what it says of the charge.

    Parameters
    ----------
    battery : Battery
        Its curves are drawn for the whole battery.
    state : RestState
        What `battery.at_rest` said.
    voltage_volt : float
        The reading. [V]
    ax : matplotlib axes, optional
        Where to draw; not given: a new figure.
    """
    ax = axes_or_new(ax, width=7, height=4.2)
    kinds: dict[tuple[int, str], list[str]] = {}
    curves = {}
    for kind, cells, curve in battery.curves:
        kinds.setdefault((cells, curve.name), []).append(kind)
        curves[cells, curve.name] = curve
    for index, ((cells, name), curve) in enumerate(curves.items()):
        style, colour = _STYLES[index % len(_STYLES)]
        of = [kind.replace("_", " ") for kind in kinds[cells, name] if kind != name]
        label = ", ".join(of) + (": " if of else "") + name.replace("_", " ")
        marks: dict[str, Any] = {} if index < len(_STYLES) else {"marker": "o", "markersize": 3, "markevery": 0.1}
        ax.plot(
            100 * curve.charge,
            cells * curve.cell_volt,
            linestyle=style,
            color=colour,
            linewidth=1.4,
            label=label,
            **marks,
        )
    combined = float(np.sqrt(sum(u**2 for u in state.voltage_uncertainty.values())))
    band = 2 * combined if np.isfinite(combined) else 0.0
    ax.axhspan(voltage_volt - band, voltage_volt + band, color=_GREY, alpha=0.18, label="reading ± 2 u")
    ax.axhline(voltage_volt, color=_GREY, linewidth=0.8)
    volts = [cells * curve.volt(0.1, 25.0) for _, cells, curve in battery.curves]
    tops = [cells * curve.volt(0.97, 25.0) for _, cells, curve in battery.curves]
    span = max(max(tops) - min(volts), 4 * band)
    low, high = min([*volts, voltage_volt - band]) - 0.45 * span, max([*tops, voltage_volt + band]) + 0.1 * span
    ax.set(xlim=(0, 100), ylim=(low, high), xlabel="state of charge [%]", ylabel="resting voltage [V]")
    if np.isfinite(state.charge.median):
        charge = np.linspace(0, 1, 801)
        density = state.charge.density(charge)
        height = 0.3 * span * density / density.max()
        label = "probability of the charge"
        ax.fill_between(100 * charge, low, low + height, color=_BLUE, alpha=0.35, linewidth=0, label=label)
        left, right = (100 * end for end in state.charge.interval())
        ax.plot([left, right], [low + 0.34 * span] * 2, color="black", marker="|", markersize=9, linewidth=1.2)
        middle = 100 * state.charge.median
        told = f"{middle:.0f} %, 95 %: {left:.0f} to {right:.0f} %"
        ax.text((left + right) / 2, low + 0.36 * span, told, ha="center", va="bottom", fontsize=9)
    else:
        ax.text(50, low + 0.2 * span, f"no charge: {state.condition.name.replace('_', ' ')}", ha="center")
    ax.legend(fontsize=7, loc="center left", bbox_to_anchor=(1.0, 0.5), frameon=False)
    return ax


def relaxation_fan(
    rest_hour: ArrayLike,
    voltage_volt: ArrayLike,
    state: Relaxation,
    *,
    target_hour: float = 24.0,
    ax: Axes | None = None,
) -> Axes:
    """
    Draw the record of a battery that comes to rest, each model's end, and the interval over all of them.

    Parameters
    ----------
    rest_hour, voltage_volt : array_like
        The record. [h, V]
    state : Relaxation
        What `battery.relaxation` said.
    target_hour : float, default 24
        The time that was asked for. [h]
    ax : matplotlib axes, optional
        Where to draw; not given: a new figure.
    """
    ax = axes_or_new(ax, width=7, height=4.2)
    hours, volts = np.asarray(rest_hour, dtype=float), np.asarray(voltage_volt, dtype=float)
    ax.plot(hours, volts, "o", color=_BLUE, markersize=4, label="read")
    ax.set_xscale("log")
    if np.isfinite(state.rested_volt.median):
        end, rested = hours[-1], state.rested_volt
        low, high = [volts[-1], rested.low], [volts[-1], rested.high]
        label = "interval over the models"
        ax.fill_between([end, target_hour], low, high, color=_SKY, alpha=0.3, linewidth=0, label=label)
        ax.plot([target_hour] * 2, [rested.low, rested.high], color="black", marker="_", markersize=10)
        looks = zip(_STYLES[1:], state.models.items(), strict=False)
        for (style, colour), (name, median) in looks:
            if np.isfinite(median):
                label = name.replace("_", " ")
                ax.plot([end, target_hour], [volts[-1], median], linestyle=style, color=colour, label=label)
        told = "at rest" if state.at_rest else "still moving"
        least, most = 1000 * state.left_volt.low, 1000 * state.left_volt.high
        ax.set_title(f"{told}: {least:+.0f} to {most:+.0f} mV to go", fontsize=10)
    else:
        ax.set_title(f"no forecast: {state.status.name.replace('_', ' ')}", fontsize=10)
    ax.set(xlabel="time at rest [h]", ylabel="voltage [V]")
    ax.legend(fontsize=8)
    return ax


def pack_bars(pack: PackState, *, ax: Axes | None = None) -> Axes:
    """
    Draw each module's difference of charge with its interval; marker and word tell what can be decided.

    Parameters
    ----------
    pack : PackState
        What `battery.pack_at_rest` said.
    ax : matplotlib axes, optional
        Where to draw; not given: a new figure.
    """
    ax = axes_or_new(ax, width=7, height=4.2)
    looks = {"alike": ("o", _BLUE), "differs": ("D", _VERMILION), "not_decidable": ("s", _ORANGE)}
    for word, (marker, colour) in looks.items():
        chosen = [(i + 1, m) for i, m in enumerate(pack.modules) if m.decision.name == word]
        if not chosen:
            continue
        number = [i for i, _ in chosen]
        middle = np.array([100 * m.charge_difference.median for _, m in chosen])
        low = np.array([100 * m.charge_difference.low for _, m in chosen])
        high = np.array([100 * m.charge_difference.high for _, m in chosen])
        label = f"{word.replace('_', ' ')} ({len(chosen)})"
        bars = [middle - low, high - middle]
        ax.errorbar(number, middle, yerr=bars, fmt=marker, color=colour, capsize=3, markersize=5, label=label)
    for i, module in enumerate(pack.modules, start=1):
        if module.stands_out:
            text = f"{1000 * module.difference_volt.value:+.0f} mV\nstands out"
            _annotate(ax, text, (i, 100 * module.charge_difference.high), above=6)
    ax.axhline(0, color=_GREY, linewidth=0.8)
    ax.margins(y=0.2)
    ax.set(xlabel="module", ylabel="charge against the pack's middle [%]")
    ax.set_title(f"spread {1000 * pack.spread_volt:.0f} mV; bars: 95 % intervals", fontsize=10)
    ax.legend(fontsize=8)
    return ax


def pairs_by_month(
    month: Sequence[Any] | ArrayLike,
    a_volt: ArrayLike,
    b_volt: ArrayLike,
    *,
    low_volt: float | None = None,
    healthy_difference_volt: float | None = None,
    ax: Axes | None = None,
) -> Axes:
    """
    Draw both batteries of a pair month by month, joined by a line that grows as they drift apart.

    Parameters
    ----------
    month : sequence
        Dates or numbers along the axis.
    a_volt, b_volt : array_like
        Readings of the two batteries. [V]
    low_volt : float, optional
        Drawn as a line: below it, recharge. [V]
    healthy_difference_volt : float, optional
        Pairs further apart carry their difference as text. [V]
    ax : matplotlib axes, optional
        Where to draw; not given: a new figure.
    """
    ax = axes_or_new(ax, width=7, height=4.2)
    a, b = np.asarray(a_volt, dtype=float), np.asarray(b_volt, dtype=float)
    when = np.asarray(month)
    ax.vlines(when, np.fmin(a, b), np.fmax(a, b), color=_GREY, linewidth=2, alpha=0.6)
    ax.plot(when, a, "o", color=_BLUE, label="A")
    ax.plot(when, b, "^", color=_VERMILION, label="B")
    if healthy_difference_volt is not None:
        for x, one, other in zip(when, a, b, strict=True):
            if abs(one - other) > healthy_difference_volt + 1e-9:
                _annotate(ax, f"{abs(one - other):.2f} V", (x, min(one, other)), above=-11)
    if low_volt is not None:
        ax.axhline(low_volt, color="black", linestyle="--", linewidth=0.8)
        ax.text(
            1.01,
            low_volt,
            "recharge\nbelow",
            fontsize=7,
            va="center",
            transform=ax.get_yaxis_transform(),
            clip_on=False,
        )
    ax.margins(y=0.15)
    ax.set(xlabel="month", ylabel="resting voltage [V]")
    ax.legend(fontsize=8)
    return ax
