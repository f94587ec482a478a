"""High-voltage quantities against a second route: nodal equations, draws, laws that any circuit obeys."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from check_values import check_values
from ohmward import highvoltage as hv
from ohmward._core.core import Censoring, Status

OHM = st.floats(4, 10).map(lambda decade: 10.0**decade)
PACK = st.sampled_from([400.0, 650.0, 800.0])
METER = st.sampled_from([0.3e6, 1e6, 10e6, 100e6])


def chassis_volt(pack, negative_siemens, positive_siemens):
    """Potential of the chassis above the negative pole, from the nodal equation at the chassis."""
    matrix = np.array([[negative_siemens + positive_siemens]])
    return float(np.linalg.solve(matrix, np.array([positive_siemens * pack]))[0])


def readings(pack, negative, positive, resistor, meter, meters):
    """What the meters show on a circuit, by nodal equations."""
    n, p, g, load = 1 / negative, 1 / positive, 1 / meter, 1 / resistor
    other = g if meters == "fixed" else 0.0  # the second meter stays in place
    negative_volt = chassis_volt(pack, n + g, p + other)
    positive_volt = pack - chassis_volt(pack, n + other, p + g)
    if negative_volt >= positive_volt:
        loaded = chassis_volt(pack, n + g + load, p + other)
    else:
        loaded = pack - chassis_volt(pack, n + other, p + g + load)
    return {"pack_volt": pack, "negative_volt": negative_volt, "positive_volt": positive_volt, "loaded_volt": loaded}


@settings(max_examples=3000, deadline=None)
@given(
    pack=PACK,
    negative=OHM,
    positive=OHM,
    resistor=st.sampled_from([40e3, 200e3, 400e3, 2e6]),
    meter=METER,
    meters=st.sampled_from(["moved", "fixed"]),
)
def test_isolation_finds_the_smaller_side_of_any_circuit(pack, negative, positive, resistor, meter, meters):
    found = hv.isolation_by_voltmeter(
        **readings(pack, negative, positive, resistor, meter, meters), resistor_ohm=resistor, meter_ohm=meter,
        meters=meters,
        standard_uncertainty_volt=1e-9, resistor_relative_standard_uncertainty=1e-9,
    )  # fmt: skip
    weak = min(negative, positive)
    loading = weak / meter if meters == "fixed" else 0.0
    # What is left is rounding: 1e-16 relative, amplified where a small share is left of a large meter current.
    allowed = 1e-9 * (1 + loading) * (1 + weak / resistor) * (1 + resistor / weak)
    if found.status != Status.sound:
        assert found.status in (Status.inside_noise, Status.bound_only) or weak > 100 * meter
        return
    assert found.resistance_ohm == pytest.approx(weak, rel=allowed)
    assert found.lower_bound_ohm <= found.resistance_ohm
    if abs(math.log(negative / positive)) > 1e-6:
        assert found.weak_pole == ("HV-" if negative < positive else "HV+")
    other_form = weak * (1.0 if meters == "fixed" else (found_sum(pack, negative, positive, meter)) / pack)
    if meters == "moved":
        assert found.by_pole_voltages_ohm == pytest.approx(other_form, rel=1e-6 * (1 + resistor / weak))


def found_sum(pack, negative, positive, meter):
    """Sum of the two pole voltages with one meter moved: pack · S/(S + g)."""
    sides = 1 / negative + 1 / positive
    return pack * sides / (sides + 1 / meter)


@pytest.mark.parametrize("case", check_values("isolation_by_voltmeter"), ids=lambda case: case.id)
def test_isolation_check_values(case):
    meter = case.number("meter_ohm")
    found = hv.isolation_by_voltmeter(
        pack_volt=case.number("pack_volt"), negative_volt=case.number("negative_volt"),
        positive_volt=case.number("positive_volt"),
        loaded_volt=case.number("loaded_volt"), resistor_ohm=case.number("resistor_ohm"),
        meter_ohm=None if math.isnan(meter) else meter,
        meters=case.text("meters"), standard_uncertainty_volt=0.05, resistor_relative_standard_uncertainty=0.005,
    )  # fmt: skip
    case.expect(found.resistance_ohm)
    assert found.weak_pole == case.text("weak_pole")


def test_nothing_without_uncertainty_can_pass():
    circuit = readings(400, 2e6, 1e6, 200e3, 10e6, "moved")
    found = hv.isolation_by_voltmeter(**circuit, resistor_ohm=200e3, meter_ohm=10e6)
    assert found.status == Status.sound
    assert math.isnan(found.relative_standard_uncertainty)
    assert math.isnan(found.lower_bound_ohm)


@pytest.mark.parametrize("case", check_values("reading_through_leak"), ids=lambda case: case.id)
def test_readings_through_a_leak(case):
    case.expect(
        hv.reading_through_leak_volt(**{name: case.number(name) for name in ("source_volt", "leak_ohm", "meter_ohm")})
    )


@settings(max_examples=2000, deadline=None)
@given(source=PACK, leak=OHM, meter=METER)
def test_reading_through_a_leak_by_nodal_equations(source, leak, meter):
    node = np.linalg.solve(np.array([[1 / leak + 1 / meter]]), np.array([source / leak]))[0]
    assert hv.reading_through_leak_volt(source_volt=source, leak_ohm=leak, meter_ohm=meter) == pytest.approx(
        node, rel=1e-12
    )
    # A second meter of another input resistance finds source and leak again, as long as the two read apart.
    second = hv.reading_through_leak_volt(source_volt=source, leak_ohm=leak, meter_ohm=meter / 7)
    volt, ohm = hv.hidden_source(first_volt=float(node), first_ohm=meter, second_volt=second, second_ohm=meter / 7)
    assert volt == pytest.approx(source, rel=1e-9 * (1 + meter / leak))
    assert ohm == pytest.approx(leak, rel=1e-9 * (1 + meter / leak))


@settings(max_examples=1000, deadline=None)
@given(parts=st.lists(OHM, min_size=1, max_size=8))
def test_parts_and_ladder_agree_with_nodal_equations(parts):
    """Unplugging parts one by one gives each part's own resistance back, and all together explain the whole."""
    siemens = np.array([1 / part for part in parts])
    whole = [1 / float(siemens[i:].sum()) for i in range(len(parts))]
    assert hv.parallel_budget(parts)["value"] == pytest.approx(whole[0], rel=1e-12)
    explained = hv.parts_explain_whole(parts_ohm=parts, whole_ohm=whole[0], relative_standard_uncertainty=0.01)
    assert explained["explained"]
    for i in range(len(parts) - 1):
        leak = hv.leak_of_removed_part(before_ohm=whole[i], after_ohm=whole[i + 1], relative_standard_uncertainty=0.02)
        if leak.status == Status.sound:
            assert leak.ohm == pytest.approx(parts[i], rel=1e-12 * (1 + parts[i] / whole[i]) * 100)
        assert leak.interval[0] <= parts[i] * (1 + 1e-9)
        assert leak.interval[1] >= parts[i] * (1 - 1e-9)


