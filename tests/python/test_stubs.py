"""The hand-written stubs of the compiled module name exactly what it holds."""

import ast
from enum import IntEnum
from pathlib import Path

import pytest

from ohmward import _core

STUBS = Path(__file__).resolve().parents[2] / "python" / "ohmward" / "_core"
ROOMS = sorted(path.stem for path in STUBS.glob("*.pyi") if path.stem != "__init__")


def public(names):
    return {name for name in names if not name.startswith("_") or name == "__version__"}


def defined(body):
    """Names that a stub's module or class body defines."""
    names = set()
    for node in body:
        if isinstance(node, ast.ClassDef | ast.FunctionDef):
            names.add(node.name)
        elif isinstance(node, ast.AnnAssign):
            names.add(node.target.id)
        elif isinstance(node, ast.Assign):
            names.update(target.id for target in node.targets)
    return public(names)


def stub(name):
    return ast.parse((STUBS / f"{name}.pyi").read_text(encoding="utf-8"))


def test_package_stub():
    assert defined(stub("__init__").body) | set(ROOMS) == public(vars(_core))


@pytest.mark.parametrize("room", ROOMS)
def test_room_stub(room):
    tree = stub(room)
    module = getattr(_core, room)
    assert defined(tree.body) == public(vars(module))
    for node in tree.body:
        if isinstance(node, ast.ClassDef):
            actual = getattr(module, node.name)
            assert isinstance(actual, type), node.name
            assert defined(node.body) == public(vars(actual)), node.name
            if issubclass(actual, IntEnum):
                values = {item.targets[0].id: ast.literal_eval(item.value) for item in node.body}
                assert values == {member.name: member.value for member in actual}, node.name
