"""An uncertainty budget as people read it: each figure with the digits that its uncertainty leaves it."""

from __future__ import annotations

import html
import math
from typing import Any

from ohmward import _core
from ohmward._frame import Frame

__all__ = ["BudgetTable"]

_HEADINGS = {
    "input": "input",
    "estimate": "estimate",
    "standard_uncertainty": "standard uncertainty",
    "distribution": "distribution",
    "degrees_of_freedom": "degrees of freedom",
    "sensitivity": "sensitivity",
    "contribution": "contribution",
    "share_percent": "share",
}
_WORDS = ("input", "distribution")
_MANY_DEGREES = 1000


def _value_and_uncertainty(value: float, u: float) -> tuple[str, str]:
    """Both to the place of two digits of u; plain where there is no u."""
    if math.isnan(value) or not u > 0:
        return _short(value, 6), _short(u, 2)
    _, rounded_u, text = _core.uncertainty.rounded(value, u, 2)
    if value == 0:
        return "0", _short(rounded_u, 2)
    scaled = text.startswith("(")
    exponent = text[text.index(")") + 1 :] if scaled else ""
    parts = text[1 : text.index(")")] if scaled else text
    shown, shown_u = parts.split(" ± ")
    return shown + exponent, shown_u + exponent


def _short(value: float, digits: int) -> str:
    return "" if math.isnan(value) else f"{value:.{digits}g}"


def _degrees(value: float) -> str:
    if math.isnan(value):
        return ""
    if value > _MANY_DEGREES:
        return "∞" if math.isinf(value) else f"over {_MANY_DEGREES}"
    return f"{_core.uncertainty.whole_degrees_of_freedom(value):.0f}"


def _share(percent: float) -> str:
    return "" if math.isnan(percent) else f"{percent:.1f}\N{NO-BREAK SPACE}%"


class BudgetTable(Frame):
    """
    A budget, one row an input and the result last; its columns keep every digit, its text and HTML are rounded.

    Examples
    --------
    >>> from ohmward import uncertainty as un
    >>> b = un.Budget(V=un.Normal(mean=5, standard_uncertainty=0.0123), I=un.Rectangular(centre=0.02, half_width=1e-4))
    >>> b.propagate(lambda V, I: {"R": V / I})["R"].table()
    input  estimate  standard uncertainty  distribution  degrees of freedom  sensitivity  contribution  share
    V         5.000                 0.013  normal                         ∞           50          0.61   42.1 %
    I      0.020000              0.000058  rectangular                    ∞    -1.25e+04         -0.72   57.9 %
    R        250.00                  0.95                                 ∞                             100.0 %
    """

    def shown(self) -> list[dict[str, str]]:
        """Return the cells as people read them, row by row."""
        rows = []
        for row in self.rows():
            estimate, u = _value_and_uncertainty(row["estimate"], row["standard_uncertainty"])
            rows.append(
                {
                    "input": str(row["input"]),
                    "estimate": estimate,
                    "standard_uncertainty": u,
                    "distribution": str(row["distribution"]),
                    "degrees_of_freedom": _degrees(row["degrees_of_freedom"]),
                    "sensitivity": _short(row["sensitivity"], 3),
                    "contribution": _short(row["contribution"], 2),
                    "share_percent": _share(row["share_percent"]),
                }
            )
        return rows

    def __repr__(self) -> str:
        """Return a text table, numbers to the right."""
        cells = [_HEADINGS, *self.shown()]
        widths = {name: max(len(row[name]) for row in cells) for name in _HEADINGS}

        def line(row: dict[str, str], *, heading: bool) -> str:
            aligned = (
                row[name].ljust(width) if heading or name in _WORDS else row[name].rjust(width)
                for name, width in widths.items()
            )
            return "  ".join(aligned).rstrip()

        text = "\n".join(line(row, heading=number == 0) for number, row in enumerate(cells))
        return text.replace("\N{NO-BREAK SPACE}", " ")

    def _repr_html_(self) -> str:
        def cell(name: str, text: str, tag: str) -> str:
            style = "" if name in _WORDS else ' style="text-align:right"'
            return f"<{tag}{style}>{html.escape(text)}</{tag}>"

        def line(row: dict[str, str], tag: str) -> str:
            return "<tr>" + "".join(cell(name, row[name], tag) for name in _HEADINGS) + "</tr>"

        *inputs, result = self.shown()
        body = "".join(line(row, "td") for row in inputs)
        return (
            f"<table><thead>{line(_HEADINGS, 'th')}</thead><tbody>{body}</tbody>"
            f"<tfoot>{line(result, 'th')}</tfoot></table>"
        )


def blank_row(columns: dict[str, list[Any]], name: str, **cells: float) -> None:
    """Append a row that has only some of the numbers."""
    for column, values in columns.items():
        if column in _WORDS:
            values.append(name if column == "input" else "")
        else:
            values.append(cells.get(column, math.nan))
