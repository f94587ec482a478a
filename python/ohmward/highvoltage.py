"""High-voltage work: proving dead, discharge, residual energy, isolation, leaks, bonding, winding symmetry.

Quantities and findings, no verdicts: a limit judges them elsewhere. Nothing here says that a circuit is safe to touch.
Work on high-voltage systems belongs to qualified and authorised people; local rules and the maker's instructions come
first.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ohmward._core import formula as _formula
from ohmward._core import highvoltage as _hv
from ohmward._core.core import Censoring, Status
from ohmward._core.highvoltage import DeadPolicy, Function, Pair, Side, VoltageRow
from ohmward._elementwise import OnDoubt, apply

__all__ = [
    "Bonding",
    "DeadPolicy",
    "Decay",
    "Function",
    "Leak",
    "Pair",
    "ProofOfDead",
    "ResidualEnergy",
    "Side",
    "VoltageRow",
    "VoltmeterIsolation",
    "WithoutMonitor",
    "best_resistor_ohm",
    "bonding_resistance",
    "chain_of_joints",
    "compare_like_joints",
    "compare_part_to_part",
    "discharge_time_second",
    "fit_decay",
    "hidden_source",
    "isolation_by_tester",
    "isolation_by_voltmeter",
    "isolation_without_monitor",
    "leak_of_removed_part",
    "parallel_budget",
    "parts_explain_whole",
    "prove_dead",
    "ratio_after_before",
    "reading_through_leak_volt",
    "residual_energy",
    "unplug_ladder",
    "unseen_leak_ohm",
    "volt_after_touch",
    "winding_symmetry",
]

_Plain = tuple[float, float, float, Censoring]
_POLES = {None: _hv.Pole.unknown, "HV+": _hv.Pole.plus, "HV-": _hv.Pole.minus}


def _number(value: float | None, missing: float = math.nan) -> float:
    return missing if value is None else float(value)


def _plain(
    ohm: float | None, independent: float | None, gain: float | None, censoring: str | Censoring = "exact"
) -> _Plain:
    kind = Censoring[censoring] if isinstance(censoring, str) else censoring
    return (_number(ohm), _number(independent), _number(gain, 0.0), kind)


def _plains(
    ohms: Sequence[float],
    independent: float | Sequence[float] | None,
    gain: float,
    censoring: Sequence[str | Censoring] | None,
) -> list[_Plain]:
    parts = list(independent) if isinstance(independent, Sequence) else [independent] * len(ohms)
    kinds = list(censoring) if censoring is not None else ["exact"] * len(ohms)
    if not len(parts) == len(kinds) == len(ohms):
        raise ValueError(
            f"{len(ohms)} readings, {len(parts)} uncertainties and {len(kinds)} censorings: expected as many of each"
        )
    return [_plain(ohm, u, gain, kind) for ohm, u, kind in zip(ohms, parts, kinds, strict=True)]


# Proving dead --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class ProofOfDead:
    """What the voltage rows of one job show, pair by pair."""

    proven: bool  #: every expected pair near zero, each reading between two good checks of the same meter and function
    worst: str  #: the worst state of all pairs, in words
    pairs: list[Mapping[str, Any]]  #: pair, side, state, row
    rows: list[Mapping[str, Any]]  #: text, bracket, good, counts, contradicts, opening_check, closing_check, findings
    cautions: tuple[str, ...]  #: what the readings can not exclude

    def __repr__(self) -> str:
        """Return the pairs and cautions as text."""
        lines = [f"{found['pair']}, {found['side']}: {found['state']}" for found in self.pairs]
        return "\n".join([*lines, *(f"not excluded: {caution}" for caution in self.cautions)])


def prove_dead(rows: Sequence[VoltageRow], *, policy: DeadPolicy | None = None) -> ProofOfDead:
    """
    Judge the voltage rows of one job, in the order of the job.

    A reading counts only when bracketed by two good checks of the same meter and function. A check that is not good, or
    a missing closing check, voids every reading back to the last good one. A voltage that is there shows in any case.

    Parameters
    ----------
    rows : sequence of VoltageRow
        Checks (``is_check``, ``reference_volt``) and readings (``pair``, ``side``). [V]
    policy : DeadPolicy, optional
        Limits, pairs and sides expected. Default: near zero up to 6 V, three pairs on both sides.

    Returns
    -------
    ProofOfDead

    Raises
    ------
    ValueError
        For a senseless policy.

    Notes
    -----
    Source ``prove-test-prove``; hazardous from 60 V DC or 30 V AC, source ``un-r100-class-b``.

    Examples
    --------
    >>> def row(**fields):
    ...     one = VoltageRow()
    ...     defaults = dict(instrument=1, function=Function.dc, standard_uncertainty_volt=0.5)
    ...     for name, value in (defaults | fields).items():
    ...         setattr(one, name, value)
    ...     return one
    >>> before = row(is_check=True, value_volt=24.1, reference_volt=24.0)
    >>> reading = row(value_volt=0.2, pair=Pair.plus_minus, side=Side.load)
    >>> policy = DeadPolicy()
    >>> policy.pairs, policy.sides = [Pair.plus_minus], [Side.load]
    >>> prove_dead([before, reading, before], policy=policy).proven
    True
    >>> prove_dead([before, reading], policy=policy).worst
    'read near zero, meter not proven'
    """
    found = _hv.prove_dead(list(rows), policy if policy is not None else DeadPolicy())
    return ProofOfDead(**found)


def reading_through_leak_volt(*, source_volt: float, leak_ohm: float, meter_ohm: float) -> float:
    """
    What a meter shows of a source behind a leak: source · meter/(meter + leak) [V].

    Examples
    --------
    >>> round(reading_through_leak_volt(source_volt=400, leak_ohm=500e6, meter_ohm=10e6), 2)
    7.84
    """
    value, _ = _hv.reading_through_leak_volt(source_volt=source_volt, leak_ohm=leak_ohm, meter_ohm=meter_ohm)
    return value


def unseen_leak_ohm(*, source_volt: float, shown_volt: float, meter_ohm: float) -> float:
    """
    Leak above which a meter stays at or below `shown_volt`: what a near-zero reading can not exclude [Ω].

    Examples
    --------
    >>> round(unseen_leak_ohm(source_volt=400, shown_volt=6, meter_ohm=10e6) / 1e6)
    657
    """
    value, _ = _hv.unseen_leak_ohm(source_volt=source_volt, shown_volt=shown_volt, meter_ohm=meter_ohm)
    return value


def hidden_source(*, first_volt: float, first_ohm: float, second_volt: float, second_ohm: float) -> tuple[float, float]:
    """
    Find the voltage and the leak behind one pole that two meters of different input resistance read [V, Ω].

    Examples
    --------
    >>> volt, ohm = hidden_source(first_volt=59.09, first_ohm=10e6, second_volt=1.944, second_ohm=0.3e6)
    >>> round(volt), round(ohm / 1e6)
    (650, 100)
    """
    volt, ohm, _ = _hv.hidden_source(
        first_volt=first_volt, first_ohm=first_ohm, second_volt=second_volt, second_ohm=second_ohm
    )
    return volt, ohm


# Discharge -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Decay:
    """A fitted discharge, U(t) = initial · exp(-(t - first)/tau)."""

    initial_volt: float
    time_constant_second: float
    time_constant_standard_uncertainty_second: float
    threshold_second: float  #: when the threshold is crossed, on the clock of the readings
    threshold_interval: tuple[float, float]  #: the upper end is infinite where no decay is shown
    chi_square: float
    degrees_of_freedom: int
    stuck: bool
    remarks: tuple[str, ...]
    status: Status


def fit_decay(
    time_second: Sequence[float],
    volt: Sequence[float],
    *,
    standard_uncertainty_volt: float | Sequence[float],
    gain_relative_standard_uncertainty: float = 0.0,
    threshold_volt: float = 60.0,
    coverage_factor: float = 2.0,
) -> Decay:
    """
    Fit a discharge to a record or to two readings.

    Parameters
    ----------
    time_second, volt : sequence of float
        Readings, times rising. [s], [V]
    standard_uncertainty_volt : float or sequence
        Independent from reading to reading, above 0. [V]
    gain_relative_standard_uncertainty : float, default 0
        Common to all readings.
    threshold_volt : float, default 60
        Voltage whose crossing is asked for. Source ``un-r100-class-b``. [V]
    coverage_factor : float, default 2
        Of the interval of the crossing.

    Returns
    -------
    Decay
        ``status``: sound, few_points (two readings), contradiction (times that do not rise), no_solution (no decay),
        inside_noise, too_few_points, missing_input.

    Examples
    --------
    >>> decay = fit_decay([0, 30], [600, 308.05], standard_uncertainty_volt=1)
    >>> round(decay.time_constant_second), round(decay.threshold_second)
    (45, 104)
    """
    u = (
        list(standard_uncertainty_volt)
        if isinstance(standard_uncertainty_volt, Sequence)
        else [standard_uncertainty_volt] * len(volt)
    )
    points = [(float(t), float(v), float(one)) for t, v, one in zip(time_second, volt, u, strict=True)]
    found = _hv.fit_decay(
        points=points,
        threshold_volt=threshold_volt,
        gain_relative_standard_uncertainty=gain_relative_standard_uncertainty,
        coverage_factor=coverage_factor,
    )
    return Decay(**found)


def discharge_time_second(
    *,
    resistance_ohm: Any,
    capacitance_farad: Any,
    initial_volt: Any,
    final_volt: Any = 60.0,
    on_doubt: OnDoubt = "warn",
) -> Any:
    r"""
    Waiting time from the circuit's values: how long a resistor takes to discharge a capacitor.

    Parameters
    ----------
    resistance_ohm : float or array
        Discharge path, above 0. [Ω]
    capacitance_farad : float or array
        Above 0. [F]
    initial_volt : float or array
        When the source was cut off; not below `final_volt`. [V]
    final_volt : float or array, default 60
        Source ``un-r100-class-b``. [V]
    on_doubt : {"warn", "raise", "ignore"}
        What to do about statuses other than sound.

    Returns
    -------
    float or the container given
        [s]. Status: sound; missing_input; out_of_domain; unknown_bound; contradiction where the final voltage lies
        above the initial one. The maker's waiting time comes first: a resistor may be broken.

    Notes
    -----
    .. math:: t = R\,C\,\ln(U_0 / U)

    Source ``circuit-laws``. Relative error below 6 · 2⁻⁵³.

    Examples
    --------
    >>> round(discharge_time_second(resistance_ohm=150e3, capacitance_farad=300e-6, initial_volt=600, final_volt=50), 3)
    111.821
    >>> round(discharge_time_second(resistance_ohm=47e3, capacitance_farad=1e-3, initial_volt=800))
    122
    """

    def seconds(*arguments: Any) -> tuple[Any, Any]:
        return _formula.discharge_time_second(*arguments), _formula.discharge_time_second_status(*arguments)

    return apply(
        seconds,
        {
            "resistance_ohm": resistance_ohm,
            "capacitance_farad": capacitance_farad,
            "initial_volt": initial_volt,
            "final_volt": final_volt,
        },
        on_doubt,
    )


@dataclass(frozen=True)
class ResidualEnergy:
    """Energy left in a capacitor, in the two forms in use. For information: no verdict rests on it."""

    whole_joule: Any  #: all of it, C · U²/2
    above_threshold_joule: Any  #: what is released down to the threshold, C · (U² - Ut²)/2, not below 0


def residual_energy(
    *, capacitance_farad: Any, volt: Any, threshold_volt: Any = 60.0, on_doubt: OnDoubt = "warn"
) -> ResidualEnergy:
    r"""
    Energy that a capacitor still holds, in both published forms; the DC link's, and each Y capacitor's likewise.

    Parameters
    ----------
    capacitance_farad : float or array
        Not below 0. [F]
    volt : float or array
        Not below 0. [V]
    threshold_volt : float or array, default 60
        Of the form that counts only what lies above it. Source ``un-r100-class-b``. [V]
    on_doubt : {"warn", "raise", "ignore"}
        What to do about statuses other than sound.

    Returns
    -------
    ResidualEnergy
        [J]. Status: sound; missing_input; out_of_domain; unknown_bound.

    Notes
    -----
    .. math:: W = C U^2 / 2 \qquad W_t = \max(0,\ C (U^2 - U_t^2) / 2)

    Sources ``residual-energy-whole`` and ``residual-energy-above-threshold``. Relative error below 6 · 2⁻⁵³.

    Examples
    --------
    >>> left = residual_energy(capacitance_farad=1e-3, volt=80)
    >>> round(left.whole_joule, 6), round(left.above_threshold_joule, 6)
    (3.2, 1.4)
    >>> residual_energy(capacitance_farad=1e-3, volt=50).above_threshold_joule
    0.0
    """

    def whole(farad: Any, u: Any) -> tuple[Any, Any]:
        return _formula.capacitor_energy_joule(farad, u), _formula.capacitor_energy_joule_status(farad, u)

    def above(*arguments: Any) -> tuple[Any, Any]:
        return (
            _formula.capacitor_energy_above_joule(*arguments),
            _formula.capacitor_energy_above_joule_status(*arguments),
        )

    circuit = {"capacitance_farad": capacitance_farad, "volt": volt}
    return ResidualEnergy(
        whole_joule=apply(whole, circuit, on_doubt),
        above_threshold_joule=apply(above, circuit | {"threshold_volt": threshold_volt}, on_doubt),
    )


def volt_after_touch(
    *,
    volt: float,
    capacitance_farad: float,
    meter_ohm: float,
    second: float,
    resistance_ohm: float = math.inf,
) -> float:
    r"""
    Voltage that is left of a capacitor after a meter touched it [V]; a tester of low input resistance drains it.

    A second touch near zero may only mean that the first one drained the capacitor: the first value counts, and the
    value some seconds after letting go, which comes back where a source feeds the circuit.

    Parameters
    ----------
    volt : float
        Before the touch. [V]
    capacitance_farad : float
        Above 0. [F]
    meter_ohm : float
        Input resistance of the meter: 10 MΩ of a usual voltmeter, 0.2 to 0.4 MΩ of a two-pole tester; source
        ``meter-input-resistance``. [Ω]
    second : float
        How long the meter stays on. [s]
    resistance_ohm : float, default infinite
        Discharge path of the circuit's own. [Ω]

    Returns
    -------
    float
        NaN for a missing or impossible input.

    Notes
    -----
    .. math:: U = U_0 \exp(-t / ((R \parallel R_m) C))

    Source ``circuit-laws``.

    Examples
    --------
    >>> after = {meter: volt_after_touch(volt=400, capacitance_farad=1e-6, meter_ohm=meter, second=2)
    ...          for meter in (0.3e6, 10e6)}
    >>> round(after[0.3e6], 1), round(after[10e6], 1)
    (0.5, 327.5)
    """
    value, _ = _hv.volt_after_touch(
        volt=volt,
        capacitance_farad=capacitance_farad,
        resistance_ohm=resistance_ohm,
        meter_ohm=meter_ohm,
        second=second,
    )
    return value


# Isolation -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class VoltmeterIsolation:
    """Smaller side of a system's isolation, found by voltmeter and known resistor."""

    resistance_ohm: float
    relative_standard_uncertainty: float
    parts: Mapping[str, float]  #: of the relative standard uncertainty: reading, resistor, loading
    lower_bound_ohm: float  #: the smaller side is at least this, at 95 % one-sided
    weak_pole: str
    strong_ohm: float
    by_pole_voltages_ohm: float  #: the other published form, for comparison
    best_resistor_ohm: float
    censoring: Censoring
    status: Status
    remarks: tuple[str, ...]


