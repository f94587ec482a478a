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


@pytest.mark.parametrize("case", check_values("volt_after_touch"), ids=lambda case: case.id)
def test_volt_after_touch(case):
    names = ("volt", "capacitance_farad", "resistance_ohm", "meter_ohm", "second")
    case.expect(hv.volt_after_touch(**{name: case.number(name) for name in names}))


FRONTS = {
    "discharge_time_second": lambda r, c, u0, u: hv.discharge_time_second(
        resistance_ohm=r, capacitance_farad=c, initial_volt=u0, final_volt=u, on_doubt="ignore"
    ),
    "capacitor_energy_joule": lambda c, u: hv.residual_energy(capacitance_farad=c, volt=u).whole_joule,
    "capacitor_energy_above_joule": lambda c, u, low: (
        hv.residual_energy(capacitance_farad=c, volt=u, threshold_volt=low).above_threshold_joule
    ),
}
ELEMENTWISE = [case for case in check_values("formula") if case.text("formula") in FRONTS]


@pytest.mark.parametrize("case", ELEMENTWISE, ids=lambda case: case.id)
def test_discharge_and_energy_through_their_fronts(case):
    arguments = [float(word) for word in case.text("arguments").split()]
    case.expect(FRONTS[case.text("formula")](*arguments))


def test_energy_keeps_the_container_and_tells_what_it_can_not_say():
    volts = np.array([400.0, 50.0, math.nan])
    with pytest.warns(UserWarning, match="1 of 3 an input is missing"):
        left = hv.residual_energy(capacitance_farad=2e-6, volt=volts)
    np.testing.assert_allclose(left.whole_joule, [0.16, 0.0025, math.nan], rtol=1e-15)
    np.testing.assert_allclose(left.above_threshold_joule, [0.1564, 0.0, math.nan], rtol=1e-14)
    with pytest.raises(ValueError, match="contradict"):
        hv.discharge_time_second(
            resistance_ohm=1e3, capacitance_farad=1e-3, initial_volt=50, final_volt=60, on_doubt="raise"
        )


@settings(max_examples=2000, deadline=None)
@given(isolation=OHM, monitor=st.floats(0.3e6, 3e6))
def test_a_declared_monitor_is_taken_off_any_circuit(isolation, monitor):
    """Second route: the nodal equation of both paths in parallel."""
    reading = 1 / float(np.linalg.solve(np.array([[1.0]]), np.array([1 / isolation + 1 / monitor]))[0])
    asked = {"monitor_ohm": monitor, "monitor_relative_standard_uncertainty": 0.03}
    found = hv.isolation_without_monitor(
        reading_ohm=reading, connected="converter+monitor", relative_standard_uncertainty=0.02, **asked
    )
    share = isolation / monitor
    assert found.interval[0] <= isolation
    assert found.interval[1] >= isolation
    if math.hypot(0.02 * (1 + share), 0.03 * share) < 0.2:
        assert found.resistance_ohm == pytest.approx(isolation, rel=1e-12 * (1 + share))
        assert found.relative_standard_uncertainty == pytest.approx(math.hypot(0.02 * (1 + share), 0.03 * share))
    else:  # steep: only a bound is left, and it lies below the truth
        assert found.status < 0 or (found.status == Status.bound_only and found.resistance_ohm < isolation)
    undeclared = hv.isolation_without_monitor(
        reading_ohm=reading, connected="alone", relative_standard_uncertainty=0.02, **asked
    )
    assert undeclared.status == Status.missing_input
    assert math.isnan(undeclared.resistance_ohm)


def test_a_chain_of_joints_adds_up():
    one = hv.chain_of_joints([0.003, 0.004], standard_uncertainty_ohm=[0.003, 0.004])
    assert (one["value"], one["standard_uncertainty"]) == (pytest.approx(0.007), pytest.approx(0.005))
    common = hv.chain_of_joints([0.1] * 4, standard_uncertainty_ohm=0.0, gain_relative_standard_uncertainty=0.01)
    assert common["standard_uncertainty"] == pytest.approx(0.004)  # a common gain does not average out
    assert math.isnan(hv.chain_of_joints([0.01, 0.02])["standard_uncertainty"])
    assert hv.chain_of_joints([0.01, math.inf], standard_uncertainty_ohm=0.001)["status"] == Status.missing_input


