"""Insulation in time: ratios, what a part can show, settling, absorption, forecast, discharge, steps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ohmward._core import formula as _formula
from ohmward._core import insulation as _core
from ohmward._core.core import Status, status_text
from ohmward._core.insulation import AbsorptionModel, Contact, Index, IndexCriterion, Pattern, Settling, Winding
from ohmward._elementwise import OnDoubt, apply
from ohmward._meter_readings import meter_readings
from ohmward._quantity import MISSING, Quantity, from_fields, log_quantity
from ohmward._timed_runs import RunRead, timed_runs

if TYPE_CHECKING:
    from ohmward.instruments import Instrument
    from ohmward.temperature import Law

__all__ = [
    "AbsorptionFit",
    "AbsorptionModel",
    "Contact",
    "Discharge",
    "Forecast",
    "Index",
    "IndexCriterion",
    "Pattern",
    "PatternFound",
    "RunQuality",
    "RunRead",
    "Settling",
    "SettlingState",
    "Steps",
    "TimedRun",
    "Winding",
    "apparatus_test",
    "applied_voltage",
    "attainable_index",
    "band",
    "consistent_with",
    "contact",
    "discharge",
    "fit_runs",
    "forecast_runs",
    "index_criterion",
    "installation_test",
    "log_quantity",
    "machine_minimum_ohm",
    "machine_test_voltage",
    "minimum_polarisation_index",
    "polarisation_index",
    "ratio",
    "steps",
    "timed_runs",
]

_GENEROUS_LOSS_FACTOR = 0.2
MECHANISMS = (
    "power law",
    "two power laws",
    "power law and one relaxation time",
    "stretched exponential",
    "power law and stretched exponential",
    "crossover of power laws",
    "power law and two relaxation times",
)
_PARAMETERS = ("conduction_siemens", "absorption_siemens", "exponent", "capacitive_siemens", "tau_second")


def polarisation_index(*, resistance_1min_ohm: Any, resistance_10min_ohm: Any, on_doubt: OnDoubt = "warn") -> Any:
    """
    Divide the resistance after 10 min by that after 1 min.

    Parameters
    ----------
    resistance_1min_ohm, resistance_10min_ohm : number, array_like or Series
        [Ω]
    on_doubt : {"warn", "raise", "ignore"}, default "warn"
        What to do where there is no value.

    Returns
    -------
    float, ndarray or Series
        Only a part that can show absorption shows anything here: see `attainable_index`.

    Examples
    --------
    >>> polarisation_index(resistance_1min_ohm=2e9, resistance_10min_ohm=4.6e9)
    2.3
    """

    def divide(late: Any, early: Any) -> tuple[Any, Any]:
        return _formula.resistance_ratio(late, early), _formula.resistance_ratio_status(late, early)

    return apply(
        divide, {"resistance_10min_ohm": resistance_10min_ohm, "resistance_1min_ohm": resistance_1min_ohm}, on_doubt
    )


def ratio(*, late: Quantity, early: Quantity, same_range: bool = True) -> Quantity:
    """
    Divide two readings of one run: R(late)/R(early).

    Parameters
    ----------
    late, early : Quantity
        On the log scale; a bound makes a bound.
    same_range : bool, default True
        Both on one range of one meter: the common share of its gain cancels, and nothing else.

    Returns
    -------
    Quantity

    Examples
    --------
    >>> early = log_quantity(2e9, relative_standard_uncertainty=0.01, common_relative_standard_uncertainty=0.03)
    >>> from ohmward import Censoring
    >>> late = log_quantity(4e9, relative_standard_uncertainty=0.01, censoring=Censoring.above,
    ...                     common_relative_standard_uncertainty=0.03)
    >>> print(ratio(late=late, early=early))
    at least 2 (u 1.4 %, only a bound is known)
    """
    return from_fields(_core.ratio(late=late.fields(), early=early.fields(), same_range=same_range))


def index_criterion(*, as_read: Quantity, at_40_celsius: Quantity) -> IndexCriterion:
    """
    Tell whether a polarisation index is a criterion: above 5 GΩ after 1 min it is not.

    Parameters
    ----------
    as_read, at_40_celsius : Quantity
        The one-minute reading, and the same at 40 °C; which of them counts is not settled, so both must agree.

    Examples
    --------
    >>> index_criterion(as_read=log_quantity(6e9), at_40_celsius=log_quantity(2e9)).name
    'undetermined'
    """
    return IndexCriterion(_core.index_criterion(as_read=as_read.fields(), at_40_celsius=at_40_celsius.fields()))


def attainable_index(
    *,
    capacitance_farad: float,
    resistance_1min_ohm: float | Quantity,
    late_second: float = 600,
    early_second: float = 60,
    loss_factor: float = _GENEROUS_LOSS_FACTOR,
    absorption_exponent: float = 1,
) -> float:
    """
    Give the highest ratio that a part of this capacitance can show at this resistance.

    Parameters
    ----------
    capacitance_farad : float
        To the housing: measured, or the high end of the kind's range. [F]
    resistance_1min_ohm : float or Quantity
        Resistance at the earlier time; a Quantity's upper end counts, one over range limits nothing. [Ω]
    late_second, early_second : float
        The two times. [s]
    loss_factor, absorption_exponent : float
        The generous ends 0.2 and 1 by default, so that "can not show more" is safe.

    Returns
    -------
    float
        Infinite where nothing limits the ratio; NaN where an input is missing or impossible.

    Notes
    -----
    Equation (I2) of ``ohmward/formula/insulation.hpp``.

    Examples
    --------
    >>> round(attainable_index(capacitance_farad=10e-9, resistance_1min_ohm=1e9), 2)
    1.02
    """
    early = (
        resistance_1min_ohm
        if isinstance(resistance_1min_ohm, Quantity)
        else Quantity(
            resistance_1min_ohm, True, status=Status.missing_input if math.isnan(resistance_1min_ohm) else Status.sound
        )
    )
    value, _ = _core.attainable_ratio(
        early=early.fields(),
        capacitance_farad=capacitance_farad,
        late_second=late_second,
        early_second=early_second,
        loss_factor=loss_factor,
        absorption_exponent=absorption_exponent,
    )
    return float(value)


def contact(
    reading: Quantity,
    *,
    capacitance_farad: float = math.nan,
    capacitance_standard_uncertainty: float = 0.0,
    known_resistor_ohm: float = math.nan,
    reading_with_resistor_ohm: float = math.nan,
    lead_ohm: float = math.nan,
    charging_seen: bool = False,
) -> Contact:
    """
    Tell what shows that the leads touched the part; an over-range reading alone may be a reading of nothing.

    Parameters
    ----------
    reading : Quantity
        The insulation reading.
    capacitance_farad, capacitance_standard_uncertainty : float
        As shown by the tester; more than a lead has counts. [F]
    known_resistor_ohm, reading_with_resistor_ohm : float
        A resistor laid across the part, and what was read then. [Ω]
    lead_ohm : float
        Low-ohm reading of the clip. [Ω]
    charging_seen : bool
        The part was seen charging.

    Examples
    --------
    >>> from ohmward import Censoring
    >>> over_range = log_quantity(4e9, censoring=Censoring.above)
    >>> contact(over_range).name, contact(over_range, capacitance_farad=8e-9).name
    ('not_shown', 'by_capacitance')
    """
    farad = Quantity(
        capacitance_farad,
        status=Status.missing_input if math.isnan(capacitance_farad) else Status.sound,
        parts={"reading": capacitance_standard_uncertainty},
    )
    return Contact(
        _core.contact(
            reading=reading.fields(),
            capacitance=farad.fields(),
            known_resistor_ohm=known_resistor_ohm,
            reading_with_resistor_ohm=reading_with_resistor_ohm,
            lead_ohm=lead_ohm,
            charging_seen=charging_seen,
        )
    )


def applied_voltage(*, set_volt: float, source_ampere: float, resistance_ohm: float) -> tuple[float, Status]:
    """
    Give the voltage that a tester really applies, and status ``at_reduced_voltage`` where it sags.

    Parameters
    ----------
    set_volt : float
        What it was set to. [V]
    source_ampere : float
        The greatest current that it delivers. [A]
    resistance_ohm : float
        What it reads. [Ω]

    Examples
    --------
    >>> applied_voltage(set_volt=500, source_ampere=1e-3, resistance_ohm=0.2e6)
    (200.0, <Status.at_reduced_voltage: 5>)
    """
    volt, status = _core.applied_voltage_volt(
        set_volt=set_volt, source_ampere=source_ampere, resistance_ohm=resistance_ohm
    )
    return volt, Status(status)


def machine_minimum_ohm(*, winding: str, rated_volt: float = math.nan, edition: int = 2013) -> float:
    """
    Look up the least resistance of a machine's winding after 1 min at 40 °C.

    Parameters
    ----------
    winding : str
        A name of `Winding`.
    rated_volt : float
        Line to line; needed only where the rule names it. [V]
    edition : {2000, 2013}
        Of IEEE Std 43.

    Examples
    --------
    >>> machine_minimum_ohm(winding="before_1970_field_or_other", rated_volt=480)
    1480000.0
    """
    return float(_core.machine_minimum_ohm(winding=Winding[winding], rated_volt=rated_volt, edition=edition)[0])


def minimum_polarisation_index(*, thermal_class_celsius: float, edition: int = 2013) -> float:
    """
    Look up the least polarisation index of a winding by its thermal class.

    Parameters
    ----------
    thermal_class_celsius : float
        105, 130, 155, 180 or above. [°C]
    edition : {2000, 2013}
        Of IEEE Std 43.

    Examples
    --------
    >>> minimum_polarisation_index(thermal_class_celsius=155)
    2.0
    """
    return float(_core.minimum_polarisation_index(thermal_class_celsius=thermal_class_celsius, edition=edition)[0])


def machine_test_voltage(rated_volt: float) -> tuple[float, float]:
    """
    Look up the range of test voltages of a machine's winding.

    Examples
    --------
    >>> machine_test_voltage(6600)
    (2500.0, 5000.0)
    """
    low, high, _, _, _ = _core.machine_test_voltage(rated_volt)
    return low, high


def apparatus_test(rated_volt: float) -> tuple[float, float]:
    """
    Look up test voltage and least resistance of other apparatus.

    Examples
    --------
    >>> apparatus_test(650)
    (1000.0, 100000000.0)
    """
    volt, _, ohm, _, _ = _core.apparatus_test(rated_volt)
    return volt, ohm


def installation_test(nominal_volt: float) -> tuple[float, float]:
    """
    Look up test voltage and least resistance of a low-voltage installation.

    Examples
    --------
    >>> installation_test(400)
    (500.0, 1000000.0)
    """
    volt, _, ohm, _, _ = _core.installation_test(nominal_volt)
    return volt, ohm


def band(index: str, value: float) -> str:
    """
    Name the neutral band that an index lies in; no band is a limit.

    Parameters
    ----------
    index : {"polarisation", "absorption_60_30", "dielectric_discharge"}
        Which index.
    value : float
        Its value.

    Examples
    --------
    >>> band("polarisation", 2.4)
    'usual'
    """
    return str(_core.band(Index[index], value)[2])


@dataclass(frozen=True)
class Forecast:
    """
    A forecast of R(late)/R(early).

    Attributes
    ----------
    value, low, high : float
        Estimate and interval; NaN where there is none.
    status : Status
        sound, wide, few_points (fewer than 12 readings: the interval may hold less than it says), interval_scaled,
        too_few_points, not_applicable ...
    reason : str
        Why, in words; empty where it is sound.
    noise : float
        Relative standard deviation of one reading, found from the run.
    kernel_width : float
        1 where the library of curves is dense enough for the noise; more: a wider library would help.
    least_distance : float
        Of the nearest curve, squared, in standard deviations; large: no known mechanism fits.
    steepening : float
        Negative: the slope still gets steeper at the last reading. In standard deviations.
    mechanisms : dict
        Which mechanisms are plausible: weights by name.
    """

    value: float
    low: float
    high: float
    status: Status
    reason: str
    noise: float
    kernel_width: float
    least_distance: float
    steepening: float
    mechanisms: dict[str, float]


@dataclass(frozen=True)
class AbsorptionFit:
    """
    Conduction, absorption and charging fitted to a run.

    Attributes
    ----------
    model : AbsorptionModel
        Which terms.
    status : Status
        sound, not_converged, too_few_points ...
    value, standard_uncertainty : dict
        By parameter: conduction_siemens, absorption_siemens (at 60 s), exponent, capacitive_siemens, tau_second.
        A parameter at its bound has no uncertainty.
    correlation : ndarray
        In that order.
    sum_of_squares, relative_scatter, autocorrelation, criterion : float
        Of the relative deviations of the current; the criterion (AIC for small samples) chose the model.
    """

    model: AbsorptionModel
    status: Status
    value: dict[str, float]
    standard_uncertainty: dict[str, float]
    correlation: NDArray[np.float64]
    sum_of_squares: float
    relative_scatter: float
    autocorrelation: float
    criterion: float

    @property
    def reason(self) -> str:
        """Why there is no fit, or what is doubtful about it, in words."""
        return reason_of(self.status)

    def resistance_ohm(self, time_second: Any) -> NDArray[np.float64]:
        """Give the model's resistance at times [s]."""
        t = np.asarray(time_second, dtype=np.float64)
        v = {name: 0.0 if math.isnan(x) else x for name, x in self.value.items()}
        current = v["conduction_siemens"] + v["absorption_siemens"] * (t / 60) ** -v["exponent"]
        if v["tau_second"] > 0:
            current = current + v["capacitive_siemens"] * np.exp(-t / v["tau_second"])
        return 1 / current


