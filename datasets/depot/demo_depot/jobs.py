"""Repair jobs: the chain of readings around one replaced component, ladders, drying, opened packs."""

import math

from demo_depot.book import Book, Job, joined_text
from demo_depot.climate import DAYS
from demo_depot.draw import Draw
from demo_depot.faults import Faults, weekday
from demo_depot.fleet import LOAD_SIDE, Vehicle, parallel
from demo_depot.rounds import battery_rows, load_side_poles
from demo_depot.table import Mark, Reading, Shown

REPAIRS = 84
PAIRS = (("hv_plus", "hv_minus"), ("hv_plus", "chassis"), ("hv_minus", "chassis"))
REPLACED = {
    "converter": "converter_housing",
    "motor_rear": "motor_housing",
    "charger": "charger_housing",
    "dcdc": "dcdc_housing",
    "compressor": "compressor_housing",
    "heater": "heater_housing",
}


def repairs(book: Book, faults: Faults) -> None:
    free = [vehicle for vehicle in book.fleet.vehicles if vehicle not in faults.carrier.values()]
    plan = [(book.draw.choice(free), int(book.draw.uniform(5, DAYS - 5))) for _ in range(REPAIRS)]
    for number in (2, 8, 9, 3):
        plan += [(faults.carrier[number], int(book.draw.uniform(100 + 280 * n, 300 + 280 * n))) for n in range(2)]
    for index, (vehicle, day) in enumerate(plan):
        component = "compressor" if vehicle is faults.carrier[2] else book.draw.choice(tuple(REPLACED))
        ladder = index % 6 == 0 or vehicle is faults.carrier[2]
        _repair(book, faults, vehicle, weekday(day), component, ladder)
    for day in (140, 330, 520):
        _drying(book, book.draw.choice(free), weekday(day))
    for number in range(12):
        _before_after_cleaning(book, book.draw.choice(free), weekday(50 + 50 * number))
    for vehicle, day in ((faults.carrier[14], 300), (free[0], 480)):
        _opened_pack(book, faults, vehicle, weekday(day))


def _repair(book: Book, faults: Faults, vehicle: Vehicle, day: int, component: str, ladder: bool) -> None:
    job = book.job(vehicle.id, vehicle.kind, day, "as_found")
    battery_rows(job, vehicle, faults)
    _prove_dead(job, vehicle, faults)
    celsius = book.part_celsius(day)
    leak = faults.of(2)["leak_ohm"] if faults.has(2, vehicle) else math.inf
    if math.isinf(leak):
        load_side_poles(job, vehicle, faults, celsius)
    if ladder:
        _unplug_ladder(job, vehicle, faults, celsius, leak)
    kind = vehicle.parts[component].kind
    suspect = parallel(vehicle.part(component, day, celsius, job.air), leak)
    marks = faults.mark(2, vehicle.id, "compressor leak 0.48 MOhm") if math.isfinite(leak) else []
    keep = ("part",) if marks else ()
    job.insulation(
        component,
        kind,
        suspect,
        celsius,
        from_point="phases" if component == "motor_rear" else "hv_plus",
        stage="fault_finding",
        marks=marks,
        keep=keep,
    )
    fresh = book.draw.decades(vehicle.part(component, day, job.air.hall_celsius, job.air), 0.2)
    job.insulation(
        component,
        kind,
        fresh,
        job.air.hall_celsius,
        stage="incoming_part",
        from_point="phases" if component == "motor_rear" else "hv_plus",
    )
    if component == "motor_rear":
        _winding(job, celsius)
    job.insulation(
        "cable_main",
        "cable",
        vehicle.part("cable_main", day, celsius, job.air),
        celsius,
        stage="fault_finding",
        from_point="core",
        to_point="shield",
    )
    for housing in (REPLACED[component], "junction_box"):
        for polarity in ("plus", "minus"):
            job.bonding(housing, vehicle.joint_ohm[housing](day), stage="after_work", polarity=polarity)
    load_side_poles(job, vehicle, faults, celsius, stage="after_work")
    whole = parallel(vehicle.joined((*LOAD_SIDE, "pack"), day, celsius, job.air))
    job.on_board(whole)
    job.volts(
        "dc_voltage",
        "battery_sum" if len(vehicle.batteries) == 2 else "battery_a",
        "board_net",
        len(vehicle.batteries) * book.draw.uniform(13.75, 14.2),
        stage="after_work",
        note_hint="charging",
    )