@pytest.mark.parametrize(
    ("between", "u", "word"),
    [
        (0.009, 0.001, "consistent"),
        (0.050, 0.001, "too high"),
        (0.050, 0.0, "not decided"),
        (0.05, None, "not decided"),
    ],
)
def test_part_to_part(between, u, word):
    found = hv.compare_part_to_part(
        between_ohm=between, first_to_chassis_ohm=0.004, second_to_chassis_ohm=0.006, standard_uncertainty_ohm=u
    )
    assert found.startswith(f"{word}: ")


# Bad input: a status, a reason, never a value that could pass ------------------------------------------------------

SOUND = {
    "pack_volt": 400, "negative_volt": 266.6667, "positive_volt": 133.3333, "loaded_volt": 61.53846,
    "resistor_ohm": 200e3, "standard_uncertainty_volt": 0.1, "resistor_relative_standard_uncertainty": 0.005,
}  # fmt: skip


@pytest.mark.parametrize(
    ("change", "status", "reason"),
    [
        ({"loaded_pole": "HV+"}, Status.contradiction, "not at the pole of the larger voltage"),
        ({"negative_volt": 133.3333, "positive_volt": 266.6667, "loaded_pole": "HV-"}, Status.contradiction, "swapped"),
        ({"negative_volt": 200.0}, Status.contradiction, "do not add up"),
        ({"pack_volt": 800.0}, Status.contradiction, "do not add up"),
        ({"resistor_ohm": None}, Status.missing_input, None),
        ({"resistor_ohm": 0.0}, Status.out_of_domain, None),
        ({"resistor_ohm": -200e3}, Status.out_of_domain, None),
        ({"pack_volt": math.inf}, Status.unknown_bound, None),
        ({"negative_volt": math.nan}, Status.missing_input, None),
        ({"loaded_volt": 300.0}, Status.contradiction, None),
        ({"loaded_volt": 266.6}, Status.inside_noise, "drop by the resistor lies inside the meter's noise"),
        ({"meters": "fixed"}, Status.missing_input, None),
    ],
    ids=lambda value: str(value) if isinstance(value, dict) else None,
)
def test_bad_readings_of_isolation_have_no_value(change, status, reason):
    found = hv.isolation_by_voltmeter(**SOUND | change)
    assert found.status == status
    assert math.isnan(found.resistance_ohm)
    assert math.isnan(found.lower_bound_ohm)
    assert reason is None or any(reason in remark for remark in found.remarks)


def test_a_resistor_of_unusual_size_is_told():
    """Any known resistor is valid; far from the usual size only the uncertainty grows."""
    told = hv.isolation_by_voltmeter(**SOUND, required_ohm_per_volt=100).remarks
    assert any("known resistor more than 20 %" in remark for remark in told)
    assert not hv.isolation_by_voltmeter(**SOUND, required_ohm_per_volt=500).remarks


@pytest.mark.parametrize("name", ["standard_uncertainty_volt", "resistor_relative_standard_uncertainty"])
def test_isolation_without_an_uncertainty_states_no_bound(name):
    found = hv.isolation_by_voltmeter(**{key: value for key, value in SOUND.items() if key != name})
    assert math.isnan(found.relative_standard_uncertainty)
    assert math.isnan(found.lower_bound_ohm)


@pytest.mark.parametrize(
    ("times", "volts", "u", "status"),
    [
        ([30, 0], [600, 300], 1, Status.contradiction),
        ([0, 0], [600, 300], 1, Status.contradiction),
        ([0, 30], [600, math.nan], 1, Status.missing_input),
        ([0, 30], [600, 300], 0, Status.missing_input),
        ([0], [600], 1, Status.too_few_points),
        ([0, 30], [0.1, 0.2], 1, Status.inside_noise),
        ([0, 30], [100, 200], 1, Status.no_solution),
    ],
)
def test_bad_records_of_a_discharge_cross_nothing(times, volts, u, status):
    found = hv.fit_decay(times, volts, standard_uncertainty_volt=u)
    assert found.status == status
    assert math.isnan(found.threshold_second)
