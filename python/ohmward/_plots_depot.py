"""Plots of a depot's readings: what needs attention, one quantity by kind, one vehicle, one session, the batteries."""

from __future__ import annotations

import datetime
import itertools
import math
from collections import Counter
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ohmward import _core
from ohmward._marks import BLACK, BLUE, GREEN, GREY, ORANGE, PURPLE, SKY, VERDICTS, VERMILLION
from ohmward._plot_ground import axes_or_new, legend_of, marker_style, si_axis, written
from ohmward._units import UNIT_SYMBOLS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from ohmward.results import Results

__all__ = ["attention", "battery_by_month", "bonding_session", "object_over_time", "quantity_by_kind"]

_Censoring = _core.core.Censoring
_Kind = _core.core.QuantityKind
_KINDS = {kind.name: kind for kind in _Kind}
_LOG_SCALE = {name: logarithmic for name, _, logarithmic in _core.core.quantity_kind_table}
_UNIT_OF = {name: UNIT_SYMBOLS[unit] for name, unit, _ in _core.core.quantity_kind_table}
_VOLTAGES = (_KINDS["dc_voltage"], _KINDS["ac_voltage"])
_FARTHEST = 1e3  # factor from the limit at which the strip ends; what lies beyond is an arrow there


# Attention -----------------------------------------------------------------------------------------------------------


def _interval(value: float, standard_uncertainty: float, *, logarithmic: bool) -> tuple[float, float]:
    """Value with k = 2; on the log scale the uncertainty is a relative one."""
    reach = 2.0 * standard_uncertainty
    if logarithmic:
        return value * math.exp(-reach), value * math.exp(reach)
    return value - reach, value + reach


def _on_good_side(value: float, limit: Any) -> float:
    """Factor by which a value lies on the good side of its limit: 1 at the limit, below 1 where it misses it."""
    if not math.isnan(limit.lower_value) and (math.isnan(limit.upper) or value < limit.upper):
        factor = value / limit.lower_value
    else:
        factor = limit.upper / value if value > 0.0 else math.inf
    return float(min(max(factor, 1.0 / _FARTHEST), _FARTHEST))


def _arrow(censoring: _core.core.Censoring, limit: Any) -> int:
    """Return +1 where the true value lies further on the good side, -1 on the bad side, 0 where it is exact."""
    if censoring == _Censoring.exact:
        return 0
    grows = 1 if censoring == _Censoring.above else -1
    return grows if not math.isnan(limit.lower_value) else -grows


def _draw_strip_row(ax: Axes, y: int, results: Results, row: int, verdict: str | None) -> None:
    columns = results._columns
    value, deviation = float(columns["compared"][row]), float(columns["compared_standard_uncertainty"][row])
    index = int(columns["limit"][row])
    if math.isnan(value) or index < 0:
        ax.text(1.0, y, " no limit" if index < 0 else " no value", va="center", ha="left", fontsize="small", color=GREY)
        return
    limit, kind = results._limit_entries[index], results._rows.quantity(row)
    style = marker_style(verdict)
    at = _on_good_side(value, limit)
    censoring = _Censoring(int(columns["censoring"][row]))
    is_threshold = censoring == _Censoring.below and kind in _VOLTAGES  # compared as it stands, without an uncertainty
    if deviation == deviation and not is_threshold:
        ends = [_on_good_side(end, limit) for end in _interval(value, deviation, logarithmic=_LOG_SCALE[kind.name])]
        ax.plot(ends, [y, y], color=style["color"], linewidth=2.0, solid_capstyle="butt", zorder=2)
    arrow = _arrow(censoring, limit)
    if arrow:
        ax.annotate(
            "", xytext=(at, y), xy=(at * 4.0**arrow, y), annotation_clip=False,
            arrowprops={"arrowstyle": "->", "color": style["color"], "linewidth": 1.5},
        )  # fmt: skip
    ax.plot([at], [y], markersize=6, zorder=3, **style)