def _prove_dead(job: Job, vehicle: Vehicle, faults: Faults) -> None:
    """Known source, the pairs of the load side, known source again; with the multimeter or the two-pole tester."""
    book, draw = job.book, job.book.draw
    leaking, slow = faults.has(9, vehicle), faults.has(8, vehicle)
    meter = "meter-06" if leaking or slow or draw.chance(0.5) else "meter-07"
    source = 25.1 if draw.chance(0.6) else 500.0
    gap = not (leaking or slow) and draw.chance(book.rates["source_check_missing"])
    gap_mark = [Mark("source_check_missing", job.id, "no known source after the dead check")] if gap else []
    waited = draw.choice((300, 600, 900))
    _source(job, meter, source, draw)
    wrong = not (leaking or slow) and draw.chance(book.rates["wrong_function"])
    if slow:
        _slow_discharge(job, faults, vehicle, meter)
    elif not leaking and draw.chance(book.rates["one_row_for_three_pairs"]):
        _dead_row(
            job,
            meter,
            "",
            "",
            abs(draw.normal(0.0, 0.2)),
            waited,
            [*gap_mark, Mark("one_row_for_three_pairs", job.id, "no pair named")],
            wrong,
        )
    else:
        for from_point, to_point in PAIRS:
            volt = abs(draw.normal(0.0, 0.2))
            if to_point == "chassis" and meter == "meter-06":
                volt += min(4.0, -0.8 * math.log(1.0 - draw.uniform(0.0, 0.99)))
            marks = list(gap_mark)
            if leaking and from_point == "hv_plus" and to_point == "chassis":
                marks += faults.mark(9, vehicle.id, "80 MOhm across the open contactor")
                _contactor_leak(job, faults, vehicle, marks, waited)
                continue
            _dead_row(job, meter, from_point, to_point, volt, waited, marks, wrong)
    if not gap:
        _source(job, meter, source, draw, voided=wrong)


def _source(job: Job, meter: str, volt: float, draw: Draw, voided: bool = False) -> None:
    """`voided`: the closing check of a meter in the wrong function shows nothing, which is how it is noticed."""
    true_volt = volt + draw.normal(0.0, 0.05)
    shown = Shown(0.0, 1, "V") if voided else job.book.meters.read(meter, "dc_voltage", true_volt, job.day)
    marks = [Mark("wrong_function", job.id, "closing check reads zero")] if voided else []
    job.add(
        "dc_voltage",
        "known_source",
        "check",
        true_volt,
        shown,
        meter,
        stage="meter_check",
        marks=marks,
        reference_value=f"{volt:g}",
        keep=("instrument_id", "part", "stage", "reference_value"),
    )


def _dead_row(
    job: Job, meter: str, from_point: str, to_point: str, volt: float, waited: int, marks: list[Mark], wrong: bool
) -> Reading:
    if wrong:
        marks = [*marks, Mark("wrong_function", job.id, "meter in AC: zero whatever is there")]
        shown = Shown(0.0, 1, "V")
    else:
        shown = job.book.meters.read(meter, "dc_voltage", volt, job.day)
    keep = {"part", "elapsed_second"} if any(mark.fault for mark in marks) else {"part"}
    return job.add(
        "dc_voltage",
        "hv_bus",
        "hv_bus",
        volt,
        shown,
        meter,
        from_point=from_point,
        to_point=to_point,
        circuit_side="load",
        elapsed_second=str(waited),
        marks=marks,
        keep=keep | {"points"},
    )


def _contactor_leak(job: Job, faults: Faults, vehicle: Vehicle, marks: list[Mark], waited: int) -> None:
    """10 MΩ shows the pack through the leak; 0.3 MΩ pulls it to nearly nothing."""
    for meter, input_ohm in (("meter-06", 10e6), ("meter-07", 300e3)):
        volt = vehicle.working_volt * input_ohm / (input_ohm + faults.of(9)["leak_ohm"])
        _dead_row(job, meter, "hv_plus", "chassis", volt, waited, marks, False).kept |= {"instrument_id"}


def _slow_discharge(job: Job, faults: Faults, vehicle: Vehicle, meter: str) -> None:
    effect = faults.of(8)
    marks = faults.mark(8, vehicle.id, f"{effect['volt_after_wait']} V after the wait")
    for after in (0, 300, 600, 1500):
        volt = effect["volt_after_wait"] * math.exp(-after / effect["time_constant_second"])
        row = _dead_row(job, meter, "hv_plus", "hv_minus", volt, 300 + after, marks, False)
        row.kept |= {"instrument_id", "step"}
        job.minute += after // 60
    for from_point, to_point in PAIRS[1:]:
        _dead_row(job, meter, from_point, to_point, abs(job.book.draw.normal(0.0, 0.4)), 1800, [], False)