def isolation_by_voltmeter(
    *,
    pack_volt: float,
    negative_volt: float,
    positive_volt: float,
    loaded_volt: float,
    resistor_ohm: float | None,
    meter_ohm: float | None = None,
    meters: str = "moved",
    loaded_pole: str | None = None,
    standard_uncertainty_volt: float | Sequence[float] | None = None,
    resistor_relative_standard_uncertainty: float | None = None,
    meter_relative_standard_uncertainty: float = 0.0,
    required_ohm_per_volt: float | None = None,
) -> VoltmeterIsolation:
    r"""
    Isolation of the weaker side from four voltages and a known resistor.

    Parameters
    ----------
    pack_volt, negative_volt, positive_volt : float
        Pole to pole, negative pole to chassis, positive pole to chassis. Signs are not used. [V]
    loaded_volt : float
        The larger of the two pole voltages once more, with the resistor across it. [V]
    resistor_ohm : float
        Known resistor. [Ω]
    meter_ohm : float, optional
        Input resistance of the meter; needed for ``meters="fixed"``. [Ω]
    meters : {"moved", "fixed"}
        One meter carried from pole to pole, or two left in place: then the result is freed of them.
    loaded_pole : {"HV+", "HV-"}, optional
        Where the resistor was. It belongs to the pole of the larger voltage; at the other one the poles were swapped,
        or the readings do not belong together: contradiction. Missing: taken to be at the larger voltage.
    standard_uncertainty_volt : float or (pack, negative, positive, loaded), optional
        Independent part of each reading; a gain common to all four cancels. Missing: no uncertainty, so no verdict. [V]
    resistor_relative_standard_uncertainty, meter_relative_standard_uncertainty : float
        Of resistor and meter.
    required_ohm_per_volt : float, optional
        For the remark on the resistor's size. [Ω/V]

    Returns
    -------
    VoltmeterIsolation
        ``status``: sound, bound_only (the loaded voltage lies in the noise: only the lower bound), inside_noise,
        contradiction, missing_input, out_of_domain, unknown_bound.

    Notes
    -----
    .. math:: R_i = R_o V_b (1/V' - 1/V)

    Equation (H1), source ``un-r100-isolation-annex``; the other form is (H2).

    Examples
    --------
    >>> found = isolation_by_voltmeter(pack_volt=400, negative_volt=250.0, positive_volt=125.0, loaded_volt=60.61,
    ...                                resistor_ohm=200e3, meter_ohm=10e6, standard_uncertainty_volt=0.1,
    ...                                resistor_relative_standard_uncertainty=0.006)
    >>> round(found.resistance_ohm, -3), found.weak_pole
    (1000000.0, 'HV+')
    >>> found.lower_bound_ohm < found.resistance_ohm
    True
    """
    if meters not in ("moved", "fixed"):
        raise ValueError(f"meters is {meters!r}, expected 'moved' or 'fixed'")
    if loaded_pole not in _POLES:
        raise ValueError(f"loaded_pole is {loaded_pole!r}, expected 'HV+' or 'HV-'")
    if isinstance(standard_uncertainty_volt, Sequence):
        if len(standard_uncertainty_volt) != 4:
            raise ValueError(
                "standard_uncertainty_volt: expected one number, or four for pack, negative, positive, loaded"
            )
        u = [float(one) for one in standard_uncertainty_volt]
    else:
        u = [_number(standard_uncertainty_volt)] * 4
    found = _hv.isolation_by_voltmeter(
        pack=(pack_volt, u[0]),
        negative=(negative_volt, u[1]),
        positive=(positive_volt, u[2]),
        loaded=(loaded_volt, u[3]),
        resistor_ohm=_number(resistor_ohm),
        resistor_relative_standard_uncertainty=_number(resistor_relative_standard_uncertainty),
        meter_ohm=_number(meter_ohm),
        meter_relative_standard_uncertainty=meter_relative_standard_uncertainty,
        fixed=meters == "fixed",
        loaded_pole=_POLES[loaded_pole],
        required_ohm_per_volt=_number(required_ohm_per_volt),
    )
    weak = found.pop("weak")
    return VoltmeterIsolation(
        resistance_ohm=weak["value"],
        relative_standard_uncertainty=weak["standard_uncertainty"],
        parts=weak["parts"],
        censoring=weak["censoring"],
        status=weak["status"],
        **found,
    )


