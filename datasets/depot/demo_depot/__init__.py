"""The invented depot: forty electric refuse trucks and sweepers and their stationary plant, over two years."""

from demo_depot.calibration import CalibrationRows, calibration_rows
from demo_depot.generation import generate
from demo_depot.table import COLUMNS, Depot, Reading, Truth

__all__ = ["COLUMNS", "CalibrationRows", "Depot", "Reading", "Truth", "calibration_rows", "generate"]