def attention(results: Results, *, ax: Axes | None = None, rows: int = 30, rows_a_cause: int | None = None) -> Axes:
    """
    Draw the readings of the attention list as a strip: one line a reading, most urgent first.

    Parameters
    ----------
    results : Results
    ax : matplotlib Axes, optional
        Drawn into; default: a new figure.
    rows : int, default 30
        How many readings at most.
    rows_a_cause : int, optional
        How many readings of one reason at most, so that a shared cause leaves room for the next; default: all.

    Returns
    -------
    Axes
        Right of the line at 1 is the good side of the limit, whichever side that is. Bars are intervals with k = 2, an
        arrow marks an over-range (or under-range) reading; a reading is drawn as compared, that is after a correction
        to the limit's reference temperature where there is one, and at the worse end where its temperature is missing.
        The text at the right says value, limit and why.

    Examples
    --------
    >>> import ohmward as ow
    >>> ax = ow.plots.attention(ow.assess(ow.demo()), rows=10)
    >>> ax.get_xscale()
    'log'
    """
    listed = results._attention_rows(history=False)
    chosen = _first_of_each_cause(results, listed.tolist(), rows_a_cause)[:rows]
    ax = axes_or_new(ax, width=12, height=1.2 + 0.27 * max(len(chosen), 1))
    names = _core.assessment.verdict_names
    verdicts: list[str | None] = [names[results._columns["verdict"][row]] or None for row in chosen]
    ax.set_xscale("log")
    ax.axvline(1.0, color=BLACK, linewidth=1.0)
    for y, (row, verdict) in enumerate(zip(chosen, verdicts, strict=True)):
        _draw_strip_row(ax, y, results, row, verdict)
        ax.text(
            1.02,
            y,
            written(_strip_text(results, row)),
            transform=ax.get_yaxis_transform(),
            va="center",
            fontsize="small",
            parse_math=False,
        )
    ax.set_yticks(
        range(len(chosen)), [written(_strip_name(results, row)) for row in chosen], fontsize="small", parse_math=False
    )
    ax.set_ylim(len(chosen) - 0.4, -0.9)
    _fit_strip(ax)
    ax.set_xlabel("factor by which the reading lies on the good side of its limit (1: at the limit)")
    more = f": {len(chosen)} of {len(listed)}" if len(listed) > len(chosen) else ""
    ax.set_title(f"Readings that need attention{more}", loc="left", fontsize="medium")
    ax.grid(axis="x", color="#dddddd", linewidth=0.6)
    ax.spines[["top", "right", "left"]].set_visible(False)
    if verdicts:
        legend_of(ax, verdicts, loc="lower left", bbox_to_anchor=(0.0, 1.03), borderaxespad=1.2)
    return ax


def _first_of_each_cause(results: Results, rows: list[int], at_most: int | None) -> list[int]:
    if at_most is None:
        return rows
    seen: Counter[str] = Counter()
    chosen = []
    for row in rows:
        reason = results._reason(row)
        seen[reason] += 1
        if seen[reason] <= at_most:
            chosen.append(row)
    return chosen


def _fit_strip(ax: Axes) -> None:
    """Show whole decades on both sides of the limit, no more than the readings need."""
    low, high = ax.dataLim.intervalx
    ax.set_xlim(
        max(10.0 ** math.floor(math.log10(min(low, 0.1))), 1.0 / _FARTHEST),
        min(10.0 ** math.ceil(math.log10(max(high, 10.0))), _FARTHEST),
    )


def _strip_name(results: Results, row: int) -> str:
    whose, point = results._words("object_id")[row] or "not written", results._point_name(row).split(" ")[0]
    return f"{whose}  {point.replace('_', ' ')}"


def _strip_text(results: Results, row: int) -> str:
    mark = VERDICTS[_core.assessment.verdict_names[results._columns["verdict"][row]] or None]
    value, _ = results._shown(row)
    read, limit = value or results._rows.as_written(row), results._limit_shown(row).split(" (")[0]
    return f"{mark.symbol} {', '.join(filter(None, (read, limit)))}: {results._reason(row)}"


# One quantity by kind ------------------------------------------------------------------------------------------------


