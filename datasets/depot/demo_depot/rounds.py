"""The depot's regular rounds: inspections, batteries, watched motors, meter checks, stationary plant."""

import math
from typing import NamedTuple

from demo_depot.book import Book, Job, joined_text, seconds
from demo_depot.climate import DAYS, date_of, day_of
from demo_depot.faults import INSPECTIONS, WATCH_DAYS, Faults, cell_is_lost, press_index, weekday
from demo_depot.fleet import HOUSINGS, LOAD_SIDE, Battery, Plant, Vehicle, parallel
from demo_depot.table import Mark, Reading, Shown

MONITOR_OHM = 1.2e6
BATTERY_MONTHS = (
    (2023, 1),
    (2023, 2),
    (2023, 3),
    (2023, 6),
    (2023, 9),
    (2023, 10),
    (2023, 11),
    (2023, 12),
    (2024, 1),
    (2024, 2),
    (2024, 3),
    (2024, 6),
    (2024, 9),
    (2024, 10),
    (2024, 11),
    (2024, 12),
)


def inspections(book: Book, faults: Faults) -> None:
    for vehicle in book.fleet.vehicles:
        earlier: list[Reading] = []
        for visit, day in enumerate(faults.inspection_days[vehicle.id]):
            rows = _inspection(book, faults, vehicle, day)
            if faults.has(13, vehicle) and visit == INSPECTIONS - 1:
                _copy_from(earlier, rows, faults.mark(13, vehicle.id, "all values as half a year before"))
            earlier = rows


def _copy_from(earlier: list[Reading], rows: list[Reading], marks: list[Mark]) -> None:
    for reading, original in zip(rows, earlier, strict=True):
        reading.shown = original.shown
        reading.marks += marks
        reading.kept |= {"part"}
        if "test_voltage_volt" in original.cells:
            reading.cells["test_voltage_volt"] = original.cells["test_voltage_volt"]


def _inspection(book: Book, faults: Faults, vehicle: Vehicle, day: int) -> list[Reading]:
    """Bonding of all housings, both poles of the load side; the rows that every inspection has are returned."""
    first = len(book.readings)
    job = book.job(vehicle.id, vehicle.kind, day, "routine")
    if vehicle in (faults.carrier[4], faults.carrier[13]):
        job.person = "p1" if job.person == "p5" else job.person
    if vehicle is faults.carrier[13]:
        job.bonding_meter, job.insulation_meter = "meter-05", "meter-02"
    for housing in HOUSINGS:
        marks = (
            faults.mark(4, vehicle.id, "8, 8, 40, 130 mOhm by inspection")
            if (faults.has(4, vehicle) and housing == "motor_housing")
            else []
        )
        job.bonding(housing, vehicle.joint_ohm[housing](day), marks=marks, keep=("part",) if marks else ())
    left_on = vehicle.monitor_always_on or (
        vehicle is not faults.carrier[3] and book.draw.chance(book.rates["monitor_left_on"])
    )
    celsius = book.part_celsius(day)
    load_side_poles(
        job,
        vehicle,
        faults,
        celsius,
        monitor=left_on,
        through_open_contactor=book.draw.chance(book.rates["open_contactor"]),
    )
    rows = book.readings[first:]
    for cable in ("cable_main", "cable_charge"):
        true_ohm = vehicle.part("cable_main", day, celsius, job.air)
        job.insulation(cable, "cable", true_ohm, celsius, from_point="core", to_point="shield")
    if book.draw.chance(0.6):
        whole = parallel(vehicle.joined((*LOAD_SIDE, "pack"), day, celsius, job.air))
        job.on_board(whole)
    if book.draw.chance(0.4):
        battery_rows(job, vehicle, faults)
    return rows


def load_side_poles(
    job: Job,
    vehicle: Vehicle,
    faults: Faults,
    celsius: float,
    *,
    monitor: bool = False,
    through_open_contactor: bool = False,
    stage: str | None = None,
) -> None:
    """HV+ and HV- to chassis. Both are joined through the DC link, so the second shows the same."""
    marks: list[Mark] = []
    true_ohm = vehicle.joined(LOAD_SIDE, job.day, celsius, job.air)
    if monitor:
        true_ohm = parallel(true_ohm, MONITOR_OHM)
        marks += (
            faults.mark(6, vehicle.id, "1.2 MOhm monitor in parallel at every reading")
            if faults.has(6, vehicle)
            else [Mark("monitor_left_on", job.id, "1.2 MOhm in parallel")]
        )
    if faults.has(3, vehicle):
        marks += faults.mark(3, vehicle.id, "8 MOhm beside the rest, 0.4 decades less each visit")
    text = joined_text(("converter", "dcdc", "charger", "compressor", "heater"), monitor)
    options: dict = {"connected": text}
    if stage:
        options["stage"] = stage
    if any(mark.fault for mark in marks):
        options["keep"] = ("part",)
    if through_open_contactor and not marks:
        # only the cable stub behind an open contactor is tested; the parts stay unseen
        stub = vehicle.part("cable_main", job.day, celsius, job.air)
        for pole in ("hv_plus", "hv_minus"):
            row = job.insulation(
                "load_side",
                "load_side",
                stub,
                celsius,
                from_point=pole,
                settled=True,
                capacitance_farad="3e-09",
                marks=[Mark("open_contactor", f"{job.id}", "only a cable stub was tested")],
                **options,
            )
            row.true_value = true_ohm
        return
    first = job.insulation("load_side", "load_side", true_ohm, celsius, from_point="hv_plus", marks=marks, **options)
    job.insulation(
        "load_side", "load_side", true_ohm, celsius, from_point="hv_minus", repeated=first, marks=marks, **options
    )


