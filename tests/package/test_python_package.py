"""The source distribution holds what it needs, and installs on a machine with a compiler and PyPI only."""

import os
import re
import subprocess
import sys
import tarfile
import venv
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
VERSION = re.search(r"project\(ohmward VERSION ([0-9.]+)", (ROOT / "CMakeLists.txt").read_text(encoding="utf-8"))[1]
IMPORT_SECOND = 0.12  # above importing NumPy


def run(*command, **options):
    done = subprocess.run([str(part) for part in command], capture_output=True, text=True, check=False, **options)
    assert done.returncode == 0, f"{' '.join(map(str, command))}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@pytest.fixture(scope="module")
def sdist(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sdist")
    run(sys.executable, "-m", "build", "--sdist", "--no-isolation", "--outdir", folder, ROOT)
    (archive,) = folder.iterdir()
    return archive


@pytest.fixture(scope="module")
def names(sdist):
    with tarfile.open(sdist) as archive:
        return {name.partition("/")[2] for name in archive.getnames()}


@pytest.fixture(scope="module")
def installed(sdist, tmp_path_factory):
    """Python of an empty environment with the package in it, and the log of the installation."""
    folder = tmp_path_factory.mktemp("bare")
    with tarfile.open(sdist) as archive:  # a folder: pip would keep what it builds from an archive and take that again
        archive.extractall(folder, filter="data")
    venv.create(folder / "venv", with_pip=True)
    python = folder / "venv" / "bin" / "python"
    bare = {key: value for key, value in os.environ.items() if not key.startswith(("CMAKE_", "PYTHON", "VIRTUAL_ENV"))}
    bare["PATH"] = "/usr/local/bin:/usr/bin:/bin"  # a compiler; CMake and Ninja come from PyPI where they are missing
    bare["CCACHE_DISABLE"] = "1"
    ignore = "--config-settings=cmake.define.OHMWARD_IGNORE_SYSTEM_HEADERS=ON"
    command = [python, "-m", "pip", "install", "--verbose", ignore, folder / f"ohmward-{VERSION}"]
    done = subprocess.run(
        command, cwd=folder, env=bare, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False
    )
    assert done.returncode == 0, done.stdout
    return python, done.stdout


def ask(python, code, tmp_path):
    return run(python, "-I", "-W", "error", "-c", code, cwd=tmp_path).strip()


def test_version(sdist):
    assert sdist.name == f"ohmward-{VERSION}.tar.gz"


@pytest.mark.parametrize(
    "name",
    [
        "CMakeLists.txt", "LICENSE", "README.md", "pyproject.toml", "cpp/CMakeLists.txt", "cpp/cmake/OhmwardRoom.cmake",
        "cpp/include/ohmward/core/status.hpp", "cpp/src/core/errors.cpp", "python/CMakeLists.txt",
        "python/bindings/module.cpp", "python/ohmward/__init__.py", "python/ohmward/py.typed", "datasets/sources.toml",
    ],
)  # fmt: skip
def test_sdist_holds(name, names):
    assert name in names


def test_sdist_holds_nothing_else(names):
    folders = {name.split("/")[0] for name in names if "/" in name}
    assert folders == {"cpp", "python", "datasets"}
    assert not any(name.endswith((".so", ".pyc", ".ipynb")) or "/build/" in name for name in names)


def test_headers_come_from_pypi(installed):
    _, log = installed
    assert re.search(r"Eigen from \S*cmeel\.prefix/include/eigen3", log)
    assert re.search(r"Boost\.Math from \S*libboost_headers/include", log)


def test_installed_package_works(installed, tmp_path):
    python, _ = installed
    assert ask(python, "import ohmward; print(ohmward.__version__)", tmp_path) == VERSION
    status = "from ohmward._core import core; print(core.status_text(core.Status.missing_input))"
    assert ask(python, status, tmp_path) == "an input is missing"


def test_installed_files(installed, tmp_path):
    """Data, types and licence are there; no header or archive of the C++ library lies about."""
    python, _ = installed
    code = "import importlib.metadata as m; print(*m.files('ohmward'), sep='\\n')"
    files = ask(python, code, tmp_path).splitlines()
    assert {"ohmward/py.typed", "ohmward/_core/core.pyi", "ohmward/_datasets/sources.toml"} <= set(files)
    assert {name.split("/")[0] for name in files} == {"ohmward", f"ohmward-{VERSION}.dist-info"}
    assert not any(name.endswith((".a", ".hpp", ".cmake")) for name in files)
    assert any(name.endswith("LICENSE") for name in files)


def test_optional_packages_are_optional(installed, tmp_path):
    python, _ = installed
    code = "import sys, ohmward; print({'pandas', 'polars', 'pyarrow', 'matplotlib', 'scipy'} & set(sys.modules))"
    assert ask(python, code, tmp_path) == "set()"


def test_import_is_quick(installed, tmp_path):
    python, _ = installed
    code = "import time, numpy; a = time.perf_counter(); import ohmward; print(time.perf_counter() - a)"
    fastest = min(float(ask(python, code, tmp_path)) for _ in range(5))
    assert fastest <= IMPORT_SECOND, f"importing takes {fastest:.3f} s on top of NumPy"
