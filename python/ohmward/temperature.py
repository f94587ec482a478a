"""Temperature laws of resistances, the uncertainty of their constants, and laws from one's own readings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ohmward._core import temperature as _core
from ohmward._core.core import Status
from ohmward._core.formula import thermosetting_ieee_43
from ohmward._core.temperature import FitReason
from ohmward._elementwise import OnDoubt, apply
from ohmward._quantity import Quantity, from_fields

__all__ = [
    "ArrheniusLaw",
    "ConductorLaw",
    "FactorTableLaw",
    "FitReason",
    "HalvingLaw",
    "Law",
    "LawFit",
    "ThermosettingLaw",
    "fit_law",
]


class Law:
    """
    A law with the temperature that it refers to.

    Use one of its kinds: `HalvingLaw`, `ThermosettingLaw`, `ArrheniusLaw`, `FactorTableLaw`, `ConductorLaw`.
    """

    def __init__(self, law: _core.Law, reference_celsius: float) -> None:
        if not math.isfinite(reference_celsius):
            raise ValueError(f"reference_celsius is {reference_celsius}, expected a finite number")
        self._law = law
        self.reference_celsius = reference_celsius

    def factor(self, part_celsius: Any, *, on_doubt: OnDoubt = "warn") -> Any:
        """
        Give the factor R(reference)/R(part temperature).

        Parameters
        ----------
        part_celsius : number, array_like or Series
            Temperature of what was tested. [°C]
        on_doubt : {"warn", "raise", "ignore"}, default "warn"
            What to do where there is no value, or one beyond the fitted range.

        Returns
        -------
        float, ndarray or Series

        Examples
        --------
        >>> HalvingLaw(step_kelvin=10, reference_celsius=40).factor([20, 70]).tolist()
        [0.25, 8.0]
        """
        return apply(
            lambda celsius: _core.factors_to_reference(self._law, celsius, reference_celsius=self.reference_celsius),
            {"part_celsius": part_celsius},
            on_doubt,
        )

    def to_reference(self, resistance_ohm: Any, part_celsius: Any, *, on_doubt: OnDoubt = "warn") -> Any:
        """
        Refer resistances to the law's reference temperature.

        Parameters
        ----------
        resistance_ohm : number, array_like or Series
            As read, at least 0. [Ω]
        part_celsius : number, array_like or Series
            Temperature of what was tested. [°C]
        on_doubt : {"warn", "raise", "ignore"}, default "warn"
            What to do where there is no value, or one beyond the fitted range.

        Returns
        -------
        float, ndarray or Series
            NaN where there is no value. [Ω]

        Notes
        -----
        Equation (T0) of ``ohmward/formula/temperature.hpp``.

        Examples
        --------
        >>> HalvingLaw(step_kelvin=10, reference_celsius=40).to_reference(15e6, 70)
        120000000.0
        """

        def correct(ohm: Any, celsius: Any) -> tuple[Any, Any]:
            factor, status = _core.factors_to_reference(self._law, celsius, reference_celsius=self.reference_celsius)
            status = np.where(np.isnan(ohm), np.int8(Status.missing_input), status)
            status = np.where((ohm < 0) | np.isinf(ohm), np.int8(Status.out_of_domain), status).astype(np.int8)
            return np.where(status < 0, np.nan, ohm * factor), status

        return apply(correct, {"resistance_ohm": resistance_ohm, "part_celsius": part_celsius}, on_doubt)

    def correct(
        self, resistance: Quantity, *, part_celsius: float, standard_uncertainty_kelvin: float = math.nan
    ) -> Quantity:
        """
        Refer a quantity to the law's reference temperature, with its uncertainty.

        Parameters
        ----------
        resistance : Quantity
            The reading; a bound is corrected like a value.
        part_celsius : float
            Temperature of what was tested. [°C]
        standard_uncertainty_kelvin : float
            Of that temperature; not given, 2 K are taken: a setting without a source. [K]

        Returns
        -------
        Quantity
            With the parts ``temperature`` and ``law`` joined.

        Examples
        --------
        >>> from ohmward._quantity import log_quantity
        >>> reading = log_quantity(100e6, relative_standard_uncertainty=0.05)
        >>> corrected = HalvingLaw(step_kelvin=10, reference_celsius=40).correct(reading, part_celsius=20)
        >>> corrected.value, round(corrected.parts["temperature"], 3), round(corrected.parts["law"], 3)
        (25000000.0, 0.139, 0.139)
        """
        return from_fields(
            _core.to_reference(
                resistance.fields(),
                law=self._law,
                part_celsius=part_celsius,
                standard_uncertainty_kelvin=standard_uncertainty_kelvin,
                reference_celsius=self.reference_celsius,
            )
        )

    def row_inputs(self) -> tuple[str, dict[str, Any]]:
        """
        Give the formula of this law and its constants, for :func:`ohmward.uncertainty.propagate_rows`.

        Returns
        -------
        tuple of str and dict
            Name of the formula; its uncertain constant as value and standard uncertainty (the default where none was
            stated), exact constants as numbers.

        Raises
        ------
        ValueError
            For a table of factors, which has no formula.

        Examples
        --------
        >>> HalvingLaw(step_kelvin=10, reference_celsius=40).row_inputs()[1]["step_kelvin"]
        (10.0, 1.0)
        """
        return _row_inputs(self._law, self.reference_celsius)


_UNCERTAIN_CONSTANT = {
    "halving": "step_kelvin",
    "arrhenius": "activation_energy_electronvolt",
    "conductor": "tau_kelvin",
    "thermosetting": "coefficient_factor",
}
_THERMOSETTING = ("coefficient_below_kelvin", "coefficient_above_kelvin", "knot_celsius", "zero_kelvin")


def _row_inputs(law: _core.Law, reference_celsius: float) -> tuple[str, dict[str, Any]]:
    kind = law.kind.name
    if kind not in _UNCERTAIN_CONSTANT:
        raise ValueError("a table of factors has no formula; correct reading by reading instead")
    fitted = law.fitted_low_celsius, law.fitted_high_celsius
    if not fitted[0] <= reference_celsius <= fitted[1]:
        fitted = math.nan, math.nan  # no temperature lies inside: every row is then marked as extrapolated
    exact = {"reference_celsius": reference_celsius, "low_celsius": fitted[0], "high_celsius": fitted[1]}
    value = law.constant
    if kind == "thermosetting":
        exact |= dict(zip(_THERMOSETTING, thermosetting_ieee_43, strict=True))
        value = 1.0
    u = value * _core.relative_standard_uncertainty(law)
    return f"{kind}_to_reference", {_UNCERTAIN_CONSTANT[kind]: (value, u), **exact}


class HalvingLaw(Law):
    """
    Resistance that halves for every step of warming.

    Parameters
    ----------
    step_kelvin : float
        Warming that halves it; 10 is usual. [K]
    reference_celsius : float
        Temperature that results refer to. [°C]
    step_standard_uncertainty_kelvin : float
        Not given, 1 K in a 10 K step: a setting without a source. [K]
    fitted_low_celsius, fitted_high_celsius : float
        Range that the law was fitted for. [°C]

    Examples
    --------
    >>> HalvingLaw(step_kelvin=10, reference_celsius=50).to_reference([200e6], [20]).tolist()
    [25000000.0]
    """

    def __init__(
        self,
        *,
        step_kelvin: float,
        reference_celsius: float,
        step_standard_uncertainty_kelvin: float = math.nan,
        fitted_low_celsius: float = -math.inf,
        fitted_high_celsius: float = math.inf,
    ) -> None:
        law = _core.halving(
            step_kelvin=step_kelvin,
            step_standard_uncertainty_kelvin=step_standard_uncertainty_kelvin,
            fitted_low_celsius=fitted_low_celsius,
            fitted_high_celsius=fitted_high_celsius,
        )
        super().__init__(law, reference_celsius)


class ThermosettingLaw(Law):
    """
    Thermosetting windings, two ranges that meet at 40 °C; its constants are from memory.

    Parameters
    ----------
    reference_celsius : float, default 40
        Temperature that results refer to. [°C]
    relative_standard_uncertainty : float
        Of both constants together; not given, 0.1: a setting without a source.

    Examples
    --------
    >>> round(ThermosettingLaw().to_reference(1e6, 60))
    2251675
    """

    def __init__(self, *, reference_celsius: float = 40, relative_standard_uncertainty: float = math.nan) -> None:
        super().__init__(
            _core.thermosetting(relative_standard_uncertainty=relative_standard_uncertainty), reference_celsius
        )


class ArrheniusLaw(Law):
    """
    Thermally activated conduction.

    Parameters
    ----------
    activation_energy_electronvolt : float
        [eV]
    reference_celsius : float
        Temperature that results refer to. [°C]
    activation_energy_standard_uncertainty_electronvolt : float
        Not given, a tenth: a setting without a source. [eV]
    fitted_low_celsius, fitted_high_celsius : float
        Range that the law was fitted for. [°C]

    Examples
    --------
    >>> law = ArrheniusLaw(activation_energy_electronvolt=1, reference_celsius=40)
    >>> round(law.to_reference(1e9, 20) / 1e6, 3)
    79.801
    """

    def __init__(
        self,
        *,
        activation_energy_electronvolt: float,
        reference_celsius: float,
        activation_energy_standard_uncertainty_electronvolt: float = math.nan,
        fitted_low_celsius: float = -math.inf,
        fitted_high_celsius: float = math.inf,
    ) -> None:
        law = _core.arrhenius(
            activation_energy_electronvolt=activation_energy_electronvolt,
            activation_energy_standard_uncertainty_electronvolt=activation_energy_standard_uncertainty_electronvolt,
            fitted_low_celsius=fitted_low_celsius,
            fitted_high_celsius=fitted_high_celsius,
        )
        super().__init__(law, reference_celsius)


class FactorTableLaw(Law):
    """
    Factors from a table, straight in ln(factor) between its points; no value outside it.

    Parameters
    ----------
    points : sequence of (celsius, factor), or "oil_immersed" or "solid"
        One's own table, temperatures rising; or a shipped one (the solid one is from memory).
    reference_celsius : float, default 20
        Temperature that results refer to. [°C]
    relative_standard_uncertainty : float
        Of ln(factor); not given, 0.1: a setting without a source. Not for a shipped table.

    Examples
    --------
    >>> FactorTableLaw("oil_immersed").to_reference(1200e6, 35)
    3360000000.0
    """

    def __init__(
        self,
        points: Sequence[tuple[float, float]] | str,
        *,
        reference_celsius: float = 20,
        relative_standard_uncertainty: float = math.nan,
    ) -> None:
        if isinstance(points, str):
            shipped = {"oil_immersed": _core.oil_immersed, "solid": _core.solid}
            if points not in shipped:
                raise ValueError(
                    f"points is {points!r}, expected 'oil_immersed', 'solid' or pairs of celsius and factor"
                )
            if not math.isnan(relative_standard_uncertainty):
                raise ValueError("relative_standard_uncertainty belongs to a table of one's own")
            law = shipped[points]()
        else:
            law = _core.factor_table(
                points=[(celsius, factor) for celsius, factor in points],
                relative_standard_uncertainty=relative_standard_uncertainty,
            )
        super().__init__(law, reference_celsius)


class ConductorLaw(Law):
    """
    Metal whose resistance grows in a straight line.

    Parameters
    ----------
    reference_celsius : float
        Temperature that results refer to. [°C]
    tau_kelvin : float, default 234.5
        Copper 234.5, aluminium 225 or 228. [K]
    tau_standard_uncertainty_kelvin : float
        Not given, 0.5 K: a setting without a source. [K]

    Examples
    --------
    >>> round(ConductorLaw(reference_celsius=75).to_reference(1.0, 20), 5)
    1.21611
    """

    def __init__(
        self, *, reference_celsius: float, tau_kelvin: float = 234.5, tau_standard_uncertainty_kelvin: float = math.nan
    ) -> None:
        law = _core.conductor(
            tau_kelvin=tau_kelvin,
            tau_standard_uncertainty_kelvin=tau_standard_uncertainty_kelvin,
            fitted_low_celsius=-math.inf,
            fitted_high_celsius=math.inf,
        )
        super().__init__(law, reference_celsius)


@dataclass(frozen=True)
class LawFit:
    """
    A law from one's own readings, or why there is none.

    Attributes
    ----------
    constant : float
        Step [K] or activation energy [eV]; NaN where no law holds.
    standard_uncertainty : float
        Of the constant, in its unit.
    status : Status
        sound, few_points, or no_law.
    reason : FitReason
        What kept a law from holding.
    chi_squared, degrees_of_freedom : float
        Of the readings about the law.
    """

    constant: float
    standard_uncertainty: float
    status: Status
    reason: FitReason
    chi_squared: float
    degrees_of_freedom: float
    _law: _core.Law

    def law(self, *, reference_celsius: float) -> Law:
        """Make the law, referring to a temperature. ValueError where none holds."""
        if self.status < 0:
            raise ValueError(f"no law holds: {self.reason.name.replace('_', ' ')}")
        return Law(self._law, reference_celsius)


def fit_law(
    resistance: Sequence[Quantity],
    part_celsius: Any,
    *,
    standard_uncertainty_kelvin: Any = math.nan,
    kind: str = "halving",
    least_span_kelvin: float = 10,
    level: float = 0.99,
) -> LawFit:
    """
    Find the step or the activation energy from readings of one part at different temperatures.

    Parameters
    ----------
    resistance : sequence of Quantity
        With standard uncertainties; bounds take part as bounds.
    part_celsius : array_like
        Temperature of the part at each reading. [°C]
    standard_uncertainty_kelvin : float or array_like
        Of these; not given, 2 K. [K]
    kind : {"halving", "arrhenius"}, default "halving"
        Which law.
    least_span_kelvin : float, default 10
        No law from readings that lie closer together; a setting without a source. [K]
    level : float, default 0.99
        Of the test whether the readings scatter too much for any such law.

    Returns
    -------
    LawFit
        "No law holds" is an answer: its status and reason say why.

    Examples
    --------
    >>> from ohmward._quantity import log_quantity
    >>> readings = [log_quantity(ohm, relative_standard_uncertainty=0.05) for ohm in (800e6, 410e6, 98e6)]
    >>> fit = fit_law(readings, [20, 30, 50], standard_uncertainty_kelvin=1)
    >>> round(fit.constant, 1), round(fit.standard_uncertainty, 1)
    (9.9, 0.6)
    >>> fit_law(readings, [20, 21, 22]).reason.name
    'span_too_small'
    """
    kinds = {"halving": _core.LawKind.halving, "arrhenius": _core.LawKind.arrhenius}
    if kind not in kinds:
        raise ValueError(f"kind is {kind!r}, expected 'halving' or 'arrhenius'")
    celsius, u_kelvin = np.broadcast_arrays(
        np.asarray(part_celsius, dtype=np.float64), np.asarray(standard_uncertainty_kelvin, dtype=np.float64)
    )
    if celsius.shape != (len(resistance),):
        raise ValueError("resistance and part_celsius have different lengths")
    law, status, reason, chi_squared, freedom, _, _ = _core.fit_law(
        [q.fields() for q in resistance],
        np.ascontiguousarray(celsius),
        np.ascontiguousarray(u_kelvin),
        kind=kinds[kind],
        least_span_kelvin=least_span_kelvin,
        level=level,
    )
    constant = law.constant
    return LawFit(
        constant,
        constant * law.relative_standard_uncertainty,
        Status(status),
        FitReason(reason),
        chi_squared,
        freedom,
        law,
    )