def best_resistor_ohm(*, weak_ohm: float, strong_ohm: float, meter_ohm: float = math.inf) -> float:
    """
    Known resistor of least uncertainty for sides that are known or guessed: 0.9034 of all in parallel [Ω].

    Source ``computed-best-resistor``.

    Examples
    --------
    >>> round(best_resistor_ohm(weak_ohm=1e6, strong_ohm=2e6, meter_ohm=10e6), -3)
    565000.0
    """
    value, _ = _hv.best_resistor_ohm(weak_ohm=weak_ohm, strong_ohm=strong_ohm, meter_ohm=meter_ohm)
    return value


def isolation_by_tester(
    *,
    plus_ohm: float | None,
    minus_ohm: float | None,
    plus_censoring: str = "exact",
    minus_censoring: str = "exact",
    relative_standard_uncertainty: float | None = None,
    display_step_ohm: float = 0.0,
    whole: bool = False,
    working_volt: float | None = None,
    test_voltage_volt: float | None = None,
    required_test_voltage_volt: float | None = None,
) -> dict[str, Any]:
    """
    Isolation by insulation tester, each pole to chassis.

    Parameters
    ----------
    plus_ohm, minus_ohm : float
        Readings; the bound where censored. [Ω]
    plus_censoring, minus_censoring : {"exact", "above", "below", "overload"}
        What each reading says.
    relative_standard_uncertainty : float, optional
        Of each reading.
    display_step_ohm : float, default 0
        Readings that differ by no more are the same: the poles are joined, one reading, not two. [Ω]
    whole : bool, default False
        The whole vehicle was read: only then ohm per volt has a meaning.
    working_volt, test_voltage_volt, required_test_voltage_volt : float, optional
        [V]

    Returns
    -------
    dict
        ``weak`` (value, standard_uncertainty of its logarithm, censoring, status), ``weak_pole``, ``poles_joined``,
        ``ohm_per_volt`` (value, status), ``findings``.

    Examples
    --------
    >>> found = isolation_by_tester(plus_ohm=1.2e6, minus_ohm=1.2e6, whole=True, working_volt=650)
    >>> found["poles_joined"], round(found["ohm_per_volt"][0])
    (True, 1846)
    """
    return _hv.isolation_by_tester(
        plus=_plain(plus_ohm, relative_standard_uncertainty, 0.0, plus_censoring),
        minus=_plain(minus_ohm, relative_standard_uncertainty, 0.0, minus_censoring),
        display_step_ohm=display_step_ohm,
        working_volt=_number(working_volt),
        whole=whole,
        test_voltage_volt=_number(test_voltage_volt),
        required_test_voltage_volt=_number(required_test_voltage_volt),
    )