@dataclass(frozen=True)
class SettlingState:
    """
    Where a run stands, with its evidence.

    Attributes
    ----------
    state : Settling
        charging, absorbing, settled, nothing_more_to_learn, unknown.
    status : Status
        drift_present: it moves in a way that this part's absorption can not explain.
    slope, slope_standard_uncertainty : float
        d ln R / d ln t over the last half of the run.
    charging_until_second, absorption_until_second : float
        The window in which this part can tell anything; NaN where the capacitance is not known. [s]
    may_stop_second : float
        Nothing is to be learnt after this. [s]
    """

    state: Settling
    status: Status
    slope: float
    slope_standard_uncertainty: float
    charging_until_second: float
    absorption_until_second: float
    may_stop_second: float

    @property
    def reason(self) -> str:
        """What keeps the state from being plain, in words."""
        return reason_of(self.status)


@dataclass(frozen=True)
class RunQuality:
    """
    What the readings of a run show about their meter and the part's temperature.

    Attributes
    ----------
    scatter : float
        Standard deviation of ln R about a smooth curve in ln t.
    autocorrelation, effective_readings : float
        Of neighbouring deviations from that curve, and how many independent readings they are worth.
    drift_kelvin : float
        Greatest less least logged temperature. [K]
    autocorrelated : bool
        More than one run in a hundred shows by chance: an averaging meter, or a step that no mark explains. The
        absorption fit widens its uncertainties by it; the forecast's interval is not measured for it.
    """

    scatter: float
    autocorrelation: float
    effective_readings: float
    drift_kelvin: float
    autocorrelated: bool


