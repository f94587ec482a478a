"""The columns of a study of thresholds: what people have as arrays of one length, or an error that says why not."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmward._arrays import Doubles, as_doubles
from ohmward._core.core import Censoring

__all__ = [
    "StudyColumns",
    "bounds_of",
    "censoring_codes",
    "outcome_codes",
    "same_index",
    "study_columns",
    "truth_values",
]

WITHOUT, WITH, UNKNOWN = 0, 1, 2
_WORDS = {censoring.name: int(censoring) for censoring in Censoring}


def _listed(value: Any, name: str) -> list[Any]:
    if isinstance(value, str) or not hasattr(value, "__len__"):
        raise TypeError(f"{name} must be a column, not {type(value).__name__}")
    for listing in ("to_pylist", "tolist", "to_list"):  # Arrow, NumPy and pandas, polars
        if hasattr(value, listing):
            return list(getattr(value, listing)())
    return list(value)


def same_index(columns: Mapping[str, Any], index: Any = None) -> Any:
    """Give the index that all pandas columns share; an error where they do not belong together row by row."""
    first = "score"
    for name, column in columns.items():
        if type(column).__module__.partition(".")[0] != "pandas" or not hasattr(column, "index"):
            continue
        if index is None:
            index, first = column.index, name
        elif not column.index.equals(index):
            raise ValueError(f"{name} and {first} have different indexes; align them first")
    return index


def _is_missing(value: Any) -> bool:
    if value is None or type(value).__name__ == "NAType":
        return True
    return isinstance(value, float | np.floating) and bool(np.isnan(value))


def outcome_codes(failed: Any) -> NDArray[np.uint8]:
    """Give 1 for failed, 0 for not, 2 for missing; an error for anything else."""
    codes = []
    for value in _listed(failed, "failed"):
        if _is_missing(value):
            codes.append(UNKNOWN)
        elif isinstance(value, bool | np.bool_) or (isinstance(value, int | float) and value in (0, 1)):
            codes.append(WITH if value else WITHOUT)
        else:
            raise ValueError(f"failed holds {value!r}, expected true or false (1 or 0), or a missing value")
    return np.array(codes, dtype=np.uint8)


def truth_values(values: Any, name: str, length: int) -> NDArray[np.bool_]:
    """Give a column of truth values; not given or missing is false."""
    if values is None:
        return np.zeros(length, dtype=np.bool_)
    flags = []
    for value in _listed(values, name):
        if not (_is_missing(value) or isinstance(value, bool | np.bool_) or value in (0, 1)):
            raise ValueError(f"{name} holds {value!r}, expected true or false")
        flags.append(not _is_missing(value) and bool(value))
    return np.array(flags, dtype=np.bool_)


def censoring_codes(values: Any, length: int, name: str = "censoring") -> NDArray[np.int8]:
    """Give the numbers of `Censoring`; its names serve too, and what is missing is exact."""
    if values is None:
        return np.zeros(length, dtype=np.int8)
    codes = []
    for value in _listed(values, name):
        if _is_missing(value) or value == "":
            codes.append(0)
        elif isinstance(value, str) and value in _WORDS:
            codes.append(_WORDS[value])
        elif not isinstance(value, str | bool) and value in _WORDS.values():
            codes.append(int(value))
        else:
            raise ValueError(f"{name} holds {value!r}, expected one of {', '.join(_WORDS)}")
    return np.array(codes, dtype=np.int8)


def _numbers(value: Any, name: str, length: int | None = None) -> Doubles:
    array = as_doubles(value, name)
    if array.ndim == 0 and length is not None:
        return np.full(length, float(array))
    if array.ndim != 1:
        raise ValueError(f"{name} has {array.ndim} dimensions, expected one column")
    return np.ascontiguousarray(array)


def _labels(values: Any, name: str) -> list[Hashable] | None:
    if values is None:
        return None
    labels = _listed(values, name)
    if any(_is_missing(label) for label in labels):
        raise ValueError(f"{name} holds missing labels, expected one label a reading")
    return labels


def bounds_of(
    score: Doubles, censoring: NDArray[np.int8], *, lower_is_worse: bool, log_scale: bool
) -> tuple[Doubles, Doubles]:
    """Give what is known of each score on the scale of the core, where larger speaks for the failure."""
    with np.errstate(invalid="ignore", divide="ignore"):
        at = np.where(score > 0, np.log(np.where(score > 0, score, 1.0)), np.nan) if log_scale else score.copy()
    open_below = (censoring == int(Censoring.below)) | (censoring == int(Censoring.overload))
    open_above = (censoring == int(Censoring.above)) | (censoring == int(Censoring.overload))
    at = np.where(censoring == int(Censoring.overload), 0.0, at)  # the display said nothing but "over range"
    low, high = np.where(open_below, -np.inf, at), np.where(open_above, np.inf, at)
    low[np.isnan(at)] = high[np.isnan(at)] = np.nan
    if lower_is_worse:
        low, high = -high, -low
    return np.ascontiguousarray(low + 0.0), np.ascontiguousarray(high + 0.0)


@dataclass(frozen=True)
class StudyColumns:
    """One row a reading."""

    score: Doubles
    outcome: NDArray[np.uint8]
    censoring: NDArray[np.int8]
    standard_uncertainty: Doubles
    cluster: list[Hashable] | None
    unit: list[Hashable] | None
    entry_day: Doubles | None
    exit_day: Doubles | None
    left_for_other_reason: NDArray[np.bool_]
    repaired: NDArray[np.bool_]

    def __len__(self) -> int:
        return self.score.size

    def grouping(self) -> NDArray[np.int64]:
        """Numbers of the groups whose readings hang together: clusters, else units read more than once, else none."""
        labels = self.cluster if self.cluster is not None else self.unit if self.repeats_units() else None
        if labels is None:
            return np.empty(0, dtype=np.int64)
        numbers = {label: number for number, label in enumerate(dict.fromkeys(labels))}
        return np.array([numbers[label] for label in labels], dtype=np.int64)

    def repeats_units(self) -> bool:
        """Whether a unit was read more than once."""
        return self.unit is not None and len(set(self.unit)) < len(self.unit)


def _check_times(entry: Doubles | None, leaving: Doubles | None) -> None:
    if entry is None or leaving is None:
        return
    wrong = np.flatnonzero(~np.isnan(entry) & ~np.isnan(leaving) & ~(entry < leaving))
    if wrong.size:
        row = int(wrong[0])
        raise ValueError(f"entry_day is {entry[row]:g} in row {row}, expected less than exit_day {leaving[row]:g}")


def _check_one_cluster_a_unit(cluster: list[Hashable] | None, unit: list[Hashable] | None) -> None:
    if cluster is None or unit is None:
        return
    home: dict[Hashable, Hashable] = {}
    for label, of in zip(unit, cluster, strict=True):
        if home.setdefault(label, of) != of:
            raise ValueError(f"unit {label!r} is in clusters {home[label]!r} and {of!r}, expected one cluster a unit")


def study_columns(
    *,
    score: Any,
    failed: Any,
    censoring: Any,
    standard_uncertainty: Any,
    cluster: Any,
    unit: Any,
    entry_day: Any,
    exit_day: Any,
    left_for_other_reason: Any,
    repaired_because_of_reading: Any,
) -> StudyColumns:
    """Check and convert the columns of a study."""
    scores = _numbers(score, "score")
    n = scores.size
    columns = StudyColumns(
        score=scores,
        outcome=outcome_codes(failed),
        censoring=censoring_codes(censoring, n),
        standard_uncertainty=_numbers(0.0 if standard_uncertainty is None else standard_uncertainty,
                                      "standard_uncertainty", n),
        cluster=_labels(cluster, "cluster"),
        unit=_labels(unit, "unit"),
        entry_day=None if entry_day is None else _numbers(entry_day, "entry_day", n),
        exit_day=None if exit_day is None else _numbers(exit_day, "exit_day", n),
        left_for_other_reason=truth_values(left_for_other_reason, "left_for_other_reason", n),
        repaired=truth_values(repaired_because_of_reading, "repaired_because_of_reading", n),
    )  # fmt: skip
    for name, column in vars(columns).items():
        if column is not None and len(column) != n:
            raise ValueError(
                f"{'failed' if name == 'outcome' else name} has {len(column)} values, expected {n} as score"
            )
    if np.any(columns.standard_uncertainty < 0):
        raise ValueError(f"standard_uncertainty is {np.nanmin(columns.standard_uncertainty):g}, expected 0 or more")
    _check_times(columns.entry_day, columns.exit_day)
    _check_one_cluster_a_unit(columns.cluster, columns.unit)
    return columns
