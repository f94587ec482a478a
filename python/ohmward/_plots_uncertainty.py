"""Pictures of a budget, of Monte Carlo draws and of a decision rule. Each takes ``ax=`` and returns it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from ohmward._plot_ground import axes_or_new
from ohmward._units import UNIT_SYMBOLS
from ohmward.conformity import Limit
from ohmward.uncertainty import MonteCarlo, Output, Propagation

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["budget_bars", "monte_carlo_histogram", "operating_characteristic"]

_BLUE, _ORANGE, _GREEN, _GREY, _INK = "#0072B2", "#D55E00", "#009E73", "#999999", "#222222"


def _log_ticks(ax: Axes) -> None:
    from matplotlib.ticker import EngFormatter, LogLocator, NullFormatter

    ax.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    ax.xaxis.set_major_formatter(EngFormatter())
    ax.xaxis.set_minor_formatter(NullFormatter())


def _plain(ax: Axes) -> None:
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)


def budget_bars(output: Output, *, ax: Axes | None = None) -> Axes:
    """
    Draw the contribution of each input, largest first, with its share of the variance.

    Parameters
    ----------
    output : Output
        By :meth:`ohmward.uncertainty.Budget.propagate`.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> from ohmward import uncertainty as un
    >>> b = un.Budget(V=un.Normal(mean=5, standard_uncertainty=0.01), I=un.Normal(mean=0.02, standard_uncertainty=1e-4))
    >>> budget_bars(b.propagate(lambda V, I: V / I)["y"]).get_xlabel()
    'contribution |c·u|'
    """
    ax = axes_or_new(ax, width=6.4, height=3.6)
    shares = output.shares
    rows = sorted(((name, abs(c), shares[name]) for name, c in output.contributions.items()), key=lambda row: row[1])
    if output.second_order_share:
        u = output.standard_uncertainty
        rows.insert(0, ("second order", u * math.sqrt(abs(output.second_order_share)), output.second_order_share))
    places = np.arange(len(rows))
    ax.barh(places, [size for _, size, _ in rows], height=0.6, color=_BLUE)
    ax.barh(len(rows), output.standard_uncertainty, height=0.6, color=_INK)
    ax.set_yticks([*places, len(rows)], [*(name for name, _, _ in rows), f"combined, {output.name}"])
    for place, (_, size, share) in enumerate(rows):
        ax.annotate(f"{100 * share:.1f} %", (size, place), (4, 0), textcoords="offset points", va="center", fontsize=9)
    ax.annotate(
        output.text(),
        (output.standard_uncertainty, len(rows)),
        (4, 0),
        textcoords="offset points",
        va="center",
        fontsize=9,
    )
    ax.margins(x=0.25)
    ax.set_xlim(left=0)
    ax.set_xlabel("contribution |c·u|")
    _plain(ax)
    return ax


def monte_carlo_histogram(
    draws: MonteCarlo, first_order: Propagation | None = None, *, name: str | None = None, ax: Axes | None = None
) -> Axes:
    """
    Draw the distribution of an output with both coverage intervals, and the normal curve of first order.

    Parameters
    ----------
    draws : MonteCarlo
        Run with ``keep_values=True``.
    first_order : Propagation, optional
        The same budget and model by the law of propagation.
    name : str, optional
        Which output; the first by default.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> from ohmward import uncertainty as un
    >>> b = un.Budget(x=un.Exponential(mean=1))
    >>> mc = b.monte_carlo(lambda x: x, draws=10_000, keep_values=True)
    >>> monte_carlo_histogram(mc, b.propagate(lambda x: x)).get_xlabel()
    'y'
    """
    ax = axes_or_new(ax, width=6.4, height=3.6)
    name = name or next(iter(draws.outputs))
    of = draws[name]
    values = draws.values[name]
    low, high = np.quantile(values, [0.0005, 0.9995])
    edges = np.linspace(low, high, 121)
    counts, _ = np.histogram(values, edges)
    density = counts / (values.size * (edges[1] - edges[0]))
    ax.stairs(density, edges, fill=True, color=_BLUE, alpha=0.35, label=f"{values.size:,} draws")
    top = float(density.max())
    if first_order is not None:
        y = first_order[name]
        x = np.linspace(
            min(low, y.value - 4 * y.standard_uncertainty), max(high, y.value + 4 * y.standard_uncertainty), 400
        )
        z = (x - y.value) / y.standard_uncertainty
        curve = np.exp(-0.5 * z**2) / (y.standard_uncertainty * math.sqrt(2 * math.pi))
        ax.plot(x, curve, color=_INK, lw=1.2, label="first order, normal")
        top = max(top, float(curve.max()))
    percent = f"{100 * draws.level:g} %"
    rows: list[tuple[str, tuple[float, float], str, str]] = [
        (f"{percent} symmetric", of.symmetric_interval, _BLUE, "s"),
        (f"{percent} shortest", of.shortest_interval, _ORANGE, "o"),
    ]
    if first_order is not None:
        rows.append((f"{percent} first order", first_order[name].expanded(draws.level).interval, _INK, "D"))
    for row, (label, ends, colour, marker) in enumerate(rows):
        ax.plot(ends, [-top * 0.07 * (row + 1)] * 2, color=colour, marker=marker, ms=5, lw=1.5, label=label)
    ax.axhline(0, color=_GREY, lw=0.8)
    ax.set_ylim(-top * 0.07 * (len(rows) + 1), top * 1.08)
    ax.set_yticks([])
    ax.locator_params(axis="x", nbins=5)
    ax.spines["left"].set_visible(False)
    ax.set_xlabel(name)
    ax.legend(frameon=False, fontsize=9, loc="upper left", bbox_to_anchor=(1.0, 1.0))
    _plain(ax)
    return ax


def operating_characteristic(limit: Limit, *, standard_uncertainty: float, ax: Axes | None = None) -> Axes:
    """
    Draw how probably an item is accepted against its true value, with limit and guard band.

    Parameters
    ----------
    limit : Limit
        With its rule.
    standard_uncertainty : float
        Of the measurement; of ln R on the log scale.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes

    Examples
    --------
    >>> from ohmward import conformity
    >>> limit = conformity.Limit(quantity="bonding_resistance", upper=0.1)
    >>> operating_characteristic(limit, standard_uncertainty=0.005).get_ylabel()
    'probability of acceptance'
    """
    ax = axes_or_new(ax, width=6.4, height=3.6)
    acceptance = limit.acceptance(standard_uncertainty)
    ends = [end for end in (limit.lower, limit.upper, *acceptance) if not math.isnan(end)]
    if limit.log_scale:
        reach = math.exp(4 * standard_uncertainty)
        x = np.geomspace(min(ends) / reach, max(ends) * reach, 500)
        ax.set_xscale("log")
        _log_ticks(ax)
    else:
        reach = 4 * standard_uncertainty
        x = np.linspace(min(ends) - reach, max(ends) + reach, 500)
    ax.plot(x, limit.probability_of_acceptance(x, standard_uncertainty=standard_uncertainty), color=_BLUE, lw=1.8)
    labelled = {"limit": False, "guard band": False}

    def label(text: str) -> str | None:
        first = not labelled[text]
        labelled[text] = True
        return text if first else None

    for end, accepted in zip((limit.lower, limit.upper), acceptance, strict=True):
        if math.isnan(end):
            continue
        ax.axvline(end, color=_INK, lw=1.4, label=label("limit"))
        if accepted != end:
            ax.axvspan(*sorted((end, accepted)), color=_ORANGE, alpha=0.2, lw=0, hatch="//", label=label("guard band"))
        ends_at: Any = limit.probability_of_acceptance(end, standard_uncertainty=standard_uncertainty)
        ax.plot([end], [ends_at], marker="o", color=_INK, ms=5)
        ax.annotate(
            f"{100 * ends_at:.3g} % on the limit", (end, ends_at), (6, 8), textcoords="offset points", fontsize=9
        )
    ax.set_ylim(-0.03, 1.05)
    ax.set_xlabel(f"true value{f' [{UNIT_SYMBOLS[limit.unit]}]' if limit.unit else ''}")
    ax.set_ylabel("probability of acceptance")
    ax.legend(
        frameon=False, fontsize=9, loc="upper left", bbox_to_anchor=(1.0, 1.0), title=str(limit.rule), title_fontsize=9
    )
    _plain(ax)
    return ax
