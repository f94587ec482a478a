# Each submodule (a room) has its own stub beside this one.
__version__: str