@pytest.mark.parametrize("case", check_values("leak_interval"), ids=lambda case: case.id)
def test_leak_intervals(case):
    leak = hv.leak_of_removed_part(
        before_ohm=case.number("before_ohm"), after_ohm=case.number("after_ohm"),
        relative_standard_uncertainty=case.number("u_before"), gain_relative_standard_uncertainty=case.number("u_gain"),
    ) if case.number("u_before") == case.number("u_after") else None  # fmt: skip
    if leak is None:  # the front takes one uncertainty for both; the ladder takes one a reading
        ladder = hv.unplug_ladder(
            ["part"], [case.number("before_ohm"), case.number("after_ohm")],
            relative_standard_uncertainty=[case.number("u_before"), case.number("u_after")],
            gain_relative_standard_uncertainty=case.number("u_gain"),
        )  # fmt: skip
        leak = ladder["leaks"][0]
    case.expect(leak.interval[0], "low_ohm")
    case.expect(leak.interval[1], "high_ohm")


def test_a_leak_that_is_never_first_order():
    """At u = 0.3 the first-order interval reaches below zero; the exact one does not."""
    leak = hv.leak_of_removed_part(before_ohm=1e6, after_ohm=5e6, relative_standard_uncertainty=0.3)
    u_first_order = leak.ohm**2 * math.hypot(0.3 / 1e6, 0.3 / 5e6)
    assert leak.ohm - 1.96 * u_first_order < leak.interval[0]
    assert leak.interval[1] > leak.ohm + 1.96 * u_first_order * 1.5


def test_a_part_that_made_it_worse():
    leak = hv.leak_of_removed_part(before_ohm=480e3, after_ohm=400e3, relative_standard_uncertainty=0.01)
    assert leak.status == Status.contradiction
    assert math.isnan(leak.ohm)
    assert math.isinf(leak.interval[1])


def test_a_censored_ratio_is_a_bound():
    ratio = hv.ratio_after_before(
        before_ohm=0.3e6, after_ohm=4e9, after_censoring="above", relative_standard_uncertainty=0.03
    )
    assert ratio["censoring"] == Censoring.above
    assert ratio["status"] == Status.bound_only


def test_wrong_counts_are_named():
    with pytest.raises(ValueError, match="one reading more"):
        hv.unplug_ladder(["a", "b"], [1e6, 2e6], relative_standard_uncertainty=0.01)
    with pytest.raises(ValueError, match="as many of each"):
        hv.parallel_budget([1e6, 2e6], relative_standard_uncertainty=[0.01])
    with pytest.raises(ValueError, match="meters is 'both'"):
        hv.isolation_by_voltmeter(**readings(400, 1e6, 1e6, 2e5, 1e7, "moved"), resistor_ohm=2e5, meters="both")


@pytest.mark.parametrize(("initial", "constants"), [(400, 1.897), (650, 2.383), (800, 2.590)])
def test_time_to_60_volt(initial, constants):
    tau = 47.0
    times = [0.0, 20.0]
    found = hv.fit_decay(times, [initial * math.exp(-t / tau) for t in times], standard_uncertainty_volt=0.5)
    assert found.threshold_second / tau == pytest.approx(constants, abs=1e-3)


def test_two_slopes_are_told():
    times = list(range(0, 110, 10))
    volts = [600 * math.exp(-t / 10) + 90 * math.exp(-t / 400) for t in times]
    assert any("slows down" in text for text in hv.fit_decay(times, volts, standard_uncertainty_volt=0.5).remarks)


def test_winding_of_two_temperatures():
    cold = 8e-3
    warm = cold * (234.5 + 75) / (234.5 + 20)
    found = hv.winding_symmetry(
        uv_ohm=cold, vw_ohm=warm, wu_ohm=cold, standard_uncertainty_ohm=1e-6, celsius=(20, 75, 20)
    )
    assert found["imbalance"]["value"] == pytest.approx(0, abs=1e-12)
    as_read = hv.winding_symmetry(uv_ohm=cold, vw_ohm=warm, wu_ohm=cold, standard_uncertainty_ohm=1e-6)
    assert as_read["imbalance"]["value"] > 0.1
