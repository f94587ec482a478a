"""Every public module, class and function is documented, and its examples run."""

import doctest
import importlib
import inspect
import pkgutil

import pytest

import ohmward


def modules():
    yield ohmward
    for found in pkgutil.walk_packages(ohmward.__path__, "ohmward."):
        if not found.name.startswith("ohmward._core"):
            yield importlib.import_module(found.name)


MODULES = sorted(modules(), key=lambda module: module.__name__)
EXAMPLES = [
    example
    for module in MODULES
    for example in doctest.DocTestFinder(exclude_empty=True).find(module)
    if example.examples
]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.name)
def test_examples_run(example):
    report = []
    flags = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS
    doctest.DocTestRunner(optionflags=flags).run(example, out=report.append)
    assert not report, "".join(report)


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_public_names_are_documented(module):
    assert inspect.getdoc(module)
    for name in getattr(module, "__all__", []):
        value = getattr(module, name)
        if inspect.isclass(value) or callable(value):
            assert inspect.getdoc(value), f"{module.__name__}.{name} has no docstring"
