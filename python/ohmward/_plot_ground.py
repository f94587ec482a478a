"""What all plots share: an axes where none is given, markers, texts that stay texts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from ohmward._marks import VERDICTS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["axes_or_new", "legend_of", "marker_style", "si_axis", "written"]

LONGEST_TEXT = 90


def axes_or_new(
    ax: Axes | None, *, width: float, height: float, layout: Literal["constrained"] | None = "constrained"
) -> Axes:
    """Return the axes given, or those of a new figure."""
    if ax is not None:
        return ax
    try:
        from matplotlib import pyplot
    except ImportError as error:
        raise ImportError("plots need Matplotlib: pip install 'ohmward[plots]'") from error
    _, made = pyplot.subplots(figsize=(width, height), layout=layout)
    return made


def written(text: str) -> str:
    """Return one printable line of bounded length; a text from a file is never mathematics or layout."""
    line = "".join(c if c.isprintable() else " " if c.isspace() else "?" for c in text)
    return line if len(line) <= LONGEST_TEXT else line[: LONGEST_TEXT - 1] + "…"


def marker_style(verdict: str | None) -> dict[str, Any]:
    """Shape and colours of a verdict."""
    mark = VERDICTS[verdict]
    return {
        "marker": mark.marker,
        "color": mark.colour,
        "markerfacecolor": mark.colour if mark.filled else "white",
        "linestyle": "none",
    }


def legend_of(ax: Axes, verdicts: list[str | None], **where: Any) -> None:
    """Name the verdicts that are shown."""
    from matplotlib.lines import Line2D

    handles = [
        Line2D([], [], label=(verdict or "without verdict").replace("_", " "), **marker_style(verdict))
        for verdict in VERDICTS
        if verdict in verdicts
    ]
    ax.legend(handles=handles, frameon=False, fontsize="small", ncols=len(handles), **where)


def si_axis(axis: Any, unit: str) -> None:
    """Label an axis with SI prefixes."""
    from matplotlib.ticker import EngFormatter

    axis.set_major_formatter(EngFormatter(unit=unit))
