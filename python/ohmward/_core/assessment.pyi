from collections.abc import Mapping
from enum import IntEnum
from typing import Any

from numpy.typing import NDArray

from ohmward._core.core import Censoring, QuantityKind
from ohmward._core.highvoltage import DeadPolicy
from ohmward._core.instruments import Instruments
from ohmward._core.readings import Table
from ohmward._core.temperature import Law

verdict_names: tuple[str, ...]
undecided_names: tuple[str, ...]
reason_texts: tuple[str, ...]
action_texts: tuple[str, ...]
action_names: tuple[str, ...]
authority_names: tuple[str, ...]
scope_names: tuple[str, ...]

class Authority(IntEnum):
    regulation = 0
    standard = 1
    workshop = 2
    maker = 3

class Repeats(IntEnum):
    last = 0
    mean = 1
    worst = 2

class LimitEntry:
    id: str
    quantity: QuantityKind
    applies_to: Mapping[str, str]
    lower: float
    upper: float
    per_volt: float
    working_volt: float
    strict: bool
    reference_celsius: float
    required_test_voltage_volt: float
    required_test_ampere: float
    late_second: float
    early_second: float
    repeats: Repeats | None
    guard_factors: tuple[float, float] | None
    authority: Authority
    whole: bool
    source: str
    edition: str
    valid_from_day: int
    def __init__(self) -> None: ...
    @property
    def lower_value(self) -> float: ...
    def validate(self) -> None: ...

class PartKind:
    id: str
    law: Law
    capacitance_low_farad: float
    capacitance_high_farad: float
    allowed_test_voltage_volt: float
    network: bool
    whole: bool
    source: str
    def __init__(self) -> None: ...

class PartKinds:
    def __init__(self, kinds: list[PartKind]) -> None: ...

class Settings:
    missing_low_celsius: float
    missing_high_celsius: float
    law: Law
    overrides_law: bool
    threads: int
    dead: DeadPolicy
    repeats: Repeats
    class_bound: float
    def __init__(self) -> None: ...

class Results:
    @property
    def rows(self) -> int: ...
    @property
    def derived(self) -> list[tuple[int, list[int], int, float, float]]: ...
    def columns(self) -> dict[str, NDArray[Any]]: ...

class Judging:
    def __init__(
        self, *, instruments: Instruments, limits: list[LimitEntry], part_kinds: PartKinds, settings: Settings
    ) -> None: ...
    def assess(self, table: Table, *, marks: NDArray[Any] | None, meter_factor: NDArray[Any] | None) -> Results: ...
    def explain(
        self, table: Table, row: int, *, marks: NDArray[Any] | None, meter_factor: NDArray[Any] | None
    ) -> list[tuple[str, str]]: ...
    def runs(self, table: Table) -> list[dict[str, Any]]: ...
    def pairs(self, table: Table) -> list[tuple[int, int, dict[str, Any], str]]: ...

def shown_value(value: float, quantity: QuantityKind) -> str: ...
def shown_quantity(
    *, value: float, standard_uncertainty: float, censoring: Censoring, quantity: QuantityKind
) -> tuple[str, str]: ...

condition_table: dict[int, tuple[str, str]]
