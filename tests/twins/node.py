"""The page's TypeScript run under Node: quotes in, worked quotes out, one JSON line each."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

SCRIPT = Path(__file__).parent / "quote_lines.ts"


def node() -> str:
    """Node as the project installs it, in the folder of the running Python."""
    beside = Path(sys.executable).parent / "node"
    found = str(beside) if beside.exists() else shutil.which("node")
    assert found, "Node is installed with the test packages"
    return found


def worked_in_typescript(quotes: Iterable[dict[str, Any]]) -> list[str]:
    """The answers of the TypeScript twin, as JSON text, in order."""
    asked = "\n".join(json.dumps(quote) for quote in quotes) + "\n"
    done = subprocess.run(
        [node(), "--disable-warning=ExperimentalWarning", str(SCRIPT)],
        input=asked, capture_output=True, text=True, check=False, timeout=1200,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout.splitlines()
