"""Readings: what a person wrote down, read into a table, with nothing dropped without a reason.

A reading is one row with what was measured where, when, with which meter, and the value *as written*: ``2.3 GΩ``,
``2,3``, ``>4G``, ``OL``. Every row of a file is accepted or rejected; a rejected one tells line, column, text and why.
"""

from __future__ import annotations

import codecs
import hashlib
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ohmward._column_map import read_column_map
from ohmward._core import readings as _core
from ohmward._core.core import Censoring, QuantityKind, Status, UnreadableInput

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl
    import pyarrow as pa

__all__ = [
    "Accepted",
    "ParsedValue",
    "Readings",
    "Rejected",
    "TimedSeries",
    "UnreadableInput",
    "parse_value",
    "read_readings",
]

_HAS_TIME, _HAS_OFFSET = 1, 2  # bits of Table::taken_at_form
_SHOWN_ROWS = 5


@dataclass(frozen=True, slots=True)
class Rejected:
    """A row that could not be read."""

    line: int  #: line in the file, from 1
    column: str  #: header of the column that could not be read; empty where the whole row is meant
    text: str  #: as typed
    why: str  #: what was expected


@dataclass(frozen=True, slots=True)
class ParsedValue:
    """What one written value says."""

    value: float  #: SI unit of the quantity; the bound where censored; NaN where there is no number
    censoring: Censoring
    resolution: float  #: SI size of the last digit written down; NaN where there is none
    status: Status
    reason: str  #: why there is no reading; empty where there is one


@dataclass(frozen=True, slots=True, eq=False)
class TimedSeries:
    """The rows of one run on one object, in their order."""

    object_id: str
    run_id: str
    rows: NDArray[np.int64]  #: positions among the accepted readings


def parse_value(
    text: str,
    *,
    quantity: str,
    unit: str = "",
    decimal: str = "not seen",
    columns: str | os.PathLike[str] | Mapping[str, Any] | None = None,
) -> ParsedValue:
    """
    Read one value as a person wrote it down.

    Parameters
    ----------
    text : str
        ``2.3 GΩ``, ``480k``, ``2,3``, ``>4G``, ``4G+``, ``OL`` …
    quantity : str
        What it is of, such as ``insulation_resistance``; decides which units fit and what 0 means.
    unit : str, optional
        Unit from a column of its own; the text's own unit must not contradict it.
    decimal : {"not seen", "point", "comma", "mixed"}
        Decimal mark that the rest of the file shows; settles only what could be read in two ways.
    columns : path or mapping, optional
        Column map with the workshop's own words for over-range and missing.

    Returns
    -------
    ParsedValue
        Status ``sound``; ``bound_only`` (above, below); ``unknown_bound`` (overload: a reading without a number);
        ``missing_input``, ``ambiguous_text``, ``unreadable_text`` or ``out_of_domain`` where there is no reading.

    Notes
    -----
    The case decides between m and M. On the log scale (insulation) a display of 0 is `below` one step of its last
    digit, and a negative number is no value; on the linear scale both are numbers. The value is the double nearest to
    the written decimal.

    Examples
    --------
    >>> parse_value("2,3 GΩ", quantity="insulation_resistance").value
    2300000000.0
    >>> parse_value(">4G", quantity="insulation_resistance").censoring.name
    'above'
    >>> parse_value("1,234", unit="MΩ", quantity="insulation_resistance").status.name
    'ambiguous_text'
    """
    value, censoring, resolution, status, reason = _core.parse_value(
        text=text,
        unit=unit,
        unit_is_default=False,
        quantity=quantity,
        decimal=decimal,
        columns=read_column_map(columns),
    )
    return ParsedValue(value, Censoring(censoring), resolution, Status(status), reason)