def battery_round(book: Book, faults: Faults) -> None:
    for year, month in BATTERY_MONTHS:
        for index, vehicle in enumerate(book.fleet.vehicles):
            day = day_of(year, month, 9 + index % 8)
            if 0 <= day < DAYS:
                job = book.job(vehicle.id, vehicle.kind, weekday(day), "routine")
                battery_rows(job, vehicle, faults)
    _battery_store(book)


class Standing(NamedTuple):
    """What a battery has been through before it is read, and what that adds to its resting voltage."""

    rest_hour: float
    added_volt: float
    marks: list[Mark]


def _standing(job: Job, rates: dict, disturbed: bool) -> Standing:
    draw = job.book.draw
    point = draw.uniform() if disturbed else 1.0
    if point < rates["being_charged"]:
        added = draw.uniform(1.0, 1.5)
        return Standing(0.0, added, [Mark("being_charged", job.id, f"{added:.2f} V above rest")])
    point -= rates["being_charged"]
    if point < rates["read_too_early"]:
        rest_hour = draw.uniform(0.2, 3.0)
        added = 0.30 * math.exp(-rest_hour / 2.0) + 0.05
        return Standing(rest_hour, added, [Mark("read_too_early", job.id, f"{added:.2f} V above rest")])
    point -= rates["read_too_early"]
    if point < rates["awake"]:
        added = -draw.uniform(0.05, 0.20)
        return Standing(draw.uniform(0.1, 0.5), added, [Mark("electronics_awake", job.id, f"{added:.2f} V")])
    return Standing(draw.uniform(6.0, 48.0), 0.0, [])


def _resting_volts(job: Job, vehicle: Vehicle, faults: Faults, watched: int) -> list[float]:
    """A healthy pair is charged as one and differs by 20 mV."""
    draw = job.book.draw
    rests = [battery.at_rest(job.day, draw) for battery in vehicle.batteries]
    if len(rests) == 2:
        behind = faults.of(10)["volt_at_end"] * job.day / DAYS if watched == 10 else 0.0
        whole = vehicle.batteries[0].override is None or not cell_is_lost(faults, job.day)
        rests[1] = (rests[0] - behind if whole else 12.45) + draw.normal(0.0, 0.02)
    return rests


def _battery_fault(faults: Faults, vehicle: Vehicle, watched: int, part: str, day: int) -> list[Mark]:
    if watched == 10:
        return faults.mark(10, vehicle.id, f"battery_b falls behind, {faults.of(10)['volt_at_end']} V at the end")
    if watched == 11:
        return faults.mark(11, vehicle.id, "four iron-phosphate cells, no type written")
    if watched == 12 and part == "battery_a" and cell_is_lost(faults, day):
        return faults.mark(12, vehicle.id, "one cell of six gone")
    return []


def battery_rows(job: Job, vehicle: Vehicle, faults: Faults) -> None:
    """A single 12 V battery, or a 24 V pair of which half of the time only the sum is written down."""
    draw, rates = job.book.draw, job.book.rates
    watched = next((number for number in (10, 11, 12) if faults.has(number, vehicle)), 0)
    standing = _standing(job, rates, disturbed=not watched)
    rests = _resting_volts(job, vehicle, faults, watched)
    only_sum = len(rests) == 2 and not watched and draw.chance(rates["only_the_sum"])
    celsius = 0.5 * (job.air.outside_celsius + job.air.hall_celsius)
    common = {"rest_hour": f"{standing.rest_hour:.1f}", "part_celsius": f"{celsius:.0f}"}
    for part, battery, rest in zip(("battery_a", "battery_b"), vehicle.batteries, rests, strict=False):
        if not only_sum:
            marks = [*standing.marks, *_battery_fault(faults, vehicle, watched, part, job.day)]
            _battery_row(job, part, "battery_12v", rest, rest + standing.added_volt, battery, marks, common)
    if len(rests) == 2 and (only_sum or draw.chance(0.3)):
        whole = sum(rests)
        _battery_row(
            job,
            "battery_sum",
            "battery_pair_24v",
            whole,
            whole + 2.0 * standing.added_volt,
            vehicle.batteries[0],
            standing.marks,
            common,
        )