def quantity_by_kind(
    results: Results, quantity: str = "insulation_resistance", *, by: str = "part_kind", ax: Axes | None = None
) -> Axes:
    """
    Draw every reading of one quantity on a log axis, one band a kind, with limits, ceilings and over-range readings.

    Parameters
    ----------
    results : Results
    quantity : str, default "insulation_resistance"
        One whose values are positive; readings at or below 0 stand at the left edge.
    by : str, default "part_kind"
        Text column of the readings that makes the bands, such as ``object_kind`` or ``instrument_id``.
    ax : matplotlib Axes, optional
        Drawn into; default: a new figure.

    Returns
    -------
    Axes
        Over-range readings are arrows stacked at their bound, never dropped; a pile there is a ceiling written down.

    Examples
    --------
    >>> import ohmward as ow
    >>> ax = ow.plots.quantity_by_kind(ow.assess(ow.demo()), "bonding_resistance", by="instrument_id")
    >>> ax.get_xscale()
    'log'
    """
    rows = np.flatnonzero(
        (results._rows.quantity_numbers == int(_KINDS[quantity])) & ~np.isnan(results._columns["value"])
    )
    words = results._words(by)
    bands = sorted({word for word in words[rows].tolist() if word is not None})
    if any(words[row] is None for row in rows):
        bands.append(None)
    ax = axes_or_new(ax, width=11, height=1.4 + 0.62 * max(len(bands), 1))
    ax.set_xscale("log")
    for y, band in enumerate(bands):
        _draw_band(ax, y, results, np.array([row for row in rows if words[row] == band], dtype=np.int64))
    _draw_ceilings(ax, results, quantity, rows)
    ax.set_yticks(
        range(len(bands)), [written(band or "not written").replace("_", " ") for band in bands], parse_math=False
    )
    ax.set_ylim(len(bands) - 0.4, -0.8)
    si_axis(ax.xaxis, _UNIT_OF[quantity])
    ax.set_xlabel(f"{quantity.replace('_', ' ')}; | limit, ┊ ceiling of a meter, ▸ over-range: at least this")
    ax.set_title(
        f"All readings of {quantity.replace('_', ' ')} by {by.replace('_', ' ')}", loc="left", fontsize="medium"
    )
    ax.spines[["top", "right"]].set_visible(False)
    return ax


def _draw_band(ax: Axes, y: int, results: Results, rows: NDArray[np.int64]) -> None:
    columns = results._columns
    value, censoring = columns["value"][rows], columns["censoring"][rows]
    positive = value > 0.0
    floor = value[positive].min() if positive.any() else 1e-3
    exact = (censoring == int(_Censoring.exact)) & positive
    for shape, chosen, colour in (("o", exact, BLUE), ("<", (censoring == int(_Censoring.below)) | ~positive, ORANGE)):
        height = y + 0.28 * np.sin(2.4 * np.arange(chosen.sum()))  # spread within the band, the same every time
        ax.plot(
            np.maximum(value[chosen], floor), height, shape, markersize=3, color=colour, alpha=0.55, markeredgewidth=0
        )
    _stack_arrows(ax, y, value[censoring == int(_Censoring.above)])
    for index in np.unique(columns["limit"][rows]):
        if index >= 0:
            limit = results._limit_entries[int(index)]
            for end in (limit.lower_value, limit.upper):
                if end == end:
                    ax.plot([end, end], [y - 0.4, y + 0.4], color=BLACK, linewidth=1.6)


def _stack_arrows(ax: Axes, y: int, bounds: NDArray[np.float64]) -> None:
    """One arrow a reading, on top of each other where they share a bound."""
    values, counts = np.unique(bounds, return_counts=True)
    for value, count in zip(values, counts, strict=True):
        shown = min(int(count), 12)
        heights = y + 0.36 - 0.72 * np.arange(shown) / 11.0
        ax.plot(np.full(shown, value), heights, ">", markersize=4, color=VERMILLION, markeredgewidth=0)
        if count > 3:
            ax.annotate(
                f"{count}",
                (value, y - 0.36),
                xytext=(4, -2),
                textcoords="offset points",
                fontsize="x-small",
                color=VERMILLION,
            )


def _draw_ceilings(ax: Axes, results: Results, quantity: str, rows: NDArray[np.int64]) -> None:
    voltages = results._rows.numbers("test_voltage_volt")
    entries = results._columns["instrument"]
    seen = {
        (int(entries[row]), float(voltages[row]) if voltages is not None else math.nan)
        for row in rows
        if entries[row] >= 0
    }
    ceilings = {results.instruments._entries[entry].ceiling(_KINDS[quantity], volt) for entry, volt in seen}
    for ceiling in ceilings:
        if math.isfinite(ceiling):
            ax.axvline(ceiling, color=GREY, linewidth=0.7, linestyle=":", zorder=0)


# One vehicle over time -----------------------------------------------------------------------------------------------

_STAGES = {"as_found": ("^", ORANGE), "after_work": ("s", GREEN), None: ("o", BLUE)}


def _moment(results: Results, row: int) -> datetime.datetime | None:
    text = results._rows.taken_at(row)
    return datetime.datetime.fromisoformat(text) if text else None


