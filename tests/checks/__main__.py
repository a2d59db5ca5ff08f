"""Runs the checks against published values and writes docs/checks.md from what they found: `python -m tests.checks`."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.checks.page import PAGE, found_by_check, page, unaccounted
from tests.checks.published import FOUND


def main() -> int:
    """Write the page; 0 when every check held and every published value is accounted for."""
    failed = pytest.main([str(Path(__file__).parent), "-q", "-p", "no:cacheprovider", "--deselect", own_test()])
    if failed:
        return int(failed)
    found = found_by_check(FOUND)
    missing = unaccounted(found)
    if missing:
        print(f"Neither answered nor given a reason, or both: {', '.join(missing)}", file=sys.stderr)
        return 1
    PAGE.parent.mkdir(exist_ok=True)
    PAGE.write_text(page(found), encoding="utf-8")
    print(f"{PAGE.parent.name}/{PAGE.name}: {len(found)} answered")
    return 0


def own_test() -> str:
    """The test of the page itself, which cannot hold before the page is written."""
    return "tests/checks/test_checks_page.py"


if __name__ == "__main__":
    sys.exit(main())