@dataclass(frozen=True)
class WithoutMonitor:
    """An isolation reading freed of the monitor that hung in parallel to it."""

    resistance_ohm: float  #: the bound where censored
    relative_standard_uncertainty: float
    parts: Mapping[str, float]  #: reading, gain, other (that of the monitor)
    interval: tuple[float, float]  #: infinite above where nothing but the monitor is possible too
    censoring: Censoring
    status: Status


def isolation_without_monitor(
    *,
    reading_ohm: float,
    connected: str,
    monitor_ohm: float,
    monitor_relative_standard_uncertainty: float | None,
    relative_standard_uncertainty: float | None = None,
    gain_relative_standard_uncertainty: float = 0.0,
    reading_censoring: str = "exact",
    level: float = 0.95,
) -> WithoutMonitor:
    r"""
    Take a declared isolation monitor out of a reading by calculation, its own uncertainty carried.

    Disconnecting the monitor and reading again is better: near the monitor's resistance the difference is steep.

    Parameters
    ----------
    reading_ohm : float
        With the monitor in parallel; the bound where censored. [Ω]
    connected : str
        What was still joined, as in the readings table (``monitor+converter``). Without ``monitor`` in it nothing is
        taken off: a monitor is never removed on suspicion.
    monitor_ohm : float
        What its maker states; usual are 0.5 to 1.5 MΩ, source ``insulation-monitor``. [Ω]
    monitor_relative_standard_uncertainty : float
        Of what is stated. Missing or 0: the result's is unknown, so no verdict.
    relative_standard_uncertainty, gain_relative_standard_uncertainty : float
        Independent and common part of the reading.
    reading_censoring : {"exact", "above", "below", "overload"}
        What the reading says.
    level : float, default 0.95
        Of the interval.

    Returns
    -------
    WithoutMonitor
        ``status``: sound; bound_only (the relative standard uncertainty exceeds 0.2: the value is the lower end of the
        interval); missing_input (no monitor declared); contradiction (the reading does not lie below the monitor);
        unknown_bound.

    Notes
    -----
    .. math:: R = 1 / (1/R_{read} - 1/R_m)

    Source ``computed-leak``.

    Examples
    --------
    >>> found = isolation_without_monitor(reading_ohm=0.6e6, connected="monitor+converter", monitor_ohm=1.2e6,
    ...                                   monitor_relative_standard_uncertainty=0.03,
    ...                                   relative_standard_uncertainty=0.02)
    >>> round(found.resistance_ohm), round(found.relative_standard_uncertainty, 3)
    (1200000, 0.05)
    >>> isolation_without_monitor(reading_ohm=0.6e6, connected="alone", monitor_ohm=1.2e6,
    ...                           monitor_relative_standard_uncertainty=0.03).status.name
    'missing_input'
    """
    found = _hv.without_declared_path(
        reading=_plain(
            reading_ohm, relative_standard_uncertainty, gain_relative_standard_uncertainty, reading_censoring
        ),
        path=_plain(monitor_ohm, monitor_relative_standard_uncertainty, 0.0),
        declared="monitor" in [part.strip() for part in connected.split("+")],
        level=level,
    )
    freed = found["resistance"]
    return WithoutMonitor(
        resistance_ohm=freed["value"],
        relative_standard_uncertainty=freed["standard_uncertainty"],
        parts=freed["parts"],
        interval=found["interval"],
        censoring=freed["censoring"],
        status=freed["status"],
    )


