"""Columns of a data frame as the text that a person might have written down."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ohmward._core.core import UnreadableInput

if TYPE_CHECKING:
    import pyarrow as pa

TextColumn = tuple[str, NDArray[np.int64], NDArray[np.uint8]]


def text_columns(frame: object, *, name: str) -> list[TextColumn]:
    """Name, offsets and UTF-8 bytes of each column of a pandas, polars or pyarrow frame; a missing cell is empty."""
    import narwhals.stable.v2 as nw

    columns = [str(column) for column in getattr(frame, "columns", ())] if hasattr(frame, "iloc") else []
    for column in columns:
        if columns.count(column) > 1:
            raise UnreadableInput(f"{name}, line 1, column '{column}': stands twice, expected each column once")
    try:
        native: Any = nw.from_native(frame)
    except TypeError:
        kind = type(frame).__name__
        raise TypeError(f"readings must be a path or a data frame (pandas, polars, pyarrow), not {kind}") from None
    eager = native.collect() if isinstance(native, nw.LazyFrame) else native
    return [_text_column(eager[column], str(column), name) for column in eager.columns]


def _text_column(series: Any, column: str, name: str) -> TextColumn:
    import pyarrow as pa

    try:
        array = series.to_arrow()
    except (pa.ArrowException, TypeError) as error:
        raise UnreadableInput(f"{name}, column '{column}': {error}; expected text, numbers or dates") from None
    if isinstance(array, pa.ChunkedArray):
        array = array.combine_chunks()
    text = _as_text(array, column, name).fill_null("")
    if isinstance(text, pa.ChunkedArray):
        text = text.combine_chunks()
    offsets, data = text.buffers()[1:]
    if len(text) == 0 or offsets is None:
        return column, np.zeros(len(text) + 1, dtype=np.int64), np.zeros(0, dtype=np.uint8)
    all_offsets = np.frombuffer(offsets, dtype=np.int64)
    return (
        column,
        all_offsets[text.offset : text.offset + len(text) + 1],
        np.zeros(0, dtype=np.uint8) if data is None else np.frombuffer(data, dtype=np.uint8),
    )


def _as_text(array: pa.Array, column: str, name: str) -> pa.Array:
    import pyarrow as pa

    kind = array.type
    if pa.types.is_dictionary(kind):
        return _as_text(array.dictionary_decode(), column, name)
    if pa.types.is_timestamp(kind):
        array = _dates_where_no_time_of_day(array)
    elif pa.types.is_floating(kind):
        return _finite_or_told(array)
    elif not (
        pa.types.is_null(kind)
        or pa.types.is_boolean(kind)
        or pa.types.is_integer(kind)
        or pa.types.is_decimal(kind)
        or pa.types.is_date(kind)
        or pa.types.is_string(kind)
        or pa.types.is_large_string(kind)
        or pa.types.is_string_view(kind)
    ):
        raise UnreadableInput(f"{name}, column '{column}': type {kind}, expected text, numbers or dates")
    return array.cast(pa.large_string())


def _finite_or_told(array: pa.Array) -> pa.Array:
    """Shortest digits that give the number back. An infinite number must not look like a person's `inf`."""
    import pyarrow as pa
    import pyarrow.compute as pc

    text = array.cast(pa.large_string())
    return pc.if_else(pc.is_inf(array), pa.scalar("Infinity", pa.large_string()), text)


def _dates_where_no_time_of_day(array: pa.Array) -> pa.Array:
    """Frames without a type for dates hold them as midnights."""
    import pyarrow as pa
    import pyarrow.compute as pc

    if array.type.tz is not None:
        return array
    days = array.cast(pa.date32(), safe=False)
    only_midnights = pc.all(pc.equal(days.cast(array.type), array)).as_py()
    return days if only_midnights else array
