"""Batteries at rest against scipy's quadrature, simulation from the model, and an open simulation library's curves."""

import csv
import itertools
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import cumulative_simpson
from scipy.stats import chisquare

from check_values import FOLDER
from ohmward import battery
from ohmward._core.battery import with_curve as core_with_curve

ROOT = Path(__file__).resolve().parents[2]
LEVELS = (0.025, 0.5, 0.975)


def bare(name):
    """One shipped curve as one cell: no spread, no relaxation to speak of, known temperature."""
    curve = battery.shipped_curve(name)
    behaves_like = "nca" if name.startswith(("n", "l")) else "flooded"
    return battery.Battery(core_with_curve(curve, behaves_like=behaves_like, cells=1)), curve


def read(one, volt, u, **more):
    return one.at_rest(
        volt, standard_uncertainty=u, celsius=more.pop("celsius", 25.0), celsius_standard_uncertainty_kelvin=0.0,
        rest_hour=1e12, **more,
    )  # fmt: skip


def quadrature(curve, volt, u_of, prior=np.ones_like, celsius=25.0):
    """Quantiles by Simpson's rule on 40 steps a segment; u_of gives u by cell voltage's segment."""
    knots = curve.charge
    values = np.array([curve.volt(s, celsius) for s in knots])
    # An interval's ends need a fine step where the likelihood is narrow: split every segment in the voltage too.
    grid = np.unique(np.concatenate([np.linspace(a, b, 401) for a, b in itertools.pairwise(knots)]))
    ocv = np.interp(grid, knots, values)
    density = np.exp(-0.5 * ((volt - ocv) / u_of) ** 2) * prior(grid)
    below = cumulative_simpson(density, x=grid, initial=0)
    return np.interp(np.array(LEVELS) * below[-1], below, grid)


@pytest.mark.parametrize("name", battery.shipped_curve_names())
@pytest.mark.parametrize("u", [0.0005, 0.002, 0.010, 0.050])
def test_interval_ends_agree_with_quadrature(name, u):
    one, curve = bare(name)
    celsius = curve.reference_celsius  # no temperature tables, no entropic term
    for charge in np.linspace(0.01, 0.99, 29):
        volt = curve.volt(float(charge), celsius) + 0.3 * u
        state = read(one, volt, u, celsius=celsius)
        uncertainties = state.voltage_uncertainty
        combined = math.sqrt(sum(part**2 for part in uncertainties.values()))
        assert combined == pytest.approx(u, rel=0.3)
        expected = quadrature(curve, volt, combined, celsius=celsius)
        found = [state.charge.quantile(level) for level in LEVELS]
        np.testing.assert_allclose(found, expected, atol=5e-4, err_msg=f"{name} at {charge}")


@pytest.mark.parametrize("u", [0.0005, 0.004, 0.050])
def test_mixture_agrees_with_quadrature(u):
    names = ("nmc811_chen_2020", "nmc_mohtat_2020", "nca_kim_2011", "lfp_prada_2013")
    weights = {bare(name)[0]: weight for name, weight in zip(names, (1, 2, 1, 3), strict=True)}
    one = battery.mixture(weights)
    grid = np.unique(np.concatenate([np.linspace(0, 1, 200_001), *(curve.charge for _, _, curve in one.curves)]))
    uncertain = [
        math.sqrt(sum(part**2 for part in read(single, 3.3, u).voltage_uncertainty.values())) for single in weights
    ]
    for volt in (3.05, 3.27, 3.55, 3.95):
        state = read(one, volt, u)
        if math.isnan(state.charge.median):  # above the highest curve of one type: it may be on charge
            assert state.charge.status.name == "outside_curve"
            continue
        density = np.zeros_like(grid)
        for (_, _, curve), weight, combined in zip(one.curves, weights.values(), uncertain, strict=True):
            ocv = np.interp(grid, curve.charge, curve.cell_volt)
            density += weight / combined * np.exp(-0.5 * ((volt - ocv) / combined) ** 2)
        below = cumulative_simpson(density, x=grid, initial=0)
        expected = np.interp(np.array(LEVELS) * below[-1], below, grid)
        found = [state.charge.quantile(level) for level in LEVELS]
        np.testing.assert_allclose(found, expected, atol=5e-4, err_msg=f"{volt} V")


