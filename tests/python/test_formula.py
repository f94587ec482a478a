"""The formulas as ufuncs: check values, containers, threads."""

import numpy as np
import pandas as pd
import polars as pl
import pytest
import xarray as xr

from check_values import check_values
from ohmward._core import formula, numerics

VALUES = [name for name, value in vars(formula).items() if isinstance(value, np.ufunc) and not name.endswith("_status")]
HALVING = (10.0, 40.0, 0.0, 60.0)


@pytest.mark.parametrize("case", check_values("formula"), ids=str)
def test_check_values(case):
    name, arguments = case.text("formula"), [float(word) for word in case.text("arguments").split()]
    case.expect(float(getattr(formula, name)(*arguments)))
    assert getattr(formula, f"{name}_status")(*arguments) == case.number("expected_status")


def columns(size):
    r = 1e6 * (1 + 1000 * numerics.uniform(size, seed=1, block=0))
    t = -20 + 100 * numerics.uniform(size, seed=1, block=1)
    r[3::401] = np.nan
    t[99::401] = np.inf
    r[300::401] = np.inf
    return r, t


def test_every_formula_is_a_ufunc_with_one_output():
    assert len(VALUES) == 24
    for name in VALUES:
        value, status = getattr(formula, name), getattr(formula, f"{name}_status")
        assert value.nout == status.nout == 1
        assert value.types[0].endswith("->d")
        assert status.types[0].endswith("->b")


def test_strides_and_varying_parameters():
    r, t = columns(3001)
    expected = formula.halving_to_reference(r, t, *HALVING)
    status = formula.halving_to_reference_status(r, t, *HALVING)
    assert (np.isnan(expected) == (status < 0)).all()
    table = np.stack([r, t, r], axis=1)
    np.testing.assert_array_equal(formula.halving_to_reference(table[:, 0], table[:, 1], *HALVING), expected)
    np.testing.assert_array_equal(formula.halving_to_reference_status(table[:, 0], table[:, 1], *HALVING), status)
    record = np.zeros(3001, dtype=[("a", "i1"), ("r", "f8"), ("t", "f8")])
    record["r"], record["t"] = r, t
    np.testing.assert_array_equal(formula.halving_to_reference(record["r"], record["t"], *HALVING), expected)
    steps = np.full(3001, 10.0)
    np.testing.assert_array_equal(formula.halving_to_reference(r, t, steps, *HALVING[1:]), expected)
    np.testing.assert_array_equal(formula.halving_to_reference(r[::-1], t[::-1], *HALVING), expected[::-1])
    assert formula.halving_to_reference(r[:, None], t[:5], *HALVING).shape == (3001, 5)


def test_containers_need_no_glue():
    r, t = columns(1000)
    expected = formula.halving_to_reference(r, t, *HALVING)
    series = formula.halving_to_reference(
        pd.Series(r, index=range(5, 1005)), pd.Series(t, index=range(5, 1005)), *HALVING
    )
    assert isinstance(series, pd.Series)
    assert series.index[0] == 5
    np.testing.assert_array_equal(series.to_numpy(), expected)
    column = formula.halving_to_reference(pl.Series(r), pl.Series(t), *HALVING)
    assert isinstance(column, pl.Series)
    np.testing.assert_array_equal(column.to_numpy(), expected)
    array = formula.halving_to_reference(xr.DataArray(r, dims="row"), xr.DataArray(t, dims="row"), *HALVING)
    assert array.dims == ("row",)
    np.testing.assert_array_equal(array.values, expected)
    import dask.array as dask

    lazy = formula.halving_to_reference(dask.from_array(r, chunks=300), dask.from_array(t, chunks=300), *HALVING)
    assert isinstance(lazy, dask.Array)
    np.testing.assert_array_equal(lazy.compute(), expected)


LAW = {
    "step_kelvin": 10,
    "reference_celsius": 40,
    "low_celsius": 0,
    "high_celsius": 60,
    "step_standard_uncertainty_kelvin": 1,
}


def fused(r, t, **options):
    return formula.halving_correction(r, t, np.full(len(r), 0.05), np.full(len(r), 2.0), **LAW, **options)


def test_fused_call_equals_its_parts():
    r, t = columns(100_001)
    value, u, status = fused(r, t)
    np.testing.assert_array_equal(value, formula.halving_to_reference(r, t, *HALVING))
    np.testing.assert_array_equal(status, formula.halving_to_reference_status(r, t, *HALVING))
    sound = status >= 0
    expected = np.sqrt(0.05**2 + (np.log(2) / 10 * 2) ** 2 + (np.log(2) * (t[sound] - 40) / 100) ** 2)
    np.testing.assert_allclose(u[sound], expected, rtol=1e-14)
    assert np.isnan(u[~sound]).all()


def test_threads_and_levels_change_nothing():
    r, t = columns(100_001)
    expected = fused(r, t, threads=1)
    for level in filter(numerics.supported, numerics.InstructionLevel):
        for threads in (0, 2, 3):
            for made, wanted in zip(fused(r, t, threads=threads, level=level), expected, strict=True):
                np.testing.assert_array_equal(made, wanted)


def test_senseless_calls_are_refused():
    r, t = columns(10)
    with pytest.raises(ValueError, match="threads is -1"):
        fused(r, t, threads=-1)
    with pytest.raises(ValueError, match="celsius is 9"):
        fused(r, t[:9])
    with pytest.raises(TypeError):
        fused(["1e6"], t[:1])
