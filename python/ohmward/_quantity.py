"""A value with its standard uncertainty in parts, as the compiled rooms hand it over."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from ohmward._core.core import Censoring, Status

__all__ = ["Quantity", "log_quantity"]

Fields = tuple[float, bool, int, int, dict[str, float], float]


@dataclass(frozen=True)
class Quantity:
    """
    A value with its standard uncertainty in parts.

    Attributes
    ----------
    value : float
        In SI units; for a censored quantity its bound; NaN where there is none.
    on_log_scale : bool
        The parts are those of ``ln(value)``.
    censoring : Censoring
        exact, above, below or overload.
    status : Status
        Negative: no value.
    parts : mapping of str to float
        Independent parts by name: reading, gain, temperature, law, ...
    degrees_of_freedom : float
        Of the standard uncertainty.

    Examples
    --------
    >>> ratio = Quantity(value=2.1, on_log_scale=True, censoring=Censoring.above, status=Status.bound_only,
    ...                  parts={"reading": 0.03, "gain": 0.04})
    >>> ratio.standard_uncertainty
    0.05
    >>> print(ratio)
    at least 2.1 (u 5 %, only a bound is known)
    """

    value: float
    on_log_scale: bool = False
    censoring: Censoring = Censoring.exact
    status: Status = Status.sound
    parts: Mapping[str, float] = field(default_factory=dict)
    degrees_of_freedom: float = math.inf

    @property
    def standard_uncertainty(self) -> float:
        """All parts in quadrature, on the quantity's scale."""
        return math.hypot(*self.parts.values())

    def fields(self) -> Fields:
        """Return what the compiled module takes."""
        return (
            self.value,
            self.on_log_scale,
            int(self.censoring),
            int(self.status),
            dict(self.parts),
            self.degrees_of_freedom,
        )

    def __str__(self) -> str:
        """One line for people."""
        from ohmward._core.core import status_text

        if self.status < 0:
            return f"no value ({status_text(int(self.status))})"
        bound = {Censoring.above: "at least ", Censoring.below: "at most "}.get(self.censoring, "")
        u = self.standard_uncertainty
        shown = f"u {100 * u:.2g} %" if self.on_log_scale else f"u {u:.2g}"
        doubt = "" if self.status == 0 else f", {status_text(int(self.status))}"
        return f"{bound}{self.value:.4g} ({shown}{doubt})"


def from_fields(fields: Fields) -> Quantity:
    """Make a Quantity of what the compiled module returns."""
    value, on_log_scale, censoring, status, parts, degrees_of_freedom = fields
    return Quantity(value, on_log_scale, Censoring(censoring), Status(status), parts, degrees_of_freedom)


def log_quantity(
    value: float,
    *,
    relative_standard_uncertainty: float = math.nan,
    common_relative_standard_uncertainty: float = 0.0,
    censoring: Censoring = Censoring.exact,
) -> Quantity:
    """
    Make a quantity on the log scale, such as an insulation resistance.

    Parameters
    ----------
    value : float
        The value, or the bound of a censored one.
    relative_standard_uncertainty : float
        Independent from reading to reading; 0.05 is 5 %.
    common_relative_standard_uncertainty : float
        Of the gain that readings on one range of one meter share.
    censoring : Censoring
        What the value is.

    Returns
    -------
    Quantity

    Examples
    --------
    >>> reading = log_quantity(2.3e9, relative_standard_uncertainty=0.03, common_relative_standard_uncertainty=0.04)
    >>> reading.standard_uncertainty
    0.05
    """
    status = Status.missing_input if math.isnan(value) else Status.sound
    if status == Status.sound and censoring != Censoring.exact:
        status = Status.bound_only
    parts = {"reading": relative_standard_uncertainty, "gain": common_relative_standard_uncertainty}
    return Quantity(value, True, censoring, status, parts)


MISSING = Quantity(math.nan, True, Censoring.exact, Status.missing_input)
