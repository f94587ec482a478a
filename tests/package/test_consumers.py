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


def build(consumer, folder, *options):
    """Build a copy of a consumer outside the project; the folder that holds its programs."""
    source = folder / "source"
    shutil.copytree(ROOT / "tests" / "package" / "consumers", source)
    run("cmake", "-G", "Ninja", "-S", source / consumer, "-B", folder / "build", *options)
    run("cmake", "--build", folder / "build")
    return folder / "build"


def test_find_package(installed, tmp_path):
    run(build("installed", tmp_path, f"-DCMAKE_PREFIX_PATH={installed}") / "consumer")


def test_add_subdirectory(tmp_path):
    programs = build("subdirectory", tmp_path, f"-DOHMWARD_SOURCE={ROOT}")
    run(programs / "consumer")
    assert "2.3 GOhm: pass" in run(programs / "consumer_c")


def test_cpp_without_exceptions_and_without_its_library(installed, tmp_path):
    consumer = build("no_exceptions", tmp_path, f"-DCMAKE_PREFIX_PATH={installed}") / "consumer"
    assert run(consumer) == "R600/R60 1.2621, sound\n"
    assert "libstdc++" not in run("ldd", consumer)


def test_find_package_in_c(installed, tmp_path):
    """A project whose only language is C; with what is shipped beside the library."""
    share = installed / "share" / "ohmward"
    programs = build("installed_c", tmp_path, f"-DCMAKE_PREFIX_PATH={installed}", f"-DOHMWARD_SHARE={share}")
    said = run(programs / "consumer")
    assert said.startswith("R600/R60 1.2621, sound\n2.3 GOhm: pass\nrefused: ")
    stream = (share / "example" / "recorded_stream.csv").read_text(encoding="utf-8")
    display = (ROOT / "tests" / "package" / "logger_display.txt").read_text(encoding="utf-8")
    assert run(programs / "logger", input=stream) == display
    vectors = (share / "vectors" / "vectors.txt").read_text(encoding="utf-8")
    assert run(programs / "run_vectors", input=vectors).endswith(" numbers compared, 0 differ\n")
    assert "libstdc++" not in run("ldd", programs / "logger")


def test_pkg_config(installed, tmp_path):
    """The tree may lie anywhere: moved before it is used."""
    moved = tmp_path / "moved"
    shutil.copytree(installed, moved, symlinks=True)
    found = next(moved.rglob("ohmward_c.pc"))
    environment = os.environ | {"PKG_CONFIG_PATH": str(found.parent)}
    flags = run("pkg-config", "--cflags", "--libs", "ohmward_c", env=environment).split()
    source = ROOT / "tests" / "package" / "consumers" / "main.c"
    consumer = tmp_path / "consumer"
    strict = ("-std=c99", "-pedantic", "-Wall", "-Wextra", "-Wc++-compat", "-Werror")
    run("gcc", *strict, source, *flags, f"-Wl,-rpath,{found.parent.parent}", "-o", consumer)
    assert "2.3 GOhm: pass" in run(consumer)
    assert "libohmward_c.so.1 =>" in run("ldd", consumer)


def example(page, language):
    """Return the first example of a language on a page."""
    return re.search(rf"```{language}\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)[1]


def test_the_vendors_c_example(installed, tmp_path):
    code = example(installed / "share" / "ohmward" / "vendor.md", "c")
    include, body = code.split("\n", 1)
    source = tmp_path / "example.c"
    source.write_text(f"{include}\n#include <stdio.h>\nint main(void) {{\n{body}return 0;\n}}\n", encoding="utf-8")
    library = next(installed.rglob("libohmward_c_embedded.a"))
    program = tmp_path / "example"
    run("gcc", "-std=c99", "-Wall", "-Werror", f"-I{installed}/include", source, library, "-lm", "-o", program)
    assert run(program) == "outside the curve; no value\n"  # one sample: the ratio's late time was not read yet


def test_the_readmes_cpp_example(installed, tmp_path):
    include, body = example(ROOT / "README.md", "cpp").split("\n", 1)
    source = tmp_path / "example.cpp"
    before, after = body.split("log.push", 1)
    source.write_text(
        f"{include}\nint main() {{\n{before}for (double t = 1, r = 1e9; t <= 600; t += 1) log.push{after}"
        "return index.value == 1 ? 0 : 1;\n}\n",
        encoding="utf-8",
    )
    flags = ("-std=c++20", "-ffp-contract=off", "-DOHMWARD_CONTRACTION_IS_OFF", "-Wno-unused-result")
    run("g++", *flags, f"-I{installed}/include", source, "-o", tmp_path / "example")
    run(tmp_path / "example")


NEEDED_FOR_BARE_METAL = ("arm-none-eabi-g++", "qemu-system-arm")


@pytest.mark.skipif(
    not all(map(shutil.which, NEEDED_FOR_BARE_METAL)), reason="needs " + ", ".join(NEEDED_FOR_BARE_METAL)
)
def test_bare_metal(installed, tmp_path):
    script = shutil.copy(ROOT / "tests" / "package" / "consumers" / "bare_metal" / "build.sh", tmp_path)
    assert " numbers compared, 0 differ" in run("sh", script, installed, tmp_path / "work")


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
