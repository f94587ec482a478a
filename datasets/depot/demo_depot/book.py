"""Taking readings: a job adds rows as a person with a meter would, before anything goes wrong with the pen."""

import math
from collections.abc import Iterable

from demo_depot.climate import Air, climate
from demo_depot.draw import Draw
from demo_depot.fleet import CAPACITANCE_FARAD, Fleet
from demo_depot.meters import Meters, on_board
from demo_depot.table import Mark, Reading, Shown

PEOPLE = ("p1", "p2", "p3", "p4")


class Book:
    """All readings of one seed, the weather, the meters and the habits of the people."""

    def __init__(self, seed: int, fleet: Fleet, meters: Meters, effects: dict) -> None:
        self.fleet, self.meters, self.effects, self.rates = fleet, meters, effects, effects["rates"]
        self.air: list[Air] = climate(Draw(seed, "climate").generator)
        self.draw = Draw(seed, "readings")
        self.habits = Draw(seed, "habits")
        self.readings: list[Reading] = []
        self._nulls: dict[tuple[str, int, str], tuple[float, str]] = {}
        self._jobs = 0

    def job(self, object_id: str, object_kind: str, day: int, stage: str, person: str | None = None) -> "Job":
        self._jobs += 1
        never = self.effects["never_nulls"]
        person = person or (
            never["person"] if self.habits.chance(never["share_of_jobs"]) else self.habits.choice(PEOPLE)
        )
        return Job(self, f"J-{self._jobs:04d}", object_id, object_kind, day, stage, person)

    def null(self, meter: str, day: int, person: str) -> tuple[float, str]:
        """What the leads add to every reading of a session [ohm], and how they were nulled."""
        key = (meter, day, person)
        if key not in self._nulls:
            draw = self.habits
            if person == self.effects["never_nulls"]["person"] or draw.chance(self.rates["null_never_taken"]):
                self._nulls[key] = (max(0.04, draw.normal(0.085, 0.020)), "never_nulled_session")
            elif draw.chance(self.rates["null_on_dirty_contact"]):
                self._nulls[key] = (-draw.uniform(0.010, 0.050), "null_on_dirty_contact_session")
            else:
                self._nulls[key] = (draw.normal(0.0, 0.004), "")
        return self._nulls[key]

    def part_celsius(self, day: int) -> float:
        """65 % stood near the hall's door, 35 % were driven before."""
        if self.draw.chance(0.35):
            return min(70.0, max(15.0, self.draw.normal(45.0, 12.0)))
        lag = 0.4 * self.air[day].outside_celsius + 0.6 * self.air[day].hall_celsius
        return lag + self.draw.normal(-2.0, 4.0)


