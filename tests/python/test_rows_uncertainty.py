"""Whole columns through the library's formulas, from Python: against NumPy, budgets and another library."""

import math

import numpy as np
import pandas as pd
import pytest

from ohmward import _core, temperature
from ohmward import uncertainty as un
from ohmward._arrays import DoubtWarning

ROWS = 1000
RANDOM = np.random.default_rng(20260101)
OHM = 10 ** RANDOM.uniform(6, 10, ROWS)
CELSIUS = RANDOM.uniform(0, 60, ROWS)


def column(values, relative=0.02, **kwargs):
    return un.Column(values, relative_standard_uncertainty=relative, **kwargs)


LAWS = {
    "halving": temperature.HalvingLaw(step_kelvin=10, reference_celsius=40, step_standard_uncertainty_kelvin=0.8),
    "arrhenius": temperature.ArrheniusLaw(activation_energy_electronvolt=0.7, reference_celsius=20),
    "thermosetting": temperature.ThermosettingLaw(),
    "conductor": temperature.ConductorLaw(reference_celsius=20),
}


@pytest.mark.filterwarnings("ignore::UserWarning")
@pytest.mark.parametrize("law", LAWS.values(), ids=LAWS)
def test_laws_agree_with_the_correction_of_one_quantity(law):
    from ohmward._quantity import log_quantity

    rows = un.propagate_rows(
        law,
        resistance_ohm=column(OHM[:50], 0.03),
        celsius=un.Column(CELSIUS[:50], standard_uncertainty=1.5),
        on_doubt="ignore",
    )
    for i in range(50):
        one = law.correct(
            log_quantity(OHM[i], relative_standard_uncertainty=0.03),
            part_celsius=CELSIUS[i],
            standard_uncertainty_kelvin=1.5,
        )
        assert rows.value[i] == pytest.approx(one.value, rel=1e-14)
        assert rows.standard_uncertainty[i] / rows.value[i] == pytest.approx(one.standard_uncertainty, rel=1e-13)
        assert rows.status[i] == one.status


def test_shares_and_degrees_of_freedom_are_those_of_a_budget():
    u_before, u_after = 0.01 * 420e3, 0.02 * 480e3
    rows = un.propagate_rows(
        "leak_of_removed_part_ohm",
        before_ohm=un.Column(420e3, standard_uncertainty=u_before, degrees_of_freedom=9),
        after_ohm=un.Column(480e3, standard_uncertainty=u_after, degrees_of_freedom=4),
        common_gain=0.015,
        common_gain_degrees_of_freedom=50,
    )
    b = un.Budget(
        before_ohm=un.Normal(mean=420e3, standard_uncertainty=u_before, degrees_of_freedom=9),
        after_ohm=un.Normal(mean=480e3, standard_uncertainty=u_after, degrees_of_freedom=4),
        common_gain=un.Normal(mean=1, standard_uncertainty=0.015, degrees_of_freedom=50),
    )
    y = b.propagate(
        lambda before_ohm, after_ohm, common_gain: 1 / (1 / (common_gain * before_ohm) - 1 / (common_gain * after_ohm))
    )["y"]
    assert rows.value == pytest.approx(y.value, rel=1e-12)
    assert rows.standard_uncertainty == pytest.approx(y.standard_uncertainty, rel=1e-10)
    assert rows.degrees_of_freedom == pytest.approx(y.degrees_of_freedom, rel=1e-9)
    assert rows.shares == pytest.approx(y.shares, rel=1e-9)


