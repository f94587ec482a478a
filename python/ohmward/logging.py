"""A logger's objects, sample by sample: the very code that runs in a vendor's firmware, to test it against.

Each object has fixed memory and gives the office's digits: pushing equals the batch result bit for bit, in any chunking
and on every target. Values that can not be are counted and left out, and a senseless configuration is refused. A
forecast never replaces a test that runs its full time, and nothing here says that a part is safe.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol, Self

import numpy as np
from numpy.typing import NDArray

from ohmward._core import logging as _core
from ohmward._core.core import Censoring, Status
from ohmward._core.insulation import Contact, Settling
from ohmward._core.logging import Resting
from ohmward._elementwise import as_doubles
from ohmward.insulation import MECHANISMS, Forecast, SettlingState, reason_of

__all__ = [
    "AbsorptionLog",
    "AccuracyLine",
    "AccuracySheet",
    "BondingLog",
    "Charging",
    "Decay",
    "Joint",
    "LinkDischargeLog",
    "Mean",
    "Ratio",
    "Rest",
    "Resting",
    "RestingVoltageLog",
    "RunningMean",
    "Spot",
    "from_float32",
]


@dataclass(frozen=True)
class Ratio:
    """R(late)/R(early), or its bound, with the standard uncertainty of ln of it."""

    value: float
    relative_standard_uncertainty: float
    censoring: Censoring
    status: Status


@dataclass(frozen=True)
class Spot:
    """Resistance at one time [Ω], or its bound."""

    value: float
    censoring: Censoring
    status: Status


@dataclass(frozen=True)
class Charging:
    """Capacitance from the charging phase [F], its ends, and when the test voltage was reached [s]."""

    capacitance_farad: float
    low_farad: float
    high_farad: float
    reached_second: float
    status: Status


@dataclass(frozen=True)
class Rest:
    """Where a battery stands on its way to rest; ``change_volt`` is that over a doubling of the rest."""

    state: Resting
    status: Status
    voltage_volt: float
    standard_uncertainty_volt: float
    slope_volt_per_hour: float
    slope_standard_uncertainty_volt_per_hour: float
    change_volt: float
    rest_second: float


@dataclass(frozen=True)
class Decay:
    """A discharge: time constant, when the threshold is crossed with its interval [s], remarks by name."""

    initial_volt: float
    time_constant_second: float
    time_constant_standard_uncertainty_second: float
    threshold_second: float
    threshold_low_second: float
    threshold_high_second: float
    chi_square: float
    degrees_of_freedom: float
    remarks: tuple[str, ...]
    status: Status


@dataclass(frozen=True)
class Joint:
    """A joint with all parts of its uncertainty together, remarks by name, and the age of the null [s]."""

    resistance_ohm: float
    standard_uncertainty_ohm: float
    censoring: Censoring
    status: Status
    null_missing: bool
    current_too_low: bool
    remarks: tuple[str, ...]
    null_age_second: float


@dataclass(frozen=True)
class Mean:
    """A mean with the standard uncertainty of itself and the standard deviation of one reading."""

    mean: float
    standard_deviation: float
    standard_uncertainty: float
    degrees_of_freedom: float
    status: Status


class _Saved(Protocol):
    @property
    def counts(self) -> dict[str, int]: ...
    @property
    def cut(self) -> bool: ...
    def save(self) -> bytes: ...


class _Log:
    """What every log can."""

    _log: _Saved
    _class: Any

    @property
    def counts(self) -> dict[str, int]:
        """Samples, how many were taken, and what was wrong with the others."""
        return self._log.counts

    @property
    def cut(self) -> bool:
        """Whether power was lost during the run."""
        return self._log.cut

    def save(self) -> bytes:
        """Give the record that a logger writes at power loss: the same bytes on every machine."""
        return self._log.save()

    @classmethod
    def resume(cls, record: bytes, *, cut: bool = False) -> Self:
        """
        Go on from a record.

        Parameters
        ----------
        record : bytes
            From `save`, also that of a logger.
        cut : bool, default False
            Power was lost: what was known stays and says so. Otherwise the log goes on as if nothing had been.

        Raises
        ------
        ValueError
            The record is damaged, cut short, or of another kind.
        """
        log, status = cls._class.resume(record, cut=cut)
        if status < 0:
            raise ValueError("the saved record is damaged or of another kind")
        made = object.__new__(cls)
        made._log = log
        return made


def _wide(value: Any, size: int, name: str) -> NDArray[np.float64]:
    if value is None:
        return np.full(size, np.nan)
    column = np.ascontiguousarray(as_doubles(value, name)).reshape(-1)
    return np.ascontiguousarray(np.broadcast_to(column, (size,)))


def _times(time_second: Any, tick_millisecond: Any) -> tuple[NDArray[np.float64], NDArray[np.uint32]]:
    """Either column; the other one is not read."""
    if (time_second is None) == (tick_millisecond is None):
        raise ValueError("give either time_second or tick_millisecond")
    if time_second is not None:
        second = np.ascontiguousarray(as_doubles(time_second, "time_second")).reshape(-1)
        return second, np.zeros(second.size, np.uint32)
    ticks = np.asarray(tick_millisecond).reshape(-1)
    if not np.issubdtype(ticks.dtype, np.integer):
        raise ValueError("tick_millisecond: expected whole numbers")
    return np.full(ticks.size, np.nan), (ticks.astype(np.int64) & 0xFFFFFFFF).astype(np.uint32)


def _flags(size: int, **given: Any) -> NDArray[np.uint8]:
    flags = np.zeros(size, np.uint8)
    for name, value in given.items():
        on = np.broadcast_to(np.asarray(value, dtype=bool), (size,))
        flags |= np.where(on, np.uint8(_core.flag_bits[name]), np.uint8(0)).astype(np.uint8)
    return flags


def _told(codes: NDArray[np.int8], scalar: bool) -> Any:
    return Status(int(codes[0])) if scalar else codes


def _scalar(*times: Any) -> bool:
    return all(time is None or np.ndim(time) == 0 for time in times)


class AbsorptionLog(_Log):
    """
    An insulation test sample by sample.

    Parameters
    ----------
    test_voltage_volt, source_ampere : float, optional
        As set [V], and the greatest current of the tester [A].
    early_second, late_second : float
        The declared times of the ratio. [s]
    relative_standard_uncertainty, gain_relative_standard_uncertainty : float
        Of one reading, and of the gain that readings on one range share.
    capacitance_farad : float, optional
        The high end of what the part may have. [F]
    least_visible_change, loss_factor : float
        As `insulation.TimedRun.settled`.
    drift_kelvin, current_per_kelvin : float
        As `insulation.TimedRun.forecast`.
    ticks : bool, default False
        Time by a 32-bit millisecond counter that wraps, from ``start_tick`` on, instead of seconds.
    forecast : bool, default True
        Keep the sums of the forecast.

    Examples
    --------
    >>> import numpy as np
    >>> t = np.arange(1.0, 601.0)
    >>> log = AbsorptionLog(test_voltage_volt=1000, relative_standard_uncertainty=0.005)
    >>> codes = log.push(time_second=t[:120], resistance_ohm=1e9 / (1 + 4 * (t[:120] / 60) ** -0.7))
    >>> soon = log.forecast()
    >>> soon.low < 2.781 < soon.high
    True
    >>> codes = log.push(time_second=t[120:], resistance_ohm=1e9 / (1 + 4 * (t[120:] / 60) ** -0.7))
    >>> round(log.ratio().value, 3), log.settling().state.name, log.contact().name
    (2.781, 'absorbing', 'by_reading')
    """

    _class = _core.AbsorptionLog
    _log: _core.AbsorptionLog

    def __init__(
        self,
        *,
        test_voltage_volt: float = math.nan,
        early_second: float = 60,
        late_second: float = 600,
        source_ampere: float = math.nan,
        relative_standard_uncertainty: float = math.nan,
        gain_relative_standard_uncertainty: float = 0,
        capacitance_farad: float = math.nan,
        least_visible_change: float = 0.02,
        loss_factor: float = 0.2,
        drift_kelvin: float = 0,
        current_per_kelvin: float = 1.07,
        ticks: bool = False,
        forecast: bool = True,
        start_tick: int = 0,
    ) -> None:
        self._log = _core.AbsorptionLog(
            test_voltage_volt=test_voltage_volt,
            early_second=early_second,
            late_second=late_second,
            source_ampere=source_ampere,
            relative_standard_uncertainty=relative_standard_uncertainty,
            gain_relative_standard_uncertainty=gain_relative_standard_uncertainty,
            capacitance_farad=capacitance_farad,
            least_visible_change=least_visible_change,
            loss_factor=loss_factor,
            drift_kelvin=drift_kelvin,
            current_per_kelvin=current_per_kelvin,
            ticks=ticks,
            forecast=forecast,
            start_tick=start_tick,
        )

    def push(
        self,
        *,
        time_second: Any = None,
        tick_millisecond: Any = None,
        resistance_ohm: Any = None,
        applied_volt: Any = None,
        current_ampere: Any = None,
        over_range: Any = False,
        under_range: Any = False,
        range_changed: Any = False,
    ) -> Any:
        """
        Take one sample or an array of them.

        Parameters
        ----------
        time_second, tick_millisecond : number or array_like
            One of them, by the log's time base.
        resistance_ohm : number or array_like, optional
            NaN or not given: applied voltage over current. [Ω]
        applied_volt, current_ampere : number or array_like, optional
            [V], [A]
        over_range, under_range, range_changed : bool or array_like
            Flags of the samples; with over_range the resistance is its bound.

        Returns
        -------
        Status or ndarray of int8
            sound, bound_only, at_reduced_voltage; below 0: not taken, and why.

        Examples
        --------
        >>> log = AbsorptionLog(early_second=30, late_second=60)
        >>> log.push(time_second=1, resistance_ohm=1e9), log.push(time_second=1, resistance_ohm=1e9).name
        (<Status.sound: 0>, 'contradiction')
        """
        second, tick = _times(time_second, tick_millisecond)
        size = second.size
        codes = self._log.push(
            second,
            tick,
            _wide(applied_volt, size, "applied_volt"),
            _wide(current_ampere, size, "current_ampere"),
            _wide(resistance_ohm, size, "resistance_ohm"),
            _flags(size, over_range=over_range, under_range=under_range, range_changed=range_changed),
        )
        return _told(codes, _scalar(time_second, tick_millisecond))

    def reset(self, *, start_tick: int = 0) -> None:
        """Begin a new run with the same configuration."""
        self._log.reset(start_tick=start_tick)

    def ratio(self) -> Ratio:
        """Give R(late)/R(early) of the declared times; equals `insulation.TimedRun.ratio`."""
        return Ratio(*self._log.ratio())

    def early(self) -> Spot:
        """Give the resistance at the early time."""
        return Spot(*self._log.spots()[0])

    def late(self) -> Spot:
        """Give the resistance at the late time."""
        return Spot(*self._log.spots()[1])

    def latest(self) -> Spot:
        """Give the last reading that counts."""
        return Spot(*self._log.spots()[2])

    def settling(self) -> SettlingState:
        """Tell where the run stands; equals `insulation.TimedRun.settled` with mode "compact"."""
        state, status, slope, u, charging, absorption, may_stop = self._log.settling()
        return SettlingState(Settling(state), status, slope, u, charging, absorption, may_stop)

    def forecast(self, *, level: float = 0.95) -> Forecast:
        """Forecast the ratio; equals `insulation.TimedRun.forecast` with mode "compact"."""
        fields = self._log.forecast(level)
        shares: Sequence[float] = fields.pop("mechanism")
        reason = reason_of(fields["status"])
        return Forecast(mechanisms=dict(zip(MECHANISMS, shares, strict=True)), reason=reason, **fields)

    def charging(self) -> Charging:
        """Give the capacitance from the charging phase; needs voltage and current in the samples."""
        return Charging(*self._log.charging())

    def contact(self) -> Contact:
        """Tell what shows that the leads touch the part."""
        return Contact(self._log.contact())


class _VoltageLog(_Log):
    _log: Any

    def push(
        self,
        *,
        time_second: Any = None,
        tick_millisecond: Any = None,
        voltage_volt: Any,
        over_range: Any = False,
        under_range: Any = False,
        range_changed: Any = False,
    ) -> Any:
        """Take one sample or an array of them; the status of each, as `AbsorptionLog.push`."""
        second, tick = _times(time_second, tick_millisecond)
        flags = _flags(second.size, over_range=over_range, under_range=under_range, range_changed=range_changed)
        codes = self._log.push(second, tick, _wide(voltage_volt, second.size, "voltage_volt"), flags)
        return _told(codes, _scalar(time_second, tick_millisecond))

    def reset(self, *, start_tick: int = 0) -> None:
        """Begin anew with the same configuration."""
        self._log.reset(start_tick=start_tick)


class RestingVoltageLog(_VoltageLog):
    """
    A battery that comes to rest, sample by sample.

    Parameters
    ----------
    cells : int, default 6
        In series.
    standard_uncertainty_volt : float
        Of one reading. [V]
    tolerance_cell_volt : float, default 0.002
        Change of a cell over a doubling of the rest that still counts as rest; a setting without a source. [V]

    Examples
    --------
    >>> import numpy as np
    >>> log = RestingVoltageLog(standard_uncertainty_volt=0.002)
    >>> t = np.arange(10.0, 3600.0, 10.0)
    >>> codes = log.push(time_second=t, voltage_volt=12.7 - 0.3 * np.exp(-t / 100))
    >>> log.state().state.name, round(log.state().voltage_volt, 3)
    ('at_rest', 12.7)
    """

    _class = _core.RestingVoltageLog
    _log: _core.RestingVoltageLog

    def __init__(
        self,
        *,
        cells: int = 6,
        standard_uncertainty_volt: float,
        tolerance_cell_volt: float = 0.002,
        ticks: bool = False,
        start_tick: int = 0,
    ) -> None:
        self._log = _core.RestingVoltageLog(
            cells=cells,
            standard_uncertainty_volt=standard_uncertainty_volt,
            tolerance_cell_volt=tolerance_cell_volt,
            ticks=ticks,
            start_tick=start_tick,
        )

    def state(self) -> Rest:
        """Tell whether the voltage still moves."""
        state, status, volt, u, slope, u_slope, change, second = self._log.state()
        return Rest(Resting(state), status, volt, u, slope, u_slope, change, second)


class LinkDischargeLog(_VoltageLog):
    """
    A DC link that discharges, sample by sample. A voltage near zero is no proof that a circuit is dead.

    Parameters
    ----------
    standard_uncertainty_volt : float
        Of one reading. [V]
    threshold_volt : float, default 60
        Source: ``un-r100-class-b``. [V]
    gain_relative_standard_uncertainty : float, default 0
        Common to all readings.
    coverage_factor : float, default 2
        Of the interval.

    Examples
    --------
    >>> import numpy as np
    >>> log = LinkDischargeLog(standard_uncertainty_volt=1)
    >>> t = np.arange(0.0, 31.0)
    >>> codes = log.push(time_second=t, voltage_volt=600 * np.exp(-t / 45))
    >>> round(log.state().threshold_second, 1)
    103.6
    """

    _class = _core.LinkDischargeLog
    _log: _core.LinkDischargeLog

    def __init__(
        self,
        *,
        standard_uncertainty_volt: float,
        threshold_volt: float = 60,
        gain_relative_standard_uncertainty: float = 0,
        coverage_factor: float = 2,
        ticks: bool = False,
        start_tick: int = 0,
    ) -> None:
        self._log = _core.LinkDischargeLog(
            standard_uncertainty_volt=standard_uncertainty_volt,
            threshold_volt=threshold_volt,
            gain_relative_standard_uncertainty=gain_relative_standard_uncertainty,
            coverage_factor=coverage_factor,
            ticks=ticks,
            start_tick=start_tick,
        )

    def state(self) -> Decay:
        """Give the decay so far; equals `highvoltage.fit_decay` of the same readings."""
        initial, tau, u_tau, threshold, low, high, chi_square, freedom, remarks, status = self._log.state()
        names = tuple(name for name, bit in _core.decay_remarks if remarks & bit)
        return Decay(initial, tau, u_tau, threshold, low, high, chi_square, freedom, names, status)


class BondingLog(_Log):
    """
    Joints read with a low-ohm meter, sample by sample.

    Parameters
    ----------
    standard_uncertainty_ohm, null_standard_uncertainty_ohm : float
        Of one display, and of one null; not given: as of a display. [Ω]
    gain_relative_standard_uncertainty : float, default 0
        Acts on the difference from the null only.
    least_test_ampere, null_low_ohm, null_high_ohm, greatest_age_second, polarity_factor : float
        What a current and a null should be. Sources: ``un-r100-bonding``, ``lead-null-range``.
    four_wire, null_subtracted : bool, default False
        Needs no null; the meter takes its null off itself.

    Examples
    --------
    >>> log = BondingLog(standard_uncertainty_ohm=0.001)
    >>> log.push_null(time_second=10, resistance_ohm=0.05).name
    'sound'
    >>> log.push(time_second=20, resistance_ohm=0.07, test_ampere=0.2).name
    'sound'
    >>> joint = log.joint()
    >>> round(joint.resistance_ohm, 4), joint.null_age_second, joint.remarks
    (0.02, 10.0, ('one_polarity',))
    """

    _class = _core.BondingLog
    _log: _core.BondingLog

    def __init__(
        self,
        *,
        standard_uncertainty_ohm: float,
        null_standard_uncertainty_ohm: float = math.nan,
        gain_relative_standard_uncertainty: float = 0,
        least_test_ampere: float = 0.2,
        null_low_ohm: float = 0.02,
        null_high_ohm: float = 0.2,
        greatest_age_second: float = 28800,
        polarity_factor: float = 3,
        ticks: bool = False,
        four_wire: bool = False,
        null_subtracted: bool = False,
        start_tick: int = 0,
    ) -> None:
        self._log = _core.BondingLog(
            standard_uncertainty_ohm=standard_uncertainty_ohm,
            null_standard_uncertainty_ohm=null_standard_uncertainty_ohm,
            gain_relative_standard_uncertainty=gain_relative_standard_uncertainty,
            least_test_ampere=least_test_ampere,
            null_low_ohm=null_low_ohm,
            null_high_ohm=null_high_ohm,
            greatest_age_second=greatest_age_second,
            polarity_factor=polarity_factor,
            ticks=ticks,
            four_wire=four_wire,
            null_subtracted=null_subtracted,
            start_tick=start_tick,
        )

    def push(
        self,
        *,
        time_second: Any = None,
        tick_millisecond: Any = None,
        resistance_ohm: Any,
        test_ampere: Any = None,
        over_range: Any = False,
        polarity_reversed: Any = False,
        range_changed: Any = False,
    ) -> Any:
        """Take displays of the joint; over range means open. The status of each, as `AbsorptionLog.push`."""
        return self._push(
            time_second,
            tick_millisecond,
            resistance_ohm,
            test_ampere,
            False,
            over_range=over_range,
            polarity_reversed=polarity_reversed,
            range_changed=range_changed,
        )

    def push_null(
        self, *, time_second: Any = None, tick_millisecond: Any = None, resistance_ohm: Any, over_range: Any = False
    ) -> Any:
        """Take displays of the shorted leads."""
        return self._push(time_second, tick_millisecond, resistance_ohm, None, True, over_range=over_range)

    def _push(self, time: Any, ticks: Any, ohm: Any, ampere: Any, of_leads: bool, **flags: Any) -> Any:
        second, tick = _times(time, ticks)
        size = second.size
        codes = self._log.push(
            second,
            tick,
            _wide(ohm, size, "resistance_ohm"),
            _wide(ampere, size, "test_ampere"),
            _flags(size, **flags),
            of_leads=of_leads,
        )
        return _told(codes, _scalar(time, ticks))

    def next_joint(self) -> None:
        """Go to the next joint; the null stays."""
        self._log.next_joint()

    def forget_null(self) -> None:
        """Forget the null, before new ones are pushed."""
        self._log.forget_null()

    def reset(self, *, start_tick: int = 0) -> None:
        """Forget null and joint."""
        self._log.reset(start_tick=start_tick)

    def joint(self) -> Joint:
        """Give the joint as it stands; equals `highvoltage.bonding_resistance` of its means."""
        ohm, u, censoring, status, null_missing, current_too_low, remarks, age = self._log.joint()
        names = tuple(name for name, bit in _core.bonding_remarks if remarks & bit)
        return Joint(ohm, u, censoring, status, null_missing, current_too_low, names, age)


class RunningMean(_Log):
    """
    Mean and standard uncertainty of readings that come one by one.

    Parameters
    ----------
    display_step : float, default 0
        One count of the display: a floor of the uncertainty; 0: none.

    Examples
    --------
    >>> first, second = RunningMean(), RunningMean()
    >>> codes = first.push([12.61, 12.63]), second.push([12.62, float("nan")])
    >>> first.merge(second).name, round(first.state().mean, 3), first.counts["missing"]
    ('sound', 12.62, 1)
    """

    _class = _core.RunningMean
    _log: _core.RunningMean

    def __init__(self, *, display_step: float = 0) -> None:
        self._log = _core.RunningMean(display_step=display_step)

    def push(self, values: Any) -> Any:
        """Take one reading or an array of them; the status of each."""
        column = np.ascontiguousarray(as_doubles(values, "values")).reshape(-1)
        return _told(self._log.push(column), np.ndim(values) == 0)

    def merge(self, other: RunningMean) -> Status:
        """Join the readings of another mean; ``contradiction`` where the display step differs."""
        return Status(self._log.merge(other._log))

    def reset(self) -> None:
        """Begin anew."""
        self._log.reset()

    def state(self) -> Mean:
        """Give mean and uncertainty."""
        return Mean(*self._log.state())


@dataclass(frozen=True, kw_only=True)
class AccuracyLine:
    """One range at one test voltage."""

    high: float
    low: float = 0
    display_step: float = 0
    reading_percent: float = 0
    counts: float = 0
    range_percent: float = 0
    gain_share: float = 0


@dataclass(frozen=True, kw_only=True)
class AccuracySheet:
    """
    A meter's accuracy sheet as a logger holds it: ranges by test voltages.

    Parameters
    ----------
    lines : sequence of AccuracyLine
        Range after range; inside a range one line a test voltage.
    test_voltages_volt : sequence of float, optional
        Not given: the lines hold at any. [V]
    log_scale : bool, default True
        Insulation and its ratios: the result is relative. False: in the unit of the reading.
    divisor : float, optional
        Of the sheet's figures: √3 for a bound, k where the sheet states k.

    Examples
    --------
    >>> sheet = AccuracySheet(lines=[AccuracyLine(high=4e9, display_step=1e6, reading_percent=5, counts=5)])
    >>> u, status = sheet.find(2e9, test_voltage_volt=500)
    >>> round(u, 4), status.name
    (0.0303, 'sound')
    """

    lines: Sequence[AccuracyLine]
    test_voltages_volt: Sequence[float] = ()
    log_scale: bool = True
    divisor: float = math.sqrt(3)

    def find(
        self, reading: float, *, test_voltage_volt: float = math.nan, decision_value: float = math.nan
    ) -> tuple[float, Status]:
        """Give the standard uncertainty of a reading on the lowest range that holds it, and a status."""
        table = [
            (x.low, x.high, x.display_step, x.reading_percent, x.counts, x.range_percent, x.gain_share)
            for x in self.lines
        ]
        u, _, _, status = _core.accuracy(
            np.array(table, dtype=np.float64).reshape(-1),
            np.array(self.test_voltages_volt, dtype=np.float64),
            log_scale=self.log_scale,
            divisor=self.divisor,
            test_voltage_volt=test_voltage_volt,
            reading=reading,
            decision_value=decision_value,
        )
        return u, status


def from_float32(values: Any) -> NDArray[np.float64]:
    """
    Give 32-bit floats as the library takes them: exact, and 0 where a float is too small to be normal.

    A float keeps 24 bits: steps of 65.5 kΩ at 1 TΩ, of 0.93 nΩ at 10 mΩ.

    Examples
    --------
    >>> from_float32([1e12, 1e-40]).tolist()
    [999999995904.0, 0.0]
    """
    return _core.from_float32(np.ascontiguousarray(np.asarray(values, dtype=np.float32)).reshape(-1))