def object_over_time(
    results: Results,
    object_id: str,
    quantity: str = "insulation_resistance",
    *,
    part: str | None = None,
    ax: Axes | None = None,
) -> Axes:
    """
    Draw one vehicle's readings of one quantity over time, with its jobs and the distance to the dew point below.

    Parameters
    ----------
    results : Results
    object_id : str
        Vehicle or machine.
    quantity : str, default "insulation_resistance"
    part : str, optional
        Only this part.
    ax : matplotlib Axes, optional
        Drawn into; default: a new figure.

    Returns
    -------
    Axes
        Triangles as found, squares after work, circles otherwise, arrows over-range; readings are not joined by a
        line. Below, where part or air temperature and humidity are written down, how far they stood from the dew point.

    Raises
    ------
    ValueError
        If there is no such reading.
    """
    words, parts = results._words("object_id"), results._words("part")
    kinds = results._rows.quantity_numbers
    rows = [
        row for row in range(len(results._rows))
        if words[row] == object_id
        and kinds[row] == int(_KINDS[quantity])
        and (part is None or parts[row] == part)
        and _moment(results, row)
    ]  # fmt: skip
    if not rows:
        raise ValueError(f"object_id is {object_id!r}, part {part!r}: no dated reading of {quantity}")
    ax = axes_or_new(ax, width=10, height=5, layout=None)  # a layout engine does not see the panel below
    for row in rows:
        _draw_dated(ax, results, row)
    _draw_limit_lines(ax, results, rows)
    _mark_jobs(ax, results, rows)
    if _LOG_SCALE[quantity]:
        ax.set_yscale("log")
    si_axis(ax.yaxis, _UNIT_OF[quantity])
    ax.set_ylabel(quantity.replace("_", " "))
    whose = ", ".join(filter(None, (object_id, (part or "").replace("_", " "))))
    ax.set_title(written(f"{whose}: △ as found, □ after work, ○ other, ↑ over-range"),
                 loc="left", fontsize="medium", parse_math=False)  # fmt: skip
    ax.spines[["top", "right"]].set_visible(False)
    _months(ax)
    _draw_dew_point(ax, results, rows)
    return ax


def _draw_dated(ax: Axes, results: Results, row: int) -> None:
    columns = results._columns
    value, deviation = float(columns["value"][row]), float(columns["standard_uncertainty"][row])
    moment: Any = _moment(results, row)  # matplotlib takes dates, its stubs do not
    if value != value:
        return
    marker, colour = _STAGES.get(results._words("stage")[row], _STAGES[None])
    logarithmic = _LOG_SCALE[results._rows.quantity(row).name]
    if deviation == deviation:
        ax.plot([moment, moment], _interval(value, deviation, logarithmic=logarithmic), color=colour, linewidth=1.2)
    above = columns["censoring"][row] == int(_Censoring.above)
    ax.plot([moment], [value], marker=marker, color=colour, markerfacecolor="white" if above else colour, markersize=6)
    if above:
        ax.annotate(
            "",
            (moment, value),
            xytext=(0, 18),
            textcoords="offset points",
            arrowprops={"arrowstyle": "<-", "color": colour},
        )


def _draw_limit_lines(ax: Axes, results: Results, rows: list[int]) -> None:
    indexes = {int(results._columns["limit"][row]) for row in rows} - {-1}
    for index, style in zip(sorted(indexes), itertools.cycle(("--", "-.", ":"))):
        limit = results._limit_entries[index]
        for end in (limit.lower_value, limit.upper):
            if end == end:
                ax.axhline(end, color=GREY, linewidth=0.9, linestyle=style)
                ax.annotate(written(limit.id), (0.0, end), xycoords=ax.get_yaxis_transform(), xytext=(3, 2),
                            textcoords="offset points", fontsize="x-small", color=GREY, parse_math=False)  # fmt: skip


def _mark_jobs(ax: Axes, results: Results, rows: list[int]) -> None:
    """Name the jobs in which a part was found and repaired."""
    jobs = results._words("job_id")
    stages = results._words("stage")
    named: dict[str, Any] = {
        jobs[row]: _moment(results, row) for row in rows if stages[row] in ("as_found", "after_work") and jobs[row]
    }
    for job, moment in named.items():
        ax.axvline(moment, color=PURPLE, linewidth=0.8, linestyle="-", alpha=0.6, zorder=0)
        ax.annotate(written(job), (moment, 1.0), xycoords=ax.get_xaxis_transform(), rotation=90, va="top", ha="right",
                    fontsize="x-small", color=PURPLE, parse_math=False)  # fmt: skip