def read_readings(
    source: str | os.PathLike[str] | object,
    *,
    columns: str | os.PathLike[str] | Mapping[str, Any] | None = None,
    parts: Mapping[str, str] | None = None,
    objects: Mapping[str, str] | None = None,
    encoding: str = "utf-8",
) -> Readings:
    """
    Read a file or a data frame of workshop readings.

    Parameters
    ----------
    source : path or data frame
        CSV file (``,`` or ``;``, decimal point or comma: found and told), or a pandas, polars or pyarrow frame with
        the documented columns. Lines of a frame count as if its header stood on line 1.
    columns : path or mapping, optional
        Column map (TOML): the workshop's headers, units, date form, words, wide forms, and maps of parts and objects.
    parts : mapping, optional
        part -> part_kind, on top of the column map's.
    objects : mapping, optional
        object_id -> object_kind, on top of the column map's.
    encoding : str, default "utf-8"
        Encoding of the file.

    Returns
    -------
    Readings
        ``accepted`` and ``rejected``; together they are all rows of the file (all cells of a wide one).

    Raises
    ------
    UnreadableInput
        A ValueError: no header, a column missing or doubled, bytes that are not in the encoding, a quote never closed.
        Names file, line, column and what was expected.
    ValueError
        A senseless column map; names key and file.

    Examples
    --------
    >>> import pyarrow as pa
    >>> frame = pa.table({"object_id": ["SW-14", "SW-14"], "part": ["motor_rear", "motor_rear"],
    ...                   "quantity": ["insulation_resistance"] * 2, "value": ["2.3", "1,234"], "unit": ["GΩ", "MΩ"],
    ...                   "taken_at": ["2025-03-04"] * 2, "instrument_id": ["meter-02"] * 2})
    >>> readings = read_readings(frame)
    >>> readings.accepted["value"].tolist()
    [2300000000.0]
    >>> readings.rejected[0].line, readings.rejected[0].column, readings.rejected[0].text
    (3, 'value', '1,234')
    """
    column_map = read_column_map(columns, parts=parts, objects=objects)
    if isinstance(source, str | os.PathLike):
        path = Path(source)
        content = _utf8_bytes(path, encoding)
        return Readings(_core.parse(content, column_map, str(path)), hashlib.sha256(content).hexdigest())
    from ohmward._text_columns import text_columns

    cells = text_columns(source, name="data frame")
    digest = hashlib.sha256()
    for column, offsets, text in cells:
        digest.update(column.encode())
        digest.update(offsets.tobytes())
        digest.update(text.tobytes())
    return Readings(_core.from_columns(cells, column_map, "data frame"), digest.hexdigest())


def _utf8_bytes(path: Path, encoding: str) -> bytes:
    content = path.read_bytes()
    try:
        codec = codecs.lookup(encoding).name
    except LookupError:
        raise ValueError(
            f"encoding is {encoding!r}, expected one that Python knows, such as 'utf-8' or 'cp1252'"
        ) from None
    if codec in ("utf-8", "utf-8-sig"):  # checked by the parser, which tells the line
        return content
    try:
        return content.decode(codec).encode("utf-8")
    except UnicodeError as error:
        start = error.start if isinstance(error, UnicodeDecodeError) else 0
        line = content.count(b"\n", 0, start) + 1
        raise UnreadableInput(
            f"{path}, line {line}: byte {start} is no {encoding}, expected the file's encoding"
        ) from None


