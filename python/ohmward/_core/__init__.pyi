# Each submodule (a room) has its own stub beside this one.
from ohmward._core import (
    assessment as assessment,
)
from ohmward._core import (
    battery as battery,
)
from ohmward._core import (
    conformity as conformity,
)
from ohmward._core import (
    core as core,
)
from ohmward._core import (
    formula as formula,
)
from ohmward._core import (
    instruments as instruments,
)
from ohmward._core import (
    numerics as numerics,
)
from ohmward._core import (
    readings as readings,
)
from ohmward._core import (
    temperature as temperature,
)
from ohmward._core import (
    uncertainty as uncertainty,
)

__version__: str