class TimedRun:
    """
    A run of readings after the voltage was switched on.

    Parameters
    ----------
    time_second : array_like
        Since the voltage was on. [s]
    resistance_ohm : array_like, optional
        For a censored reading its bound. Either this or ``current_ampere``. [Ω]
    current_ampere : array_like, optional
        Needs ``applied_volt`` or ``test_voltage_volt``. [A]
    censoring : array_like of Censoring, optional
        All exact by default.
    applied_volt : array_like, optional
        True test voltage, where it is known. [V]
    part_celsius : array_like, optional
        Temperature of the winding, logged with each reading: see `at_steady_temperature`. [°C]
    display_step_ohm : array_like, optional
        Size of the last digit of each reading; no reading is known better than its display. [Ω]
    range : array_like of int, optional
        Number of the meter's range of each reading. Across two ranges the meter's gain does not cancel.
    instrument : Instrument, optional
        The meter: gives uncertainty, display step and range of each reading, the source's current, and the bound of an
        overload, each only where it is not given here.
    test_voltage_volt, source_ampere : float, optional
        Voltage as set [V], and the greatest current of the tester [A].
    relative_standard_uncertainty : float or array_like, optional
        Of each reading, independent from the others; 0.01 is 1 %.
    common_relative_standard_uncertainty : float, optional
        Of the gain that readings on one range share; cancels in a ratio on one range. Default 0, or from the meter the
        greatest of its ranges that the run used.
    corrected_to_steady_temperature : bool, default False
        Each reading was referred to one temperature by a logged one before it came here.

    Examples
    --------
    >>> import numpy as np
    >>> t = np.arange(10, 601, 10)
    >>> run = TimedRun(time_second=t, resistance_ohm=1e9 / (1 + 4 * (t / 60) ** -0.7), test_voltage_volt=1000,
    ...                relative_standard_uncertainty=0.005)
    >>> print(run.ratio(late_second=600, early_second=60))
    2.781 (u 0.71 %)
    >>> forecast = run.first(120).forecast()
    >>> forecast.low < 2.781 < forecast.high
    True
    """

    def __init__(
        self,
        *,
        time_second: Any,
        resistance_ohm: Any = None,
        current_ampere: Any = None,
        censoring: Any = None,
        applied_volt: Any = None,
        part_celsius: Any = None,
        display_step_ohm: Any = None,
        range: Any = None,  # noqa: A002 - the trade's word
        instrument: Instrument | None = None,
        test_voltage_volt: float = math.nan,
        source_ampere: float = math.nan,
        relative_standard_uncertainty: Any = math.nan,
        common_relative_standard_uncertainty: float = math.nan,
        corrected_to_steady_temperature: bool = False,
    ) -> None:
        time = _column(time_second, "time_second")
        volt = None if applied_volt is None else _column(applied_volt, "applied_volt")
        if (resistance_ohm is None) == (current_ampere is None):
            raise ValueError("give either resistance_ohm or current_ampere")
        if resistance_ohm is None:
            current = _column(current_ampere, "current_ampere")
            known = np.full(time.shape, np.nan) if volt is None else volt
            with np.errstate(divide="ignore", invalid="ignore"):
                ohm = np.where(np.isnan(known), test_voltage_volt, known) / current
        else:
            ohm = _column(resistance_ohm, "resistance_ohm")
        kinds = None if censoring is None else np.ascontiguousarray(censoring, dtype=np.int8)
        u, common = relative_standard_uncertainty, common_relative_standard_uncertainty
        if instrument is not None:
            shown = np.zeros(time.shape, np.int8) if kinds is None else kinds
            by_meter = meter_readings(instrument, ohm, shown, test_voltage_volt)
            ohm, kinds = by_meter.resistance_ohm, by_meter.censoring
            u = by_meter.relative_standard_uncertainty if np.ndim(u) == 0 and math.isnan(u) else u
            common = by_meter.common_relative_standard_uncertainty if math.isnan(common) else common
            display_step_ohm = by_meter.display_step_ohm if display_step_ohm is None else display_step_ohm
            range = by_meter.range if range is None else range  # noqa: A001
            source_ampere = instrument._raw.source_ampere if math.isnan(source_ampere) else source_ampere
        of_each = np.ndim(u) > 0
        self._run = _core.TimedRun(
            time,
            np.ascontiguousarray(ohm),
            censoring=kinds,
            applied_volt=volt,
            part_celsius=None if part_celsius is None else _column(part_celsius, "part_celsius"),
            reading_standard_uncertainty=_column(u, "relative_standard_uncertainty") if of_each else None,
            display_step_ohm=None if display_step_ohm is None else _column(display_step_ohm, "display_step_ohm"),
            range=None if range is None else np.ascontiguousarray(range, dtype=np.int32),
            test_voltage_volt=test_voltage_volt,
            source_ampere=source_ampere,
            relative_standard_uncertainty=math.nan if of_each else float(u),
            common_relative_standard_uncertainty=0.0 if math.isnan(common) else common,
            corrected_to_steady_temperature=corrected_to_steady_temperature,
        )

    @property
    def status(self) -> Status:
        """Of the run as a whole: sound, too_few_points, or contradiction."""
        return Status(self._run.status)

    @property
    def marks(self) -> list[tuple[str, ...]]:
        """
        Give what was noticed on each reading.

        ``missing``, ``impossible``, ``time_not_rising`` and ``slip`` (alone off by a power of 1000) are left out.
        ``over_range``, ``after_gap``, ``sagging`` (test voltage not reached), ``jump`` (goes on at another level),
        ``range_change``, ``temperature_drift`` (0.5 K off the first reading's), ``coarse_display`` (the last digit is
        more than the stated uncertainty) and ``autocorrelated`` (neighbours err together: see `quality`) stay in.

        Examples
        --------
        >>> TimedRun(time_second=[10, 20, 15], resistance_ohm=[1e9, float("nan"), 1.2e9], range=[1, 1, 2]).marks
        [(), ('missing',), ('range_change',)]
        """
        bits = _core.mark_bits
        return [tuple(name for name, bit in bits.items() if int(mark) & bit) for mark in self._run.marks]

    @property
    def quality(self) -> RunQuality:
        """What the readings show about their meter and the part's temperature."""
        return RunQuality(**self._run.quality)

    @property
    def corrected_to_steady_temperature(self) -> bool:
        """Whether each reading was referred to one temperature."""
        return bool(self._run.corrected_to_steady_temperature)

    @property
    def usable(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int8]]:
        """Times [s], resistances [Ω] and censoring of the readings that count."""
        return self._run.usable

    def first(self, second: float) -> TimedRun:
        """Keep the readings up to a time [s]."""
        early = object.__new__(TimedRun)
        early._run = self._run.first(second)
        return early

    def at_steady_temperature(self, law: Law) -> TimedRun:
        """
        Refer each reading to the law's reference temperature, by the temperature that was logged with it.

        Parameters
        ----------
        law : temperature.Law
            Of the part.

        Returns
        -------
        TimedRun
            As it was where a usable reading has no temperature, or the law no factor there: then a forecast at steady
            temperature stays refused.

        Notes
        -----
        The law's constant is one unknown for all readings: it enters a ratio by the drift between its ends only.
        Equation (T0) of ``ohmward/formula/temperature.hpp``.

        Examples
        --------
        >>> from ohmward.temperature import HalvingLaw
        >>> cooling = TimedRun(time_second=[60, 600], resistance_ohm=[1e9, 1.23e9], part_celsius=[30, 27],
        ...                    relative_standard_uncertainty=0.01)
        >>> steady = cooling.at_steady_temperature(HalvingLaw(step_kelvin=10, reference_celsius=30))
        >>> print(cooling.ratio(late_second=600, early_second=60), steady.ratio(late_second=600, early_second=60))
        1.23 (u 1.4 %) 0.9991 (u 2.5 %)
        """
        steady = object.__new__(TimedRun)
        steady._run = self._run.at_steady_temperature(law=law._law, reference_celsius=law.reference_celsius)
        return steady

    def at(self, second: float) -> Quantity:
        """Give the resistance at a time [s], ln R straight in ln t; never extrapolated."""
        return from_fields(self._run.at(second))

    def ratio(self, *, late_second: float, early_second: float) -> Quantity:
        """Give R(late)/R(early) of two declared times [s]; the common gain cancels, an over-range end makes a bound."""
        return from_fields(self._run.ratio(late_second=late_second, early_second=early_second))

    def settled(
        self,
        *,
        capacitance_farad: float | tuple[float, float] = math.nan,
        least_visible_change: float = 0.02,
        loss_factor: float = _GENEROUS_LOSS_FACTOR,
        mode: str = "fine",
    ) -> SettlingState:
        """
        Tell where the run stands: charging, absorbing, settled, or nothing more to learn on this part.

        Parameters
        ----------
        capacitance_farad : float or (low, high)
            Of the part, measured or its kind's range; not given, the readings alone decide. [F]
        least_visible_change : float, default 0.02
            Of ln R over a doubling of time that counts as a change; a setting without a source.
        loss_factor : float, default 0.2
            The generous end.
        mode : {"fine", "compact"}, default "fine"
            The slope of the last half of the run, or of the last octave of time in whole bins as a logger keeps it.

        Returns
        -------
        SettlingState

        Examples
        --------
        >>> run = TimedRun(time_second=[5, 10, 20, 30, 40], resistance_ohm=[0.9e9, 1e9, 1e9, 1e9, 1e9],
        ...                relative_standard_uncertainty=0.003)
        >>> state = run.settled(capacitance_farad=10e-9)
        >>> state.state.name, state.may_stop_second
        ('settled', 20.0)
        """
        low, high = (
            capacitance_farad if isinstance(capacitance_farad, tuple) else (capacitance_farad, capacitance_farad)
        )
        state = self._run.settling(
            capacitance_low_farad=low,
            capacitance_high_farad=high,
            least_visible_change=least_visible_change,
            loss_factor=loss_factor,
            mode=mode,
        )
        return SettlingState(**{**state, "state": Settling(state["state"]), "status": Status(state["status"])})

    def fits(self) -> dict[AbsorptionModel, AbsorptionFit]:
        """Fit all four models of conduction, absorption and charging."""
        columns = self._run.fit()
        return {model: _fit(columns, int(model)) for model in AbsorptionModel}

    def fit(self) -> AbsorptionFit:
        """
        Fit conduction, absorption and charging; the model with the least criterion.

        Returns
        -------
        AbsorptionFit
            Its status says where there is none.

        Examples
        --------
        >>> import numpy as np
        >>> t = np.arange(10, 601, 10)
        >>> fit = TimedRun(time_second=t, resistance_ohm=1e9 / (1 + 4 * (t / 60) ** -0.7)).fit()
        >>> fit.model.name, round(fit.value["exponent"], 6)
        ('absorption', 0.7)
        """
        columns = self._run.fit()
        return _fit(columns, int(columns["chosen"][0]))

    def forecast(
        self,
        *,
        late_second: float = 600,
        early_second: float = 60,
        level: float = 0.95,
        drift_kelvin: float = 0,
        current_per_kelvin: float = 1.07,
        steady_temperature: bool = False,
        mode: str = "fine",
        threads: int = 0,
    ) -> Forecast:
        """
        Forecast R(late)/R(early) from the readings so far.

        It never replaces a test that runs its full time. A relaxation slower than the readings reach looks like
        conduction, and a change of the part or its temperature after the last reading is not forecastable. Not
        promised at all: several slow relaxation times, readings that err together (see `quality`), and runs of fewer
        than 12 readings. DEVELOPERS.md holds the measured coverage.

        Parameters
        ----------
        late_second, early_second : float
            The two times. [s]
        level : float, default 0.95
            Of the interval; at any other level it is scaled from that one and marked.
        drift_kelvin : float, default 0
            Greatest drift of the part's temperature in 600 s, either way. [K]
        current_per_kelvin : float, default 1.07
            Factor of the current for a warming of 1 K.
        steady_temperature : bool, default False
            Forecast the ratio at one temperature; refused (not_applicable) unless each reading was corrected to one.
        mode : {"fine", "compact"}, default "fine"
            131072 curves, or the 4096 that a logger runs.
        threads : int, default 0
            All cores; the result never depends on it.

        Returns
        -------
        Forecast
        """
        columns = self._run.forecast(
            early_second=early_second,
            late_second=late_second,
            level=level,
            drift_kelvin=drift_kelvin,
            current_per_kelvin=current_per_kelvin,
            steady=steady_temperature,
            mode=mode,
            threads=threads,
        )
        numbers = {name: float(columns[name][0]) for name in _FORECAST_NUMBERS}
        mechanisms = dict(zip(MECHANISMS, columns["mechanism"].tolist(), strict=True))
        status = Status(int(columns["status"][0]))
        refused = steady_temperature and status == Status.not_applicable
        reason = _NOT_STEADY if refused else reason_of(status)
        return Forecast(status=status, reason=reason, mechanisms=mechanisms, **numbers)


