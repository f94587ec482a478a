"""From judged readings to the history of each part: one reading a day, what is not believed left out."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ohmward import _core
from ohmward._core.core import Censoring, QuantityKind, Status
from ohmward._quantity import Fields, Quantity

if TYPE_CHECKING:
    from ohmward.results import Results

_BITS = {name: np.uint64(1) << np.uint64(i) for i, (name, _, _) in enumerate(_core.core.finding_table)}
# A reading with one of these may not be one of this part in its usual state.
_LEFT_OUT = (
    "unit_slip_suspected", "object_mistyped_suspected", "open_contactor_suspected", "wrong_function_suspected",
    "copied_suspected", "monitor_connected_suspected", "in_doubt",
)  # fmt: skip
_NOT_BELIEVED = np.uint64(sum(int(_BITS[name]) for name in _LEFT_OUT))
_SECONDS_A_DAY = 86400


@dataclass(frozen=True, eq=False)
class History:
    """
    The readings of one part of one object, one a day.

    Attributes
    ----------
    object_id, part : str
        Whose.
    day : ndarray
        Days since 1 January 1970. [d]
    resistance : list of Quantity
        Of one day the median of its exact readings, else its best bound; or of a ratio.
    part_celsius, standard_uncertainty_kelvin : ndarray
        NaN where not written down. [°C], [K]
    after_repair : ndarray of bool
        As told when the histories were made.
    reading_id : list of tuple of str
        The readings of each day.
    left_out : int
        Readings that are not believed, of a new part before it was fitted, or without a value.
    """

    object_id: str
    part: str
    day: NDArray[np.float64]
    resistance: list[Quantity]
    part_celsius: NDArray[np.float64]
    standard_uncertainty_kelvin: NDArray[np.float64]
    after_repair: NDArray[np.bool_]
    reading_id: list[tuple[str, ...]]
    left_out: int

    def __len__(self) -> int:
        """Count the days."""
        return len(self.day)

    def with_celsius(self, celsius: float, standard_uncertainty_kelvin: float) -> History:
        """Put a temperature in the place of those not written down: where the known ones lie, and how widely."""
        missing = np.isnan(self.part_celsius)
        u = np.where(missing, standard_uncertainty_kelvin, self.standard_uncertainty_kelvin)
        return replace(self, part_celsius=np.where(missing, celsius, self.part_celsius), standard_uncertainty_kelvin=u)

    def fields(
        self,
    ) -> tuple[NDArray[np.float64], list[Fields], NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
        """Return what the compiled module takes."""
        return (
            self.day,
            [q.fields() for q in self.resistance],
            self.part_celsius,
            self.standard_uncertainty_kelvin,
            self.after_repair,
        )


def _one_of_a_day(values: list[tuple[float, Censoring, float]]) -> Quantity:
    """The median of the exact readings, else the highest bound from below, else the lowest from above."""
    exact = sorted((value, u) for value, kind, u in values if kind == Censoring.exact)
    if exact:
        middle = [exact[(len(exact) - 1) // 2], exact[len(exact) // 2]]
        value = float(np.sqrt(middle[0][0] * middle[1][0]))
        return Quantity(value, True, parts={"reading": 0.5 * (middle[0][1] + middle[1][1])})
    above = [(value, u) for value, kind, u in values if kind == Censoring.above]
    value, u = max(above) if above else min((value, u) for value, _, u in values)
    kind = Censoring.above if above else Censoring.below
    return Quantity(value, True, kind, Status.bound_only, {"reading": u})


def _numbers(results: Results, name: str) -> NDArray[np.float64]:
    numbers = results._rows.numbers(name)
    return np.full(len(results), np.nan) if numbers is None else numbers


class _Table:
    """The columns that histories are made of."""

    def __init__(self, results: Results, quantity: str) -> None:
        self.rows, self.quantity = results._rows, quantity
        self.value, self.findings = results.column("value"), results.column("findings")
        self.kinds, self.u = results.column("censoring"), results.column("standard_uncertainty")
        texts = ("object_id", "part", "part_kind", "stage", "run_id", "connected")
        self.words = {name: self.rows.words(name) for name in texts}
        self.day = self.rows.seconds // _SECONDS_A_DAY
        self.replaced = self.rows.replaced()
        self.celsius, self.u_kelvin = (_numbers(results, name) for name in ("part_celsius", "part_celsius_u"))

    def wanted(self, part: str, part_kind: str) -> list[int]:
        """Rows of the quantity with a value, of named parts."""
        chosen = (self.rows.quantity_numbers == int(QuantityKind[self.quantity])) & (self.value > 0)
        chosen &= self.words["object_id"].astype(bool) & self.words["part"].astype(bool)
        for name, only in (("part", part), ("part_kind", part_kind)):
            chosen &= (self.words[name] == only) | (not only)
        return [int(row) for row in np.flatnonzero(chosen) if int(row) not in self.replaced]

    def monitored(self, row: int) -> bool:
        return "monitor" in (self.words["connected"][row] or "").split("+")

    def believed(self, row: int) -> bool:
        """A single reading of this part as it is, which nothing speaks against."""
        in_a_series = self.quantity == "insulation_resistance" and self.words["run_id"][row] is not None
        other_part = self.words["stage"][row] in ("incoming_part", "meter_check")
        return not (self.findings[row] & _NOT_BELIEVED or in_a_series or other_part)

    def reading(self, row: int) -> tuple[float, Censoring, float]:
        kind = Censoring(int(self.kinds[row]))
        if kind == Censoring.exact and self.findings[row] & _BITS["ceiling_as_number_suspected"]:
            kind = Censoring.above
        return float(self.value[row]), kind, 0.0 if np.isnan(self.u[row]) else float(self.u[row])

    def history(self, name: str, part: str, days: dict[int, list[int]], left_out: int, repaired: list[str]) -> History:
        order = sorted(days)
        after = np.zeros(len(order), np.bool_)
        for date in repaired:
            first = np.searchsorted(order, np.datetime64(date, "D").astype(np.int64))
            after[first : first + 1] = True
        return History(
            object_id=name,
            part=part,
            day=np.array(order, dtype=np.float64),
            resistance=[_one_of_a_day([self.reading(row) for row in days[day]]) for day in order],
            part_celsius=np.array([_mean_known(self.celsius, days[day]) for day in order]),
            standard_uncertainty_kelvin=np.array([_mean_known(self.u_kelvin, days[day]) for day in order]),
            after_repair=after,
            reading_id=[tuple(self.rows.id(row) for row in days[day]) for day in order],
            left_out=left_out,
        )


def histories(
    results: Results,
    *,
    quantity: str = "insulation_resistance",
    part: str = "",
    part_kind: str = "",
    repaired: dict[tuple[str, str], list[str]] | None = None,
) -> dict[tuple[str, str], History]:
    """
    Make the history of each part from judged readings.

    Left out are readings that screening does not believe (slips, another vehicle, an open contactor, a monitor left on,
    copies) or a person doubts, those of a day on which one tells of a monitor in parallel, those of a new part before
    it was fitted, and single readings of a run, a ladder or a drying series (with a ``run_id``; the ratio of a run
    stays, in place of one written down beside it). A ceiling written as a number is a bound.

    Parameters
    ----------
    results : Results
        From `ohmward.assess`.
    quantity : {"insulation_resistance", "insulation_ratio"}
        Which readings.
    part, part_kind : str, optional
        Only these.
    repaired : dict, optional
        Dates (ISO) of repairs by (object, part): the level may have changed there.

    Returns
    -------
    dict
        `History` by (object, part), in the order of the file.

    Examples
    --------
    >>> import ohmward as ow
    >>> found = histories(ow.assess(ow.demo()), quantity="insulation_ratio")
    >>> press = found["PRESS-1", "winding"]
    >>> [round(q.value, 2) for q in press.resistance]
    [3.12, 2.26, 2.3, 1.89, 1.75, 1.4]
    """
    if quantity not in ("insulation_resistance", "insulation_ratio"):
        raise ValueError(f"quantity is {quantity!r}, expected 'insulation_resistance' or 'insulation_ratio'")
    table = _Table(results, quantity)
    of_part: dict[tuple[str, str], list[int]] = defaultdict(list)
    for row in table.wanted(part, part_kind):
        of_part[table.words["object_id"][row], table.words["part"][row]].append(row)
    found = {}
    for key, rows in of_part.items():
        monitored = {int(table.day[row]) for row in rows if table.monitored(row)}
        days: dict[int, list[int]] = defaultdict(list)
        for row in rows:
            if table.believed(row) and int(table.day[row]) not in monitored:
                days[int(table.day[row])].append(row)
        left_out = len(rows) - sum(len(taken) for taken in days.values())
        if days:
            found[key] = table.history(*key, days, left_out, (repaired or {}).get(key, []))
    return found


def _mean_known(column: NDArray[np.float64], rows: list[int]) -> float:
    known = [float(column[row]) for row in rows if not np.isnan(column[row])]
    return float(np.mean(known)) if known else float("nan")
