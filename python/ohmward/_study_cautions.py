"""What breaks a study of thresholds, found in its data and told in words."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from ohmward._arrays import Doubles
from ohmward._study_columns import UNKNOWN, WITH, WITHOUT, StudyColumns

__all__ = [
    "about_censoring",
    "about_data",
    "about_open_ends",
    "about_precision",
    "about_precision_of_area",
    "about_precision_of_best_threshold",
    "about_simpler_rules",
    "events_for",
]

FEW_EVENTS = 10
FEW_CLUSTERS = 20
WANTED_HALF_WIDTH = 0.10


def events_for(share: float, *, half_width: float = WANTED_HALF_WIDTH, level: float = 0.95) -> int:
    """Give the independent events that pin a share down to ± half_width, by the normal approximation."""
    z = NormalDist().inv_cdf((1 + level) / 2)
    return math.ceil(z * z * share * (1 - share) / half_width**2)


def about_precision(found: float, events: float, rows: float, *, level: float, clustered: bool) -> list[str]:
    """How few events there are, and how many would do."""
    if events < 1 or math.isnan(found):
        return []
    z = NormalDist().inv_cdf((1 + level) / 2)
    softened = (found * events + z * z / 2) / (events + z * z)  # a share of 0 or 1 is not known to be exact
    wanted = events_for(softened, level=level)
    if events >= wanted:
        return []
    least = _few(events)
    together = "more where readings of a cluster hang together, " if clustered else ""
    return [
        f"{least}: sensitivity to ±{WANTED_HALF_WIDTH:.2f} would take some {wanted} events, {together}"
        f"that is about {wanted * rows / events:.0f} readings at this share of failures"
    ]


def _few(events: float) -> str:
    return "fewer than ten events" if events < FEW_EVENTS else f"{events:.0f} events"


def about_precision_of_area(low: float, high: float, events: int, readings: int) -> list[str]:
    """How few events there are for an area, and how many would do: its variance falls as they rise."""
    half_width = 0.5 * (high - low)
    if half_width > WANTED_HALF_WIDTH:
        times = (half_width / WANTED_HALF_WIDTH) ** 2
        return [
            f"{_few(events)}: the area to ±{WANTED_HALF_WIDTH:.2f} would take some {math.ceil(times * events)} events, "
            f"that is about {math.ceil(times * readings)} readings at this share of failures"
        ]
    return [] if events >= FEW_EVENTS else [_few(events)]


def about_precision_of_best_threshold(events: int, readings: int) -> list[str]:
    """How few events there are for a best threshold; its interval narrows as their number to the power of -3/8."""
    if events >= FEW_EVENTS:
        return []
    times = 2 ** (8 / 3)
    return [
        f"{_few(events)}: an interval half as wide would take some {math.ceil(times * events)} events, "
        f"that is about {math.ceil(times * readings)} readings at this share of failures"
    ]


def about_open_ends(low: float, high: float, events: int) -> list[str]:
    """An interval of a best threshold that reaches to infinity."""
    ends = [word for end, word in ((low, "all"), (high, "nothing")) if math.isinf(end)]
    if not ends:
        return []
    return [f"{events} events can not tell the best threshold from flagging {' or '.join(ends)}: its interval is open"]


def about_simpler_rules(corrected: float, of_none: float, of_all: float) -> list[str]:
    """A best threshold that gains nothing over no threshold at all."""
    if math.isnan(corrected) or corrected < min(of_none, of_all):
        return []
    simpler = "nothing" if of_none < of_all else "everything"
    return [f"flagging {simpler} costs no more than this threshold, once its optimism is counted"]


def about_censoring(low: Doubles, high: Doubles) -> list[str]:
    """Scores that are bounds, or all alike."""
    known = ~np.isnan(low)
    bounds = int((known & (low != high)).sum())
    if not bounds and np.unique(low[known]).size == 1:
        return ["all scores are equal: no threshold can part them"]
    if not bounds:
        return []
    if bounds == int(known.sum()):
        return ["every score is only a bound: nothing but bounds can be told"]
    return [f"{bounds} of {int(known.sum())} scores are bounds: figures run from their worst to their best case"]


def _share_missing(missing: NDArray[np.bool_], among: NDArray[np.bool_]) -> str:
    return f"{int((missing & among).sum())} of {int(among.sum())}"


def _about_missing(columns: StudyColumns) -> list[str]:
    said = []
    missing = np.isnan(columns.score) & (columns.censoring != 3)
    if missing.any():
        failed, sound = columns.outcome == WITH, columns.outcome == WITHOUT
        said.append(
            f"{int(missing.sum())} readings have no score and are left out ({_share_missing(missing, failed)} failed, "
            f"{_share_missing(missing, sound)} sound): if they are missing for a reason that has to do with the part, "
            "such as weather or hurry, all figures are off; missing_scores='bounds' tells how far"
        )
    unknown = int(((columns.outcome == UNKNOWN) & ~columns.repaired).sum())
    if unknown:
        said.append(f"{unknown} readings have no outcome: bounds tell what they could change, estimates leave them out")
    return said


def _about_grouping(columns: StudyColumns) -> list[str]:
    said = []
    if columns.unit is not None and columns.repeats_units():
        units = len(set(columns.unit))
        by = "the clusters they are in" if columns.cluster is not None else "unit"
        said.append(
            f"{len(columns)} readings of {units} units: those of one unit are not independent, intervals go by {by}; "
            "figures are shares of readings, and a unit read often counts often"
        )
    groups = columns.grouping()
    count = len(np.unique(groups))
    if groups.size and count < FEW_CLUSTERS:
        said.append(f"only {count} clusters: intervals by clusters cover less than they say below about {FEW_CLUSTERS}")
    return said


def _about_times(columns: StudyColumns) -> list[str]:
    said = []
    if columns.entry_day is not None and np.nanmax(columns.entry_day, initial=0.0) > 0:
        late = int((columns.entry_day > 0).sum())
        said.append(
            f"{late} units came under observation late (left truncation): those that failed before were never seen; "
            "survival_by_band takes the entry in, all other figures hold for units that lived to their entry"
        )
    if columns.left_for_other_reason.any():
        left = int(columns.left_for_other_reason.sum())
        said.append(
            f"{left} units left for another reason: whether they would have failed is not known; where that reason has "
            "to do with the reading, figures are off"
        )
    return said


def _about_outcome(columns: StudyColumns, low: Doubles, high: Doubles) -> list[str]:
    failed = (columns.outcome == WITH) & ~np.isnan(low)
    sound = (columns.outcome == WITHOUT) & ~np.isnan(low)
    if min(failed.sum(), sound.sum()) >= FEW_EVENTS and low[failed].min() > high[sound].max():
        return [
            "the score parts failed from sound units without one exception: make sure that the outcome was not defined "
            "by the reading"
        ]
    return []


def about_data(columns: StudyColumns, low: Doubles, high: Doubles) -> list[str]:
    """All cautions that hold for every figure of a study."""
    return [
        *_about_outcome(columns, low, high),
        *_about_missing(columns),
        *_about_grouping(columns),
        *_about_times(columns),
        *about_censoring(low, high),
    ]