_NOT_STEADY = "no ratio at steady temperature: not every reading was corrected by a temperature logged with it"


def reason_of(status: Status) -> str:
    """Say in words what a status means; nothing where it is sound."""
    return "" if status == Status.sound else status_text(int(status))


_FORECAST_NUMBERS = ("value", "low", "high", "noise", "kernel_width", "least_distance", "steepening")


def _column(value: Any, name: str) -> NDArray[np.float64]:
    from ohmward._elementwise import as_doubles

    column = np.ascontiguousarray(as_doubles(value, name))
    if column.ndim != 1:
        raise ValueError(f"{name} has {column.ndim} dimensions, expected one")
    return column


def _fit(columns: dict[str, NDArray[Any]], model: int) -> AbsorptionFit:
    count = len(_PARAMETERS)
    part = slice(model * count, (model + 1) * count)
    return AbsorptionFit(
        model=AbsorptionModel(model),
        status=Status(int(columns["status"][model])),
        value=dict(zip(_PARAMETERS, columns["value"][part].tolist(), strict=True)),
        standard_uncertainty=dict(zip(_PARAMETERS, columns["standard_uncertainty"][part].tolist(), strict=True)),
        correlation=columns["correlation"].reshape(-1, count, count)[model],
        sum_of_squares=float(columns["sum_of_squares"][model]),
        relative_scatter=float(columns["relative_scatter"][model]),
        autocorrelation=float(columns["autocorrelation"][model]),
        criterion=float(columns["criterion"][model]),
    )


