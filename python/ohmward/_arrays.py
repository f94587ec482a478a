"""The one border between people's columns and the compiled core: what may become a double, and what comes back.

Real numbers only: no text, truth values, dates, complex numbers or objects, refused by the argument's name. Missing and
masked values become NaN, which every formula answers with the status "an input is missing". The container comes back:
pandas with its index, polars, pyarrow, xarray with its coordinates, a masked array with its mask, a Dask array still
lazy, a number as a float.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Mapping
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from ohmward._core.core import status_text

OnDoubt = Literal["warn", "raise", "ignore"]
Doubles = NDArray[np.float64]

_SERIES = ("pandas", "polars", "pyarrow")


class DoubtWarning(UserWarning):
    """Some values are doubtful or missing; the message counts them by reason."""


class DoubtError(ValueError):
    """The same, where doubt was asked to be an error."""


def as_doubles(value: Any, name: str) -> Doubles:
    """Values as float64, missing ones as NaN; TypeError with the name for anything that is no real number."""
    library = _library(value)
    if library in _SERIES:
        return _series_values(value, name)
    if library == "xarray":
        value = value.values
    if isinstance(value, np.ma.MaskedArray):
        return np.asarray(_real(value, name).astype(np.float64).filled(np.nan))
    return np.asarray(_real(np.asarray(value), name), dtype=np.float64)


def apply(
    function: np.ufunc, status_of: np.ufunc, columns: Mapping[str, Any], *parameters: float, on_doubt: OnDoubt = "warn"
) -> Any:
    """Run a value ufunc and its status twin over columns; report doubts once; give back the container.

    Parameters
    ----------
    function, status_of : ufunc
        A formula of ``_core.formula`` and its twin.
    columns : mapping of str to array_like
        The varying arguments by name, in the ufunc's order.
    *parameters : float
        The arguments that all elements share.
    on_doubt : {"warn", "raise", "ignore"}
        What to do about values that are doubtful or missing. A Dask array stays lazy and reports nothing; its status
        is ``status_of`` of the same arguments.
    """
    if any(_library(value) == "dask" for value in columns.values()):
        _refuse_unreal_dask(columns)
        return function(*columns.values(), *parameters)
    arrays = [as_doubles(value, name) for name, value in columns.items()]
    rebuild = rebuilder(columns)
    _broadcast(arrays, list(columns))
    values = function(*arrays, *parameters)
    report(status_of(*arrays, *parameters), on_doubt)
    return rebuild(values)


def rebuilder(columns: Mapping[str, Any]) -> Callable[[Any], Any]:
    """How the result gets the container of the arguments; refuses containers that do not belong together."""
    labelled = {name: value for name, value in columns.items() if _library(value) in (*_SERIES, "xarray")}
    if not labelled:
        masked = [np.ma.getmaskarray(v) for v in columns.values() if isinstance(v, np.ma.MaskedArray)]
        return _masked if masked else _plain
    kinds = {_library(value) for value in labelled.values()}
    if len(kinds) > 1:
        raise TypeError(f"{' and '.join(labelled)} come from different libraries: {' and '.join(sorted(kinds))}")
    (kind,) = kinds
    first = next(iter(labelled.values()))
    if kind == "xarray":
        return _like_xarray(labelled, first)
    if kind == "pandas":
        return _like_pandas(labelled, first)
    return _like_series(first)


def report(status: Any, on_doubt: OnDoubt) -> None:
    """One warning or error for all statuses that are not sound, with counts."""
    if on_doubt not in ("warn", "raise", "ignore"):
        raise ValueError(f"on_doubt is {on_doubt!r}, expected 'warn', 'raise' or 'ignore'")
    numbers = np.asarray(status)
    if on_doubt == "ignore" or not numbers.any():
        return
    total = numbers.size
    numbers, counts = np.unique(numbers[numbers != 0], return_counts=True)
    reasons = [f"{count} {status_text(int(number))}" for number, count in zip(numbers, counts, strict=True)]
    without = int(counts[numbers < 0].sum())
    message = (
        f"of {total} values, {without} could not be given: " if without else f"of {total} values, some are doubtful: "
    )
    message += "; ".join(reasons)
    if on_doubt == "raise":
        raise DoubtError(message)
    warnings.warn(message, DoubtWarning, stacklevel=_outside())


def _outside() -> int:
    """Stack level of the first caller outside the package."""
    import sys

    level, frame = 1, sys._getframe(1)
    while frame.f_back is not None and frame.f_globals.get("__name__", "").startswith("ohmward"):
        frame, level = frame.f_back, level + 1
    return level


def _library(value: Any) -> str:
    return type(value).__module__.partition(".")[0]


def _real(array: Any, name: str) -> Any:
    if array.dtype.kind not in "fiu":
        raise TypeError(f"{name} must be real numbers, not {array.dtype}")
    return array


def _series_values(value: Any, name: str) -> Doubles:
    import narwhals.stable.v2 as nw

    try:
        series = nw.from_native(value, series_only=True)
    except TypeError:
        raise TypeError(f"{name} must be one column of real numbers, not {type(value).__name__}") from None
    if not series.dtype.is_numeric():
        native = getattr(value, "dtype", None) or getattr(value, "type", None) or series.dtype
        raise TypeError(f"{name} must be real numbers, not {native}")
    return np.asarray(series.cast(nw.Float64).to_numpy(), dtype=np.float64)


def _broadcast(arrays: list[Doubles], names: list[str]) -> None:
    try:
        np.broadcast_shapes(*(array.shape for array in arrays))
    except ValueError:
        shapes = ", ".join(f"{name} {array.shape}" for name, array in zip(names, arrays, strict=True))
        raise ValueError(f"lengths do not fit together: {shapes}") from None


def _refuse_unreal_dask(columns: Mapping[str, Any]) -> None:
    for name, value in columns.items():
        if _library(value) == "dask":
            if not hasattr(value, "dtype"):
                raise TypeError(f"{name} must be a Dask array, not {type(value).__name__}")
            _real(value, name)
        else:
            as_doubles(value, name)


def _plain(values: Any) -> Any:
    return values if np.ndim(values) else float(values)


def _masked(values: Any) -> Any:
    return np.ma.masked_invalid(values)


def _like_pandas(labelled: Mapping[str, Any], first: Any) -> Callable[[Any], Any]:
    for name, value in labelled.items():
        if not value.index.equals(first.index):
            raise ValueError(f"{name} and {next(iter(labelled))} have different indexes; align them first")
    shared_name = first.name if all(value.name == first.name for value in labelled.values()) else None
    return lambda values: type(first)(values, index=first.index, name=shared_name)


def _like_xarray(labelled: Mapping[str, Any], first: Any) -> Callable[[Any], Any]:
    for name, value in labelled.items():
        if value.dims != first.dims or not all(value.indexes[d].equals(first.indexes[d]) for d in value.indexes):
            raise ValueError(f"{name} and {next(iter(labelled))} have different coordinates; align them first")
    return lambda values: first.copy(data=values)


def _like_series(first: Any) -> Callable[[Any], Any]:
    import narwhals.stable.v2 as nw

    series = nw.from_native(first, series_only=True)
    return lambda values: nw.new_series(
        name=series.name, values=values, dtype=nw.Float64(), backend=series.implementation
    ).to_native()