class Job:
    """One visit to one object: rows in order, minutes passing."""

    def __init__(
        self, book: Book, job_id: str, object_id: str, object_kind: str, day: int, stage: str, person: str
    ) -> None:
        self.book, self.id, self.object_id, self.object_kind = book, job_id, object_id, object_kind
        self.day, self.stage, self.person = day, stage, person
        self.minute = int(book.draw.uniform(7 * 60, 14 * 60))
        self.order = 0
        self.marks: list[Mark] = []
        # one tester and one set of leads a job
        self.insulation_meter = "meter-01" if book.draw.chance(0.55) else "meter-02"
        self.bonding_meter = "meter-04" if book.draw.chance(0.85) else "meter-05"

    @property
    def air(self) -> Air:
        return self.book.air[self.day]

    def add(
        self,
        quantity: str,
        part: str,
        part_kind: str,
        true_value: float,
        shown: Shown,
        instrument: str,
        *,
        marks: Iterable[Mark] = (),
        keep: Iterable[str] = (),
        stage: str | None = None,
        **cells: str,
    ) -> Reading:
        self.order += 1
        self.minute += 1 + int(self.book.draw.uniform(0, 3))
        texts = {
            "object_id": self.object_id,
            "object_kind": self.object_kind,
            "part": part,
            "part_kind": part_kind,
            "quantity": quantity,
            "instrument_id": instrument,
            "job_id": self.id,
            "step": str(self.order),
            "stage": stage or self.stage,
            "taken_by": self.person,
            "ambient_celsius": f"{self.air.hall_celsius:.0f}",
            "humidity_percent": f"{self.air.hall_humidity_percent:.0f}",
        }
        texts.update(cells)
        reading = Reading(
            self.day,
            self.minute,
            quantity,
            true_value,
            shown,
            texts,
            self.id,
            self.order,
            frozenset(keep),
            [*self.marks, *marks],
        )
        self.book.readings.append(reading)
        return reading

    def insulation(
        self,
        part: str,
        part_kind: str,
        true_ohm: float,
        celsius: float,
        *,
        volt: float = 500,
        instrument: str | None = None,
        from_point: str = "",
        connected: str = "alone",
        settled: bool = False,
        spread_decades: float = 0.015,
        repeated: Reading | None = None,
        marks: Iterable[Mark] = (),
        keep: Iterable[str] = (),
        **cells: str,
    ) -> Reading:
        """A spot reading. `repeated`: the same joined circuit once more, so the same value to within the display.

        `spread_decades`: how much the insulation itself differs from one application of the voltage to the next.
        """
        book, draw = self.book, self.book.draw
        meter = instrument or self.insulation_meter
        marks = list(marks)
        if repeated is not None:
            volt = float(repeated.cells["test_voltage_volt"])
        elif (
            meter in ("meter-01", "meter-02")
            and volt == 500
            and not settled
            and draw.chance(book.rates["wrong_test_voltage"])
        ):
            volt = 250
            marks.append(Mark("wrong_test_voltage", f"{self.id}/{self.order}", "250 V for 500 V"))
        if repeated is None:
            true_ohm *= 10.0 ** draw.normal(0.0, spread_decades)
        else:
            true_ohm = repeated.true_value
        seen_ohm = true_ohm
        if not settled and repeated is None and draw.chance(book.rates["early_reading"]):
            seen_ohm *= draw.uniform(0.65, 0.95)
            marks.append(
                Mark("early_reading", f"{self.id}/{self.order}", f"{seen_ohm / true_ohm:.2f} of the settled value")
            )
        if repeated is not None and draw.chance(0.85):
            shown = repeated.shown
            marks += [mark for mark in repeated.marks if mark.kind == "early_reading"]
        else:
            shown = book.meters.read(meter, "insulation_resistance", seen_ohm, self.day, volt)
        applied = min(1.05 * volt, true_ohm * book.meters.source_ampere(meter))
        capacitance = CAPACITANCE_FARAD.get(part_kind, 1e-9) * 10.0 ** draw.normal(0.0, 0.08)
        texts = {
            "test_voltage_volt": f"{volt:g}",
            "from_point": from_point,
            "to_point": "housing" if connected == "alone" else "chassis",
            "connected": connected,
            "part_celsius": f"{celsius:.0f}",
            "part_celsius_u": "2",
            "elapsed_second": str(draw.choice((10, 15, 30, 60))),
            "applied_volt": f"{applied:.0f}",
            "capacitance_farad": f"{capacitance:.2g}",
            "surface": surface_word(celsius, self.air, draw),
        }
        texts.update(cells)
        return self.add(
            "insulation_resistance", part, part_kind, true_ohm, shown, meter, marks=marks, keep=keep, **texts
        )

    def bonding(
        self, part: str, true_ohm: float, *, marks: Iterable[Mark] = (), keep: Iterable[str] = (), **cells: str
    ) -> Reading:
        """Housing to chassis; a two-wire meter carries what its leads were nulled to."""
        book, draw, meter = self.book, self.book.draw, self.bonding_meter
        marks, seen_ohm = list(marks), true_ohm
        null_text = ""
        if meter == "meter-04":
            offset, how = book.null(meter, self.day, self.person)
            seen_ohm += offset + draw.normal(0.0, 0.003)
            if how:
                marks.append(Mark(how, f"{meter} day {self.day} {self.person}", f"{offset:+.3f} ohm on every reading"))
            if how != "never_nulled_session":
                null_text = "0.00"
        shown = book.meters.read(meter, "bonding_resistance", seen_ohm, self.day)
        return self.add(
            "bonding_resistance",
            part,
            "housing",
            true_ohm,
            shown,
            meter,
            marks=marks,
            keep=keep,
            from_point="housing",
            to_point="chassis",
            null_ohm=null_text,
            wires="2" if meter == "meter-04" else "4",
            test_ampere="0.2" if meter == "meter-04" else "1",
            **cells,
        )

    def on_board(self, true_ohm: float) -> Reading:
        return self.add(
            "insulation_resistance",
            "whole_system",
            "whole_system",
            true_ohm,
            on_board(true_ohm, self.book.draw),
            "on-board",
            connected="monitor",
            origin="on_board",
        )

    def volts(
        self, quantity: str, part: str, part_kind: str, true_volt: float, instrument: str = "meter-06", **options
    ) -> Reading:
        shown = self.book.meters.read(instrument, quantity, true_volt, self.day)
        return self.add(quantity, part, part_kind, true_volt, shown, instrument, **options)


def surface_word(celsius: float, air: Air, draw: Draw) -> str:
    if celsius <= air.hall_dew_point_celsius:
        return draw.choice(("condensing", "wet"))
    return draw.choice(("dry", "dry", "wiped"))


def joined_text(parts: Iterable[str], monitor: bool = False) -> str:
    return "+".join([*parts, *(["monitor"] if monitor else [])])


def seconds(value: float) -> str:
    return f"{value:.0f}" if math.isfinite(value) else ""
