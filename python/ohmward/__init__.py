"""Ohmward turns collected workshop readings into defensible statements."""

from ohmward._core import __version__

__all__ = ["__version__"]
