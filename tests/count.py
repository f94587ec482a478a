"""Print how many tests passed and failed, summed over the JUnit reports below a folder."""

import argparse
import sys
from pathlib import Path
from xml.etree import ElementTree as ET


def outcomes(report: Path) -> tuple[int, int, int]:
    """Return how many test cases of one report passed, failed and were skipped."""
    own_reports = {path.stem.removeprefix("cpp-") for path in report.parent.glob("cpp-*.xml")}
    passed = failed = skipped = 0
    for case in ET.parse(report).iter("testcase"):
        if report.name == "ctest.xml" and case.get("name") in own_reports:
            # The executable's own report counts its cases; without a failure there, ctest's word decides (a crash).
            own = ET.parse(report.parent / f"cpp-{case.get('name')}.xml")
            if case.find("failure") is None or any(own.iter("failure")):
                continue
        if case.find("failure") is not None or case.find("error") is not None:
            failed += 1
        elif case.find("skipped") is not None or case.get("status") in ("notrun", "disabled"):
            skipped += 1
        else:
            passed += 1
    return passed, failed, skipped


def main() -> int:
    """Sum the reports and the stages that have none; at least one failure where the caller saw one."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--passed", type=int, default=0, help="stages without a report that passed")
    parser.add_argument("--failed", type=int, default=0, help="stages that failed, with or without a report")
    arguments = parser.parse_args()
    counts = [outcomes(report) for report in sorted(arguments.folder.rglob("*.xml"))]
    passed, failed, skipped = (sum(column) for column in zip(*counts, strict=True)) if counts else (0, 0, 0)
    passed += arguments.passed
    failed = max(failed, arguments.failed)
    print(f"{passed} passed, {failed} failed" + (f", {skipped} skipped" if skipped else ""))
    return 0 if failed == 0 and passed > 0 else 1


if __name__ == "__main__":
    sys.exit(main())
