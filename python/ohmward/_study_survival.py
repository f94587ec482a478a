"""How long units live by what was read of them: one curve a band of the score, and whether the bands differ."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ohmward import statistics
from ohmward._arrays import Doubles
from ohmward._core.core import Status
from ohmward._study_columns import UNKNOWN, WITH, StudyColumns

if TYPE_CHECKING:
    from ohmward.thresholds import Study

__all__ = ["SurvivalBand", "SurvivalByBand", "survival_by_band"]


@dataclass(frozen=True)
class SurvivalBand:
    """
    Units of one band of the score.

    Attributes
    ----------
    label : str
        In words.
    score_from, score_to : float
        From, and below; infinite at the ends.
    units, failed : int
        How many there are, and failed under observation.
    curve : statistics.SurvivalCurve
        Kaplan and Meier's, units that left for any reason counting as seen whole until then.
    curve_at_worst : statistics.SurvivalCurve
        The same if every unit that was repaired or left for another reason had failed at that moment.
    """

    label: str
    score_from: float
    score_to: float
    units: int
    failed: int
    curve: statistics.SurvivalCurve
    curve_at_worst: statistics.SurvivalCurve


@dataclass(frozen=True)
class SurvivalByBand:
    """
    Survival by band of the score.

    Attributes
    ----------
    bands : tuple of SurvivalBand
        From the lowest score; bands without a unit are left out.
    chi_squared, degrees_of_freedom, p_value : float
        Log-rank test that all bands live alike.
    status : Status
        Of the test.
    score_unit : str
    level : float
        Of the intervals of the curves.
    cautions : tuple of str
    """

    bands: tuple[SurvivalBand, ...]
    chi_squared: float
    degrees_of_freedom: float
    p_value: float
    status: Status
    score_unit: str
    level: float
    cautions: tuple[str, ...] = ()


def _first_rows(columns: StudyColumns, usable: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The earliest usable row of each unit: a unit lives once."""
    if columns.unit is None:
        return usable
    entry = np.zeros(len(columns)) if columns.entry_day is None else columns.entry_day
    first: dict[object, int] = {}
    for row in np.flatnonzero(usable).tolist():
        unit = columns.unit[row]
        if unit not in first or entry[row] < entry[first[unit]]:
            first[unit] = row
    kept = np.zeros_like(usable)
    kept[list(first.values())] = True
    return kept


def _last_exit(
    columns: StudyColumns, exit_day: Doubles, failed: NDArray[np.bool_]
) -> tuple[Doubles, NDArray[np.bool_]]:
    """Exit of each row's unit: its latest, with the fate it had there."""
    if columns.unit is None:
        return exit_day, failed
    last: dict[object, int] = {}
    for row, unit in enumerate(columns.unit):
        if not math.isnan(exit_day[row]) and (unit not in last or exit_day[row] > exit_day[last[unit]]):
            last[unit] = row
    of = np.array([last.get(unit, row) for row, unit in enumerate(columns.unit)])
    return exit_day[of], failed[of]


def _label(low: float, high: float, unit: str) -> str:
    tail = f" {unit}" if unit else ""
    if math.isinf(low):
        return f"below {high:g}{tail}"
    return f"{low:g}{tail} and above" if math.isinf(high) else f"{low:g} to {high:g}{tail}"


def _bands_of(columns: StudyColumns, edges: Doubles) -> NDArray[np.int64]:
    """Number of each row's band; -1 where a bound leaves it open or there is no score."""
    score, censoring = columns.score, columns.censoring
    low = np.where((censoring == 2) | (censoring == 3), -np.inf, score)
    high = np.where((censoring == 1) | (censoring == 3), np.inf, score)
    lowest, highest = (np.searchsorted(edges, ends, side="right") for ends in (low, high))
    known = (lowest == highest) & ~(np.isnan(score) & (censoring != 3))
    return np.where(known, lowest, -1).astype(np.int64)


def survival_by_band(study: Study, edges: Sequence[float], level: float) -> SurvivalByBand:
    """Build the curves and test them."""
    columns = study.columns
    if columns.exit_day is None:
        raise ValueError("exit_day is not given, expected the day on which observation of each unit ended")
    cuts = np.asarray(edges, dtype=np.float64)
    if cuts.ndim != 1 or not cuts.size or not np.all(np.isfinite(cuts)) or not np.all(np.diff(cuts) > 0):
        raise ValueError(f"edges are {list(edges)}, expected rising numbers, at least one")
    removed = columns.repaired | columns.left_for_other_reason
    failed = (columns.outcome == WITH) & ~columns.repaired
    leaving, failed_there = _last_exit(columns, columns.exit_day, failed)
    _, removed_there = _last_exit(columns, columns.exit_day, removed & ~failed)
    entry = np.full(len(columns), -np.inf) if columns.entry_day is None else columns.entry_day
    band = _bands_of(columns, cuts)
    timed = ~np.isnan(leaving) & ~np.isnan(entry) & ((columns.outcome != UNKNOWN) | columns.repaired)
    rows = _first_rows(columns, timed & (band >= 0))
    said = []
    if open_bands := int((timed & (band < 0)).sum()):
        said.append(f"{open_bands} readings are missing, or bounds that reach over an edge of a band: left out")
    if rows.sum() < (timed & (band >= 0)).sum():
        said.append("of each unit its first reading decides the band")
    if (taken := int((removed_there & rows).sum())) > 0:
        said.append(
            f"{taken} units were repaired or left for another reason: the curves take them as seen whole until then, "
            "which holds only if that had nothing to do with failing; curve_at_worst takes them as failed"
        )
    if columns.cluster is not None:
        said.append("the log-rank test takes units as independent, whatever their cluster")
    if not rows.any():
        raise ValueError("exit_day leaves no unit with a band, an entry and an outcome, expected at least one")
    ends = [-math.inf, *cuts.tolist(), math.inf]
    bands = []
    for number in np.unique(band[rows]).tolist():
        here = rows & (band == number)
        times = {"until": leaving[here], "entry": entry[here], "level": level}
        bands.append(
            SurvivalBand(
                _label(ends[number], ends[number + 1], study.score_unit),
                ends[number],
                ends[number + 1],
                int(here.sum()),
                int(failed_there[here].sum()),
                statistics.kaplan_meier(failed=failed_there[here], **times),
                statistics.kaplan_meier(failed=failed_there[here] | removed_there[here], **times),
            )
        )
    test = statistics.log_rank(leaving[rows], failed=failed_there[rows], groups=band[rows].tolist(), entry=entry[rows])
    return SurvivalByBand(
        tuple(bands),
        test.chi_squared,
        test.degrees_of_freedom,
        test.p_value,
        test.status,
        study.score_unit,
        level,
        (*said, *study.cautions),
    )