@pytest.mark.parametrize("name", ["flooded", "nmc_mohtat_2020", "lfp_prada_2013"])
def test_prior_enters_as_by_quadrature(name):
    one, curve = bare(name)
    celsius, u = curve.reference_celsius, 0.004
    for charge in (0.2, 0.5, 0.8):
        volt = curve.volt(charge, celsius)
        prior = battery.Prior.normal(mean=charge + 0.03, standard_uncertainty=0.05)
        state = read(one, volt, u, celsius=celsius, prior=prior)
        combined = math.sqrt(sum(part**2 for part in state.voltage_uncertainty.values()))

        def normal(s, mean=charge + 0.03):
            return np.exp(-0.5 * ((s - mean) / 0.05) ** 2)

        expected = quadrature(curve, volt, combined, normal, celsius=celsius)
        np.testing.assert_allclose([state.charge.quantile(level) for level in LEVELS], expected, atol=5e-4)


@pytest.mark.parametrize("name", ["flooded", "enhanced_flooded", "agm", "gel", "nmc", "nca", "lfp"])
def test_ranks_are_uniform_when_the_world_is_as_assumed(name):
    """Draw curve, charge and voltage from the model; the true charge's rank in the posterior must be uniform."""
    rng = np.random.default_rng(20_000 + len(name))
    lithium = name in ("nmc", "nca", "lfp")
    one = battery.lithium(name, cells=4) if lithium else battery.lead_acid(name)
    draws, celsius, u = 10_000, 25.0, 0.01
    curves = one.curves
    probe = one.at_rest(
        curves[0][1] * curves[0][2].volt(0.5, celsius), standard_uncertainty=u, celsius=celsius,
        celsius_standard_uncertainty_kelvin=0.0, rest_hour=24,
    )  # fmt: skip
    combined = math.sqrt(sum(part**2 for part in probe.voltage_uncertainty.values()))
    charge = rng.random(draws)
    which = rng.integers(len(curves), size=draws)
    truth = np.array([curves[k][1] * curves[k][2].volt(s, celsius) for k, s in zip(which, charge, strict=True)])
    ranks, refused = [], 0
    for s, volt in zip(charge, truth + combined * rng.standard_normal(draws), strict=True):
        state = one.at_rest(
            float(volt), standard_uncertainty=u, celsius=celsius, celsius_standard_uncertainty_kelvin=0.0, rest_hour=24
        )
        if math.isnan(state.charge.median):
            refused += 1
            continue
        ranks.append(state.charge.cumulative(float(s)))
    assert refused < 0.005 * draws  # more than 3 u outside the curve
    counts, _ = np.histogram(ranks, bins=20, range=(0, 1))
    assert chisquare(counts).pvalue > 1e-3


