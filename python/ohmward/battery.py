"""
Batteries at rest: condition in words, charge with an interval, pairs.

A resting voltage tells the state of charge as far as its interval is honest. It does not tell the health of a battery,
nor whether it will crank. Nothing here is a verdict: a limit on `resting_voltage` gives one.

Caution: hydrogen from a charging battery explodes from 4 % in air; ventilate, no sparks. Acid: eye protection, rinse
with water at once. Never charge or jump a frozen battery. Packs stay live after disconnection: only qualified and
authorised people.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ohmward._core import battery as _core
from ohmward._core.battery import ChargeDecision, Condition, Position
from ohmward._core.core import Finding, Status

__all__ = [
    "Battery",
    "Charge",
    "ChargeDecision",
    "Condition",
    "Estimate",
    "Forecast",
    "Interval",
    "LagTest",
    "Mode",
    "ModuleState",
    "Note",
    "OpenCircuitCurve",
    "PackState",
    "Pair",
    "PairState",
    "Prior",
    "Relaxation",
    "RestState",
    "RestStates",
    "SelfDischarge",
    "StandOut",
    "StorageTime",
    "cell_emf_volt",
    "corrected_specific_gravity",
    "freezing_celsius",
    "lag_test",
    "lead_acid",
    "lithium",
    "mixture",
    "molality",
    "pack_at_rest",
    "pair",
    "relaxation",
    "self_discharge",
    "self_discharge_factor",
    "shipped_curve",
    "shipped_curve_names",
    "specific_gravity_at_rest",
    "stand_out",
    "storage_time",
    "unknown_12v",
    "with_curve",
]

History = Literal["unknown", "after_charge", "after_discharge"]
Doubles = NDArray[np.float64]
OpenCircuitCurve = _core.OpenCircuitCurve


class Interval(NamedTuple):
    """Ends of an interval of charge, fractions 0 … 1."""

    low: float
    high: float


class Mode(NamedTuple):
    """A separate value that the charge may have, and the probability of the stretch around it."""

    charge: float
    probability: float


class Estimate(NamedTuple):
    """A value with its standard uncertainty."""

    value: float
    standard_uncertainty: float


class Forecast(NamedTuple):
    """A distribution as median and interval."""

    median: float
    low: float
    high: float


@dataclass(frozen=True)
class Note:
    """One word about one candidate type, with its ground and the reading that would settle it."""

    condition: Condition
    type: str
    probability: float
    reason: str
    next_action: str


def _finding_names(bits: int) -> tuple[str, ...]:
    return tuple(finding.name for finding in Finding if bits >> finding.value & 1)


class Prior:
    """
    What is known of the charge before the reading; every charge equally likely where made without arguments.

    Made by :meth:`normal`, :meth:`density` or :meth:`since`.
    """

    def __init__(self, core: _core.ChargePrior | None = None) -> None:
        self._core = _core.ChargePrior() if core is None else core

    @classmethod
    def normal(cls, *, mean: float, standard_uncertainty: float) -> Prior:
        """
        Make a normal prior cut off at 0 and 1, as from a coulomb count.

        Parameters
        ----------
        mean : float
            Charge, 0 … 1.
        standard_uncertainty : float
            Of it, above 0.

        Examples
        --------
        >>> counted = Prior.normal(mean=0.52, standard_uncertainty=0.03)
        >>> lfp = lithium("lfp", cells=4)
        >>> state = lfp.at_rest(13.1, standard_uncertainty=0.01, celsius=25, rest_hour=24, prior=counted)
        >>> round(state.charge.standard_uncertainty, 2)  # the plateau adds nothing to the count
        0.03
        """
        return cls(_core.ChargePrior.normal(mean=mean, standard_uncertainty=standard_uncertainty))

    @classmethod
    def density(cls, charge: ArrayLike, density: ArrayLike) -> Prior:
        """
        Make a prior of any shape.

        Parameters
        ----------
        charge : array_like
            Rising, from 0 to 1.
        density : array_like
            Above 0, one a charge; its logarithm is linear in between. Need not be normalised.
        """
        return cls(_core.ChargePrior.density(charge=_doubles(charge, "charge"), density=_doubles(density, "density")))

    @classmethod
    def since(cls, earlier: RestState, *, change: float = 0.0, standard_uncertainty: float) -> Prior:
        """
        Make a prior from an earlier state of the same battery.

        Parameters
        ----------
        earlier : RestState
            With a charge, else ValueError.
        change : float, default 0
            Charge that went in (+) or out (−) since, a fraction.
        standard_uncertainty : float
            Of the change, at least 0.0025.

        Examples
        --------
        >>> lfp = lithium("lfp", cells=4)
        >>> empty = lfp.at_rest(12.5, standard_uncertainty=0.01, celsius=25, rest_hour=24)
        >>> prior = Prior.since(empty, change=0.4, standard_uncertainty=0.02)
        >>> state = lfp.at_rest(13.15, standard_uncertainty=0.01, celsius=25, rest_hour=24, prior=prior)
        >>> alone = lfp.at_rest(13.15, standard_uncertainty=0.01, celsius=25, rest_hour=24)
        >>> state.charge.standard_uncertainty < alone.charge.standard_uncertainty / 2
        True
        """
        return cls(_core.ChargePrior.since(earlier._raw, change=change, standard_uncertainty=standard_uncertainty))


class Charge:
    """
    Distribution of the state of charge given the reading; a fraction 0 … 1.

    Every figure is NaN where `status` is negative.

    Attributes
    ----------
    status : Status
        sound; assumed_input (rest time, temperature or type not known); wide (95 % interval above half of the range);
        outside_curve, contradiction, missing_input, out_of_domain: no value.
    """

    def __init__(self, posterior: _core.ChargePosterior, status: Status) -> None:
        self._posterior = posterior
        self.status = status

    @property
    def median(self) -> float:
        """Charge that is as likely undercut as exceeded."""
        return self._posterior.quantile(0.5)

    @property
    def mean(self) -> float:
        """Expectation."""
        return self._posterior.mean

    @property
    def standard_uncertainty(self) -> float:
        """Standard deviation of the distribution."""
        return self._posterior.standard_uncertainty

    @property
    def modes(self) -> tuple[Mode, ...]:
        """Separate values that the charge may have; more than one where types or a falling curve disagree."""
        return tuple(Mode(*mode) for mode in self._posterior.modes)

    @property
    def type_share_of_variance(self) -> float:
        """Share of the variance that the unknown type makes, 0 … 1."""
        return self._posterior.type_share_of_variance

    def interval(self, *, level: float = 0.95) -> Interval:
        """Return the interval with equal tails that holds `level` of the probability."""
        if not 0 < level < 1:
            raise ValueError(f"level is {level}, expected between 0 and 1")
        return Interval(self._posterior.quantile((1 - level) / 2), self._posterior.quantile((1 + level) / 2))

    def quantile(self, level: float) -> float:
        """Return the charge below which the probability is `level`."""
        return self._posterior.quantile(level)

    def cumulative(self, charge: float) -> float:
        """Return the probability that the charge is at most `charge`."""
        return self._posterior.cumulative(charge)

    def density(self, charge: ArrayLike) -> Doubles:
        """Return the probability density at `charge` [1 per unit of charge]."""
        at = np.asarray(charge, dtype=np.float64)
        return np.array([self._posterior.density(s) for s in at.reshape(-1)], dtype=np.float64).reshape(at.shape)

    def __repr__(self) -> str:
        low, high = self.interval()
        return f"Charge({self.median:.3f}, 95 % {low:.3f} to {high:.3f}, {self.status.name})"


@dataclass(frozen=True)
class RestState:
    """
    What one voltage at rest says of a battery.

    Attributes
    ----------
    condition : Condition
        Headline: cell_missing_suspected, on_charge, freezing_risk, discharged, not_rested, low, rested, or unknown.
    charge : Charge
        State of charge with its interval and status.
    notes : tuple of Note
        Every word for every candidate type, the headline first.
    findings : tuple of str
        Names of findings: rest_time_missing, type_missing, temperature_assumed, being_charged, not_settled.
    voltage_uncertainty : mapping
        Standard uncertainties of the resting voltage by cause: meter, relaxation, temperature, hysteresis, curve. [V]
    types : mapping
        Probability of each candidate type; NaN for one whose curves do not hold the reading.
    """

    condition: Condition
    charge: Charge
    notes: tuple[Note, ...]
    findings: tuple[str, ...]
    voltage_uncertainty: Mapping[str, float]
    types: Mapping[str, float]
    _raw: _core.RestState = field(repr=False, compare=False)

    @property
    def reason(self) -> str:
        """Why the headline."""
        return self.notes[0].reason

    @property
    def next_action(self) -> str:
        """The reading that would settle it; empty where nothing is open."""
        return self.notes[0].next_action

    @property
    def shares(self) -> dict[str, float]:
        """Share of each cause in the variance of the charge, first order; they add up to 1."""
        between = self.charge.type_share_of_variance
        total = sum(u**2 for u in self.voltage_uncertainty.values())
        inside = {cause: (1 - between) * u**2 / total for cause, u in self.voltage_uncertainty.items()}
        return {**inside, "type": between}


@dataclass(frozen=True)
class RestStates:
    """States of many readings, as arrays: median, low and high charge, condition and status numbers, finding bits."""

    median: Doubles
    low: Doubles
    high: Doubles
    condition: NDArray[np.int8]
    status: NDArray[np.int8]
    findings: NDArray[np.uint64]


def _history(history: str) -> _core.History:
    try:
        return _core.History[history]
    except KeyError:
        raise ValueError(f"history is {history!r}, expected unknown, after_charge or after_discharge") from None


def _histories(history: str | Sequence[str], rows: int) -> NDArray[np.int8]:
    """Return the number of each word; one word stands for all rows."""
    if isinstance(history, str):
        return np.full(rows, int(_history(history)), dtype=np.int8)
    return np.array([int(_history(word)) for word in history], dtype=np.int8)


def _number(value: float | None, name: str) -> float:
    if value is None:
        return math.nan
    if isinstance(value, bool | str):
        raise TypeError(f"{name} must be a number, not {type(value).__name__}")
    return float(value)


def _doubles(value: ArrayLike | None, name: str, rows: int | None = None) -> Doubles:
    """Return an array of doubles; nothing stays an empty one, one value is repeated."""
    if value is None:
        return np.empty(0)
    array: NDArray[Any] = value.to_numpy() if hasattr(value, "to_numpy") else np.asanyarray(value)
    if array.dtype.kind not in "fiu":
        raise TypeError(f"{name} must be real numbers, not {array.dtype}")
    if isinstance(array, np.ma.MaskedArray):
        array = np.ma.filled(array.astype(np.float64), np.nan)
    array = np.ascontiguousarray(array, dtype=np.float64).reshape(-1)
    return array if rows is None or array.size != 1 else np.full(rows, array[0])


class Battery:
    """
    A battery whose type is known, or one of several candidates.

    Made by :func:`lead_acid`, :func:`lithium`, :func:`unknown_12v`, :func:`with_curve` or :func:`mixture`.
    """

    def __init__(self, core: _core.Battery) -> None:
        self._core = core

    @property
    def types(self) -> tuple[str, ...]:
        """Names of the candidate types."""
        return tuple(name for name, *_ in self._core.candidates)

    @property
    def curves(self) -> tuple[tuple[str, int, OpenCircuitCurve], ...]:
        """Type, cells and curve of everything that the battery may be."""
        return tuple((name, cells, curve) for name, cells, _, curves in self._core.candidates for curve in curves)

    def at_rest(
        self,
        voltage_volt: float,
        *,
        standard_uncertainty: float,
        celsius: float | None = None,
        celsius_standard_uncertainty_kelvin: float = 2.0,
        rest_hour: float | None = None,
        history: History = "unknown",
        prior: Prior | None = None,
    ) -> RestState:
        r"""
        Say what one voltage at rest tells.

        Parameters
        ----------
        voltage_volt : float
            Voltage of the whole battery. [V]
        standard_uncertainty : float
            Of the voltage, from the meter; at least 0. [V]
        celsius : float, optional
            Temperature of the battery; not given: 15 ± 12 °C, which widens. [°C]
        celsius_standard_uncertainty_kelvin : float, default 2
            Of the temperature. [K]
        rest_hour : float, optional
            Time since the current stopped, at least 0; not given: taken as one hour for lead-acid, which widens. [h]
        history : {"unknown", "after_charge", "after_discharge"}
            What the battery did before it rested.
        prior : Prior, optional
            What was known before: `Prior.normal(mean=, standard_uncertainty=)` from a coulomb count,
            `Prior.since(state, change=, standard_uncertainty=)` from an earlier reading; flat where not given.

        Returns
        -------
        RestState
            Condition, charge, notes. More than 3 u outside every curve there is no charge.

        Notes
        -----
        .. math:: p(s \mid V) \propto p(s) \sum_t p_t \exp(-(V - OCV_t(s))^2 / 2u^2) / u

        with u² from meter, relaxation, temperature, hysteresis and the spread of the type about its curve. Sources:
        the `source` column of `datasets/tables/open_circuit_curves.csv`, `battery_curves.csv` and `battery_types.csv`.

        Examples
        --------
        >>> state = lead_acid("flooded").at_rest(12.45, standard_uncertainty=0.02, celsius=25, rest_hour=24)
        >>> state.condition.name
        'rested'
        >>> [round(end, 2) for end in state.charge.interval(level=0.95)]
        [0.64, 0.87]
        >>> state = lead_acid("flooded").at_rest(12.92, standard_uncertainty=0.02, celsius=18, rest_hour=3)
        >>> state.condition.name, state.charge.status.name
        ('not_rested', 'outside_curve')
        """
        reading = _core.RestingReading(
            voltage_volt=_number(voltage_volt, "voltage_volt"),
            standard_uncertainty_volt=_number(standard_uncertainty, "standard_uncertainty"),
            celsius=_number(celsius, "celsius"),
            celsius_standard_uncertainty_kelvin=_number(
                celsius_standard_uncertainty_kelvin, "celsius_standard_uncertainty_kelvin"
            ),
            rest_hour=_number(rest_hour, "rest_hour"),
            history=_history(history),
        )
        return self._told(reading, self._core.at_rest(reading, (prior or Prior())._core))

    def _told(self, reading: _core.RestingReading, state: _core.RestState) -> RestState:
        notes = tuple(
            Note(note.condition, note.type, note.probability, note.reason, note.next_action)
            for note in self._core.notes(reading, state)
        )
        seen = state.candidates or [(Position.inside, Condition.unknown, math.nan, 0)] * len(self.types)
        return RestState(
            condition=state.condition,
            charge=Charge(state.charge, state.status),
            notes=notes,
            findings=_finding_names(state.findings),
            voltage_uncertainty=state.voltage_uncertainty,
            types={name: probability for name, (_, _, probability, _) in zip(self.types, seen, strict=True)},
            _raw=state,
        )

    def at_rest_many(
        self,
        voltage_volt: ArrayLike,
        *,
        standard_uncertainty: ArrayLike,
        celsius: ArrayLike | None = None,
        celsius_standard_uncertainty_kelvin: ArrayLike | None = None,
        rest_hour: ArrayLike | None = None,
        history: History | Sequence[History] = "unknown",
        level: float = 0.95,
        threads: int = 0,
    ) -> RestStates:
        """
        Say it for many readings, with the digits of :meth:`at_rest` and a flat prior.

        Parameters
        ----------
        voltage_volt : array_like
            Voltages, one a reading. [V]
        standard_uncertainty, celsius, celsius_standard_uncertainty_kelvin, rest_hour : array_like or number
            As in :meth:`at_rest`, one for all or one a reading; NaN where not known.
        history : word or sequence of words
            As in :meth:`at_rest`, one for all or one a reading.
        level : float, default 0.95
            Of the interval between `low` and `high`.
        threads : int, default 0
            0: one a core. The result does not depend on it.

        Returns
        -------
        RestStates
            Arrays as long as `voltage_volt`.

        Examples
        --------
        >>> states = unknown_12v().at_rest_many([12.4, 12.6, float("nan")], standard_uncertainty=0.02)
        >>> states.status.tolist()
        [8, 8, -1]
        """
        volts = _doubles(voltage_volt, "voltage_volt")
        rows = volts.size
        return RestStates(
            *self._core.at_rest_batch(
                voltage_volt=volts,
                standard_uncertainty_volt=_doubles(standard_uncertainty, "standard_uncertainty", rows),
                celsius=_doubles(celsius, "celsius", rows),
                celsius_standard_uncertainty_kelvin=_doubles(
                    celsius_standard_uncertainty_kelvin, "celsius_standard_uncertainty_kelvin", rows
                ),
                rest_hour=_doubles(rest_hour, "rest_hour", rows),
                history=_histories(history, rows),
                level=level,
                threads=threads,
            )
        )

    def __repr__(self) -> str:
        return f"Battery({', '.join(f'{cells} x {name}' for name, cells, *_ in self._core.candidates)})"


@dataclass(frozen=True)
class PairState:
    """
    What the readings of two batteries in series show.

    Attributes
    ----------
    a, b : RestState or None
        Each battery; None where it was not read and does not follow from the sum.
    sum : RestState or None
        The pair as one battery of all cells, only where the sum alone was read.
    imbalance_volt : Estimate
        A − B: the common gain of the meter leaves only its share of the small difference. [V]
    probability_imbalanced : float
        Probability that A and B differ by more than the healthy difference.
    closure_volt : Estimate
        A + B − sum, where all three were read. [V]
    weaker_may_be_volt : float
        Sum alone: the weaker battery may be as low as this. [V]
    status : Status
        sound; bound_only: at least one battery stays unexamined; contradiction: the three readings do not fit together.
    findings : tuple of str
        pair_not_examined, imbalance, and those of the batteries.
    """

    a: RestState | None
    b: RestState | None
    sum: RestState | None
    imbalance_volt: Estimate
    probability_imbalanced: float
    closure_volt: Estimate
    weaker_may_be_volt: float
    status: Status
    findings: tuple[str, ...]


class Pair:
    """Two batteries of one kind in series; made by :func:`pair`."""

    def __init__(self, battery: Battery, *, healthy_difference_volt: float | None = None) -> None:
        self.battery = battery
        self._core = _core.Pair(
            battery._core, healthy_difference_volt=_number(healthy_difference_volt, "healthy_difference_volt")
        )

    @property
    def healthy_difference_volt(self) -> float:
        """Difference that two healthy batteries keep within. [V]."""
        return self._core.healthy_difference_volt

    def at_rest(
        self,
        *,
        a_volt: float | None = None,
        b_volt: float | None = None,
        sum_volt: float | None = None,
        standard_uncertainty: float,
        gain_relative_standard_uncertainty: float = 0.0,
        celsius: float | None = None,
        celsius_standard_uncertainty_kelvin: float = 2.0,
        rest_hour: float | None = None,
        history: History = "unknown",
    ) -> PairState:
        """
        Say what the readings of A, B and the sum show; give what was read.

        Parameters
        ----------
        a_volt, b_volt, sum_volt : float, optional
            Readings of each battery and of both. [V]
        standard_uncertainty : float
            Of each reading on its own: display step and noise, at least 0. [V]
        gain_relative_standard_uncertainty : float, default 0
            Of the meter's gain, common to the readings.
        celsius, celsius_standard_uncertainty_kelvin, rest_hour, history
            As in :meth:`Battery.at_rest`.

        Returns
        -------
        PairState

        Examples
        --------
        >>> state = pair(lead_acid("flooded")).at_rest(sum_volt=24.90, standard_uncertainty=0.01, rest_hour=24)
        >>> state.findings[-1], round(state.weaker_may_be_volt, 2)
        ('pair_not_examined', 12.25)
        >>> two = pair(lead_acid("flooded"))
        >>> state = two.at_rest(a_volt=12.62, b_volt=12.28, standard_uncertainty=0.01, rest_hour=24)
        >>> round(state.imbalance_volt.value, 2), "imbalance" in state.findings
        (0.34, True)
        """
        common: dict[str, Any] = {
            "celsius": _number(celsius, "celsius"),
            "celsius_standard_uncertainty_kelvin": _number(
                celsius_standard_uncertainty_kelvin, "celsius_standard_uncertainty_kelvin"
            ),
            "rest_hour": _number(rest_hour, "rest_hour"),
            "history": _history(history),
        }
        own = _number(standard_uncertainty, "standard_uncertainty")
        gain = _number(gain_relative_standard_uncertainty, "gain_relative_standard_uncertainty")
        volts = {"a": _number(a_volt, "a_volt"), "b": _number(b_volt, "b_volt"), "sum": _number(sum_volt, "sum_volt")}
        state = self._core.at_rest(
            a_volt=volts["a"],
            b_volt=volts["b"],
            sum_volt=volts["sum"],
            standard_uncertainty_volt=own,
            gain_relative_standard_uncertainty=gain,
            **common,
        )
        if math.isnan(volts["a"]):
            volts["a"] = volts["sum"] - volts["b"]
        if math.isnan(volts["b"]):
            volts["b"] = volts["sum"] - volts["a"]

        def told(one: _core.RestState, battery: Battery, volt: float) -> RestState | None:
            if not one.candidates:
                return None
            combined = math.hypot(own, gain * volt)
            reading = _core.RestingReading(voltage_volt=volt, standard_uncertainty_volt=combined, **common)
            return battery._told(reading, one)

        return PairState(
            a=told(state.a, self.battery, volts["a"]),
            b=told(state.b, self.battery, volts["b"]),
            sum=told(state.sum, self._both, volts["sum"]),
            imbalance_volt=Estimate(*state.imbalance_volt),
            probability_imbalanced=state.probability_imbalanced,
            closure_volt=Estimate(*state.closure_volt),
            weaker_may_be_volt=state.weaker_may_be_volt,
            status=state.status,
            findings=_finding_names(state.findings),
        )

    @property
    def _both(self) -> Battery:
        return Battery(self._core.both)


def lead_acid(type: str, *, cells: int = 6) -> Battery:  # noqa: A002 - the word that the trade and the readings table use
    """
    Make a lead-acid battery of a known type.

    Parameters
    ----------
    type : {"flooded", "enhanced_flooded", "agm", "gel"}
        Its kind; anything else raises ValueError.
    cells : int, default 6
        Cells in series; 6 for 12 V.

    Examples
    --------
    >>> lead_acid("agm")
    Battery(6 x agm)
    """
    return Battery(_core.lead_acid(type, cells=cells))


def lithium(type: str, *, cells: int) -> Battery:  # noqa: A002 - the word that the trade and the readings table use
    """
    Make a lithium battery or module of a known chemistry: "nmc", "nca" or "lfp".

    Examples
    --------
    >>> state = lithium("lfp", cells=4).at_rest(13.15, standard_uncertainty=0.01, celsius=20, rest_hour=12)
    >>> state.condition.name, state.charge.status.name  # on the plateau volts tell little
    ('rested', 'wide')
    """
    return Battery(_core.lithium(type, cells=cells))


def unknown_12v() -> Battery:
    """
    Make a 12 V battery of unknown type: four lead-acid types or four lithium iron phosphate cells, equally likely.

    A reading above the lead-acid curves is not decidable without the type: lead-acid on charge, or lithium iron
    phosphate at rest. Then there is no charge, and the notes say both.

    Examples
    --------
    >>> unknown_12v().at_rest(13.2, standard_uncertainty=0.02, rest_hour=24).charge.status.name
    'outside_curve'
    """
    return Battery(_core.unknown_12v())


def mixture(weights: Mapping[Battery, float]) -> Battery:
    """
    Make a battery that is one of several, with weights that need not add up to 1.

    Examples
    --------
    >>> mixture({lead_acid("flooded"): 3, lead_acid("agm"): 1})
    Battery(6 x flooded, 6 x agm)
    """
    return Battery(_core.mixture([(battery._core, weight) for battery, weight in weights.items()]))


def with_curve(
    charge: ArrayLike,
    cell_volt: ArrayLike,
    *,
    cells: int,
    behaves_like: str,
    name: str = "own curve",
    standard_uncertainty: float = 0.0,
    volt_per_kelvin: float = 0.0,
    volt_per_kelvin_standard_uncertainty: float = 0.0,
    reference_celsius: float = 25.0,
) -> Battery:
    """
    Make a battery from a curve of its own, linear between its points; it may fall somewhere.

    Parameters
    ----------
    charge : array_like
        Strictly rising, within 0 … 1, at least two points.
    cell_volt : array_like
        Open-circuit voltage of one cell. [V]
    cells : int
        Cells in series.
    behaves_like : str
        Shipped type whose relaxation, hysteresis and words apply.
    name : str
        How the notes call it.
    standard_uncertainty : float
        Of a cell about the curve. [V]
    volt_per_kelvin, volt_per_kelvin_standard_uncertainty : float
        Temperature coefficient of one cell. [V/K]
    reference_celsius : float
        Temperature of the curve. [°C]

    Examples
    --------
    >>> battery = with_curve([0, 0.5, 0.6, 1], [3.0, 3.4, 3.2, 3.6], cells=1, behaves_like="nmc")  # not invertible
    >>> state = battery.at_rest(3.3, standard_uncertainty=0.001, celsius=25, rest_hour=1000)
    >>> [round(mode.charge, 2) for mode in state.charge.modes]
    [0.37, 0.55, 0.7]
    """
    curve = OpenCircuitCurve(
        name=name,
        charge=_doubles(charge, "charge"),
        cell_volt=_doubles(cell_volt, "cell_volt"),
        volt_per_kelvin=volt_per_kelvin,
        volt_per_kelvin_standard_uncertainty=volt_per_kelvin_standard_uncertainty,
        standard_uncertainty_volt=standard_uncertainty,
        reference_celsius=reference_celsius,
    )
    return Battery(_core.with_curve(curve, behaves_like=behaves_like, cells=cells))


def pair(battery: Battery, *, healthy_difference_volt: float | None = None) -> Pair:
    """
    Make a pair of two such batteries in series, as on 24 V vehicles.

    Parameters
    ----------
    battery : Battery
        One of the two.
    healthy_difference_volt : float, optional
        Difference that healthy ones keep within; not given: 0.05 V, common practice without a citable source. [V]
    """
    return Pair(battery, healthy_difference_volt=healthy_difference_volt)


def shipped_curve(name: str) -> OpenCircuitCurve:
    """Return a shipped open-circuit curve as published, of one cell."""
    return _core.shipped_curve(name)


def shipped_curve_names() -> tuple[str, ...]:
    """Return the names of the shipped curves."""
    return tuple(_core.shipped_curve_names())


def molality(specific_gravity: float) -> float:
    """Return the molality [mol/kg] of battery acid of a specific gravity at 25 °C; NaN outside 1.05 … 1.32."""
    return _core.molality(specific_gravity)[0]


def cell_emf_volt(molality: float) -> float:
    """
    Return the electromotive force of a lead-acid cell at 25 °C [V] by molality [mol/kg]; source `acid-half-cell-fit`.

    Examples
    --------
    >>> round(cell_emf_volt(2), 4)
    1.9746
    """
    return _core.cell_emf_volt(molality)[0]


def specific_gravity_at_rest(cell_volt: float) -> float:
    """Return the specific gravity at 25 °C that belongs to a cell voltage at rest [V]; NaN outside the table."""
    return _core.specific_gravity_at_rest(cell_volt)[0]


def freezing_celsius(specific_gravity: float) -> float:
    """
    Return the freezing point of battery acid [°C] by specific gravity 1.000 … 1.280; source `acid-freezing-point`.

    Examples
    --------
    >>> freezing_celsius(1.15)
    -15.0
    """
    return _core.freezing_celsius(specific_gravity)[0]


def corrected_specific_gravity(specific_gravity: float, *, celsius: float) -> float:
    """
    Return a hydrometer reading referred to 26.7 °C (80 °F); source `hydrometer-correction`.

    Examples
    --------
    >>> round(corrected_specific_gravity(1.250, celsius=-6.67), 3)
    1.226
    """
    return _core.corrected_specific_gravity(specific_gravity=specific_gravity, celsius=celsius)


@dataclass(frozen=True)
class Relaxation:
    """
    Where a battery that comes to rest will end.

    Attributes
    ----------
    status : Status
        sound; few_points (fewer than five readings); no_solution (lead-acid after a charge, rested less than 24 h: not
        to be forecast); too_few_points, missing_input, out_of_domain.
    slope_volt_per_hour : Estimate
        Straight line through the last third of the record. [V/h]
    rested_volt : Forecast
        Voltage at the target time, with the spread between models. [V]
    left_volt : Forecast
        How far that is from where the record ends. [V]
    at_rest : bool
        What is left lies within the tolerance.
    models : mapping
        Median of each model that fits; NaN for one that does not. [V]
    """

    status: Status
    slope_volt_per_hour: Estimate
    rested_volt: Forecast
    left_volt: Forecast
    at_rest: bool
    models: Mapping[str, float]


def relaxation(
    battery: Battery,
    rest_hour: ArrayLike,
    voltage_volt: ArrayLike,
    *,
    standard_uncertainty: float,
    history: History = "unknown",
    target_hour: float = 24.0,
    level: float = 0.95,
    tolerance_volt: float | None = None,
) -> Relaxation:
    """
    Forecast the rested voltage from two readings or a record.

    The interval holds the spread between single, double and stretched exponential and power law.

    Parameters
    ----------
    battery : Battery
        Its first candidate says chemistry and cells.
    rest_hour, voltage_volt : array_like
        Times since the current stopped, rising, above 0 [h], and voltages of the whole battery [V].
    standard_uncertainty : float
        Of each reading on its own (noise, display step), above 0. [V]
    history : {"unknown", "after_charge", "after_discharge"}
        Unknown and clearly falling counts as after a charge.
    target_hour : float, default 24
        When the battery counts as rested. [h]
    level : float, default 0.95
        Of the intervals.
    tolerance_volt : float, optional
        What may be left of a battery at rest; not given: 2 mV a cell, a setting without source. [V]

    Returns
    -------
    Relaxation

    Examples
    --------
    >>> hours = np.linspace(0.25, 3, 12)
    >>> record = 12.30 - 0.12 * np.exp(-hours / 0.8)
    >>> agm = lead_acid("agm")
    >>> state = relaxation(agm, hours, record, standard_uncertainty=0.001, history="after_discharge")
    >>> state.rested_volt.low < 12.30 < state.rested_volt.high
    True
    """
    status, slope, rested, left, at_rest, models = _core.relaxation(
        battery._core,
        rest_hour=_doubles(rest_hour, "rest_hour"),
        voltage_volt=_doubles(voltage_volt, "voltage_volt"),
        standard_uncertainty_volt=_number(standard_uncertainty, "standard_uncertainty"),
        history=_history(history),
        target_hour=_number(target_hour, "target_hour"),
        level=_number(level, "level"),
        tolerance_volt=_number(tolerance_volt, "tolerance_volt"),
    )
    return Relaxation(status, Estimate(*slope), Forecast(*rested), Forecast(*left), at_rest, models)


@dataclass(frozen=True)
class SelfDischarge:
    """Charge lost between two rests, a fraction, and the current that this means [A]."""

    status: Status
    charge_lost: Estimate
    current_ampere: Estimate


def self_discharge(
    curve: OpenCircuitCurve,
    *,
    cells: int,
    first_volt: float,
    second_volt: float,
    standard_uncertainty: float,
    elapsed_hour: float,
    capacity_ampere_hour: float,
    first_celsius: float | None = None,
    second_celsius: float | None = None,
) -> SelfDischarge:
    """
    Find the self-discharge from two voltages at rest: I = C (s₁ − s₂)/Δt.

    Parameters
    ----------
    curve : OpenCircuitCurve
        Of one cell; it must rise.
    cells : int
        In series.
    first_volt, second_volt : float
        Of the whole battery. [V]
    standard_uncertainty : float
        Of each reading on its own, above 0; common gain and curve cancel. [V]
    elapsed_hour : float
        Between them, above 0. [h]
    capacity_ampere_hour : float
        Above 0. [A h]
    first_celsius, second_celsius : float, optional
        Temperatures; not given: the curve's. [°C]

    Returns
    -------
    SelfDischarge
        status wide: the curve is too flat there; outside_curve, no_solution (falling curve), missing_input,
        out_of_domain: no value.

    Examples
    --------
    >>> found = self_discharge(shipped_curve("flooded"), cells=6, first_volt=12.65, second_volt=12.59,
    ...                        standard_uncertainty=0.005, elapsed_hour=30 * 24, capacity_ampere_hour=60)
    >>> round(found.charge_lost.value, 3), round(1000 * found.current_ampere.value, 2)
    (0.075, 6.25)
    """
    status, lost, current = _core.self_discharge(
        curve,
        cells=cells,
        first_volt=_number(first_volt, "first_volt"),
        second_volt=_number(second_volt, "second_volt"),
        standard_uncertainty_volt=_number(standard_uncertainty, "standard_uncertainty"),
        first_celsius=_number(first_celsius, "first_celsius"),
        second_celsius=_number(second_celsius, "second_celsius"),
        elapsed_hour=_number(elapsed_hour, "elapsed_hour"),
        capacity_ampere_hour=_number(capacity_ampere_hour, "capacity_ampere_hour"),
    )
    return SelfDischarge(status, Estimate(*lost), Estimate(*current))


class StorageTime(NamedTuple):
    """Time until the floor [h] and its status."""

    status: Status
    hour: Estimate


def storage_time(
    *, charge: Estimate, floor: float, current_ampere: Estimate, capacity_ampere_hour: float
) -> StorageTime:
    """
    Find how long a battery may stand until it falls to a floor of charge: t = C (s − floor)/I.

    Examples
    --------
    >>> stands = storage_time(charge=Estimate(0.9, 0.03), floor=0.7, current_ampere=Estimate(0.00625, 0.00074),
    ...                       capacity_ampere_hour=60)
    >>> round(stands.hour.value / 24)
    80
    """
    status, hour = _core.storage_time(
        charge=charge[0],
        charge_standard_uncertainty=charge[1],
        floor=floor,
        current_ampere=current_ampere[0],
        current_standard_uncertainty_ampere=current_ampere[1],
        capacity_ampere_hour=capacity_ampere_hour,
    )
    return StorageTime(status, Estimate(*hour))


def self_discharge_factor(*, from_celsius: float, to_celsius: float) -> float:
    """
    Return self-discharge of wet lead-acid at one temperature over that at another; source `lead-acid-self-discharge`.

    Examples
    --------
    >>> round(self_discharge_factor(from_celsius=26.7, to_celsius=37.8), 6)
    2.5
    """
    return _core.self_discharge_factor(from_celsius=from_celsius, to_celsius=to_celsius)


class StandOut(NamedTuple):
    """Which values stand out from their like, with mean and standard deviation of the others."""

    status: Status
    which: tuple[bool, ...]
    centre: float
    spread: float


def stand_out(values: ArrayLike, *, risk: float = 0.01, least_spread: float = 0.0) -> StandOut:
    """
    Find which values stand out from their like: modules by voltage, batteries by self-discharge.

    The generalized extreme Studentized deviate test on up to a fifth of them; source `rosner-1983`.

    Parameters
    ----------
    values : array_like
        At least five; NaN does not count.
    risk : float, default 0.01
        Probability that any of a clean list is named.
    least_spread : float, default 0
        The readings' own standard uncertainty.

    Examples
    --------
    >>> stand_out([6.1, 6.4, 5.9, 6.2, 6.0, 6.3, 31.0]).which[-1]
    True
    """
    status, which, centre, spread = _core.stand_out(_doubles(values, "values"), risk=risk, least_spread=least_spread)
    return StandOut(status, tuple(which), centre, spread)


@dataclass(frozen=True)
class ModuleState:
    """
    One module against its pack.

    Attributes
    ----------
    difference_volt : Estimate
        From the pack's middle; the meter's common gain cancels. [V]
    stands_out : bool
        In volts, at the stated risk.
    charge_difference : Forecast
        Difference of charge from the pack's middle, a fraction.
    probability_differs : float
        That it is greater than what matters.
    decision : ChargeDecision
        alike, differs, not_decidable (on this plateau), not_read.
    """

    difference_volt: Estimate
    stands_out: bool
    charge_difference: Forecast
    probability_differs: float
    decision: ChargeDecision


@dataclass(frozen=True)
class PackState:
    """
    A pack at rest.

    Attributes
    ----------
    status : Status
        sound; too_few_points (fewer than five modules read: nothing stands out); outside_curve (the pack's middle is no
        resting voltage); missing_input; out_of_domain.
    middle_volt, spread_volt : float
        Median, and greatest minus least. [V]
    charge_spread : Forecast
        The spread in charge, a fraction: of the module that reads most over the one that reads least.
    charge : Charge
        State of the pack's middle.
    modules : tuple of ModuleState
        In the order of the list.
    """

    status: Status
    middle_volt: float
    spread_volt: float
    charge_spread: Forecast
    charge: Charge
    modules: tuple[ModuleState, ...]


def pack_at_rest(
    module: Battery,
    voltage_volt: ArrayLike,
    *,
    standard_uncertainty: float,
    gain_relative_standard_uncertainty: float = 0.0,
    celsius: ArrayLike | None = None,
    celsius_standard_uncertainty_kelvin: float = 0.0,
    pack_celsius: float | None = None,
    rest_hour: float | None = None,
    history: History = "unknown",
    risk: float = 0.01,
    charge_difference: float = 0.05,
    level: float = 0.95,
) -> PackState:
    """
    Say which modules of a pack at rest differ, in volts and in charge.

    Parameters
    ----------
    module : Battery
        One module: chemistry and cells.
    voltage_volt : array_like
        One a module, read with one meter in one hour; NaN: not read. [V]
    standard_uncertainty : float
        Of each reading on its own, above 0. [V]
    gain_relative_standard_uncertainty : float, default 0
        Of the meter's gain, common to all.
    celsius : array_like, optional
        Temperature of each module: a gradient along the pack is taken out of the voltages. [°C]
    celsius_standard_uncertainty_kelvin : float, default 0
        Of each module's temperature on its own. [K]
    pack_celsius, rest_hour, history
        Of the pack, as in :meth:`Battery.at_rest`.
    risk : float, default 0.01
        That a clean pack has any module named in volts.
    charge_difference : float, default 0.05
        What matters, a fraction: a setting without source.
    level : float, default 0.95
        Probability that decides.

    Returns
    -------
    PackState

    Examples
    --------
    >>> volts = np.full(12, 3.2750); volts[4] += 0.009
    >>> pack = pack_at_rest(lithium("lfp", cells=1), volts, standard_uncertainty=0.001, pack_celsius=20, rest_hour=12)
    >>> pack.modules[4].stands_out, pack.modules[4].decision.name
    (True, 'not_decidable')
    """
    state = _core.pack_at_rest(
        module._core,
        voltage_volt=_doubles(voltage_volt, "voltage_volt"),
        standard_uncertainty_volt=_number(standard_uncertainty, "standard_uncertainty"),
        gain_relative_standard_uncertainty=gain_relative_standard_uncertainty,
        celsius=_doubles(celsius, "celsius"),
        celsius_standard_uncertainty_kelvin=_number(
            celsius_standard_uncertainty_kelvin, "celsius_standard_uncertainty_kelvin"
        ),
        pack_celsius=_number(pack_celsius, "pack_celsius"),
        rest_hour=_number(rest_hour, "rest_hour"),
        history=_history(history),
        risk=risk,
        charge_difference=charge_difference,
        level=level,
    )
    return PackState(
        status=state.status,
        middle_volt=state.middle_volt,
        spread_volt=state.spread_volt,
        charge_spread=Forecast(*state.charge_spread),
        charge=Charge(state.middle.charge, state.middle.status),
        modules=tuple(
            ModuleState(
                Estimate(*one.difference_volt),
                one.stands_out,
                Forecast(*one.charge_difference),
                one.probability_differs,
                one.decision,
            )
            for one in state.modules
        ),
    )


class LagTest(NamedTuple):
    """Shift of a list against an earlier one: lag (0, +1 or −1), from which module on, log odds against no shift."""

    status: Status
    lag: int
    first_shifted: int
    log_odds: float


def lag_test(now_volt: ArrayLike, earlier_volt: ArrayLike, *, standard_uncertainty: float) -> LagTest:
    """
    Find out whether a list of modules is shifted by one against an earlier list of the same pack.

    Parameters
    ----------
    now_volt, earlier_volt : array_like
        At least six modules, none missing. [V]
    standard_uncertainty : float
        Of the change of one module's difference from the pack between both lists, above 0. [V]

    Examples
    --------
    >>> earlier = 3.70 + 0.001 * np.array([3, -5, 2, 7, -4, 0, 6, -2, 1, -6, 4, 5])
    >>> typed = np.concatenate([earlier[:4], earlier[3:-1]])  # one value twice, the last missing
    >>> lag_test(typed, earlier, standard_uncertainty=0.001)[1:3]
    (1, 4)
    """
    return LagTest(
        *_core.lag_test(
            now_volt=_doubles(now_volt, "now_volt"),
            earlier_volt=_doubles(earlier_volt, "earlier_volt"),
            standard_uncertainty_volt=standard_uncertainty,
        )
    )
