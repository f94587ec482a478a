"""Timed runs: marks, temperatures, ranges and meters; and every kind of bad input, alone and inside a batch."""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

import ohmward as ow
from ohmward import Censoring, insulation
from ohmward.temperature import FactorTableLaw, HalvingLaw

T = np.arange(10.0, 601, 10)
MODEL = 1e9 / (1 + 4 * (T / 60) ** -0.7)


def run(ohm=MODEL, time=T, **known):
    return insulation.TimedRun(time_second=time, resistance_ohm=ohm, **known)


def marked(found, mark):
    return [i for i, marks in enumerate(found.marks) if mark in marks]


# Bad input: a reading list, the status of the run and what the functions then say ------------------------------------

ALL_OVER = {"censoring": np.full(T.size, Censoring.above, np.int8)}
NAN_INSIDE = np.where(np.arange(T.size) % 7 == 3, np.nan, MODEL)
BAD = {
    "fewer points than parameters": (run(MODEL[:1], T[:1]), "sound", "too_few_points"),
    "all censored": (run(**ALL_OVER), "sound", "too_few_points"),
    "negative current": (
        insulation.TimedRun(time_second=T, current_ampere=np.full(T.size, -1e-9), test_voltage_volt=500),
        "too_few_points",
        "too_few_points",
    ),
    "no current": (
        insulation.TimedRun(time_second=T, current_ampere=np.zeros(T.size), test_voltage_volt=500),
        "too_few_points",
        "too_few_points",
    ),
    "time not rising": (run(time=T[::-1]), "contradiction", "contradiction"),
    "all NaN": (run(np.full(T.size, np.nan)), "too_few_points", "too_few_points"),
    "two runs under one id": (run(np.tile(MODEL, 2), np.tile(T, 2)), "contradiction", "contradiction"),
    "a jump by 1000 that stays": (run(np.where(T < 200, MODEL, 1000 * MODEL)), "contradiction", "contradiction"),
    "nothing": (run([], []), "too_few_points", "too_few_points"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_input_has_a_status_and_a_reason(name):
    bad, status, fitted = BAD[name]
    assert bad.status.name == status
    fit = bad.fit()
    assert fit.status.name == fitted
    assert fit.reason
    assert all(math.isnan(value) for value in fit.value.values())
    forecast = bad.forecast(mode="compact")
    assert forecast.status < 0
    assert forecast.reason
    assert math.isnan(forecast.value)
    settled = bad.settled()
    assert settled.status != 0
    assert settled.reason
    assert bad.ratio(late_second=1200, early_second=900).status < 0


def test_what_can_be_left_out_is_and_the_rest_goes_on():
    with_gaps = run(NAN_INSIDE)
    assert with_gaps.status.name == "sound"
    assert len(marked(with_gaps, "missing")) == np.isnan(NAN_INSIDE).sum()
    assert with_gaps.fit().value["exponent"] == pytest.approx(0.7, abs=1e-5)
    slipped = MODEL.copy()
    slipped[20] *= 1000
    alone = run(slipped)
    assert marked(alone, "slip") == [20]
    assert alone.status.name == "sound"
    assert alone.fit().value["exponent"] == pytest.approx(0.7, abs=1e-5)


def test_a_constant_is_conduction_and_settled():
    constant = run(np.full(T.size, 1e9), relative_standard_uncertainty=0.002)
    assert constant.fit().model.name == "conduction"
    assert constant.settled().state.name == "settled"
    forecast = constant.first(120).forecast(mode="compact")
    assert forecast.low >= 1
    assert forecast.low <= 1.01


def test_a_batch_goes_on_past_bad_runs():
    bad = [NAN_INSIDE * np.nan, np.where(T < 200, MODEL, 1000 * MODEL), -MODEL]
    runs = [MODEL, *bad, MODEL]
    time, ohm, start = np.tile(T, len(runs)), np.concatenate(runs), T.size * np.arange(len(runs))
    fits = insulation.fit_runs(time, ohm, start)
    assert fits["run_status"].tolist() == [0, -7, -12, -7, 0]
    assert fits["value"][0].tobytes() == fits["value"][4].tobytes()
    forecasts = insulation.forecast_runs(time, ohm, start, mode="compact")
    assert (forecasts["status"] < 0).tolist() == [False, True, True, True, False]


@pytest.mark.parametrize("field", ["test_voltage_volt", "source_ampere", "relative_standard_uncertainty"])
def test_senseless_parameters_name_the_field(field):
    with pytest.raises(ValueError, match=field):
        run(**{field: -1.0})


def test_a_batch_names_a_senseless_parameter_too():
    with pytest.raises(ValueError, match="relative_standard_uncertainty"):
        insulation.fit_runs(T, MODEL, [0], relative_standard_uncertainty=-1.0)
    with pytest.raises(ValueError, match="offset"):
        insulation.fit_runs(T, MODEL, [3])
    with pytest.raises(ValueError, match="different lengths"):
        run(part_celsius=[20.0])


# Marks ---------------------------------------------------------------------------------------------------------------


def test_gaps_over_range_and_a_sagging_source_are_marked():
    time = np.array([5, 10, 15, 60, 65, 70], float)
    ohm = np.array([0.2e6, 0.4e6, 2e6, 3e6, 4e6, 4e6])
    kinds = np.array([0, 0, 0, 0, 1, 1], np.int8)
    found = run(ohm, time, censoring=kinds, test_voltage_volt=1000, source_ampere=1e-3)
    assert marked(found, "after_gap") == [3]
    assert marked(found, "over_range") == [4, 5]
    assert marked(found, "sagging") == [0, 1]
    by_voltage = run(ohm, time, applied_volt=[1000, 1000, 1000, 700, 1000, 1000], test_voltage_volt=1000)
    assert marked(by_voltage, "sagging") == [3]


def test_ranges_are_marked_and_their_gain_does_not_cancel():
    known = {"relative_standard_uncertainty": 0.01, "common_relative_standard_uncertainty": 0.03}
    one = run(**known, range=np.zeros(T.size))
    two = run(**known, range=np.where(T < 300, 0, 1))
    assert marked(one, "range_change") == []
    assert marked(two, "range_change") == [29]
    late, early = 600, 60
    assert one.ratio(late_second=late, early_second=early).standard_uncertainty == pytest.approx(0.01 * math.sqrt(2))
    across = two.ratio(late_second=late, early_second=early)
    assert across.standard_uncertainty == pytest.approx(math.hypot(0.01, 0.01, 0.03, 0.03))
    assert two.ratio(late_second=200, early_second=60).standard_uncertainty == pytest.approx(0.01 * math.sqrt(2))


def test_no_reading_is_known_better_than_its_display():
    coarse = run(relative_standard_uncertainty=0.001, display_step_ohm=np.where(T > 300, 1e7, 1e5))
    assert marked(coarse, "coarse_display") == [i for i, t in enumerate(T) if t > 300]
    late = coarse.at(600)
    assert late.standard_uncertainty == pytest.approx(1e7 / math.sqrt(12) / late.value)
    assert coarse.at(200).standard_uncertainty == pytest.approx(0.001)
    stuck = run([1e9, 1e9, 1.1e9], [10, 20, 30], display_step_ohm=[1e8, 1e8, 1e8])
    assert marked(stuck, "coarse_display") == [1]


def simulated(random, family, scatter, correlation):
    share, n = 0.01 * 95 ** random.uniform(), random.uniform(0.3, 1)
    decay = (T / 60) ** -n
    if family == "power law and a Debye term":
        w, tau = random.uniform(0.05, 0.6), 20 * 6 ** random.uniform()
        decay = (1 - w) * (T / 30) ** -n + w * np.exp(-(T - 30) / tau)
    noise = random.standard_normal(T.size)
    for i in range(1, T.size):
        noise[i] = correlation * noise[i - 1] + math.sqrt(1 - correlation**2) * noise[i]
    return 1e9 / ((share + (1 - share) * decay) * (1 + scatter * noise))


@pytest.mark.parametrize("family", ["power law", "power law and a Debye term"])
@pytest.mark.parametrize("scatter", [0.002, 0.01])
def test_neighbours_that_err_together_are_told_from_independent_ones(family, scatter):
    random = np.random.default_rng(3)
    shares = [
        np.mean([run(simulated(random, family, scatter, rho)).quality.autocorrelated for _ in range(400)])
        for rho in (0.0, 0.7)
    ]
    assert shares[0] <= 0.05
    assert shares[1] >= 0.85
    quality = run(simulated(random, family, scatter, 0.7)).quality
    assert quality.effective_readings < 40
    assert marked(run(simulated(random, family, scatter, 0.95)), "autocorrelated") == list(range(T.size))


# Temperatures --------------------------------------------------------------------------------------------------------

LAW = HalvingLaw(step_kelvin=10, reference_celsius=30, step_standard_uncertainty_kelvin=1)


def cooling(**known):
    celsius = 30 - 5 * T / 600
    return run(MODEL / LAW.factor(celsius), part_celsius=celsius, relative_standard_uncertainty=0.002, **known)


def test_readings_are_referred_to_one_temperature_by_their_own():
    as_read = cooling()
    steady = as_read.at_steady_temperature(LAW)
    true = MODEL[59] / MODEL[5]
    assert as_read.ratio(late_second=600, early_second=60).value > 1.3 * true
    corrected = steady.ratio(late_second=600, early_second=60)
    assert corrected.value == pytest.approx(true, rel=1e-12)
    # One step of the law for all: its uncertainty enters by the 4.5 K between the two readings.
    assert corrected.parts["law"] == pytest.approx(math.log(2) * 4.5 / 10 * 0.1, rel=1e-9)
    assert as_read.quality.drift_kelvin == pytest.approx(5 * 590 / 600)
    assert marked(as_read, "temperature_drift") == [i for i, t in enumerate(T) if 5 * (t - 10) / 600 >= 0.5]
    assert steady.fit().value["exponent"] == pytest.approx(0.7, abs=1e-5)


def test_a_steady_temperature_is_refused_with_the_reason_unless_every_reading_has_one():
    steady = cooling().at_steady_temperature(LAW)
    assert steady.corrected_to_steady_temperature
    assert steady.first(120).forecast(steady_temperature=True, mode="compact").status >= 0
    celsius = 30 - 5 * T / 600
    celsius[7] = np.nan
    with_a_hole = run(part_celsius=celsius).at_steady_temperature(LAW)
    outside = cooling().at_steady_temperature(FactorTableLaw([(0, 0.5), (20, 1)]))
    for refused in (run(), with_a_hole, outside):
        assert not refused.corrected_to_steady_temperature
        found = refused.forecast(steady_temperature=True, mode="compact")
        assert found.status.name == "not_applicable"
        assert found.reason.startswith("no ratio at steady temperature")


# Meters --------------------------------------------------------------------------------------------------------------


def test_a_meter_gives_uncertainty_range_and_bound():
    meter = ow.demo().instruments["meter-03"]
    found = run([1.5e9, 1.9e9, 2.5e9, np.nan], [60, 120, 300, 600], censoring=[0, 0, 0, 3], instrument=meter,
                test_voltage_volt=1000)  # fmt: skip
    assert marked(found, "range_change") == [2]
    assert marked(found, "over_range") == [3]
    time, ohm, kinds = found.usable
    assert time.tolist() == [60, 120, 300, 600]
    assert (ohm[3], kinds[3]) == (200e9, Censoring.above)
    alone = meter.quantity("insulation_resistance", 2.5e9, test_voltage_volt=1000)
    assert found.at(300).standard_uncertainty == pytest.approx(alone.standard_uncertainty)


def test_the_demo_has_its_timed_runs():
    depot = ow.demo()
    runs = insulation.timed_runs(depot.readings, instruments=depot.instruments)
    assert {read.object_id for read in runs} == {"PRESS-1", "MILL-1", "TR-1"}
    for read in runs:
        time, _, _ = read.run.usable
        assert time[-1] == 600
        assert len(read.reading_id) >= time.size > 10
        shown = read.run.ratio(late_second=600, early_second=60)
        assert shown.status >= 0


# The weighted fit ----------------------------------------------------------------------------------------------------


def test_weights_of_the_readings_are_scipys():
    random = np.random.default_rng(8)
    u = np.where(T < 300, 0.005, 0.05)
    ohm = MODEL * (1 + u * random.standard_normal(T.size))
    fit = run(ohm, relative_standard_uncertainty=u).fits()[insulation.AbsorptionModel.absorption]

    def deviations(p):
        return ((p[0] + p[1] * (T / 60) ** -p[2]) * ohm / 1e9 - 1) * u.min() / u

    best = least_squares(deviations, [1, 4, 0.7], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    assert fit.sum_of_squares == pytest.approx(2 * best.cost, rel=1e-6)
    found = [fit.value["conduction_siemens"] * 1e9, fit.value["absorption_siemens"] * 1e9, fit.value["exponent"]]
    assert found == pytest.approx(best.x, rel=1e-4)