# Leaks ---------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Leak:
    """Leak of a part that was unplugged between two readings."""

    ohm: float
    interval: tuple[float, float]  #: infinite above where no leak at all is possible too
    share: float  #: of the leakage before
    share_interval: tuple[float, float]
    probability_of_leak: float
    status: Status


def leak_of_removed_part(
    *,
    before_ohm: float,
    after_ohm: float,
    relative_standard_uncertainty: float | None = None,
    gain_relative_standard_uncertainty: float = 0.0,
    before_censoring: str = "exact",
    after_censoring: str = "exact",
    level: float = 0.95,
) -> Leak:
    """
    Leak of a removed part: 1/(1/before - 1/after), with an interval that is never first order.

    Parameters
    ----------
    before_ohm, after_ohm : float
        The whole with and without the part; the bound where censored. [Ω]
    relative_standard_uncertainty : float, optional
        Independent part of each reading. Missing: no interval.
    gain_relative_standard_uncertainty : float, default 0
        Common to both readings.
    before_censoring, after_censoring : {"exact", "above", "below", "overload"}
        What each reading says.
    level : float, default 0.95
        Of the interval.

    Returns
    -------
    Leak
        ``status``: sound; bound_only; contradiction: the reading did not rise, so not this part or something changed.

    Examples
    --------
    >>> leak = leak_of_removed_part(before_ohm=420e3, after_ohm=480e3, relative_standard_uncertainty=0.02)
    >>> round(leak.ohm), leak.interval[0] < leak.ohm < leak.interval[1]
    (3360000, True)
    >>> open_end = leak_of_removed_part(before_ohm=2e6, after_ohm=4e9, after_censoring="above",
    ...                                 relative_standard_uncertainty=0.0)
    >>> [round(end / 1e6, 3) for end in open_end.interval]
    [2.0, 2.001]
    """
    u, gain = relative_standard_uncertainty, gain_relative_standard_uncertainty
    found = _hv.leak_of_removed_part(
        before=_plain(before_ohm, u, gain, before_censoring),
        after=_plain(after_ohm, u, gain, after_censoring),
        level=level,
    )
    return Leak(**found)