def test_isolation_against_another_library():
    from uncertainties import ufloat

    volts = {"pack_volt": 400.0, "negative_volt": 250.0, "positive_volt": 125.0, "loaded_volt": 60.61}
    rows = un.propagate_rows(
        "isolation_by_pack_voltage_ohm",
        **{name: column([value], 0.005) for name, value in volts.items()},
        resistor_ohm=column([200e3], 0.01),
    )
    v = {name: ufloat(value, 0.005 * value) for name, value in volts.items()}
    expected = ufloat(200e3, 2e3) * v["pack_volt"] * (1 / v["loaded_volt"] - 1 / v["negative_volt"])
    assert rows.value[0] == pytest.approx(expected.n, rel=1e-13)
    assert rows.standard_uncertainty[0] == pytest.approx(expected.s, rel=1e-12)


def test_a_common_gain_cancels_in_a_ratio_and_stays_in_a_sum():
    late, early = column([4e9], 0.01), column([2e9], 0.01)
    ratio = un.propagate_rows("resistance_ratio", late_ohm=late, early_ohm=early, common_gain=0.05)
    assert ratio.standard_uncertainty[0] == pytest.approx(2 * math.hypot(0.01, 0.01), rel=1e-14)
    assert ratio.shares["common_gain"][0] == 0
    both = un.propagate_rows("parallel_resistance_ohm", first_ohm=late, second_ohm=early, common_gain=0.05)
    assert both.shares["common_gain"][0] > 0.9


def test_a_series_comes_back_with_its_index_and_missing_rows_are_counted():
    ohm = pd.Series([1e6, np.nan, 3e6], index=["a", "b", "c"])
    with pytest.warns(DoubtWarning, match="of 3 values, 1 could not be given: 1 an input is missing"):
        rows = un.propagate_rows(
            "unloaded_resistance_ohm",
            reading_ohm=un.Column(ohm, standard_uncertainty=pd.Series([1e4] * 3, index=ohm.index)),
            meter_ohm=un.Column(1e7, standard_uncertainty=1e5),
        )
    for of in (rows.value, rows.standard_uncertainty, rows.degrees_of_freedom, *rows.shares.values()):
        assert list(of.index) == ["a", "b", "c"]
        assert np.isnan(of["b"])
        assert np.isfinite(rows.value["c"])
    assert rows.status.tolist() == [0, -1, 0]


def test_equal_bits_for_threads_levels_and_reused_memory():
    columns = [
        (10 ** RANDOM.uniform(6, 10, 150_001), np.full(150_001, 1e5), np.full(150_001, 9.0)),
        (RANDOM.uniform(0, 60, 150_001), np.full(150_001, 2.0), np.array([np.inf])),
        (np.array([10.0]), np.array([1.0]), np.array([50.0])),
    ]

    def run(threads, level):
        buffers = {
            "value": np.empty(150_001),
            "standard_uncertainty": np.empty(150_001),
            "degrees_of_freedom": np.empty(150_001),
            "shares": np.empty((4, 150_001)),
            "status": np.empty(150_001, dtype=np.int8),
        }
        constants = np.array([40.0, 5.0, 55.0])
        _core.uncertainty.propagate_rows(
            "halving_to_reference",
            columns,
            constants,
            np.array([0.01]),
            np.array([np.inf]),
            **buffers,
            threads=threads,
            level=level,
        )
        return [column.tobytes() for column in buffers.values()]

    levels = [level for level in _core.numerics.InstructionLevel if _core.numerics.supported(level)]
    runs = [run(threads, level) for threads in (1, 2, 7) for level in levels]
    assert all(other == runs[0] for other in runs[1:])


def test_memory_of_an_earlier_result_is_written_over():
    def ratio(factor, out=None, rows=ROWS):
        return un.propagate_rows(
            "resistance_ratio", late_ohm=column(factor * OHM[:rows]), early_ohm=column(OHM[:rows]), out=out
        )

    first = ratio(2)
    second = ratio(3, out=first)
    assert np.shares_memory(first.value, second.value)
    assert second.value == pytest.approx(3)
    with pytest.raises(ValueError, match="another number of rows"):
        ratio(2, out=first, rows=ROWS - 1)


