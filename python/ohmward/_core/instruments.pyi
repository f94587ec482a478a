from collections.abc import Mapping
from enum import IntEnum

from ohmward._core.core import Censoring, QuantityKind, Status

class StatementKind(IntEnum):
    bound = 0
    k = 1
    level = 2

class Range:
    quantity: QuantityKind
    test_voltage_volt: float
    low: float
    high: float
    display_step: float
    reading_percent: float
    counts: float
    range_percent: float
    gain_share: float
    def __init__(self) -> None: ...

class CertificatePoint:
    quantity: QuantityKind
    test_voltage_volt: float
    value: float
    correction: float
    expanded_uncertainty: float
    coverage_factor: float
    def __init__(self) -> None: ...

class Instrument:
    id: str
    kind: str
    input_ohm: float
    source_ampere: float
    valid_from_day: int
    valid_until_day: int
    statement: tuple[StatementKind, float]
    temperature_coefficient: float
    reads_zero_below: float
    correction: float
    ranges: list[Range]
    certificate: list[CertificatePoint]
    def __init__(self) -> None: ...
    def validate(self) -> None: ...
    def ceiling(self, quantity: QuantityKind, test_voltage_volt: float) -> float: ...
    def quantity(
        self,
        *,
        quantity: QuantityKind,
        value: float,
        censoring: Censoring,
        resolution: float,
        test_voltage_volt: float,
        ambient_celsius: float,
        decision_value: float,
    ) -> tuple[float, Censoring, Status, bool, Mapping[str, float], int]: ...

class Instruments:
    def __init__(self, instruments: list[Instrument]) -> None: ...
    def find(self, id: str, day: int) -> int: ...
    def all(self) -> list[Instrument]: ...
