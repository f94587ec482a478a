"""A logger's objects against the office's batch results: equal to the last bit, in any chunking."""

import struct

import numpy as np
import pytest

from ohmward import Censoring, Status, highvoltage, insulation, logging
from ohmward.insulation import Settling


def same(one, other):
    return struct.pack("<d", one) == struct.pack("<d", other) or (one != one and other != other)


def run(seed, size=150):
    random = np.random.default_rng(seed)
    second = np.cumsum(random.choice([0.5, 1.0, 1.0, 2.0, 9.0], size))
    share, exponent = random.uniform(0.1, 0.9), random.uniform(0.3, 1)
    ohm = 1e9 / ((1 - share) + share * (second / 60) ** -exponent) * (1 + 0.004 * random.standard_normal(size))
    censoring = np.zeros(size, np.int8)
    if seed % 3:
        ohm[random.integers(0, size, 3)] = np.nan
        ohm[random.integers(0, size, 2)] *= 1000
        second[random.integers(0, size)] = 3.0
        censoring[random.integers(0, size, 4)] = Censoring.above
    return second, ohm, censoring


def pushed(log, second, ohm, censoring, cuts):
    for part in np.split(np.arange(second.size), cuts):
        log.push(time_second=second[part], resistance_ohm=ohm[part], over_range=censoring[part] == Censoring.above)
    return log


@pytest.mark.parametrize("seed", range(12))
def test_a_run_equals_the_batch_bit_for_bit_in_any_chunking(seed):
    second, ohm, censoring = run(seed)
    # An over-range sample without a number has no bound.
    kinds = np.where((censoring == Censoring.above) & np.isnan(ohm), np.int8(Censoring.overload), censoring)
    batch = insulation.TimedRun(
        time_second=second, resistance_ohm=ohm, censoring=kinds, relative_standard_uncertainty=0.004
    )
    for cuts in ([], [1], [7, 8, 90], list(range(1, second.size))):
        log = logging.AbsorptionLog(early_second=30, late_second=90, relative_standard_uncertainty=0.004)
        pushed(log, second, ohm, censoring, cuts)
        ratio, office = log.ratio(), batch.ratio(late_second=90, early_second=30)
        assert ratio.status == office.status
        assert ratio.censoring == office.censoring
        assert same(ratio.value, office.value)
        state, expected = log.settling(), batch.settled(mode="compact")
        assert (state.state, state.status) == (expected.state, expected.status)
        assert same(state.slope, expected.slope)
        assert same(state.may_stop_second, expected.may_stop_second)


@pytest.mark.parametrize("seed", [0, 3, 5])
def test_a_forecast_equals_the_compact_batch_forecast_bit_for_bit(seed):
    second, ohm, censoring = run(seed, 90)
    batch = insulation.TimedRun(time_second=second, resistance_ohm=ohm, censoring=censoring)
    log = pushed(logging.AbsorptionLog(), second, ohm, censoring, [40])
    office, soon = batch.forecast(mode="compact"), log.forecast()
    assert soon.status == office.status
    for field in ("value", "low", "high", "noise", "kernel_width", "least_distance", "steepening"):
        assert same(getattr(soon, field), getattr(office, field)), field
    assert soon.mechanisms == office.mechanisms or np.isnan(soon.value)


def test_the_sums_of_a_tail_give_numpys_line():
    second = np.arange(300.0, 601.0)
    ohm = 1e9 * (second / 60) ** 0.4
    log = logging.AbsorptionLog(forecast=False)
    log.push(time_second=second, resistance_ohm=ohm)
    # Source: numpy.polyfit over the whole bins, quarters of an octave of time, that reach back one octave.
    tail = np.floor(4 * np.log2(second)) > np.floor(4 * np.log2(600)) - 5
    slope = np.polyfit(np.log(second[tail]), np.log(ohm[tail]), 1)[0]
    assert log.settling().slope == pytest.approx(slope, rel=1e-9)
    assert log.settling().state == Settling.absorbing