def _draw_dew_point(ax: Axes, results: Results, rows: list[int]) -> None:
    from mpl_toolkits.axes_grid1 import make_axes_locatable

    ambient, humidity, part = (
        results._rows.numbers(name) for name in ("ambient_celsius", "humidity_percent", "part_celsius")
    )
    if ambient is None or humidity is None:
        return
    surface = ambient if part is None else np.where(np.isnan(part), ambient, part)
    chosen = [
        row
        for row in rows
        if not math.isnan(surface[row]) and not math.isnan(humidity[row]) and not math.isnan(ambient[row])
    ]
    if not chosen:
        return
    distance = _dew_point_distance_kelvin(surface[chosen], ambient[chosen], humidity[chosen])
    below = make_axes_locatable(ax).append_axes("bottom", size="32%", pad=0.12, sharex=ax)
    below.axhline(0.0, color=BLACK, linewidth=0.8)
    below.vlines([_moment(results, row) for row in chosen], 0.0, distance, color=SKY, linewidth=1.4)
    below.plot([_moment(results, row) for row in chosen], distance, "o", color=SKY, markersize=3)
    below.set_ylabel("above dew\npoint / K", fontsize="small")
    below.spines[["top", "right"]].set_visible(False)
    ax.tick_params(labelbottom=False)


def _dew_point_distance_kelvin(
    surface_celsius: NDArray[np.float64], ambient_celsius: NDArray[np.float64], humidity_percent: NDArray[np.float64]
) -> NDArray[np.float64]:
    dew_point = _core.formula.dew_point_celsius(
        ambient_celsius, humidity_percent / 100.0, *_core.formula.magnus_over_water
    )
    distance: NDArray[np.float64] = surface_celsius - dew_point
    return distance


# A session of a low-ohm meter ----------------------------------------------------------------------------------------


def bonding_session(results: Results, instrument_id: str, day: str | datetime.date, *, ax: Axes | None = None) -> Axes:
    """
    Draw a day's readings of a low-ohm meter in their order, with floor, null value, limit and check rows.

    Parameters
    ----------
    results : Results
    instrument_id : str
        Meter, such as ``"meter-04"``.
    day : str or date
        Such as ``"2023-11-10"``.
    ax : matplotlib Axes, optional
        Drawn into; default: a new figure.

    Returns
    -------
    Axes
        A forgotten null lifts the floor of a whole session; a null on a bad contact puts it below 0.

    Raises
    ------
    ValueError
        If the meter read no bonding resistance on that day.
    """
    rows = _session(results, instrument_id, str(day))
    ax = axes_or_new(ax, width=10, height=4.5)
    values = results._columns["value"]
    stages, words = results._words("stage"), results._words("object_id")
    for order, row in enumerate(rows, start=1):
        check = stages[row] == "meter_check"
        ax.plot(
            [order],
            [values[row]],
            marker="s" if check else "o",
            color=PURPLE if check else BLUE,
            markerfacecolor="white" if check else BLUE,
            markersize=6,
        )
    parts = [row for row in rows if stages[row] != "meter_check"]
    if parts:
        floor = float(np.nanmin(values[parts]))
        _labelled_line(
            ax,
            floor,
            f"floor of the session {_core.assessment.shown_value(floor, _Kind.bonding_resistance)}",
            BLUE,
            "--",
        )
    _draw_null(ax, results, rows)
    _draw_limit_lines(ax, results, rows)
    ax.axhline(0.0, color=BLACK, linewidth=0.8)
    ax.set_xticks(
        range(1, len(rows) + 1),
        [written(str(words[row] or "?")) for row in rows],
        rotation=90,
        fontsize="x-small",
        parse_math=False,
    )
    si_axis(ax.yaxis, "Ω")
    ax.set_xlabel("readings in their order")
    ax.set_ylabel("bonding resistance")
    ax.set_title(
        written(f"{instrument_id} on {day}: ● reading, □ check of the meter"),
        loc="left",
        fontsize="medium",
        parse_math=False,
    )
    ax.spines[["top", "right"]].set_visible(False)
    return ax


