"""What every test of the Python package may use."""

from check_values import CheckValue, check_values

__all__ = ["CheckValue", "check_values"]
