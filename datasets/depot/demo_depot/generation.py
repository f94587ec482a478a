"""One seed, one depot."""

import tomllib
from collections.abc import Iterable
from functools import cache

from demo_depot import faults as planted
from demo_depot.book import Book
from demo_depot.climate import date_of
from demo_depot.dirt import write_down
from demo_depot.fleet import make_fleet
from demo_depot.jobs import repairs
from demo_depot.meters import HERE, Meters
from demo_depot.rounds import battery_round, clip_on_paint, inspections, meter_checks, stationary_plant, watched_motors
from demo_depot.table import Depot, Reading, Truth
from demo_depot.workshop import workshop_csv

HEADER_LINES = 1


@cache
def effects() -> dict:
    with (HERE / "effects.toml").open("rb") as file:
        return tomllib.load(file)


def generate(seed: int, *, faults: Iterable[int] = planted.ALL, dirt: bool = True) -> Depot:
    """Make the depot of a seed: rows as written, the true value of each, and what was planted.

    `faults` names the planted faults 1 to 15 that are active; the choice of vehicles does not depend on it.
    Without `dirt` every row is written in full as the display showed it.
    """
    chosen, sizes = frozenset(faults), effects()
    drift = sizes["fault"]["5"]
    fleet = make_fleet(seed)
    meters = Meters(seed, drift["instrument"] if 5 in chosen else None, drift["share_per_month"])
    book = Book(seed, fleet, meters, sizes)
    plan = planted.choose(seed, fleet, sizes, chosen)
    planted.plant(plan)
    for round_of_readings in (
        inspections,
        battery_round,
        watched_motors,
        meter_checks,
        stationary_plant,
        clip_on_paint,
        repairs,
    ):
        round_of_readings(book, plan)
    readings = write_down(book, seed, dirt)
    return Depot(seed, readings, truth_of(readings), workshop_csv(seed, fleet))


def truth_of(readings: list[Reading]) -> list[Truth]:
    """One row a planted thing, with the lines of the file that show it."""
    groups: dict[tuple[int, str, str], list[tuple[int, Reading, str]]] = {}
    for index, reading in enumerate(readings):
        for mark in reading.marks:
            groups.setdefault((mark.fault, mark.kind, mark.group), []).append(
                (index + 1 + HEADER_LINES, reading, mark.effect)
            )
    rows = []
    for (fault, kind, _), members in sorted(
        groups.items(), key=lambda item: (item[0][0] or 99, item[0][1], item[1][0][0])
    ):
        cells = [reading.cells for _, reading, _ in members]
        rows.append(
            Truth(
                fault=str(fault) if fault else "",
                kind=kind,
                object_id=_common(cells, "object_id"),
                part=_common(cells, "part"),
                job_id=members[0][1].job if len({reading.job for _, reading, _ in members}) == 1 else "",
                from_date=date_of(min(reading.day for _, reading, _ in members)).isoformat(),
                to_date=date_of(max(reading.day for _, reading, _ in members)).isoformat(),
                effect=members[0][2]
                if len({effect for _, _, effect in members}) == 1
                else f"{members[0][2]} ... {members[-1][2]}",
                lines=" ".join(str(line) for line, _, _ in members),
            )
        )
    return rows


def _common(cells: list[dict[str, str]], column: str) -> str:
    return "+".join(sorted({cell.get(column, "") for cell in cells} - {""}))