def _runs(time_second: Any, resistance_ohm: Any, run_start: Any) -> tuple[Any, Any, Any]:
    time, ohm = _column(time_second, "time_second"), _column(resistance_ohm, "resistance_ohm")
    return time, ohm, np.append(np.asarray(run_start, dtype=np.int64), time.size).astype(np.int64)


def fit_runs(
    time_second: Any,
    resistance_ohm: Any,
    run_start: Any,
    *,
    relative_standard_uncertainty: float = math.nan,
    threads: int = 0,
) -> dict[str, NDArray[Any]]:
    """
    Fit many runs in one call.

    Parameters
    ----------
    time_second, resistance_ohm : array_like
        The readings of all runs, one run after the other. [s], [Ω]
    run_start : array_like of int
        Row at which each run begins; the first is 0.
    relative_standard_uncertainty : float, optional
        Of one reading.
    threads : int, default 0
        All cores; the result never depends on it.

    Returns
    -------
    dict of ndarray
        ``chosen`` and ``run_status`` a run; ``status``, ``sum_of_squares`` ... of shape (runs, 4 models); ``value`` and
        ``standard_uncertainty`` of shape (runs, 4, 5 parameters).

    Examples
    --------
    >>> import numpy as np
    >>> t = np.tile(np.arange(10.0, 601, 10), 2)
    >>> fits = fit_runs(t, 1e9 / (1 + 4 * (t / 60) ** -0.7), [0, 60])
    >>> fits["chosen"].tolist(), fits["value"].shape
    ([1, 1], (2, 4, 5))
    """
    columns = _core.fit_runs(
        *_runs(time_second, resistance_ohm, run_start),
        relative_standard_uncertainty=relative_standard_uncertainty,
        threads=threads,
    )
    shapes = {"value": (-1, 4, 5), "standard_uncertainty": (-1, 4, 5), "correlation": (-1, 4, 5, 5)}
    flat = {"chosen", "run_status"}
    return {name: c if name in flat else c.reshape(shapes.get(name, (-1, 4))) for name, c in columns.items()}


