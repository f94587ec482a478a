"""The border between people's columns and the core."""

import datetime
import subprocess
import sys

import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pytest
import xarray as xr

from ohmward import _arrays
from ohmward._core import formula

R, T = [1e6, 2e6, 4e6], [40.0, 50.0, 30.0]
EXPECTED = [1e6, 4e6, 2e6]


def corrected(r, t, on_doubt="warn"):
    return _arrays.apply(
        formula.halving_to_reference,
        formula.halving_to_reference_status,
        {"resistance_ohm": r, "celsius": t},
        10.0, 40.0, 0.0, 60.0,
        on_doubt=on_doubt,
    )  # fmt: skip


def test_numbers_and_lists():
    assert corrected(1e6, 50) == 2e6
    assert type(corrected(1e6, 50)) is float
    assert corrected(R, T).tolist() == EXPECTED
    assert corrected(np.array(R, dtype=np.float32), 50).tolist() == [2e6, 4e6, 8e6]
    assert corrected(np.array([1, 2]), np.array([40, 50])).tolist() == [1, 4]


@pytest.mark.parametrize("dtype", ["float64", "Float64", "Int64", "int32", "float64[pyarrow]"])
def test_pandas(dtype):
    index = pd.Index(["a", "b", "c"])
    out = corrected(pd.Series(R, index=index, name="ohm", dtype=dtype), pd.Series(T, index=index, name="celsius"))
    assert isinstance(out, pd.Series)
    assert out.index.equals(index)
    assert out.name is None
    assert out.tolist() == EXPECTED


def test_polars_and_pyarrow():
    out = corrected(pl.Series("ohm", R), pl.Series("t", T))
    assert isinstance(out, pl.Series)
    assert out.to_list() == EXPECTED
    out = corrected(pa.chunked_array([R]), pa.chunked_array([T]))
    assert isinstance(out, pa.ChunkedArray)
    assert out.to_pylist() == EXPECTED


def test_xarray():
    coordinates = {"unit": ["a", "b", "c"]}
    r = xr.DataArray(R, coords=coordinates, dims="unit")
    out = corrected(r, xr.DataArray(T, coords=coordinates, dims="unit"))
    assert out.coords["unit"].values.tolist() == ["a", "b", "c"]
    assert out.values.tolist() == EXPECTED
    with pytest.raises(ValueError, match="celsius and resistance_ohm have different coordinates"):
        corrected(r, xr.DataArray(T, coords={"unit": ["a", "b", "d"]}, dims="unit"))


def test_dask_stays_lazy():
    import dask.array as dask

    out = corrected(dask.from_array(np.array([*R, -1.0])), 50.0)
    assert isinstance(out, dask.Array)
    np.testing.assert_array_equal(out.compute(), [2e6, 4e6, 8e6, np.nan])
    with pytest.raises(TypeError, match="resistance_ohm must be real numbers, not bool"):
        corrected(dask.from_array(np.array([True])), 50.0)


MISSING = [
    np.ma.array(R, mask=[False, True, False]),
    np.array([1e6, np.nan, 4e6]),
    pd.Series([1e6, None, 4e6]),
    pd.Series([1e6, None, 4e6], dtype="Float64"),
    pd.Series([1_000_000, None, 4_000_000], dtype="Int64"),
    pd.Series([1e6, None, 4e6], dtype="float64[pyarrow]"),
    pl.Series([1e6, None, 4e6]),
    pl.Series([1_000_000, None, 4_000_000]),
    pa.chunked_array([[1e6, None, 4e6]]),
]


@pytest.mark.parametrize(
    "column", MISSING, ids=lambda column: f"{type(column).__module__}-{getattr(column, 'dtype', '')}"
)
def test_missing_values_never_count(column):
    with pytest.warns(_arrays.DoubtWarning, match=r"of 3 values, 1 could not be given: 1 an input is missing"):
        out = corrected(column, 50.0)
    assert type(out) is type(column)
    values = (
        np.ma.filled(out, np.nan) if isinstance(out, np.ma.MaskedArray) else np.asarray(_arrays.as_doubles(out, "out"))
    )
    np.testing.assert_array_equal(values, [2e6, np.nan, 8e6])


REFUSED = [
    ("1e6", "<U3"),
    (["1e6"], "<U3"),
    ([None], "object"),
    ([True], "bool"),
    (True, "bool"),
    ([1 + 2j], "complex128"),
    (np.array(["2024-01-01"], dtype="M8[D]"), "datetime64"),
    ([datetime.date(2024, 1, 1)], "object"),
    (np.array([1.5], dtype=object), "object"),
    (pd.Series(["1e6"]), "object|str"),
    (pd.Series([True]), "bool"),
    (pd.Series([True, None], dtype="boolean"), "boolean"),
    (pd.Series([1.5], dtype=object), "object"),
    (pd.to_datetime(pd.Series(["2024-01-01"])), "datetime64"),
    (pd.Series([1 + 2j]), "complex128"),
    (pd.DataFrame({"a": [1.0]}), "DataFrame"),
    (pl.Series(["1e6"]), "String"),
    (pl.Series([True]), "Boolean"),
    (pl.DataFrame({"a": [1.0]}), "DataFrame"),
    (pa.chunked_array([["1e6"]]), "string"),
    (xr.DataArray([True]), "bool"),
]


@pytest.mark.parametrize(("value", "what"), REFUSED, ids=lambda value: type(value).__name__)
def test_what_is_no_real_number_is_refused_by_name(value, what):
    with pytest.raises(TypeError, match=f"celsius must be .*real numbers, not .*({what})"):
        corrected(1e6, value)


def test_columns_must_belong_together():
    with pytest.raises(ValueError, match="celsius and resistance_ohm have different indexes"):
        corrected(pd.Series(R), pd.Series(T, index=[1, 2, 3]))
    with pytest.raises(TypeError, match="different libraries: pandas and polars"):
        corrected(pd.Series(R), pl.Series(T))
    with pytest.raises(ValueError, match=r"resistance_ohm \(3,\), celsius \(2,\)"):
        corrected(R, T[:2])


def test_one_report_with_counts():
    r, t = [1e6, np.nan, -1.0, np.inf, 1e6], [70.0, 40.0, 40.0, 40.0, 40.0]
    message = (
        "of 5 values, 3 could not be given: 1 over-range without a known ceiling; 1 an input is impossible; "
        "1 an input is missing; 1 outside the range that the law or curve was fitted for"
    )
    with pytest.warns(_arrays.DoubtWarning) as caught:
        corrected(r, t)
    assert [str(w.message) for w in caught] == [message]
    assert caught[0].filename == __file__
    with pytest.raises(_arrays.DoubtError, match="3 could not be given"):
        corrected(r, t, on_doubt="raise")
    assert np.isnan(corrected(r, t, on_doubt="ignore")).tolist() == [False, True, True, True, False]
    with pytest.raises(ValueError, match="on_doubt is 'maybe'"):
        corrected(r, t, on_doubt="maybe")


def test_the_border_loads_no_frame_library():
    code = (
        "import sys; import ohmward._core; import numpy; before = set(sys.modules); import ohmward._arrays; "
        "print(sorted(m for m in set(sys.modules) - before if m.partition('.')[0] in "
        "{'pandas', 'polars', 'narwhals', 'pyarrow', 'xarray', 'dask'}))"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"