def _unplug_ladder(job: Job, vehicle: Vehicle, faults: Faults, celsius: float, leak_ohm: float) -> None:
    """One consumer after the other is unplugged, a reading after each."""
    remaining = [part for part in LOAD_SIDE if part != "cable_main"]
    order = ["heater", "charger", "compressor", "dcdc"]
    for step in range(len(order) + 1):
        resistance = vehicle.joined([*remaining, "cable_main"], job.day, celsius, job.air)
        if "compressor" in remaining:
            resistance = parallel(resistance, leak_ohm)
        marks = faults.mark(2, vehicle.id, "compressor leak 0.48 MOhm") if math.isfinite(leak_ohm) else []
        job.insulation(
            "load_side",
            "load_side",
            resistance,
            celsius,
            from_point="hv_plus",
            settled=True,
            spread_decades=0.01,
            connected=joined_text(remaining),
            run_id=f"LADDER-{job.id}",
            stage="fault_finding",
            marks=marks,
            keep=("connected", "run_id", "step", "part", "instrument_id", "test_voltage_volt"),
        )
        if step < len(order):
            remaining.remove(order[step])


def _winding(job: Job, celsius: float) -> None:
    """Three phase pairs of one copper winding, alike to 0.3 %."""
    draw = job.book.draw
    base = 0.0083 * (234.5 + celsius) / (234.5 + 20.0) * math.exp(draw.normal(0.0, 0.01))
    for from_point, to_point in (("u", "v"), ("v", "w"), ("w", "u")):
        ohm = base * (1.0 + draw.normal(0.0, 0.001))
        shown = job.book.meters.read("meter-05", "winding_resistance", ohm, job.day)
        job.add(
            "winding_resistance",
            "motor_rear",
            "motor_winding",
            ohm,
            shown,
            "meter-05",
            from_point=from_point,
            to_point=to_point,
            stage="fault_finding",
            part_celsius=f"{celsius:.0f}",
            wires="4",
            keep=("points",),
        )


def _drying(book: Book, vehicle: Vehicle, day: int) -> None:
    """A motor flooded in the wash bay dries in the hall: a reading every other day."""
    wet_ohm = book.draw.decades(0.3e6, 0.3)
    for visit in range(12):
        job = book.job(vehicle.id, vehicle.kind, weekday(day + visit * 2), "after_work")
        job.insulation_meter = "meter-02"
        celsius = job.air.hall_celsius + 1.0
        dry_ohm = vehicle.part("motor_rear", job.day, celsius, job.air)
        job.insulation(
            "motor_rear",
            "motor_winding",
            parallel(dry_ohm, wet_ohm * 10.0 ** (0.28 * visit)),
            celsius,
            from_point="phases",
            keep=("part",),
            run_id=f"DRYING-{vehicle.id}-{day}",
            marks=[Mark("flooded_and_drying", f"{vehicle.id} {day}", "0.28 decades a visit")],
        )


def _before_after_cleaning(book: Book, vehicle: Vehicle, day: int) -> None:
    """One reading before and one after drying and wiping, same meter, same hour."""
    job = book.job(vehicle.id, vehicle.kind, day, "fault_finding")
    celsius = job.air.hall_celsius
    clean = vehicle.part("heater", day, celsius, job.air)
    dirt_ohm = book.draw.decades(3e6, 0.3) if book.draw.chance(0.7) else math.inf
    pair = f"PAIR-{job.id}"
    for stage, surface, resistance in (("as_found", "wet", parallel(clean, dirt_ohm)), ("after_work", "wiped", clean)):
        job.insulation(
            "heater",
            "heater",
            resistance,
            celsius,
            from_point="hv_plus",
            stage=stage,
            surface=surface,
            settled=True,
            pair_id=pair,
            keep=("part", "stage", "instrument_id", "test_voltage_volt", "step", "surface"),
        )


def _opened_pack(book: Book, faults: Faults, vehicle: Vehicle, day: int) -> None:
    """Twelve iron-phosphate modules of eight cells on the flat part of their curve, within minutes, one meter."""
    draw = book.draw
    job = book.job(vehicle.id, vehicle.kind, day, "as_found")
    level = 8 * 3.29
    for module in range(1, 13):
        volt = level + draw.normal(0.0, 0.002)
        low = module == 7 and faults.has(14, vehicle)
        marks = faults.mark(14, vehicle.id, "9 mV below its like; must stay not decidable") if low else []
        job.volts(
            "module_voltage",
            f"module_{module:02d}",
            "battery_module",
            volt - (faults.of(14)["volt"] if low else 0.0),
            marks=marks,
            keep=("part", "instrument_id", "step"),
            battery_type="lfp",
            cells="8",
            rest_hour="2.0",
            part_celsius=f"{job.air.hall_celsius:.0f}",
        )