def test_ticks_wrap_and_time_goes_on():
    start = 2**32 - 5000
    log = logging.AbsorptionLog(early_second=10, late_second=60, ticks=True, start_tick=start)
    plain = logging.AbsorptionLog(early_second=10, late_second=60)
    ms = np.arange(500, 70_000, 500)
    ohm = 1e9 * (1 + ms / 60_000)
    assert not log.push(tick_millisecond=start + ms, resistance_ohm=ohm).any()
    plain.push(time_second=ms / 1000, resistance_ohm=ohm)
    assert log.counts["tick_wraps"] == 1
    assert same(log.ratio().value, plain.ratio().value)


def test_a_discharge_equals_the_batch():
    second = np.arange(0.0, 60.0, 2.0)
    volt = 600 * np.exp(-second / 20) + 20 * np.exp(-second / 300)
    log = logging.LinkDischargeLog(standard_uncertainty_volt=0.5)
    log.push(time_second=second, voltage_volt=volt)
    office = highvoltage.fit_decay(second, volt, standard_uncertainty_volt=0.5)
    state = log.state()
    assert same(state.threshold_second, office.threshold_second)
    assert "slows_down" in state.remarks
    assert state.status == office.status


def test_a_mean_agrees_with_numpy():
    readings = np.random.default_rng(4).normal(12.6, 0.01, 1000)
    mean = logging.RunningMean()
    mean.push(readings)
    # Source: numpy.mean, numpy.std.
    assert mean.state().mean == pytest.approx(np.mean(readings), rel=1e-15)
    assert mean.state().standard_deviation == pytest.approx(np.std(readings, ddof=1), rel=1e-12)


def test_records_go_on_and_say_when_they_were_cut():
    second, ohm, censoring = run(2)
    whole = pushed(logging.AbsorptionLog(early_second=30, late_second=90), second, ohm, censoring, [])
    first = logging.AbsorptionLog(early_second=30, late_second=90)
    pushed(first, second[:50], ohm[:50], censoring[:50], [])
    record = first.save()
    assert len(record) <= 4096
    resumed = pushed(logging.AbsorptionLog.resume(record), second[50:], ohm[50:], censoring[50:], [])
    assert resumed.save() == whole.save()
    cut = logging.AbsorptionLog.resume(record, cut=True)
    assert cut.cut
    assert cut.push(time_second=1e4, resistance_ohm=1e9) == Status.contradiction
    for bad in (record[:-1], record[:10], b"", record[:20] + b"\0" + record[21:] if record[20] else record[:-1]):
        with pytest.raises(ValueError, match="damaged"):
            logging.AbsorptionLog.resume(bad)
    with pytest.raises(ValueError, match="damaged"):
        logging.RunningMean.resume(record)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: logging.AbsorptionLog(late_second=10), "late_second"),
        (lambda: logging.AbsorptionLog(test_voltage_volt=-1), "test_voltage_volt"),
        (lambda: logging.RestingVoltageLog(standard_uncertainty_volt=0), "standard_uncertainty_volt"),
        (lambda: logging.LinkDischargeLog(standard_uncertainty_volt=1, threshold_volt=0), "threshold_volt"),
        (lambda: logging.BondingLog(standard_uncertainty_ohm=0.001, null_high_ohm=0.01), "null_high_ohm"),
        (lambda: logging.RunningMean(display_step=float("nan")), "display_step"),
        (lambda: logging.AccuracySheet(lines=[logging.AccuracyLine(high=-1)]).find(1), "high"),
    ],
)
def test_a_senseless_configuration_is_refused_by_name(make, field):
    with pytest.raises(ValueError, match=field):
        make()


def test_input_that_is_no_number_is_refused_by_name():
    log = logging.AbsorptionLog()
    with pytest.raises(ValueError, match="either time_second or tick_millisecond"):
        log.push(resistance_ohm=1e9)
    with pytest.raises(ValueError, match="whole numbers"):
        log.push(tick_millisecond=1.5, resistance_ohm=1e9)
    with pytest.raises((TypeError, ValueError), match="resistance_ohm"):
        log.push(time_second=1, resistance_ohm="1e9")
    assert log.counts["samples"] == 0
