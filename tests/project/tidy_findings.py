"""Print what clang-tidy found in the project's own files; 1 where it found anything.

    python tests/project/tidy_findings.py build/tidy/findings.txt

Headers that are not ours are reported too and do not count.
"""

import re
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FINDING = re.compile(r"^(?P<file>\S+?):(?P<place>\d+:\d+): (?:error|warning): (?P<what>.*\[[\w.,-]+\])$", re.MULTILINE)


def findings(text: str) -> set[str]:
    """Return every finding in the project's own files, once."""
    found = set()
    for match in FINDING.finditer(text):
        file = match["file"].removeprefix(f"{ROOT}/")
        if not file.startswith(("/", "build/")):
            found.add(f"{file}:{match['place']}: {match['what']}")
    return found


def main() -> int:
    """Print the findings."""
    found = findings(Path(sys.argv[1]).read_text(encoding="utf-8"))
    for line in sorted(found):
        print(line)
    print(f"{len(found)} findings")
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main())