def unplug_ladder(
    parts: Sequence[str],
    readings_ohm: Sequence[float],
    *,
    relative_standard_uncertainty: float | Sequence[float] | None,
    gain_relative_standard_uncertainty: float = 0.0,
    censoring: Sequence[str | Censoring] | None = None,
    level: float = 0.95,
) -> dict[str, Any]:
    """
    Read an unplug ladder: the leak of each part, unplugged one after the other.

    Parameters
    ----------
    parts : sequence of str
        Parts in the order in which they were unplugged.
    readings_ohm : sequence of float
        One more than parts: first with all of them in. [Ω]
    relative_standard_uncertainty, gain_relative_standard_uncertainty, censoring, level
        As :func:`leak_of_removed_part`.

    Returns
    -------
    dict
        ``parts``, ``leaks`` (one :class:`Leak` a part), ``share_of_whole``, ``largest`` (name, or None),
        ``remaining_share``.

    Examples
    --------
    >>> found = unplug_ladder(["heater", "compressor"], [420e3, 430e3, 2.4e6], relative_standard_uncertainty=0.01)
    >>> found["largest"], round(found["leaks"][1].ohm / 1e3)
    ('compressor', 524)
    """
    if len(readings_ohm) != len(parts) + 1:
        raise ValueError(f"{len(parts)} parts and {len(readings_ohm)} readings: expected one reading more than parts")
    readings = _plains(readings_ohm, relative_standard_uncertainty, gain_relative_standard_uncertainty, censoring)
    found = _hv.ladder(readings=readings, level=level)
    return {
        "parts": list(parts),
        "leaks": [Leak(**leak) for leak in found["leaks"]],
        "share_of_whole": found["share_of_whole"],
        "largest": parts[found["largest"]] if found["largest"] >= 0 else None,
        "remaining_share": found["remaining_share"],
    }


def parts_explain_whole(
    *,
    parts_ohm: Sequence[float],
    whole_ohm: float,
    relative_standard_uncertainty: float | None,
    gain_relative_standard_uncertainty: float = 0.0,
    parts_censoring: Sequence[str | Censoring] | None = None,
    whole_censoring: str = "exact",
    level: float = 0.95,
    seed: int = 1,
) -> dict[str, Any]:
    """
    Compare 1/whole with the sum of 1/part by Monte Carlo (20 000 draws by counter).

    Parameters
    ----------
    parts_ohm, whole_ohm : float
        Readings. [Ω]
    relative_standard_uncertainty, gain_relative_standard_uncertainty
        Independent and common part of every reading.
    parts_censoring, whole_censoring
        What each reading says. An over-range part lies between no leak and its bound.
    level : float
        Of the interval.
    seed : int
        Of the draws.

    Returns
    -------
    dict
        ``explained``, ``text``, ``parts_ohm``, ``unexplained_ohm`` (a path that was not measured),
        ``unexplained_siemens``, ``status``.

    Examples
    --------
    >>> found = parts_explain_whole(parts_ohm=[45e3] * 8, whole_ohm=4.5e3, relative_standard_uncertainty=0.02)
    >>> found["text"], round(found["unexplained_ohm"])
    ('the whole is lower than its parts: a path was not measured', 22500)
    """
    return _hv.parts_explain_whole(
        parts=_plains(parts_ohm, relative_standard_uncertainty, gain_relative_standard_uncertainty, parts_censoring),
        whole=_plain(whole_ohm, relative_standard_uncertainty, gain_relative_standard_uncertainty, whole_censoring),
        level=level,
        seed=seed,
    )