def _battery_row(
    job: Job,
    part: str,
    kind: str,
    rest_volt: float,
    terminal_volt: float,
    battery: Battery,
    marks: list[Mark],
    common: dict[str, str],
) -> None:
    planted = any(mark.fault for mark in marks)
    reading = job.volts(
        "resting_voltage",
        part,
        kind,
        terminal_volt,
        marks=marks,
        keep=("part",) if planted else (),
        battery_type="" if battery.type == "lfp" else battery.type,
        **common,
    )
    reading.true_value = rest_volt


def _battery_store(book: Book) -> None:
    draw = book.draw
    shelf = [Battery(draw.choice(("flooded", "agm")), draw.normal()) for _ in range(6)]
    for index, battery in enumerate(shelf):
        for day in range(12, DAYS, 61):
            job = book.job(f"STORE-{index + 1:02d}", "store", weekday(day), "routine")
            rest = battery.at_rest(day, draw)
            job.volts(
                "resting_voltage",
                "battery_a",
                "battery_12v",
                rest,
                battery_type=battery.type,
                rest_hour="500",
                part_celsius="15",
            )


def watched_motors(book: Book, faults: Faults) -> None:
    """Every quarter the motor of a dozen trucks is measured alone."""
    for vehicle in faults.watched:
        for day in WATCH_DAYS:
            job = book.job(vehicle.id, vehicle.kind, weekday(day + int(book.draw.uniform(0, 5))), "routine")
            job.insulation_meter = "meter-02"
            celsius = book.part_celsius(job.day)
            marks = (
                faults.mark(1, vehicle.id, "0.6 decades up in eighteen months, then 2 MOhm")
                if faults.has(1, vehicle)
                else []
            )
            job.insulation(
                "motor_rear",
                "motor_winding",
                vehicle.part("motor_rear", job.day, celsius, job.air),
                celsius,
                from_point="phases",
                marks=marks,
                keep=("part",) if marks else (),
            )


def meter_checks(book: Book, faults: Faults) -> None:
    """Weekly in this shop: known resistors, open and shorted leads, a known voltage."""
    for day in range(0, DAYS, 7):
        for meter, reference in (("meter-01", 100e6), ("meter-02", 100e6)):
            job = book.job("BENCH", "bench", day, "meter_check", "p2")
            drifts = meter == faults.of(5)["instrument"] and 5 in faults.active
            shown = book.meters.read(meter, "insulation_resistance", reference, day, 500)
            job.add(
                "insulation_resistance",
                "check_resistor",
                "check",
                reference,
                shown,
                meter,
                test_voltage_volt="500",
                reference_value=reference_text(reference, shown),
                marks=faults.mark(5, meter, "1 % a month") if drifts else (),
                keep=("instrument_id", "part", "stage", "test_voltage_volt"),
            )
            if day % 28 == 0:
                job.add(
                    "insulation_resistance",
                    "leads_open",
                    "check",
                    math.inf,
                    Shown(math.inf, 0, "MΩ", True, shown_ceiling(book, meter, day)),
                    meter,
                    test_voltage_volt="500",
                    keep=("instrument_id", "part", "stage", "test_voltage_volt"),
                )
        if day % 14 == 0:
            job = book.job("BENCH", "bench", day, "meter_check", "p2")
            for part, reference in (("leads_shorted", 0.0), ("check_resistor", 0.10)):
                shown = book.meters.read(
                    "meter-04", "bonding_resistance", reference + book.draw.normal(0.0, 0.004), day
                )
                job.add(
                    "bonding_resistance",
                    part,
                    "check",
                    reference,
                    shown,
                    "meter-04",
                    test_ampere="0.2",
                    wires="2",
                    reference_value=f"{reference:.2f}",
                    keep=("instrument_id", "part", "stage", "reference_value"),
                )


def reference_text(reference_ohm: float, shown: Shown) -> str:
    return f"{reference_ohm / {'MΩ': 1e6, 'GΩ': 1e9}[shown.unit]:g}"


def shown_ceiling(book: Book, meter: str, day: int) -> str:
    last = book.meters.sheet(meter, day).ranges["insulation_resistance", 500][-1]
    return f"{last.high * (1000 if last.unit == 'GΩ' else 1):g}"


RUN_TIMES = (15, 30, 45, 60, 90, 120, 180, 240, 300, 360, 420, 480, 540, 600)


