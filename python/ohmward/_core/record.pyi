from collections.abc import Sequence
from enum import IntEnum
from typing import Any

class Kind(IntEnum):
    reading = 0
    meter_check = 1
    evidence = 2
    left_out = 3

unplanned: int

def usual_weight(check: str) -> int: ...
def judge(
    *,
    plan: Sequence[tuple[str, int, bool]],
    entries: Sequence[tuple[int, Kind, int, int, bool, bool, bool, bool]],
) -> dict[str, Any]: ...
