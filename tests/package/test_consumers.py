"""Other projects can use the library: from an installed tree, and as a subfolder of their own build."""

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BUILD = Path(os.environ.get("OHMWARD_BUILD", ROOT / "build" / "dev"))


def run(*command, **options):
    done = subprocess.run([str(part) for part in command], capture_output=True, text=True, check=False, **options)
    assert done.returncode == 0, f"{' '.join(map(str, command))}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@pytest.fixture(scope="module")
def installed(tmp_path_factory):
    prefix = tmp_path_factory.mktemp("installed")
    run("cmake", "--install", BUILD, "--prefix", prefix)
    return prefix


def build_and_run(consumer, folder, *options):
    """Build a copy of a consumer outside the project, and run it."""
    source = folder / "source"
    shutil.copytree(ROOT / "tests" / "package" / "consumers", source)
    run("cmake", "-G", "Ninja", "-S", source / consumer, "-B", folder / "build", *options)
    run("cmake", "--build", folder / "build")
    run(folder / "build" / "consumer")


def test_find_package(installed, tmp_path):
    build_and_run("installed", tmp_path, f"-DCMAKE_PREFIX_PATH={installed}")


def test_add_subdirectory(tmp_path):
    build_and_run("subdirectory", tmp_path, f"-DOHMWARD_SOURCE={ROOT}")


def test_another_minor_version_is_refused(installed, tmp_path):
    folder = tmp_path / "consumer"
    folder.mkdir()
    (folder / "CMakeLists.txt").write_text(
        "cmake_minimum_required(VERSION 3.25)\nproject(consumer LANGUAGES CXX)\nfind_package(ohmward 0.0 CONFIG)\n"
        'if(ohmward_FOUND)\n  message(FATAL_ERROR "accepted")\nendif()\n',
        encoding="utf-8",
    )
    run("cmake", "-G", "Ninja", "-S", folder, "-B", tmp_path / "build", f"-DCMAKE_PREFIX_PATH={installed}")


def test_every_public_header_is_installed(installed):
    def headers(include):
        return {path.relative_to(include) for path in include.rglob("*") if path.suffix in (".hpp", ".h")}

    assert headers(installed / "include") == headers(ROOT / "cpp" / "include")


def test_installed_targets_name_no_path_of_this_machine(installed):
    """An installed tree can be moved; it needs neither the sources nor Eigen and Boost."""
    for path in installed.rglob("*.cmake"):
        text = path.read_text(encoding="utf-8")
        assert str(ROOT) not in text, path
        assert not re.search(r"ohmward_(eigen|boost_math|options)", text), path