def stationary_plant(book: Book, faults: Faults) -> None:
    for plant in book.fleet.motors:
        for day in (60, 240, 420, 600):
            _plant_spot(book, plant, weekday(day + int(book.draw.uniform(0, 60))), "plant_400v")
    for plant in book.fleet.feeders:
        for day in (120, 480):
            _plant_spot(book, plant, weekday(day + int(book.draw.uniform(0, 40))), "charging_post")
    for plant in book.fleet.large:
        for number, day in enumerate((30, 160, 290, 420, 550, 690)):
            _timed_run(book, faults, plant, weekday(day + int(book.draw.uniform(0, 14))), number)


def _plant_spot(book: Book, plant: Plant, day: int, object_kind: str) -> None:
    job = book.job(plant.id, object_kind, day, "routine")
    celsius = job.air.hall_celsius + book.draw.uniform(0.0, 25.0)
    meter = "meter-03" if book.draw.chance(0.5) else job.insulation_meter
    true_ohm = plant.part.resistance(day, plant.day_normals[day], celsius, job.air)
    job.insulation(
        plant.part.name,
        plant.part.kind,
        true_ohm,
        celsius,
        volt=plant.test_volt,
        instrument=meter,
        from_point="phases" if object_kind == "plant_400v" else "conductors",
    )


def _timed_run(book: Book, faults: Faults, plant: Plant, day: int, number: int) -> None:
    """Ten minutes at 1000 V: conduction and an absorption that fades as a power of time, both at one temperature."""
    ageing = plant.id == "PRESS-1" and 15 in faults.active
    job = book.job(plant.id, "plant_large", day, "routine")
    celsius = job.air.hall_celsius + book.draw.uniform(-1.0, 4.0)
    conduction = plant.part.resistance(day, plant.day_normals[day], celsius, job.air)
    absorption = plant.absorption_ohm * 2.0 ** (-(celsius - 20.0) / plant.part.halving_kelvin)
    marks = faults.mark(15, plant.id, f"true index {press_index(faults.of(15), day):.2f}") if ageing else []
    keep = ("part", "instrument_id", "elapsed_second", "run_id", "test_voltage_volt", "early_second")
    run = f"RUN-{plant.id}-{number + 1}"
    at: dict[int, float] = {}
    for second in RUN_TIMES:
        at[second] = 1.0 / (1.0 / conduction + (second / 60.0) ** -plant.exponent / absorption)
        job.insulation(
            plant.part.name,
            plant.part.kind,
            at[second],
            celsius,
            volt=1000,
            instrument="meter-03",
            from_point="phases",
            spread_decades=0.001,
            settled=True,
            elapsed_second=str(second),
            run_id=run,
            marks=marks,
            keep=keep,
            capacitance_farad=f"{plant.capacitance_farad * math.exp(book.draw.normal(0.0, 0.03)):.2g}",
        )
    index = at[600] / at[60]
    shown = Shown(round(index * math.exp(book.draw.normal(0.0, 0.02)), 2), 2, "")
    timed = not book.draw.chance(book.rates["ratio_times_missing"])
    job.add(
        "insulation_ratio",
        plant.part.name,
        plant.part.kind,
        index,
        shown,
        "meter-03",
        marks=marks,
        keep=keep,
        test_voltage_volt="1000",
        part_celsius=f"{celsius:.0f}",
        run_id=run,
        early_second="60" if timed else "",
        elapsed_second=seconds(600) if timed else "",
    )


def clip_on_paint(book: Book, faults: Faults) -> None:
    """One morning's insulation readings of several vehicles, all perfect: the clip sat on paint."""
    if 7 not in faults.active:
        return
    effect = faults.of(7)
    trucks = [vehicle for vehicle in book.fleet.of_kind("truck") if vehicle not in faults.carrier.values()]
    readings = 0
    for vehicle in trucks[: (effect["readings"] + 1) // 2]:
        job = book.job(vehicle.id, vehicle.kind, faults.clip_day, "routine", "p3")
        job.minute = 7 * 60 + 15 * readings
        celsius = book.part_celsius(job.day)
        true_ohm = vehicle.joined(LOAD_SIDE, job.day, celsius, job.air)
        for pole in ("hv_plus", "hv_minus")[: effect["readings"] - readings]:
            shown = Shown(math.inf, 0, "GΩ", True, "4")
            job.add(
                "insulation_resistance",
                "load_side",
                "load_side",
                true_ohm,
                shown,
                "meter-02",
                test_voltage_volt="500",
                from_point=pole,
                to_point="chassis",
                capacitance_farad=f"{effect['capacitance_farad'] * math.exp(book.draw.normal(0.0, 0.2)):.1g}",
                marks=faults.mark(7, date_of(job.day).isoformat(), "nine over-range readings of nothing"),
                keep=("part", "instrument_id", "test_voltage_volt", "object_kind"),
            )
            readings += 1
