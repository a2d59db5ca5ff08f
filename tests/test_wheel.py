"""An installed Tinwright carries the files that its server reads from beside its packages."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]
DEMO = (ROOT / "server" / "services" / "demo.py").read_text(encoding="utf-8")
WHEEL = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["hatch"]["build"]["targets"][
    "wheel"
]


def test_every_file_the_demo_is_filled_from_goes_into_the_wheel() -> None:
    read = {f"fixtures/workshop/{name}" for name in re.findall(r'FIXTURES / "([^"]+)"', DEMO)}
    assert len(read) >= 3
    assert {name: name for name in read} == WHEEL["force-include"]
    assert all((ROOT / name).is_file() for name in read)
