"""From what a meter showed to what a person wrote down: gaps, slips and habits at the stated rates."""

import re
from collections import defaultdict

from demo_depot.book import Book
from demo_depot.climate import date_of
from demo_depot.draw import Draw
from demo_depot.table import Mark, Reading, Shown

# column, rate, quantities it applies to (empty: all)
GAPS = (
    ("part_celsius", "part_celsius_missing", ()),
    ("ambient_celsius", "ambient_missing", ()),
    ("humidity_percent", "humidity_missing", ()),
    ("instrument_id", "instrument_missing", ()),
    ("test_voltage_volt", "test_voltage_missing", ("insulation_resistance",)),
    ("elapsed_second", "elapsed_missing", ()),
    ("applied_volt", "applied_voltage_missing", ()),
    ("capacitance_farad", "capacitance_missing", ()),
    ("null_ohm", "null_missing", ()),
    ("connected", "connected_missing", ()),
    ("rest_hour", "rest_hour_missing", ()),
    ("battery_type", "battery_type_missing", ()),
    ("stage", "stage_missing", ()),
    ("part", "part_missing", ()),
    ("circuit_side", "circuit_side_missing", ()),
    ("surface", "surface_missing", ()),
    ("wires", "null_missing", ()),
    ("test_ampere", "null_missing", ()),
    ("polarity", "null_missing", ()),
)
ASIDES = (
    "nass",
    "wet",
    "nach Trocknen",
    "without comp.",
    "ok",
    "after wash",
    "cold",
    "plug corroded",
    "2nd try",
    "see photo",
    "Schirm neu",
    "frost",
)
OVER_RANGE_FORMS = (
    ("OL", 55),
    ("bound", 12),
    ("bound with unit", 10),
    ("prefix", 8),
    ("O.L", 5),
    ("∞", 5),
    (">max", 5),
)
OHM_SPELLINGS = {
    "MΩ": ("MΩ", "MΩ", "Mohm", "MOhm", "M\u2126"),
    "GΩ": ("GΩ", "GΩ", "Gohm"),
    "kΩ": ("kΩ", "kohm"),
    "Ω": ("Ω", "Ω", "ohm", "Ohm"),
    "mΩ": ("mΩ", "mohm"),
    "V": ("V",),
    "": ("",),
}
UNREADABLE = ("ok", "?", "1,234", "siehe Blatt", "0.4 oder 0.6", "12..5")
SLIPS = {"MΩ": ("GΩ", "kΩ"), "GΩ": ("MΩ",), "kΩ": ("MΩ",)}


def write_down(book: Book, seed: int, dirt: bool) -> list[Reading]:
    """Readings in the order of the file, with texts in their cells."""
    readings = sorted(book.readings, key=lambda r: (r.day, r.job, r.order))
    draw = Draw(seed, "pen")
    if not dirt:
        for reading in readings:
            _write_plainly(reading)
        return readings
    _by_job(readings, book.rates, draw)
    for reading in readings:
        _gaps(reading, book.rates, draw)
    _copied_jobs(readings, book.rates, draw)
    slipping = sum(_can_slip(reading) for reading in readings)
    slip_chance = book.rates["unit_slip"] * len(readings) / slipping
    for reading in readings:
        _slips(reading, book, slip_chance, draw)
        _value(reading, book.rates, draw)
    return _duplicates(readings, book.rates["duplicate"], draw)


def _number(shown: Shown) -> str:
    return f"{shown.value:.{shown.decimals}f}"


def _stamp(reading: Reading, offset: bool) -> str:
    text = f"{date_of(reading.day).isoformat()}T{reading.minute // 60:02d}:{reading.minute % 60:02d}:00"
    return text + "+01:00" if offset else text


def _write_plainly(reading: Reading) -> None:
    reading.cells.pop("note_hint", None)
    reading.cells["taken_at"] = _stamp(reading, True)
    reading.cells["value"] = f">{reading.shown.ceiling}" if reading.shown.over else _number(reading.shown)
    reading.cells["unit"] = reading.shown.unit


