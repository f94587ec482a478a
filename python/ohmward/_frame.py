"""A small table for people: shown as text and HTML, handed on to pandas, polars or Arrow."""

from __future__ import annotations

import html
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl
    import pyarrow as pa

__all__ = ["Frame"]

_ROWS_SHOWN = 20
_ITEMS_SHOWN = 3


def cell_text(value: Any) -> str:
    """Return a cell as a person reads it; missing is empty."""
    if value is None or (isinstance(value, float | np.floating) and math.isnan(value)):
        return ""
    if isinstance(value, float | np.floating):
        return f"{float(value):.6g}"
    if isinstance(value, list):
        more = f", … ({len(value)})" if len(value) > _ITEMS_SHOWN else ""
        return ", ".join(str(item) for item in value[:_ITEMS_SHOWN]) + more
    return str(value)


class Frame:
    """
    Named columns of equal length, with the metadata that they were made under.

    Examples
    --------
    >>> frame = Frame({"part": ["motor", "heater"], "count": [3, 1]})
    >>> len(frame), frame.columns
    (2, ('part', 'count'))
    >>> frame["count"]
    [3, 1]
    """

    def __init__(
        self, columns: Mapping[str, Sequence[Any] | np.ndarray[Any, Any]], metadata: Mapping[str, str] | None = None
    ) -> None:
        lengths = {len(values) for values in columns.values()}
        if len(lengths) > 1:
            raise ValueError(f"columns have different lengths: {sorted(lengths)}")
        self._columns = dict(columns)
        self.metadata: dict[str, str] = dict(metadata or {})

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of the columns."""
        return tuple(self._columns)

    def __len__(self) -> int:
        """Count the rows."""
        return len(next(iter(self._columns.values()))) if self._columns else 0

    def __getitem__(self, name: str) -> Any:
        """Return one column."""
        if name not in self._columns:
            raise KeyError(f"no column '{name}'; there are {', '.join(self._columns)}")
        return self._columns[name]

    def rows(self) -> Iterator[dict[str, Any]]:
        """Row by row, as dictionaries."""
        for values in zip(*self._columns.values(), strict=True):
            yield dict(zip(self._columns, values, strict=True))

    def head(self, count: int = 5) -> Frame:
        """Return the first rows."""
        return Frame({name: values[:count] for name, values in self._columns.items()}, self.metadata)

    def to_arrow(self) -> pa.Table:
        """Return an Arrow table; the metadata rides along in its schema."""
        import pyarrow as pa

        table = pa.table(
            {name: values if isinstance(values, np.ndarray) else list(values) for name, values in self._columns.items()}
        )
        return table.replace_schema_metadata(self.metadata)

    def to_pandas(self) -> pd.DataFrame:
        """Return a pandas frame; the metadata rides along in ``attrs``."""
        frame: pd.DataFrame = self.to_arrow().to_pandas()
        frame.attrs.update(self.metadata)
        return frame

    def to_polars(self) -> pl.DataFrame:
        """Return a polars frame."""
        import polars as pl

        frame = pl.from_arrow(self.to_arrow())
        assert isinstance(frame, pl.DataFrame)
        return frame

    def __repr__(self) -> str:
        """Return a text table of the first rows."""
        shown = [list(self._columns)] + [
            [cell_text(cell) for cell in row.values()] for row in self.head(_ROWS_SHOWN).rows()
        ]
        widths = [max(len(row[i]) for row in shown) for i in range(len(self._columns))]
        lines = [
            "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in shown
        ]
        if len(self) > _ROWS_SHOWN:
            lines.append(f"… {len(self) - _ROWS_SHOWN} more rows")
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        head = "".join(f"<th>{html.escape(name)}</th>" for name in self._columns)
        body = "".join(
            "<tr>" + "".join(f"<td>{html.escape(cell_text(cell))}</td>" for cell in row.values()) + "</tr>"
            for row in self.head(_ROWS_SHOWN).rows()
        )
        more = f"<p>… {len(self) - _ROWS_SHOWN} more rows</p>" if len(self) > _ROWS_SHOWN else ""
        return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>{more}"
