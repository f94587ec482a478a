"""What every test of the Python package may use."""

import os
import sys

from check_values import CheckValue, check_values

# Tests that start a Python of their own find the package as this one does.
os.environ["PYTHONPATH"] = os.pathsep.join(path for path in sys.path if path)

__all__ = ["CheckValue", "check_values"]
