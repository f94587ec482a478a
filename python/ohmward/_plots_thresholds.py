"""Pictures of a study of thresholds. Each takes ``ax=`` and returns it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ohmward._arrays import Doubles
from ohmward._plot_ground import axes_or_new, written
from ohmward._study_columns import WITH, WITHOUT
from ohmward._study_results import DecisionCurve, RocCurve
from ohmward._study_survival import SurvivalByBand
from ohmward.thresholds import Study

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["decision_curve", "roc", "score_distributions", "survival_by_band"]

_BLUE, _ORANGE, _GREEN, _PURPLE, _GREY, _INK = "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#999999", "#222222"
_MARKERS = "oDs^vPX"


def _plain(ax: Axes) -> None:
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)


def _named(study: Study, threshold: float) -> str:
    side = "below" if study.lower_is_worse else "above"
    return f"{side} {threshold:g} {study.score_unit}".rstrip()


def roc(study: Study, *, thresholds: Sequence[float] = (), level: float = 0.95, ax: Axes | None = None) -> Axes:
    """
    Draw the receiver operating characteristic with its band, and thresholds with both their intervals.

    Parameters
    ----------
    study : Study
        Readings and what became of their units.
    thresholds : sequence of float, optional
        To be marked.
    level : float, default 0.95
        Of the band and the intervals, at each threshold for itself.
    ax : matplotlib axes, optional
        Where to draw; not given: a new figure.

    Returns
    -------
    matplotlib axes

    Examples
    --------
    >>> study = Study(score=[1, 2, 3, 4, 5], failed=[1, 1, 0, 1, 0], lower_is_worse=True)
    >>> roc(study, thresholds=[2.5]).get_ylabel()
    'sensitivity: failed units flagged'
    """
    ax = axes_or_new(ax, width=5.6, height=5.2)
    curve = study.roc_curve(level=level)
    percent = f"{100 * level:g} %"
    _draw_band(ax, curve, label=f"{percent} at each threshold, both shares")
    bounds = bool(np.any(curve.sensitivity_worst != curve.sensitivity_best)) or bool(
        np.any(curve.false_share_worst != curve.false_share_best)
    )
    if bounds:
        for false_share, sensitivity, label in (
            (curve.false_share_worst, curve.sensitivity_worst, "at worst"),
            (curve.false_share_best, curve.sensitivity_best, "at best"),
        ):
            ax.plot(false_share, sensitivity, color=_BLUE, lw=1, ls="--" if label == "at worst" else ":", label=label)
    if not np.isnan(curve.sensitivity).any():
        ax.plot(curve.false_share, curve.sensitivity, color=_BLUE, lw=1.8, label="as read")
    ax.plot([0, 1], [0, 1], color=_GREY, lw=0.8, label="a score that tells nothing")
    for index, threshold in enumerate(thresholds):
        at = study.at(threshold, level=level)
        x = 1 - _middle(at.specificity.estimate, at.specificity.worst, at.specificity.best)
        y = _middle(at.sensitivity.estimate, at.sensitivity.worst, at.sensitivity.best)
        ax.errorbar(
            [x],
            [y],
            xerr=[[x - (1 - at.specificity.high)], [(1 - at.specificity.low) - x]],
            yerr=[[y - at.sensitivity.low], [at.sensitivity.high - y]],
            color=_INK,
            marker=_MARKERS[index % len(_MARKERS)],
            ms=6,
            lw=1,
            capsize=2,
            label=_named(study, threshold),
        )
    area = study.area_under_curve(level=level)
    ax.set_title(written(str(area)), loc="left", fontsize=9)
    ax.set(
        xlim=(-0.01, 1.01), ylim=(-0.01, 1.01), xlabel="sound units flagged", ylabel="sensitivity: failed units flagged"
    )
    ax.set_aspect("equal")
    ax.legend(frameon=False, fontsize=8, loc="lower right")
    _plain(ax)
    return ax


def _draw_band(ax: Axes, curve: RocCurve, *, label: str) -> None:
    """Fill what both intervals of each threshold span; its edges never turn back."""
    inner = slice(1, -1)  # flagging none, or all, is certain

    def rising_from(values: Doubles) -> Doubles:
        return np.asarray(np.minimum.accumulate(values[inner][::-1])[::-1], dtype=np.float64)

    def rising_to(values: Doubles) -> Doubles:
        return np.asarray(np.maximum.accumulate(values[inner]), dtype=np.float64)

    ax.fill(
        np.concatenate([rising_from(curve.false_share_low), rising_to(curve.false_share_high)[::-1]]),
        np.concatenate([rising_to(curve.sensitivity_high), rising_from(curve.sensitivity_low)[::-1]]),
        color=_BLUE,
        alpha=0.15,
        lw=0,
        label=label,
    )


def _middle(estimate: float, worst: float, best: float) -> float:
    return 0.5 * (worst + best) if math.isnan(estimate) else estimate


def score_distributions(
    study: Study, *, thresholds: Sequence[float] = (), bins: int = 30, ax: Axes | None = None
) -> Axes:
    """
    Draw how scores of failed and of sound units lie, over-range ones as arrows.

    Parameters
    ----------
    study : Study
        Readings and what became of their units.
    thresholds : sequence of float, optional
        To be marked.
    bins : int, default 30
        Of the histogram, over the exact scores.
    ax : matplotlib axes, optional
        Where to draw; not given: a new figure.

    Returns
    -------
    matplotlib axes
        Shares of each group, sound units upward, failed ones downward.

    Examples
    --------
    >>> study = Study(score=[1, 2, 3, 4, 5], failed=[1, 1, 0, 1, 0], lower_is_worse=True, score_unit="V")
    >>> score_distributions(study).get_xlabel()
    'score [V]'
    """
    ax = axes_or_new(ax, width=6.8, height=3.8)
    columns = study.columns
    usable = np.isfinite(columns.score) & (columns.censoring != 3)
    if study.log_scale:
        usable &= columns.score > 0
        ax.set_xscale("log")
    low, high = columns.score[usable].min(), columns.score[usable].max()
    wide = high > low
    edges = (
        (np.geomspace if study.log_scale else np.linspace)(low, high, bins + 1)
        if wide
        else np.array([low - 0.5, low + 0.5])
    )
    groups: tuple[tuple[int, str, int, str], ...] = ((WITHOUT, "sound", 1, _BLUE), (WITH, "failed", -1, _ORANGE))
    tallest = 0.0
    for code, word, sign, colour in groups:
        group = usable & (study._outcome == code)
        exact = group & (columns.censoring == 0)
        share = np.histogram(columns.score[exact], edges)[0] / max(1, int(group.sum()))
        tallest = max(tallest, float(share.max()))
        ax.stairs(sign * share, edges, fill=True, color=colour, alpha=0.45, hatch=None if sign > 0 else "//",
                  label=f"{word}, {int(group.sum())} readings")  # fmt: skip
    for code, word, sign, colour in groups:
        for censoring, direction in ((1, 1), (2, -1)):
            marked = usable & (study._outcome == code) & (columns.censoring == censoring)
            if marked.any():
                _draw_over_range(ax, columns.score[marked], int((usable & (study._outcome == code)).sum()), sign=sign,
                                 direction=direction, colour=colour, tallest=tallest, word=word)  # fmt: skip
    for index, threshold in enumerate(thresholds):
        ax.axvline(threshold, color=_INK, lw=1.2, ls=("-", "--", ":")[index % 3], label=_named(study, threshold))
    ax.axhline(0, color=_GREY, lw=0.8)
    ax.margins(x=0.14)  # room for the arrows
    ax.set_ylim(-1.55 * tallest, 1.55 * tallest)
    ax.set_xlabel(f"score [{study.score_unit}]" if study.score_unit else "score")
    ax.set_ylabel("share of the group a bin")
    ax.yaxis.set_major_formatter(lambda value, _: f"{abs(value):g}")
    ax.legend(frameon=False, fontsize=8, loc="upper left", bbox_to_anchor=(1.0, 1.0))
    _plain(ax)
    return ax


def _draw_over_range(
    ax: Axes, bounds: Any, of: int, *, sign: int, direction: int, colour: str, tallest: float, word: str
) -> None:
    """One arrow a ceiling, with how much of the group lies beyond."""
    for value, count in zip(*np.unique(bounds, return_counts=True), strict=True):
        height = sign * 1.25 * tallest
        ax.annotate(
            "",
            (value, height),
            xytext=(34 * direction, 0),
            textcoords="offset points",
            arrowprops={"arrowstyle": "<-", "color": colour, "lw": 1.5},
        )
        ax.plot([value], [height], marker="|", ms=9, color=colour)
        ax.annotate(
            f"{100 * count / of:.0f} % of {word} {'above' if direction > 0 else 'below'} {value:g}",
            (value, height),
            xytext=(-4 * direction, 4),
            textcoords="offset points",
            ha="right" if direction > 0 else "left",
            fontsize=8,
        )


def decision_curve(curve: DecisionCurve, *, ax: Axes | None = None) -> Axes:
    """
    Draw the net benefit of a threshold beside flagging everything and flagging nothing.

    Parameters
    ----------
    curve : DecisionCurve
        By :meth:`ohmward.thresholds.Study.decision_curve`.
    ax : matplotlib axes, optional
        Where to draw; not given: a new figure.

    Returns
    -------
    matplotlib axes

    Examples
    --------
    >>> study = Study(score=[1, 2, 3, 4, 5, 6], failed=[1, 1, 0, 1, 0, 0], lower_is_worse=True)
    >>> decision_curve(study.decision_curve(2.5)).get_xlabel()
    'probability of failure at which one would act'
    """
    ax = axes_or_new(ax, width=6.8, height=3.8)
    at = curve.probability
    ax.fill_between(at, curve.low, curve.high, color=_BLUE, alpha=0.15, lw=0, label=f"{100 * curve.level:g} % interval")
    ax.plot(at, curve.rule, color=_BLUE, lw=1.8, label=f"threshold {curve.threshold:g}")
    ax.plot(at, curve.best_here, color=_GREEN, lw=1, ls=":", label="the rule that looks best here, too good to be true")
    ax.plot(at, curve.flag_all, color=_ORANGE, lw=1.2, ls="--", label="flag everything")
    ax.axhline(0, color=_INK, lw=1, label="flag nothing")
    top = max(curve.prevalence, float(np.nanmax(curve.high)))
    ax.set_ylim(-0.5 * top, 1.1 * top)
    ax.set_xscale("log")
    ax.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
    ax.set_xlabel("probability of failure at which one would act")
    ax.set_ylabel("net benefit a unit")
    ax.legend(frameon=False, fontsize=8, loc="upper left", bbox_to_anchor=(1.0, 1.0))
    _plain(ax)
    return ax


def survival_by_band(result: SurvivalByBand, *, ax: Axes | None = None) -> Axes:
    """
    Draw how many units of each band of the score are still whole.

    Parameters
    ----------
    result : SurvivalByBand
        By :meth:`ohmward.thresholds.Study.survival_by_band`.
    ax : matplotlib axes, optional
        Where to draw; not given: a new figure.

    Returns
    -------
    matplotlib axes

    Examples
    --------
    >>> study = Study(score=[1, 2, 1, 4, 5, 6, 7], failed=[1, 1, 0, 1, 0, 0, 0], lower_is_worse=True,
    ...               exit_day=[90, 200, 365, 300, 365, 365, 365])
    >>> survival_by_band(study.survival_by_band([3])).get_ylabel()
    'share still whole'
    """
    ax = axes_or_new(ax, width=6.8, height=3.8)
    colours, styles = (_ORANGE, _BLUE, _GREEN, _PURPLE, _INK), ("-", "--", "-.", ":")
    for index, band in enumerate(result.bands):
        curve, colour = band.curve, colours[index % len(colours)]
        start = min([0.0, *curve.time.tolist()])
        time = np.concatenate([[start], curve.time, [max(curve.last_time, start)]])
        survival, low, high = (
            np.concatenate([[1.0], values, values[-1:] if values.size else [1.0]])
            for values in (curve.survival, curve.low, curve.high)
        )
        ax.step(time, survival, where="post", color=colour, ls=styles[index % len(styles)], lw=1.8,
                label=f"{band.label}: {band.failed} of {band.units} failed")  # fmt: skip
        ax.fill_between(time, low, high, step="post", color=colour, alpha=0.12, lw=0)
    if not math.isnan(result.p_value):
        ax.set_title(f"log-rank test: p = {result.p_value:.2g}", loc="left", fontsize=9)
    ax.set_ylim(0, 1.02)
    ax.set_xlabel("time [d]")
    ax.set_ylabel("share still whole")
    ax.legend(frameon=False, fontsize=8, loc="upper left", bbox_to_anchor=(1.0, 1.0),
              title=f"bands with {100 * result.level:g} % intervals", title_fontsize=8)  # fmt: skip
    _plain(ax)
    return ax