def parallel_budget(
    parts_ohm: Sequence[float],
    *,
    relative_standard_uncertainty: float | Sequence[float] | None = None,
    gain_relative_standard_uncertainty: float = 0.0,
    censoring: Sequence[str | Censoring] | None = None,
) -> dict[str, Any]:
    """
    Parts in parallel, with their uncertainty: what the whole should read [Ω].

    Examples
    --------
    >>> parallel_budget([45e3] * 8, relative_standard_uncertainty=0.02)["value"]
    5625.0
    """
    return _hv.parallel_budget(
        parts=_plains(parts_ohm, relative_standard_uncertainty, gain_relative_standard_uncertainty, censoring)
    )


def ratio_after_before(
    *,
    before_ohm: float,
    after_ohm: float,
    relative_standard_uncertainty: float | None = None,
    gain_relative_standard_uncertainty: float = 0.0,
    before_censoring: str = "exact",
    after_censoring: str = "exact",
) -> dict[str, Any]:
    """
    After over before (drying, cleaning); the common gain cancels. Uncertainty is that of the logarithm.

    Examples
    --------
    >>> ratio_after_before(before_ohm=0.3e6, after_ohm=1.2e6, relative_standard_uncertainty=0.03)["value"]
    4.0
    """
    u, gain = relative_standard_uncertainty, gain_relative_standard_uncertainty
    return _hv.ratio_after_before(
        before=_plain(before_ohm, u, gain, before_censoring), after=_plain(after_ohm, u, gain, after_censoring)
    )


# Bonding and windings ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Bonding:
    """Resistance of a joint, what is found and remarked of its reading."""

    resistance_ohm: float
    standard_uncertainty_ohm: float
    parts: Mapping[str, float]
    censoring: Censoring
    status: Status
    findings: tuple[str, ...]
    remarks: tuple[str, ...]


def bonding_resistance(
    *,
    forward_ohm: float | None,
    reverse_ohm: float | None = None,
    wires: int = 2,
    null_ohm: float | None = None,
    null_standard_uncertainty_ohm: float | None = None,
    null_age_second: float | None = None,
    null_subtracted: bool = True,
    test_ampere: float | None = None,
    standard_uncertainty_ohm: float | None = None,
    gain_relative_standard_uncertainty: float = 0.0,
) -> Bonding:
    """
    Joint resistance from one or two polarities and the lead null.

    Parameters
    ----------
    forward_ohm, reverse_ohm : float
        As displayed, in both polarities. Open is ``math.inf``. [Ω]
    wires : {2, 4}
        Four-wire readings need no null.
    null_ohm, null_standard_uncertainty_ohm : float, optional
        Display with the leads shorted. [Ω]
    null_age_second : float, optional
        Between null and reading. [s]
    null_subtracted : bool, default True
        The display already lies above its null; False takes the null off here.
    test_ampere : float, optional
        Below 0.2 A is found (source ``un-r100-bonding``). [A]
    standard_uncertainty_ohm, gain_relative_standard_uncertainty : float
        Independent part and common gain of the reading.

    Returns
    -------
    Bonding

    Examples
    --------
    >>> joint = bonding_resistance(forward_ohm=0.105, reverse_ohm=0.095, standard_uncertainty_ohm=0.01,
    ...                            null_ohm=0.085, null_standard_uncertainty_ohm=0.004, null_age_second=600,
    ...                            null_subtracted=False, test_ampere=0.2)
    >>> round(joint.resistance_ohm, 4), joint.findings
    (0.015, ())
    """
    if wires not in (2, 4):
        raise ValueError(f"wires is {wires!r}, expected 2 or 4")
    found = _hv.bonding_resistance(
        forward_ohm=_number(forward_ohm),
        reverse_ohm=_number(reverse_ohm),
        four_wire=wires == 4,
        null=(_number(null_ohm), _number(null_standard_uncertainty_ohm), _number(null_age_second)),
        null_subtracted=null_subtracted,
        test_ampere=_number(test_ampere),
        standard_uncertainty_ohm=_number(standard_uncertainty_ohm),
        gain_relative_standard_uncertainty=gain_relative_standard_uncertainty,
    )
    joint = found["resistance"]
    return Bonding(
        resistance_ohm=joint["value"],
        standard_uncertainty_ohm=joint["standard_uncertainty"],
        parts=joint["parts"],
        censoring=joint["censoring"],
        status=joint["status"],
        findings=found["findings"],
        remarks=found["remarks"],
    )