def test_a_batch_of_one_row_does_not_stop_either():
    senseless = un.Column([2e9], standard_uncertainty=[-1.0])
    rows = un.propagate_rows("resistance_ratio", late_ohm=senseless, early_ohm=column([1e9]), on_doubt="ignore")
    assert rows.status.tolist() == [-2]
    assert np.isnan(rows.value[0])


def test_no_rows_give_no_results():
    rows = un.propagate_rows("resistance_ratio", late_ohm=column(np.empty(0)), early_ohm=column(np.empty(0)))
    assert rows.value.shape == (0,)
    assert rows.shares["late_ohm"].shape == (0,)


GOOD = {"late_ohm": column([2e9, 3e9]), "early_ohm": column([1e9, 1e9])}


def ratio_with(**changed):
    return lambda: un.propagate_rows("resistance_ratio", **{**GOOD, **changed})


BAD = [
    (lambda: un.propagate_rows("ratio", **GOOD), "formula is 'ratio', expected one of halving_to_reference"),
    (lambda: un.propagate_rows("resistance_ratio", late_ohm=GOOD["late_ohm"]), "early_ohm of .* is missing"),
    (ratio_with(late=GOOD["late_ohm"]), "late is no input of resistance_ratio; it takes late_ohm, early_ohm"),
    (ratio_with(late_ohm=2e9), "late_ohm is float, expected Column"),
    (lambda: un.Column([1.0]), "either standard_uncertainty or relative"),
    (lambda: un.Column([1.0], standard_uncertainty=0.1, relative_standard_uncertainty=0.1), "either"),
    (ratio_with(late_ohm=un.Column(["2", "3"], standard_uncertainty=1)), "late_ohm must be real numbers"),
    (ratio_with(late_ohm=un.Column([1.0, 2.0, 3.0], standard_uncertainty=1)), "lengths do not fit together: late_ohm"),
    (ratio_with(late_ohm=un.Column([2e9, 3e9], standard_uncertainty=[1.0, 2.0, 3.0])), r"late_ohm has shape \(3,\)"),
    (ratio_with(late_ohm=un.Column(2e9, standard_uncertainty=-1.0)), "standard_uncertainty of late_ohm is -1"),
    (ratio_with(late_ohm=column(2e9, degrees_of_freedom=0.5)), "of_freedom of late_ohm is 0.5"),
    (ratio_with(common_gain=-0.1), "common gain is -0.1"),
    (
        lambda: un.propagate_rows(
            "capacitor_energy_joule", capacitance_farad=column([1e-6]), voltage_volt=column([9.0]), common_gain=0.1
        ),
        "common gain",
    ),
    (
        lambda: un.propagate_rows(
            LAWS["halving"], resistance_ohm=column([1e6]), celsius=column([20.0]), step_kelvin=column(10.0)
        ),
        "step_kelvin comes from the law",
    ),
    (
        lambda: un.propagate_rows(
            "conductor_to_reference",
            resistance_ohm=column([1e6]),
            celsius=column([20.0]),
            tau_kelvin=un.Column(-234.5, standard_uncertainty=1),
            reference_celsius=20,
            low_celsius=-50,
            high_celsius=150,
        ),
        "tau_kelvin is -234.5, expected a finite number above 0",
    ),
    (
        ratio_with(common_gain=pd.Series([0.1, 0.1], index=[3, 4]), late_ohm=column(pd.Series([2e9, 3e9]))),
        "have different indexes",
    ),
    (lambda: column(pd.Series([1.0]), pd.Series([0.1], index=[7])), "have different indexes"),
    (
        lambda: un.propagate_rows(
            temperature.FactorTableLaw("solid"), resistance_ohm=column([1e6]), celsius=column([20.0])
        ),
        "table of factors has no formula",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("call", "message"), BAD, ids=[message[:40] for _, message in BAD])
def test_bad_input_is_named(call, message):
    with pytest.raises((ValueError, TypeError), match=message):
        call()
