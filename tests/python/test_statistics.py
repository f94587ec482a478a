"""The statistics room against scipy, statsmodels and lifelines."""

import math

import numpy as np
import pytest
from scipy.stats import binomtest
from statsmodels.stats.proportion import proportion_confint

from check_values import check_values
from ohmward import Status, statistics
from ohmward._core import statistics as core

INTERVALS = {"clopper-pearson": statistics.clopper_pearson, "wilson": statistics.wilson}


@pytest.mark.parametrize("case", check_values("proportion"), ids=str)
def test_proportion_check_values(case):
    interval = INTERVALS[case.text("interval")]
    share = interval(events=int(case.number("events")), trials=int(case.number("trials")), level=case.number("level"))
    case.expect(share.low, "expected_low")
    case.expect(share.high, "expected_high")


@pytest.mark.parametrize("trials", [1, 2, 5, 29, 300, 100_000])
@pytest.mark.parametrize("level", [0.5, 0.9, 0.95, 0.999])
def test_proportions_are_those_of_scipy_and_statsmodels(trials, level):
    for events in sorted({0, 1, trials // 3, trials - 1, trials}):
        test = binomtest(events, trials)
        exact = statistics.clopper_pearson(events=events, trials=trials, level=level)
        expected = test.proportion_ci(level, method="exact")
        # scipy searches the ends with a tolerance of 2e-12.
        assert (exact.low, exact.high) == pytest.approx((expected.low, expected.high), rel=0, abs=2e-12)
        assert (exact.low, exact.high) == pytest.approx(
            proportion_confint(events, trials, 1 - level, method="beta"), rel=1e-12, abs=1e-15
        )
        score = statistics.wilson(events=events, trials=trials, level=level)
        expected = test.proportion_ci(level, method="wilson")
        assert (score.low, score.high) == pytest.approx((expected.low, expected.high), rel=1e-13, abs=1e-15)
        assert exact.value == score.value == events / trials
        assert exact.low <= exact.value <= exact.high


@pytest.mark.parametrize("interval", INTERVALS.values(), ids=INTERVALS)
def test_proportions_refuse_what_is_no_count(interval):
    with pytest.raises(ValueError, match="events is -1"):
        interval(events=-1, trials=3)
    with pytest.raises(ValueError, match="events is 4"):
        interval(events=4, trials=3)
    with pytest.raises(ValueError, match="trials is -3"):
        interval(events=0, trials=-3)
    with pytest.raises(TypeError, match="events must be a whole number, not float"):
        interval(events=1.0, trials=3)
    with pytest.raises(TypeError, match="trials must be a whole number, not bool"):
        interval(events=1, trials=True)
    for level in (0.0, 1.0, -0.2, 95, math.nan):
        with pytest.raises(ValueError, match="level"):
            interval(events=1, trials=3, level=level)
    assert interval(events=0, trials=0).status == Status.too_few_points
    assert math.isnan(interval(events=0, trials=0).low)


def skewed_sample(size=30, seed=3):
    return np.random.default_rng(seed).lognormal(size=size)


def weighted_mean(sample):
    return lambda times: np.average(sample, weights=times)


def test_percentile_interval_is_the_quantiles_of_the_replicates():
    sample = skewed_sample()
    found = statistics.bootstrap(weighted_mean(sample), sample.size, level=0.9, replicates=999)
    assert found.value == pytest.approx(sample.mean(), rel=1e-15)
    assert found.replicates.size == 999
    assert (found.low, found.high) == pytest.approx(np.quantile(found.replicates, [0.05, 0.95]), rel=1e-14)
    assert found.standard_deviation == pytest.approx(np.std(found.replicates, ddof=1), rel=1e-13)


# scipy draws other numbers. The share below the value is known within 0.0035 of 20000 replicates, which moves the ends
# of this skewed sample by about 0.04 spreads, on either side; what the method moves them by is larger.
def test_bias_corrected_interval_is_that_of_scipy():
    from scipy.stats import bootstrap as scipy_bootstrap

    sample = skewed_sample()
    options = {"level": 0.8, "replicates": 20_000}
    found = statistics.bootstrap(weighted_mean(sample), sample.size, interval="bias_corrected", **options)
    plain = statistics.bootstrap(weighted_mean(sample), sample.size, **options)
    expected = scipy_bootstrap(
        (sample,), np.mean, n_resamples=20_000, confidence_level=0.8, method="BCa", rng=np.random.default_rng(1)
    ).confidence_interval
    spread = found.standard_deviation
    assert found.low == pytest.approx(expected.low, abs=0.2 * spread)
    assert found.high == pytest.approx(expected.high, abs=0.2 * spread)
    assert found.high - plain.high > 0.5 * spread


def test_bias_corrected_interval_from_its_own_replicates():
    from scipy.stats import norm

    sample = skewed_sample(25, seed=8)
    found = statistics.bootstrap(weighted_mean(sample), sample.size, replicates=1000, interval="bias_corrected")
    bias = norm.ppf(np.mean(found.replicates < found.value))
    jackknife = np.array([np.delete(sample, i).mean() for i in range(sample.size)])
    apart = jackknife.mean() - jackknife
    acceleration = (apart**3).sum() / (6 * (apart**2).sum() ** 1.5)
    z = bias + norm.ppf([0.025, 0.975])
    levels = norm.cdf(bias + z / (1 - acceleration * z))
    assert (found.low, found.high) == pytest.approx(np.quantile(found.replicates, levels), rel=1e-12)


def test_bootstrap_bits_do_not_depend_on_threads():
    sample = skewed_sample()
    depots = ["a", "b", "c", "d", "e"] * 6
    for clusters in (None, depots):
        one, two, seven = (
            statistics.bootstrap(weighted_mean(sample), 30, clusters=clusters, replicates=200, threads=threads)
            for threads in (1, 2, 7)
        )
        assert one.replicates.tobytes() == two.replicates.tobytes() == seven.replicates.tobytes()
        assert (one.low, one.high) == (two.low, two.high) == (seven.low, seven.high)


# A mean of cluster means, clusters of one size: the spread is that of the cluster means.
def test_clusters_are_what_is_drawn():
    random = np.random.default_rng(4)
    of_depot = random.standard_normal(25)
    sample = np.repeat(of_depot, 4) + 0.1 * random.standard_normal(100)
    means = sample.reshape(25, 4).mean(axis=1)
    found = statistics.bootstrap(
        weighted_mean(sample), 100, clusters=np.repeat(np.arange(25), 4).tolist(), replicates=8000
    )
    alone = statistics.bootstrap(weighted_mean(sample), 100, replicates=2000)
    assert found.standard_deviation == pytest.approx(np.std(means) / 5, rel=0.035)
    assert found.standard_deviation > 1.7 * alone.standard_deviation
    assert found.status == Status.sound


def test_several_estimates_at_once():
    sample = skewed_sample()
    mean, root = statistics.bootstrap(
        lambda times: (np.average(sample, weights=times), math.sqrt(times[0]) or math.nan), 30, replicates=300
    )
    assert mean.undefined == 0
    assert root.undefined == np.isnan(root.replicates).sum() > 0
    assert root.status == Status.few_points


def test_bootstrap_refuses_senseless_parameters_and_passes_errors_on():
    mean = weighted_mean(np.arange(4.0))
    for changed, named in (
        ({"units": 0}, "units is 0"),
        ({"units": -4}, "units is -4"),
        ({"clusters": [1, 2]}, "clusters"),
        ({"replicates": 1}, "replicates"),
        ({"level": 1.0}, "level"),
        ({"interval": "normal"}, "interval is 'normal'"),
        ({"seed": -1}, "seed is -1"),
        ({"threads": -1}, "threads"),
    ):
        with pytest.raises(ValueError, match=named):
            statistics.bootstrap(mean, **{"units": 4, **changed})
    with pytest.raises(ZeroDivisionError):
        statistics.bootstrap(lambda times: 1 / (int(times.min()) if times.max() > 1 else 1), 4)
    with pytest.raises(ValueError, match="statistic is .*expected as many numbers"):
        statistics.bootstrap(lambda times: [1.0] * int(times[0]), 4)


def test_kinds_of_interval_are_those_of_the_core():
    assert {kind.name for kind in core.BootstrapInterval} == {"percentile", "bias_corrected"}