def _by_job(readings: list[Reading], rates: dict, draw: Draw) -> None:
    """Habits that hold for a whole job: date only, no order, no number of the job, decimal comma."""
    habits: dict[str, dict[str, bool]] = {}
    for reading in readings:
        habit = habits.get(reading.job)
        if habit is None:
            habit = habits[reading.job] = {
                "date_only": draw.chance(rates["time_of_day_missing"]),
                "offset": draw.chance(0.5),
                "no_step": draw.chance(rates["step_missing"]),
                "no_job": draw.chance(rates["job_missing"]),
                "nobody": draw.chance(rates["taken_by_missing"]),
                "comma": draw.chance(rates["decimal_comma"]),
            }
        cells = reading.cells
        cells["taken_at"] = date_of(reading.day).isoformat() if habit["date_only"] else _stamp(reading, habit["offset"])
        if habit["no_step"] and "step" not in reading.kept:
            cells["step"] = ""
        if habit["no_job"] and "step" not in reading.kept:
            cells["job_id"] = ""
        if habit["nobody"]:
            cells["taken_by"] = ""
        if habit["comma"]:
            cells["comma"] = "1"
        if not draw.chance(rates["reading_id_missing"]):
            cells["reading_id"] = f"{reading.job}-{reading.order:02d}"


def _gaps(reading: Reading, rates: dict, draw: Draw) -> None:
    cells, kept = reading.cells, reading.kept
    for column, rate, quantities in GAPS:
        if not cells.get(column) or column in kept or (quantities and reading.quantity not in quantities):
            continue
        if draw.chance(rates[rate]):
            cells[column] = ""
    if "points" not in kept and cells.get("from_point") and draw.chance(rates["points_missing"]):
        cells["from_point"] = cells["to_point"] = ""
    if not cells.get("part_celsius") or draw.chance(0.9):
        cells["part_celsius_u"] = ""
    hint = cells.pop("note_hint", "")
    if draw.chance(rates["note"]):
        wet = cells.get("surface") in ("wet", "condensing")
        cells["note"] = hint or ("nass" if wet else draw.choice(ASIDES))


def _copied_jobs(readings: list[Reading], rates: dict, draw: Draw) -> None:
    """An inspection's bonding values written over from another vehicle's."""
    jobs: dict[str, list[Reading]] = defaultdict(list)
    for reading in readings:
        if reading.quantity == "bonding_resistance" and reading.cells.get("part_kind") == "housing":
            jobs[reading.job].append(reading)
    inspections = [rows for rows in jobs.values() if len(rows) == 8]
    free = [
        rows for rows in inspections if not any(reading.kept for reading in rows) and not any(r.marks for r in rows)
    ]
    for rows in draw.shuffled(free)[: round(rates["copied_job"] * len(inspections))]:
        source = draw.choice([other for other in free if other is not rows and other[0].day < rows[0].day] or [rows])
        if source is not rows:
            _copy(source, rows)
            for reading in rows:
                reading.marks.append(
                    Mark(
                        "copied_job",
                        reading.job,
                        f"values of {source[0].cells['object_id']} on {date_of(source[0].day)}",
                    )
                )


def _copy(source: list[Reading], rows: list[Reading]) -> None:
    for reading, original in zip(rows, source, strict=True):
        reading.shown = original.shown
        reading.cells["instrument_id"] = original.cells["instrument_id"]


def _can_slip(reading: Reading) -> bool:
    return (
        not reading.planted()
        and not reading.shown.over
        and reading.shown.unit in SLIPS
        and reading.cells["object_id"] != "BENCH"
    )


def _slips(reading: Reading, book: Book, slip_chance: float, draw: Draw) -> None:
    """At most one slip a row, none on planted rows."""
    rates, cells = book.rates, reading.cells
    if reading.planted() or cells["object_id"] == "BENCH":
        return
    point = draw.uniform()
    mark = f"{reading.job}/{reading.order}"
    for slip in ("wrong_vehicle", "typing_error", "unreadable", "object_missing", "value_missing"):
        point -= rates[slip]
        if point >= 0.0:
            continue
        if slip == "wrong_vehicle" and (other := _mistyped(cells["object_id"], book, draw)):
            reading.marks.append(Mark(slip, mark, f"taken on {cells['object_id']}"))
            cells["object_id"] = other
        elif slip == "typing_error" and not reading.shown.over and (wrong := _swapped(reading.shown, draw)):
            reading.marks.append(Mark(slip, mark, f"display showed {_number(reading.shown)}"))
            reading.shown = wrong
        elif slip == "unreadable":
            reading.marks.append(Mark(slip, mark, "no value can be read from the text"))
            cells["value"] = draw.choice(UNREADABLE)
        elif slip == "object_missing":
            reading.marks.append(Mark(slip, mark, f"taken on {cells['object_id']}"))
            cells["object_id"] = ""
        elif slip == "value_missing":
            reading.marks.append(Mark(slip, mark, "no value written"))
            cells["value"] = draw.choice(("", "-", "n/a"))
        return
    if _can_slip(reading) and draw.chance(slip_chance):
        other = draw.choice(SLIPS[reading.shown.unit])
        reading.marks.append(Mark("unit_slip", mark, f"{reading.shown.unit} written as {other}"))
        reading.shown = reading.shown._replace(unit=other)


