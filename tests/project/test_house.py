"""What keeps the house tidy: every test runs, notebooks carry no outputs, the top level is fixed."""

import json
import re

import pytest
from project_files import ROOT, files, matching, text

TOP_LEVEL = {"cpp", "python", "notebooks", "tests", "datasets", "CMakeLists.txt", "README.md", "DEVELOPERS.md"}
EXPECTED_AT_A_ROOT = {
    ".ci", ".clang-format", ".clang-tidy", ".gitattributes", ".gitignore",
    "CHANGELOG.md", "CMakePresets.json", "LICENSE", "pyproject.toml",
}  # fmt: skip
LARGEST_FILE_BYTE = 2_000_000


def test_top_level():
    assert {path.parts[0] for path in files()} <= TOP_LEVEL | EXPECTED_AT_A_ROOT


BUILT = matching("cpp/src/**.cpp", "cpp/benchmarks/**.cpp", "tests/cpp/**.cpp", "tests/c/**", "tests/fuzz/**.cpp")


@pytest.mark.parametrize("path", [path for path in BUILT if path.suffix in (".c", ".cpp")], ids=str)
def test_every_file_is_in_a_cmake_list(path):
    lists = [folder / "CMakeLists.txt" for folder in path.parents if (ROOT / folder / "CMakeLists.txt").is_file()]
    assert any(re.search(rf"(?<![\w-]){re.escape(path.name)}\b", text(listing)) for listing in lists)


def test_every_binding_belongs_to_a_room():
    listed = re.search(r"foreach\(room ([^)]*)\)", (ROOT / "python/CMakeLists.txt").read_text(encoding="utf-8"))[1]
    bound = {path.stem.removeprefix("bind_") for path in matching("python/bindings/bind_*.cpp")}
    assert bound <= set(listed.split())


@pytest.mark.parametrize("path", matching("tests/python/**.py", "tests/project/**.py", "tests/package/*.py"), ids=str)
def test_python_tests_are_collected(path):
    holds_tests = re.search(r"^(async )?def test_", text(path), re.MULTILINE)
    assert not holds_tests or path.name.startswith("test_")


@pytest.mark.parametrize("path", matching("notebooks/**.ipynb"), ids=str)
def test_notebooks_have_no_outputs(path):
    for cell in json.loads(text(path))["cells"]:
        assert not cell.get("outputs")
        assert cell.get("execution_count") is None


def test_no_large_files():
    large = [path for path in files() if (ROOT / path).stat().st_size > LARGEST_FILE_BYTE]
    assert not large


# Where the work is done and by whom is no part of the project.
UNWANTED = [
    r"/work\b", r"/tmp/ow\b", r"\bshared/", r"\bfacts/", r"\bfacts file", r"\bissue [A-I]\b", r"\bissue #?\d",
    r"\bC[E]O\b", r"\bseed d[o]cument", r"\bL[L]M\b", r"\bcla" + "ude",
    r"\banth" + "ropic", r"\bcopi" + "lot\b", r"\bchat" + "gpt",
]  # fmt: skip
TEXT_SUFFIXES = {
    ".c", ".cmake", ".cpp", ".csv", ".h", ".hpp", ".html", ".ipynb", ".json", ".md", ".py", ".pyi", ".sh", ".svg",
    ".toml", ".txt", "",
}  # fmt: skip
OWN_FILE = "tests/project/test_house.py"


def is_text(path):
    return path.suffix in TEXT_SUFFIXES and path.as_posix() != OWN_FILE and "corpus" not in path.as_posix()


@pytest.mark.parametrize("path", [path for path in files() if is_text(path)], ids=str)
def test_no_word_about_the_workplace(path):
    found = re.search("|".join(UNWANTED), text(path), re.IGNORECASE)
    assert not found, found[0]