def chain_of_joints(
    joints_ohm: Sequence[float],
    *,
    standard_uncertainty_ohm: float | Sequence[float] | None = None,
    gain_relative_standard_uncertainty: float = 0.0,
) -> dict[str, Any]:
    """
    Joints one after the other: their sum, where the common gain adds up and the rest joins in quadrature.

    Parameters
    ----------
    joints_ohm : sequence of float
        From the part to the chassis. An open or missing one leaves no value. [Ω]
    standard_uncertainty_ohm : float or sequence, optional
        Independent part of each. [Ω]
    gain_relative_standard_uncertainty : float, default 0
        Common to all readings of the chain: read with one meter on one range.

    Returns
    -------
    dict
        ``value`` [Ω], ``standard_uncertainty`` [Ω], ``parts``, ``censoring``, ``status``.

    Notes
    -----
    Source ``gum``.

    Examples
    --------
    >>> chain = chain_of_joints([0.012, 0.008, 0.020], standard_uncertainty_ohm=0.003,
    ...                         gain_relative_standard_uncertainty=0.01)
    >>> round(chain["value"], 6), round(chain["standard_uncertainty"], 5)
    (0.04, 0.00521)
    """
    joints = [
        (ohm, u, gain_relative_standard_uncertainty * ohm, kind)
        for ohm, u, _, kind in _plains(joints_ohm, standard_uncertainty_ohm, 0.0, None)
    ]
    return _hv.chain_of_joints(joints=joints)


def compare_part_to_part(
    *,
    between_ohm: float,
    first_to_chassis_ohm: float,
    second_to_chassis_ohm: float,
    standard_uncertainty_ohm: float | None,
) -> str:
    """
    Compare a direct reading between two parts with their two readings to the chassis.

    A parallel path may lower the direct one; above their sum by more than 2 u a probe or one of the three is wrong.
    The limit for two parts that can be touched together is another one than to the chassis, source
    ``bonding-two-parts``.

    Parameters
    ----------
    between_ohm, first_to_chassis_ohm, second_to_chassis_ohm : float
        [Ω]
    standard_uncertainty_ohm : float
        Of each reading. Missing or 0: not decided. [Ω]

    Returns
    -------
    str
        ``consistent: …``, ``too high: …`` or ``not decided: …``.

    Examples
    --------
    >>> compare_part_to_part(between_ohm=0.050, first_to_chassis_ohm=0.004, second_to_chassis_ohm=0.006,
    ...                      standard_uncertainty_ohm=0.002).split(":")[0]
    'too high'
    """
    readings = (between_ohm, first_to_chassis_ohm, second_to_chassis_ohm)
    between, first, second = (_plain(ohm, standard_uncertainty_ohm, 0.0) for ohm in readings)
    return _hv.compare_part_to_part(between=between, first_to_chassis=first, second_to_chassis=second)


def compare_like_joints(
    joints_ohm: Sequence[float], *, standard_uncertainty_ohm: float | Sequence[float]
) -> list[dict[str, Any]]:
    """
    Joints that stand out among their like, long before the limit; at least five joints.

    Parameters
    ----------
    joints_ohm : sequence of float
        Like joints. [Ω]
    standard_uncertainty_ohm : float or sequence
        Of each. [Ω]

    Returns
    -------
    list of dict
        ``typical_ohm``, ``ratio``, ``distance`` in robust standard deviations, ``stands_out``.

    Examples
    --------
    >>> found = compare_like_joints([0.005, 0.007, 0.006, 0.004, 0.008, 0.040], standard_uncertainty_ohm=0.001)
    >>> [joint["stands_out"] for joint in found]
    [False, False, False, False, False, True]
    """
    return _hv.compare_like_joints(joints=_plains(joints_ohm, standard_uncertainty_ohm, 0.0, None))


def winding_symmetry(
    *,
    uv_ohm: float,
    vw_ohm: float,
    wu_ohm: float,
    standard_uncertainty_ohm: float,
    celsius: float | Sequence[float] | None = None,
    celsius_standard_uncertainty_kelvin: float = 0.0,
    tau_kelvin: float = _hv.copper_tau_kelvin,
    reference_celsius: float = 20.0,
) -> dict[str, Any]:
    """
    Symmetry of a three-phase winding from its terminal resistances, at one temperature.

    Parameters
    ----------
    uv_ohm, vw_ohm, wu_ohm : float
        Terminal resistances. [Ω]
    standard_uncertainty_ohm : float
        Independent part of each; a common gain cancels. [Ω]
    celsius : float or (uv, vw, wu), optional
        Temperature of the winding at each reading. Missing: one unknown temperature for all. [°C]
    celsius_standard_uncertainty_kelvin : float
        Of the differences between them. [K]
    tau_kelvin, reference_celsius : float
        Of the conductor law, source ``conductor-law``.

    Returns
    -------
    dict
        ``referred_ohm``, ``phase_ohm`` of a star, ``imbalance`` (value, standard_uncertainty, parts), ``status``.

    Examples
    --------
    >>> found = winding_symmetry(uv_ohm=8.31e-3, vw_ohm=8.33e-3, wu_ohm=8.32e-3, standard_uncertainty_ohm=2e-5)
    >>> f"{found['imbalance']['value']:.4f}"
    '0.0012'
    """
    celsiuses = list(celsius) if isinstance(celsius, Sequence) else [celsius] * 3
    terminals = [
        (float(ohm), standard_uncertainty_ohm, _number(one), celsius_standard_uncertainty_kelvin)
        for ohm, one in zip((uv_ohm, vw_ohm, wu_ohm), celsiuses, strict=True)
    ]
    return _hv.winding_symmetry(terminals=terminals, tau_kelvin=tau_kelvin, reference_celsius=reference_celsius)
