"""The elementary functions, random numbers and tools against mpmath, SciPy and NumPy."""

import math
import os
import subprocess
import sys

import mpmath
import numpy as np
import pytest
import scipy.interpolate
import scipy.special
import scipy.stats

from ohmward._core import numerics

UFUNCS = [name for name, value in vars(numerics).items() if isinstance(value, np.ufunc)]


def error_in_ulp(made, exact):
    return float(abs(mpmath.mpf(made) - exact) / mpmath.mpf(math.ulp(float(exact))))


# Arguments near a breakpoint between neighbouring results are the hard ones: random search keeps the worst.
@pytest.mark.parametrize(
    ("name", "bound", "exact", "low", "high"),
    [
        ("exp", 0.70, mpmath.exp, -708, 709),
        ("exp2", 0.70, lambda x: mpmath.mpf(2) ** x, -1021, 1023),
        ("log", 0.90, mpmath.log, 0.5, 2),
        ("log2", 0.90, lambda x: mpmath.log(x, 2), 0.5, 2),
        ("log1p", 1.5, mpmath.log1p, -0.9, 3),
        ("erf", 5, mpmath.erf, -6, 6),
        ("erfc", 8.5, mpmath.erfc, -6, 26),
        ("normal_probability", 9, mpmath.ncdf, -37, 8),
    ],
)
def test_against_mpmath(name, bound, exact, low, high):
    x = low + (high - low) * numerics.uniform(3000, seed=12)
    made = getattr(numerics, name)(x)
    with mpmath.workprec(120):
        worst = max(error_in_ulp(y, exact(mpmath.mpf(t))) for t, y in zip(x.tolist(), made.tolist(), strict=True))
    assert worst <= bound


def test_power_against_mpmath():
    t = np.exp2(-20 + 60 * numerics.uniform(2000, seed=13))
    with mpmath.workprec(160):
        for p in (-2.0, -0.731, 1.3):
            exact = [mpmath.mpf(x) ** mpmath.mpf(p) for x in t.tolist()]
            assert max(map(error_in_ulp, numerics.pow(t, p).tolist(), exact)) <= 0.75


def test_normal_quantile_against_scipy():
    p = np.concatenate([numerics.uniform(10_000, seed=1), np.exp2(-numerics.uniform(10_000, seed=2) * 1000)])
    np.testing.assert_allclose(numerics.normal_quantile(p), scipy.special.ndtri(p), rtol=2e-15, atol=1e-16)


@pytest.mark.parametrize("name", UFUNCS)
def test_strides_and_tails(name):
    function = getattr(numerics, name)
    rest = [1.3] if function.nin == 2 else []
    x = 3 * numerics.uniform(4001, seed=5)
    x[::97] = np.nan
    expected = np.array([function(value, *rest) for value in x])
    for part in (slice(None), slice(None, None, 2), slice(3, 700), slice(None, None, -1), slice(0, 0), slice(5, 6)):
        np.testing.assert_array_equal(function(x[part], *rest), expected[part])
    wide = np.full((4001, 3), -9.0)
    function(x, *rest, out=wide[:, 1])
    np.testing.assert_array_equal(wide[:, 1], expected)
    assert (wide[:, 0] == -9).all()
    in_place = x.copy()
    function(in_place, *rest, out=in_place)
    np.testing.assert_array_equal(in_place, expected)


def test_exponents_may_vary():
    t, p = np.array([2.0, 3.0, 4.0]), np.array([1.0, 2.0, -0.5])
    assert numerics.pow(t, p).tolist() == [2.0, 9.0, 0.5]
    assert numerics.pow(t[:, None], p).shape == (3, 3)


def test_no_warning_for_missing_values():
    # The suite turns warnings into errors; NumPy would warn of the floating-point flags.
    assert np.isnan(numerics.log([-1.0, np.nan])).all()
    assert numerics.exp(1000.0) == np.inf


def test_level_is_chosen_by_the_environment():
    code = "from ohmward._core import numerics as n; print(n.level_text(n.instruction_level()), n.exp(0.3).hex())"

    def run(level):
        environment = {**os.environ, "OHMWARD_INSTRUCTION_LEVEL": level}
        return subprocess.run(
            [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=False
        )

    for level in numerics.InstructionLevel:
        text = numerics.level_text(level)
        answer = run(text)
        if numerics.supported(level):
            assert answer.stdout.split() == [text, float(numerics.exp(0.3)).hex()]
        else:
            assert "OHMWARD_INSTRUCTION_LEVEL" in answer.stderr
    assert "OHMWARD_INSTRUCTION_LEVEL is fastest, expected" in run("fastest").stderr


def test_random_numbers_do_not_depend_on_the_cut():
    whole = numerics.normal(1000, seed=3, block=2)
    parts = [numerics.normal(n, seed=3, block=2, first=f) for f, n in ((0, 1), (1, 300), (301, 699))]
    assert np.array_equal(whole, np.concatenate(parts))
    assert not np.array_equal(whole, numerics.normal(1000, seed=3, block=1))


def test_distributions():
    assert scipy.stats.kstest(numerics.uniform(200_000, seed=9), "uniform").pvalue > 1e-4
    assert scipy.stats.kstest(numerics.normal(200_000, seed=9), "norm").pvalue > 1e-4


@pytest.mark.parametrize("size", [1, 2, 17, 100_000])
def test_quantiles_against_numpy(size):
    sample = numerics.normal(size, seed=size)
    levels = np.array([0, 0.025, 0.3, 0.5, 0.975, 1.0])
    np.testing.assert_allclose(numerics.quantiles(sample, levels), np.quantile(sample, levels), rtol=1e-14)


def test_interpolation_against_scipy():
    x = np.cumsum(0.1 + numerics.uniform(20, seed=1))
    for y in (np.cumsum(numerics.uniform(20, seed=2)), numerics.normal(20, seed=3)):
        at = x[0] + (x[-1] - x[0]) * numerics.uniform(500, seed=4)
        value, status = numerics.interpolate_monotone(x=x, y=y, at=at)
        assert not status.any()
        np.testing.assert_allclose(value, scipy.interpolate.PchipInterpolator(x, y)(at), rtol=1e-11, atol=1e-12)
        np.testing.assert_allclose(numerics.interpolate_linear(x=x, y=y, at=at)[0], np.interp(at, x, y), rtol=1e-13)
    assert numerics.interpolate_linear(x=x, y=x, at=np.array([0.0, np.nan]))[1].tolist() == [-8, -1]