def forecast_runs(
    time_second: Any,
    resistance_ohm: Any,
    run_start: Any,
    *,
    late_second: float = 600,
    early_second: float = 60,
    level: float = 0.95,
    drift_kelvin: float = 0,
    current_per_kelvin: float = 1.07,
    mode: str = "fine",
    threads: int = 0,
) -> dict[str, NDArray[Any]]:
    """
    Forecast many runs in one call; those read at the same times share a library of curves.

    Parameters
    ----------
    time_second, resistance_ohm, run_start
        As `fit_runs`.
    late_second, early_second, level, drift_kelvin, current_per_kelvin, mode, threads
        As `TimedRun.forecast`.

    Returns
    -------
    dict of ndarray
        The fields of `Forecast`, one a run.

    Examples
    --------
    >>> import numpy as np
    >>> t = np.arange(5.0, 121, 5)
    >>> found = forecast_runs(t, 1e9 * (t / 60) ** 0.3, [0], mode="compact")
    >>> bool(found["low"][0] < 10 ** 0.3 < found["high"][0])
    True
    """
    columns = _core.forecast_runs(
        *_runs(time_second, resistance_ohm, run_start),
        early_second=early_second,
        late_second=late_second,
        level=level,
        drift_kelvin=drift_kelvin,
        current_per_kelvin=current_per_kelvin,
        mode=mode,
        threads=threads,
    )
    columns["mechanism"] = columns["mechanism"].reshape(-1, len(MECHANISMS))
    return columns


