"""The C interface and Python: one table of numbers, and the shipped test vectors give the same bits here."""

import re
import struct
from pathlib import Path

import pytest

import ohmward
from ohmward import logging

ROOT = Path(__file__).resolve().parents[2]
NUMBERS = (ROOT / "cpp" / "include" / "ohmward_c" / "numbers.h").read_text(encoding="utf-8")
VECTORS = ROOT / "cpp" / "src" / "c" / "vectors" / "vectors.txt"


def table(name):
    """Return name and number of every entry of a table of numbers.h."""
    text = re.search(rf"#define {name}\(entry\) \\\n((?:.*\\\n)*.*)\n", NUMBERS)[1]
    return {entry.lower(): int(number) for entry, number in re.findall(r"entry\((\w+), (-?\d+),", text)}


@pytest.mark.parametrize(
    ("name", "enumeration"),
    [
        ("OWD_STATUS_TABLE", ohmward.Status),
        ("OWD_FINDING_TABLE", ohmward.Finding),
        ("OWD_QUANTITY_KIND_TABLE", ohmward.QuantityKind),
    ],
)
def test_numbers_are_those_of_python(name, enumeration):
    assert table(name) == {member.name: int(member) for member in enumeration}


def real(pattern):
    return struct.unpack(">d", bytes.fromhex(pattern))[0]


def pattern(x):
    return "7ff8000000000000" if x != x else struct.pack(">d", x).hex()


def flags_of(text, *names):
    bits = int(text)
    return {name: bool(bits & bit) for bit, name in ((1, "over_range"), (2, "under_range"), (4, "range_changed"),
                                                     (8, "polarity_reversed")) if name in names}  # fmt: skip


ALWAYS = ("over_range", "under_range", "range_changed")


class Replay:
    """One method a kind of line; each returns what was expected and what came."""

    log = None

    def absorption(self, *given):
        names = ("test_voltage_volt", "early_second", "late_second", "source_ampere", "relative_standard_uncertainty",
                 "gain_relative_standard_uncertainty", "capacitance_farad")  # fmt: skip
        numbers = {name: real(word) for name, word in zip(names, given, strict=False)}
        self.ticks = given[7] == "1"
        self.log = logging.AbsorptionLog(**numbers, ticks=self.ticks, start_tick=int(given[8]))

    def sample(self, second, volt, ampere, ohm, tick, flags, status):
        time = {"tick_millisecond": int(tick)} if self.ticks else {"time_second": real(second)}
        came = self.log.push(**time, applied_volt=real(volt), current_ampere=real(ampere), resistance_ohm=real(ohm),
                             **flags_of(flags, *ALWAYS))  # fmt: skip
        return [status], [str(int(came))]

    def ratio(self, *expected):
        ratio = self.log.ratio()
        came = [pattern(ratio.value), pattern(ratio.relative_standard_uncertainty)]
        return expected, [*came, str(int(ratio.status)), str(int(ratio.censoring))]

    def charging(self, *expected):
        c = self.log.charging()
        numbers = (c.capacitance_farad, c.low_farad, c.high_farad, c.reached_second)
        return expected, [*map(pattern, numbers), str(int(c.status))]

    def forecast(self, *expected):
        f = self.log.forecast(level=0.95)
        return expected, [pattern(f.value), pattern(f.low), pattern(f.high), str(int(f.status))]

    def resting(self, cells, u):
        self.log = logging.RestingVoltageLog(cells=int(cells), standard_uncertainty_volt=real(u))

    def at_rest(self, second, volt, flags, status):
        came = self.log.push(time_second=real(second), voltage_volt=real(volt), **flags_of(flags, *ALWAYS))
        return [status], [str(int(came))]

    falling = at_rest

    def rest(self, *expected):
        r = self.log.state()
        numbers = (r.voltage_volt, r.standard_uncertainty_volt, r.slope_volt_per_hour, r.change_volt)
        return expected, [*map(pattern, numbers), str(int(r.status)), str(int(r.state))]

    def link(self, u, gain):
        self.log = logging.LinkDischargeLog(
            standard_uncertainty_volt=real(u), gain_relative_standard_uncertainty=real(gain)
        )

    def decay(self, *expected):
        d = self.log.state()
        numbers = (d.initial_volt, d.time_constant_second, d.threshold_second)
        return [*expected[:3], expected[-1]], [*map(pattern, numbers), str(int(d.status))]

    def bonding(self, u, gain):
        self.log = logging.BondingLog(standard_uncertainty_ohm=real(u), gain_relative_standard_uncertainty=real(gain))

    def null(self, second, ohm, _ampere, flags, status):
        came = self.log.push_null(time_second=real(second), resistance_ohm=real(ohm), **flags_of(flags, "over_range"))
        return [status], [str(int(came))]

    def display(self, second, ohm, ampere, flags, status):
        came = self.log.push(time_second=real(second), resistance_ohm=real(ohm), test_ampere=real(ampere),
                             **flags_of(flags, "over_range", "range_changed", "polarity_reversed"))  # fmt: skip
        return [status], [str(int(came))]

    def next(self):
        self.log.next_joint()

    def joint(self, *expected):
        j = self.log.joint()
        return [expected[0], expected[-2]], [pattern(j.resistance_ohm), str(int(j.status))]

    def mean(self, step):
        self.log = logging.RunningMean(display_step=real(step))

    def value(self, x, status):
        return [status], [str(int(self.log.push(real(x))))]

    def so_far(self, *expected):
        m = self.log.state()
        numbers = (m.mean, m.standard_deviation, m.standard_uncertainty, m.degrees_of_freedom)
        return expected, [*map(pattern, numbers), str(int(m.status))]

    def record(self, size, checksum):
        saved = self.log.save()
        return [size, checksum], [str(len(saved)), str(int.from_bytes(saved[-4:], "little"))]


def test_the_shipped_vectors_give_the_same_bits():
    replay, compared = Replay(), 0
    for number, line in enumerate(VECTORS.read_text(encoding="utf-8").splitlines(), 1):
        kind, *words = line.split()
        if kind in ("#", "latest", "settling", "end"):
            continue
        answer = getattr(replay, kind)(*words)
        if answer is not None:
            expected, came = answer
            assert list(expected) == came, f"line {number}: {line}"
            compared += len(came)
    assert compared > 1000
