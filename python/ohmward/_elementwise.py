"""The one place that decides what may become a double, and hands back the container that came."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Mapping
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from ohmward._core.core import status_text

__all__ = ["apply", "as_doubles", "tally"]

OnDoubt = Literal["warn", "raise", "ignore"]
Doubles = NDArray[np.float64]


def as_doubles(value: Any, name: str) -> Doubles:
    """Real numbers as float64; a masked value or NA becomes NaN. Text, bool, dates and objects are refused by name."""
    if not hasattr(value, "dtype"):
        value = np.asarray(value)
    kind = getattr(value.dtype, "kind", None)
    if kind is None:  # a polars or extension type
        value = value.to_numpy()
        kind = value.dtype.kind
    if kind not in "fiu":
        raise TypeError(f"{name} must be real numbers, not {value.dtype}")
    if isinstance(value, np.ma.MaskedArray):
        return np.ma.filled(value.astype(np.float64), np.nan)
    if hasattr(value, "index") and hasattr(value, "to_numpy"):  # a pandas Series
        return value.to_numpy(dtype=np.float64, na_value=np.nan)  # type: ignore[no-any-return]
    return np.asarray(value, dtype=np.float64)


def tally(status: NDArray[np.int8], on_doubt: OnDoubt) -> None:
    """Report statuses once, with counts."""
    if on_doubt == "ignore" or not np.any(status):
        return
    numbers, counts = np.unique(status[status != 0], return_counts=True)
    message = "; ".join(
        f"{count} of {status.size} {status_text(int(n))}" for n, count in zip(numbers, counts, strict=True)
    )
    if on_doubt == "raise" and np.any(status < 0):
        raise ValueError(message)
    warnings.warn(message, stacklevel=4)


def apply(
    function: Callable[..., tuple[Doubles, NDArray[np.int8]]], arguments: Mapping[str, Any], on_doubt: OnDoubt
) -> Any:
    """Call a function on flat float64 arrays; return the first container's kind, or a float for numbers."""
    containers = [value for value in arguments.values() if hasattr(value, "to_numpy")]
    indexed = [value for value in containers if hasattr(value, "index")]
    if any(not value.index.equals(indexed[0].index) for value in indexed[1:]):
        raise ValueError("the Series have different indexes; align them first")
    arrays = np.broadcast_arrays(*(as_doubles(value, name) for name, value in arguments.items()))
    values, status = function(*(np.ascontiguousarray(array).reshape(-1) for array in arrays))
    tally(status, on_doubt)
    shaped = values.reshape(arrays[0].shape)
    if indexed:
        return type(indexed[0])(shaped, index=indexed[0].index, name=indexed[0].name)
    if containers:
        return type(containers[0])(containers[0].name, shaped)
    return shaped if shaped.ndim else float(shaped)