class Accepted:
    """
    The readings that were read, by columns.

    ``accepted["value"]`` gives a read-only NumPy view for numbers and codes, an object array for texts. The columns
    are those of the readings table that are present, the columns that it does not know, and what was read from the
    text: ``line``, ``value`` (SI), ``censoring``, ``resolution`` (SI size of the last digit), ``value_text``,
    ``taken_at`` with ``taken_at_has_time`` and ``taken_at_has_offset`` (UTC where an offset was given, else local).
    """

    def __init__(self, table: _core.Table) -> None:
        self.table = table

    def __len__(self) -> int:
        return self.table.rows

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """Names of the columns, in the order of `to_arrow`."""
        texts = [name for name in _core.text_names if self.table.words(name) is not None]
        numbers = [name for name in _core.number_names if self.table.numbers(name) is not None]
        known = ["reading_id", "line", *texts, "quantity", "value", "censoring", "resolution", "value_text", "unit"]
        known += ["taken_at", "taken_at_has_time", "taken_at_has_offset", *numbers]
        return (*known, *(self._shown_unknown(name, known) for name in self.table.unknown))

    @staticmethod
    def _shown_unknown(name: str, known: list[str]) -> str:
        return f"{name} (file)" if name in known else name

    def __contains__(self, name: object) -> bool:
        return name in self.columns

    def __getitem__(self, name: str) -> NDArray[Any]:
        """One column as a NumPy array; a view where the table holds numbers."""
        if name not in self.columns:
            raise KeyError(f"no column {name!r}, expected one of {', '.join(self.columns)}")
        if name in _core.number_names:
            numbers = self.table.numbers(name)
            assert numbers is not None  # columns names only those that are present
            return numbers
        if name in ("line", "value", "resolution", "quantity", "censoring"):
            array: NDArray[Any] = getattr(self.table, name)
            return array
        if name.startswith("taken_at"):
            return self._taken_at(name)
        if name == "reading_id":
            return np.array([self.table.id(row) for row in range(len(self))], dtype=object)
        if name == "value_text":
            return np.array(list(self._value_texts()), dtype=object)
        codes, words = self._codes(name)
        texts: NDArray[Any] = np.array([*words, None], dtype=object)[codes]
        return texts

    def _taken_at(self, name: str) -> NDArray[Any]:
        if name == "taken_at":
            return self.table.taken_at_second.view("datetime64[s]")
        wanted = _HAS_TIME if name == "taken_at_has_time" else _HAS_OFFSET
        has: NDArray[Any] = (self.table.taken_at_form & wanted) != 0
        return has

    def _value_texts(self) -> Iterator[str]:
        offsets, data = self.table.value_text()
        content = data.tobytes()
        for begin, end in zip(offsets[:-1].tolist(), offsets[1:].tolist(), strict=True):
            yield content[begin:end].decode("utf-8")

    def _codes(self, name: str) -> tuple[NDArray[np.int32], list[str]]:
        """Codes into the words, -1 for a missing cell."""
        found = self.table.words(name.removesuffix(" (file)") if name not in self.table.unknown else name)
        return found if found is not None else (np.full(len(self), -1, dtype=np.int32), [])

    def to_arrow(self) -> pa.Table:
        """The readings as a pyarrow table; texts that repeat are dictionary-coded."""
        import pyarrow as pa

        return pa.table([self._arrow(name) for name in self.columns], names=list(self.columns))

    def _arrow(self, name: str) -> pa.Array:
        import pyarrow as pa

        if name == "quantity":
            return self._arrow_enum(self.table.quantity, [kind.name for kind in QuantityKind])
        if name == "censoring":
            return self._arrow_enum(self.table.censoring, [kind.name for kind in Censoring])
        if name == "value_text":
            offsets, data = self.table.value_text()
            buffers = [None, pa.py_buffer(offsets.view(np.int64)), pa.py_buffer(data)]
            return pa.Array.from_buffers(pa.large_string(), len(self), buffers)
        if name == "reading_id":
            return pa.array(self[name], type=pa.string())
        if name == "taken_at":
            return pa.array(self[name], type=pa.timestamp("s"))
        if name in ("line", "value", "resolution", *_core.number_names) or name.startswith("taken_at"):
            return pa.array(self[name], from_pandas=name in _core.number_names)
        codes, words = self._codes(name)
        return pa.DictionaryArray.from_arrays(pa.array(codes, mask=codes < 0), pa.array(words, type=pa.string()))

    @staticmethod
    def _arrow_enum(codes: NDArray[np.int8], words: list[str]) -> pa.Array:
        import pyarrow as pa

        return pa.DictionaryArray.from_arrays(pa.array(codes), pa.array(words, type=pa.string()))

    def to_pandas(self) -> pd.DataFrame:
        """The readings as a pandas frame; texts that repeat are categories."""
        frame: pd.DataFrame = self.to_arrow().to_pandas()
        return frame

    def to_polars(self) -> pl.DataFrame:
        """The readings as a polars frame; texts that repeat are categories."""
        import polars as pl

        frame = pl.from_arrow(self.to_arrow())
        assert isinstance(frame, pl.DataFrame)  # a table gives a frame
        return frame

    def __repr__(self) -> str:
        return f"<{len(self)} readings, {len(self.columns)} columns>"