def test_generator_makes_the_files_in_the_tree():
    script = ROOT / "datasets" / "tables" / "generate_open_circuit_curves.py"
    done = subprocess.run([sys.executable, script, "--check"], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_full_cells_agree_with_an_open_simulation_library():
    path = FOLDER / "full_cell_simulation.csv"
    with path.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    assert len(rows) >= 4 * 50
    for row in rows:
        curve = battery.shipped_curve(row["curve"])
        difference = curve.volt(float(row["charge"]), 25.0) - float(row["expected"])
        assert abs(difference) < float(row["absolute_tolerance"]), row


def test_lfp_at_half_charge_can_not_be_read_from_volts():
    state = battery.lithium("lfp", cells=4).at_rest(13.09, standard_uncertainty=0.005, celsius=25, rest_hour=24)
    low, high = state.charge.interval()
    assert high - low > 0.4
    nmc = battery.lithium("nmc", cells=4).at_rest(4 * 3.72, standard_uncertainty=0.005, celsius=25, rest_hour=24)
    assert nmc.charge.interval().high - nmc.charge.interval().low < high - low


def test_shares_add_up_and_name_the_main_cause():
    state = battery.lead_acid("flooded").at_rest(12.45, standard_uncertainty=0.2, celsius=25, rest_hour=24)
    assert sum(state.shares.values()) == pytest.approx(1)
    assert max(state.shares, key=state.shares.get) == "meter"
    unknown = battery.unknown_12v().at_rest(12.45, standard_uncertainty=0.005, celsius=25, rest_hour=24)
    assert max(unknown.shares, key=unknown.shares.get) == "type"


def test_batch_takes_a_history_for_all_or_each():
    one = battery.lead_acid("flooded")
    words = ["after_charge", "after_discharge", "unknown"]
    common = {"standard_uncertainty": 0.01, "celsius": 25, "rest_hour": 8}
    many = one.at_rest_many([12.4] * 3, history=words, **common)
    alone = [one.at_rest(12.4, history=word, **common) for word in words]
    assert many.median.tolist() == [state.charge.median for state in alone]
    assert many.median[0] < many.median[2] < many.median[1]
    same = one.at_rest_many([12.4] * 3, history="after_charge", **common)
    assert same.median.tolist() == [alone[0].charge.median] * 3
    with pytest.raises(ValueError, match="history"):
        one.at_rest_many([12.4], history=["driven"], **common)


def test_earlier_reading_is_a_prior():
    lfp = battery.lithium("lfp", cells=4)
    common = {"standard_uncertainty": 0.01, "celsius": 25, "rest_hour": 24}
    earlier = lfp.at_rest(12.5, **common)
    prior = battery.Prior.since(earlier, change=0.4, standard_uncertainty=0.02)
    state = lfp.at_rest(13.15, prior=prior, **common)
    assert state.charge.median == pytest.approx(earlier.charge.median + 0.4, abs=0.05)
    tent = battery.Prior.density([0, 0.5, 1], [1e-6, 1, 1e-6])
    assert lfp.at_rest(13.1, prior=tent, **common).charge.median == pytest.approx(0.5, abs=0.05)
    outside = battery.lead_acid("flooded").at_rest(13.9, **common)
    with pytest.raises(ValueError, match="earlier"):
        battery.Prior.since(outside, standard_uncertainty=0.02)


SENSELESS = [
    ({"voltage_volt": math.nan}, "missing_input", "no voltage"),
    ({"voltage_volt": math.inf}, "out_of_domain", "not finite"),
    ({"voltage_volt": -12.5}, "out_of_domain", "negative"),
    ({"voltage_volt": 24.9}, "out_of_domain", "two in series"),
    ({"voltage_volt": 400.0}, "out_of_domain", "cells would fit"),
    ({"standard_uncertainty": math.nan}, "missing_input", "no standard uncertainty"),
    ({"standard_uncertainty": -0.01}, "out_of_domain", "standard_uncertainty_volt is -0.01"),
    ({"rest_hour": -1.0}, "out_of_domain", "rest_hour is -1"),
    ({"celsius": -300.0}, "out_of_domain", "celsius is -300"),
    ({"celsius_standard_uncertainty_kelvin": -1.0}, "out_of_domain", "celsius_standard_uncertainty_kelvin is -1"),
]


@pytest.mark.parametrize(("wrong", "status", "reason"), SENSELESS, ids=str)
def test_senseless_readings_have_status_reason_and_action(wrong, status, reason):
    for one in (battery.lead_acid("flooded"), battery.unknown_12v()):
        state = one.at_rest(**{"voltage_volt": 12.5, "standard_uncertainty": 0.01, **wrong})
        assert state.charge.status.name == status
        assert math.isnan(state.charge.median)
        assert reason in state.reason
        assert state.next_action


def test_wrong_cell_count_is_told():
    common = {"standard_uncertainty": 0.01, "celsius": 20, "rest_hour": 24}
    half = battery.lead_acid("flooded", cells=12).at_rest(12.5, **common)
    assert half.condition.name == "cell_missing_suspected"
    assert "one battery of two" in half.reason
    few = battery.lithium("nmc", cells=3).at_rest(29.6, **common)
    assert few.charge.status.name == "out_of_domain"
    assert "about 8 cells would fit" in few.reason


def test_batch_border_refuses_what_is_no_number():
    one = battery.lead_acid("flooded")
    for wrong in (["12.5"], [True], [None], [1 + 2j]):
        with pytest.raises(TypeError, match="voltage_volt"):
            one.at_rest_many(wrong, standard_uncertainty=0.01)
    masked = np.ma.masked_array([12.5, 99.0], mask=[False, True])
    states = one.at_rest_many(masked, standard_uncertainty=0.01)
    assert states.status.tolist()[1] == -1
    with pytest.raises(ValueError, match="rest_hour"):
        one.at_rest_many([12.4, 12.5, 12.6], standard_uncertainty=0.01, rest_hour=[1, 2])


def test_senseless_parameters_are_named():
    with pytest.raises(ValueError, match="type is wet"):
        battery.lead_acid("wet")
    with pytest.raises(ValueError, match="cells is 0"):
        battery.lithium("lfp", cells=0)
    with pytest.raises(ValueError, match="history"):
        battery.lead_acid("gel").at_rest(12.5, standard_uncertainty=0.01, history="driven")
    with pytest.raises(ValueError, match="level"):
        battery.lead_acid("gel").at_rest(12.5, standard_uncertainty=0.01).charge.interval(level=95)
    with pytest.raises(ValueError, match="rising"):
        battery.with_curve([0, 0.5, 0.5], [3, 3.2, 3.3], cells=1, behaves_like="nmc")


def test_pair_reads_like_two_batteries():
    state = battery.pair(battery.lead_acid("agm")).at_rest(
        a_volt=12.75, b_volt=12.15, sum_volt=24.90, standard_uncertainty=0.01, rest_hour=24
    )
    assert state.a.condition.name == "rested"
    assert state.b.condition.name == "low"
    assert "imbalance" in state.findings
    assert state.closure_volt.value == pytest.approx(0)
