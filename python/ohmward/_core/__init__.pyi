# Each submodule (a room) has its own stub beside this one.
from . import (
    assessment as assessment,
    battery as battery,
    conformity as conformity,
    core as core,
    fleet as fleet,
    formula as formula,
    highvoltage as highvoltage,
    instruments as instruments,
    insulation as insulation,
    numerics as numerics,
    readings as readings,
    record as record,
    screening as screening,
    temperature as temperature,
    uncertainty as uncertainty,
)

__version__: str