class Readings:
    """
    A file of readings: ``accepted`` and ``rejected`` rows; ``len(readings)`` counts both.

    Made by `read_readings`.
    """

    def __init__(self, parsed: _core.Parsed, sha256: str) -> None:
        self._parsed = parsed
        self.sha256 = sha256  #: of the file's bytes, or of a frame's cells
        self._table = parsed.table
        self.accepted = Accepted(self._table)

    def __len__(self) -> int:
        return self._parsed.rows

    @property
    def file(self) -> str:
        """Name of the file, or ``data frame``."""
        return self._table.file

    @cached_property
    def rejected(self) -> list[Rejected]:
        """Rows that could not be read, in the order of the file."""
        return [Rejected(*row) for row in self._parsed.rejected()]

    @property
    def separator(self) -> str:
        """Separator that the file was found to use."""
        return self._parsed.separator

    @property
    def decimal(self) -> str:
        """Decimal mark that the file was found to use: ``point``, ``comma``, ``mixed`` or ``not seen``."""
        return self._parsed.decimal

    @property
    def told(self) -> str:
        """How the file turned out to be written, in words."""
        points, commas = self._parsed.decimal_points, self._parsed.decimal_commas
        marks = {
            "point": f"decimal point ({points} cells)",
            "comma": f"decimal comma ({commas} cells)",
            "mixed": f"decimal marks mixed ({points} cells with a point, {commas} with a comma)",
            "not seen": "no decimal mark seen",
        }[self.decimal]
        byte_order_mark = ", byte order mark" if self._parsed.byte_order_mark else ""
        return f"separator '{self.separator}', {marks}{byte_order_mark}"

    def timed_series(self) -> list[TimedSeries]:
        """
        Group the readings that carry a ``run_id`` by object and run.

        Inside a run: by step, then ``elapsed_second``, then the clock, then the line.
        """
        return [TimedSeries(*series) for series in _core.timed_series(self._table)]

    def to_arrow(self) -> pa.Table:
        """The accepted readings as a pyarrow table."""
        return self.accepted.to_arrow()

    def to_pandas(self) -> pd.DataFrame:
        """The accepted readings as a pandas frame."""
        return self.accepted.to_pandas()

    def to_polars(self) -> pl.DataFrame:
        """The accepted readings as a polars frame."""
        return self.accepted.to_polars()

    def __repr__(self) -> str:
        counts = f"{len(self.accepted)} accepted, {self._parsed.rejected_count} rejected"
        return f"<Readings of {self.file}: {counts}; {self.told}>"

    def _repr_html_(self) -> str:
        lines = [
            f"<p><b>{len(self.accepted)}</b> readings accepted, <b>{self._parsed.rejected_count}</b> rejected. "
            f"{escape(self.file)}: {escape(self.told)}.</p>"
        ]
        if self.rejected:
            rows = [(str(row.line), row.column, row.text, row.why) for row in self.rejected[:_SHOWN_ROWS]]
            lines.append(_html_table(("line", "column", "text", "why"), rows))
        if len(self.rejected) > _SHOWN_ROWS:
            lines.append(f"<p>… and {len(self.rejected) - _SHOWN_ROWS} more in <code>rejected</code>.</p>")
        return "\n".join(lines)


def _html_table(header: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    def line(tag: str, cells: tuple[str, ...]) -> str:
        return "<tr>" + "".join(f"<{tag}>{escape(cell)}</{tag}>" for cell in cells) + "</tr>"

    return "<table>" + line("th", header) + "".join(line("td", row) for row in rows) + "</table>"