def _session(results: Results, instrument_id: str, day: str) -> list[int]:
    names, kinds = results._words("instrument_id"), results._rows.quantity_numbers
    rows = [
        row for row in range(len(results))
        if names[row] == instrument_id
        and kinds[row] == int(_Kind.bonding_resistance)
        and results._rows.taken_at(row)[:10] == day
    ]  # fmt: skip
    if not rows:
        raise ValueError(
            f"instrument_id is {instrument_id!r}, day {day!r}: no bonding reading of that meter on that day"
        )
    return sorted(rows, key=results._rows.second)


def _draw_null(ax: Axes, results: Results, rows: list[int]) -> None:
    nulls = results._rows.table.numbers("null_ohm")
    known = sorted({float(nulls[row]) for row in rows if not math.isnan(nulls[row])}) if nulls is not None else []
    for null in known:
        _labelled_line(
            ax, null, f"null of the leads {_core.assessment.shown_value(null, _Kind.bonding_resistance)}", ORANGE, "-."
        )
    if not known:
        ax.annotate(
            "null not written down",
            (1.0, 1.0),
            xycoords="axes fraction",
            ha="right",
            va="top",
            fontsize="small",
            color=ORANGE,
        )


def _labelled_line(ax: Axes, y: float, text: str, colour: str, style: str) -> None:
    ax.axhline(y, color=colour, linewidth=1.0, linestyle=style)
    ax.annotate(
        text,
        (1.0, y),
        xycoords=ax.get_yaxis_transform(),
        xytext=(-3, 2),
        textcoords="offset points",
        ha="right",
        fontsize="x-small",
        color=colour,
    )


# Batteries -----------------------------------------------------------------------------------------------------------

_BATTERIES = {"battery_a": ("o", BLUE, "A"), "battery_b": ("s", ORANGE, "B")}


def battery_by_month(results: Results, object_id: str | None = None, *, ax: Axes | None = None) -> Axes:
    """
    Draw resting voltages of single 12 V batteries over time, the two of a pair joined by a line.

    Parameters
    ----------
    results : Results
    object_id : str, optional
        One vehicle; default: all.
    ax : matplotlib Axes, optional
        Drawn into; default: a new figure.

    Returns
    -------
    Axes
        Circles are battery A, squares battery B; the length of the line between them is the imbalance of the pair.

    Raises
    ------
    ValueError
        If there is no such reading.
    """
    pairs = _battery_pairs(results, object_id)
    if not pairs:
        raise ValueError(f"object_id is {object_id!r}: no dated resting voltage of battery_a or battery_b")
    ax = axes_or_new(ax, width=10, height=4.5)
    values = results._columns["value"]
    for (_, day), batteries in pairs.items():
        moment: Any = datetime.date.fromisoformat(day)  # matplotlib takes dates, its stubs do not
        if len(batteries) == 2:
            ax.plot([moment, moment], values[list(batteries.values())], color=GREY, linewidth=1.2, zorder=1)
        for part, row in batteries.items():
            marker, colour, _ = _BATTERIES[part]
            ax.plot([moment], [values[row]], marker=marker, color=colour, markersize=5, alpha=0.8, zorder=2)
    _draw_limit_lines(ax, results, [row for batteries in pairs.values() for row in batteries.values()])
    ax.set_ylabel("resting voltage of one battery / V")
    whose = object_id or "all vehicles"
    ax.set_title(
        written(f"{whose}: ● battery A, ■ battery B, joined where read on one day"),
        loc="left",
        fontsize="medium",
        parse_math=False,
    )
    ax.spines[["top", "right"]].set_visible(False)
    _months(ax)
    return ax


def _battery_pairs(results: Results, object_id: str | None) -> dict[tuple[str, str], dict[str, int]]:
    objects, parts = results._words("object_id"), results._words("part")
    resting = results._rows.quantity_numbers == int(_Kind.resting_voltage)
    pairs: dict[tuple[str, str], dict[str, int]] = {}
    for row in np.flatnonzero(resting & ~np.isnan(results._columns["value"])).tolist():
        day = results._rows.taken_at(row)[:10]
        if day and parts[row] in _BATTERIES and objects[row] and (object_id is None or objects[row] == object_id):
            pairs.setdefault((objects[row], day), {})[parts[row]] = row
    return pairs


def _months(ax: Axes) -> None:
    from matplotlib.dates import AutoDateLocator, ConciseDateFormatter

    locator = AutoDateLocator(minticks=4)  # type: ignore[no-untyped-call]
    ax.xaxis.set_major_locator(locator)
    ax.xaxis.set_major_formatter(ConciseDateFormatter(locator))  # type: ignore[no-untyped-call]
