# Each submodule (a room) has its own stub beside this one.
from . import (
    assessment as assessment,
)
from . import (
    battery as battery,
)
from . import (
    conformity as conformity,
)
from . import (
    core as core,
)
from . import (
    fleet as fleet,
)
from . import (
    formula as formula,
)
from . import (
    highvoltage as highvoltage,
)
from . import (
    instruments as instruments,
)
from . import (
    insulation as insulation,
)
from . import (
    logging as logging,
)
from . import (
    numerics as numerics,
)
from . import (
    readings as readings,
)
from . import (
    record as record,
)
from . import (
    screening as screening,
)
from . import (
    statistics as statistics,
)
from . import (
    temperature as temperature,
)
from . import (
    uncertainty as uncertainty,
)

__version__: str