@dataclass(frozen=True)
class Steps:
    """
    A line through current against voltage.

    Attributes
    ----------
    conductance_siemens, conductance_standard_uncertainty : float
        Slope: the leakage. [S]
    offset_ampere, offset_standard_uncertainty : float
        Current at no voltage: absorption that goes on, leftover charge, the meter's zero. [A]
    chi_squared, degrees_of_freedom : float
        About the line.
    bends : bool
        No straight line, at 99 %.
    high_over_low : Quantity
        R(highest voltage)/R(lowest voltage).
    falls : bool
        By at least a quarter, also two standard uncertainties up; that edge is from memory.
    status : Status
        few_points with two steps, too_few_points below.
    experience : str
        What ``falls`` rests on.
    """

    status: Status
    conductance_siemens: float
    conductance_standard_uncertainty: float
    offset_ampere: float
    offset_standard_uncertainty: float
    chi_squared: float
    degrees_of_freedom: float
    bends: bool
    falls: bool
    high_over_low: Quantity
    experience: str

    @property
    def reason(self) -> str:
        """Why there is no line, or what is doubtful about it, in words."""
        return reason_of(self.status)


def steps(*, applied_volt: Any, resistance_ohm: Any, relative_standard_uncertainty: Any) -> Steps:
    """
    Judge a step-voltage test or a ramp by the true applied voltages.

    Parameters
    ----------
    applied_volt : array_like
        True, not as set: sources sag. [V]
    resistance_ohm : array_like
        [Ω]
    relative_standard_uncertainty : float or array_like
        Of each resistance, independent.

    Returns
    -------
    Steps

    Examples
    --------
    >>> found = steps(
    ...     applied_volt=[250, 500, 1000], resistance_ohm=[900e6, 700e6, 500e6], relative_standard_uncertainty=0.03
    ... )
    >>> found.falls, found.bends, round(found.high_over_low.value, 2)
    (True, True, 0.56)
    """
    volt, ohm, u = np.broadcast_arrays(
        *(
            np.asarray(value, dtype=np.float64)
            for value in (applied_volt, resistance_ohm, relative_standard_uncertainty)
        )
    )
    found = _core.steps(*(np.ascontiguousarray(column) for column in (volt, ohm, u)))
    return Steps(**{**found, "status": Status(found["status"]), "high_over_low": from_fields(found["high_over_low"])})