def _mistyped(object_id: str, book: Book, draw: Draw) -> str:
    """Another vehicle whose number differs in one digit, or by two digits swapped."""
    near = [
        v.id
        for v in book.fleet.vehicles
        if v.id != object_id
        and v.id[:-2] == object_id[:-2]
        and (v.id[-2:] == object_id[-1:-3:-1] or sum(a != b for a, b in zip(v.id, object_id, strict=True)) == 1)
    ]
    return draw.choice(near) if near else ""


def _swapped(shown: Shown, draw: Draw) -> Shown | None:
    """Two neighbouring digits in the wrong order."""
    text = _number(shown)
    places = [m.start() for m in re.finditer(r"\d(?=\d)", text) if text[m.start()] != text[m.start() + 1]]
    if not places:
        return None
    at = draw.choice(places)
    swapped = text[:at] + text[at + 1] + text[at] + text[at + 2 :]
    return shown._replace(value=float(swapped))


def _value(reading: Reading, rates: dict, draw: Draw) -> None:
    cells, shown = reading.cells, reading.shown
    comma = bool(cells.pop("comma", ""))
    unit = draw.choice(OHM_SPELLINGS[shown.unit])
    if "value" in cells:  # unreadable or missing, already written
        cells["unit"] = unit
        return
    if shown.over:
        _over_range(reading, unit, rates, draw)
    else:
        text = _number(shown)
        if comma and not re.fullmatch(r"-?\d{1,3}\.\d{3}", text):
            text = text.replace(".", ",")
        # a meter check keeps its unit column: the reference value is in that unit too
        if unit and not cells.get("reference_value") and draw.chance(rates["unit_in_value"]):
            cells["value"], cells["unit"] = f"{text} {unit}", ""
        else:
            cells["value"], cells["unit"] = text, unit


def _over_range(reading: Reading, unit: str, rates: dict, draw: Draw) -> None:
    cells, shown = reading.cells, reading.shown
    if not reading.planted() and draw.chance(rates["over_range_as_number"]):
        reading.marks.append(
            Mark(
                "over_range_as_number", f"{reading.job}/{reading.order}", f"over range of {shown.ceiling} {shown.unit}"
            )
        )
        cells["value"], cells["unit"] = shown.ceiling, unit
        return
    form = draw.weighted([name for name, _ in OVER_RANGE_FORMS], [weight for _, weight in OVER_RANGE_FORMS])
    cells["unit"] = unit
    if form == "bound":
        cells["value"] = f">{shown.ceiling}"
    elif form == "bound with unit":
        cells["value"], cells["unit"] = f">{shown.ceiling} {unit}", ""
    elif form == "prefix":
        cells["value"], cells["unit"] = f">{shown.ceiling}{shown.unit[0]}", ""
    else:
        cells["value"] = form


def _duplicates(readings: list[Reading], rate: float, draw: Draw) -> list[Reading]:
    """A row typed twice stands a few lines further down."""
    written: list[Reading] = []
    waiting: list[tuple[int, Reading]] = []
    for reading in readings:
        written.append(reading)
        if not reading.planted() and draw.chance(rate):
            cells = dict(reading.cells)
            cells["reading_id"] = ""
            mark = Mark("duplicate", f"{reading.job}/{reading.order}", "the same row twice")
            again = Reading(
                reading.day,
                reading.minute,
                reading.quantity,
                reading.true_value,
                reading.shown,
                cells,
                reading.job,
                reading.order,
                reading.kept,
                [mark],
            )
            waiting.append((len(written) + int(draw.uniform(0, 6)), again))
        while waiting and len(written) >= waiting[0][0]:
            written.append(waiting.pop(0)[1])
    written.extend(again for _, again in waiting)
    return written
