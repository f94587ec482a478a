"""The planted battery faults of a few made depots; tests/power/battery_power.py prints the table for more."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "power"))
import battery_power as power

SEEDS = range(1001, 1013)


@pytest.fixture(scope="module")
def measured():
    return power.measure(SEEDS)


@pytest.mark.parametrize("fault", power.FAULTS)
def test_power_and_false_naming(measured, fault):
    assert measured.planted[fault] == len(SEEDS)
    least = 0.95 if fault in (14, power.FINE) else 0.8
    assert measured.found[fault] >= least * len(SEEDS)
    assert measured.clean_units[fault] >= 10 * len(SEEDS)
    assert measured.named[fault] <= 0.01 * measured.clean_units[fault]


def test_iron_phosphate_with_its_type_is_never_judged_as_lead(measured):
    assert measured.typed >= 10 * len(SEEDS)
    assert measured.typed_as_lead == 0
    assert measured.assessed_as_lead == 0


def test_a_sum_alone_leaves_the_pair_unexamined(measured):
    assert measured.sums >= 100 * len(SEEDS)
    assert measured.sums_told == measured.sums