@dataclass(frozen=True)
class Discharge:
    """
    What a discharge tells.

    Attributes
    ----------
    capacitance_farad : float
        Charge over voltage, the absorption tail taken off; or the given one. [F]
    current_at_60_second_ampere : float
        [A]
    dielectric_discharge : float
        [mA/(V F)]
    tail_ampere, tail_exponent : float
        Of the tail A (t/1 s)^-n.
    time_constant_second : float
        Of what lies above the tail: the capacitance times what it discharges into. [s]
    band, experience : str
        The band, and what its edges rest on. Of large multi-layer high-voltage insulation after a long charge;
        elsewhere it says nothing.
    status : Status
        outside_fitted_range where it was charged for less than 30 min.
    """

    status: Status
    capacitance_farad: float
    current_at_60_second_ampere: float
    dielectric_discharge: float
    tail_exponent: float
    tail_ampere: float
    time_constant_second: float
    band: str
    experience: str

    @property
    def reason(self) -> str:
        """Why there is no value, or what is doubtful about it, in words."""
        return reason_of(self.status)


def discharge(
    *,
    time_second: Any,
    current_ampere: Any,
    test_voltage_volt: float,
    charge_second: float = math.nan,
    capacitance_farad: float = math.nan,
) -> Discharge:
    """
    Give dielectric discharge and capacitance of a discharge.

    Parameters
    ----------
    time_second, current_ampere : array_like
        Since the short circuit, current positive. [s], [A]
    test_voltage_volt : float
        Voltage before. [V]
    charge_second : float, optional
        How long it was on. [s]
    capacitance_farad : float, optional
        Measured otherwise; not given, from the charge. [F]

    Returns
    -------
    Discharge

    Examples
    --------
    >>> found = discharge(time_second=[30, 60, 90], current_ampere=[2e-7, 1e-7, 7e-8], test_voltage_volt=500,
    ...                   charge_second=1800, capacitance_farad=0.1e-6)
    >>> round(found.dielectric_discharge, 6), found.band
    (2.0, 'raised')
    """
    found = _core.discharge(
        _column(time_second, "time_second"),
        _column(current_ampere, "current_ampere"),
        test_voltage_volt=test_voltage_volt,
        charge_second=charge_second,
        capacitance_farad=capacitance_farad,
    )
    return Discharge(**{**found, "status": Status(found["status"])})


@dataclass(frozen=True)
class PatternFound:
    """A pattern that readings are consistent with, its evidence, and what would settle it. Never a diagnosis."""

    pattern: Pattern
    evidence: str
    would_settle: str


def consistent_with(
    *,
    resistance: Quantity = MISSING,
    index: Quantity = MISSING,
    attainable: float = math.nan,
    guarded_over_plain: Quantity = MISSING,
    dried_over_before: Quantity = MISSING,
    steps: Steps | None = None,
    settling: SettlingState | None = None,
    part_warmer_than_air_kelvin: float = math.nan,
    cooled_kelvin: float = math.nan,
    above_dew_point_kelvin: float = math.nan,
    rested_over_tested: float = math.nan,
    contact_shown: bool = True,
    alone: bool = False,
) -> Sequence[PatternFound]:
    """
    Name what readings are consistent with: moisture, surface, contact, monitor left on, leftover charge, cooling.

    Parameters
    ----------
    resistance, index : Quantity
        The reading and R(late)/R(early).
    attainable : float
        From `attainable_index`: an index near 1 counts only where the part could have shown more.
    guarded_over_plain, dried_over_before : Quantity
        Ratios of readings with and without guard, after and before drying.
    steps : Steps
        From `steps`.
    settling : SettlingState
        From `TimedRun.settled`.
    part_warmer_than_air_kelvin : float
        [K]
    cooled_kelvin : float
        Logged temperature at the start less that at the end of the run. [K]
    above_dew_point_kelvin : float
        Surface temperature less dew point. [K]
    rested_over_tested : float
        Time since the test before this one, over that test's duration; below 4 its charge may be left over.
    contact_shown, alone : bool
        From `contact`; nothing else was connected.

    Returns
    -------
    sequence of PatternFound

    Examples
    --------
    >>> wet = log_quantity(1.02, relative_standard_uncertainty=0.02)
    >>> [found.pattern.name for found in consistent_with(index=wet, attainable=math.inf)]
    ['moisture']
    >>> consistent_with(index=wet, attainable=1.02)
    []
    """
    found = _core.consistent_with(
        resistance=resistance.fields(),
        index=index.fields(),
        attainable=attainable,
        guarded_over_plain=guarded_over_plain.fields(),
        dried_over_before=dried_over_before.fields(),
        falls=steps is not None and steps.falls,
        drifts=settling is not None and settling.status == Status.drift_present,
        slope=math.nan if settling is None else settling.slope,
        part_warmer_than_air_kelvin=part_warmer_than_air_kelvin,
        cooled_kelvin=cooled_kelvin,
        above_dew_point_kelvin=above_dew_point_kelvin,
        rested_over_tested=rested_over_tested,
        contact_shown=contact_shown,
        alone=alone,
    )
    return [PatternFound(Pattern(pattern), evidence, settle) for pattern, evidence, settle in found]
