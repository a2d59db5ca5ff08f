"""The page's TypeScript run under Node: questions in, answers out, one JSON line each."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent


def node() -> str:
    """Node as the project installs it, in the folder of the running Python."""
    beside = Path(sys.executable).parent / "node"
    found = str(beside) if beside.exists() else shutil.which("node")
    assert found, "Node is installed with the test packages"
    return found


def answered(script: str, questions: Iterable[Any]) -> list[str]:
    """The answers of a script of this folder, as JSON text, in order."""
    asked = "".join(json.dumps(question) + "\n" for question in questions)
    done = subprocess.run(
        [node(), "--disable-warning=ExperimentalWarning", str(HERE / script)],
        input=asked, capture_output=True, text=True, check=False, timeout=1200,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout.splitlines()


def worked_in_typescript(quotes: Iterable[dict[str, Any]]) -> list[str]:
    """The answers of the TypeScript twin to quotes, as JSON text, in order."""
    return answered("quote_lines.ts", quotes)


def rounded_in_typescript(questions: Iterable[tuple[str, str, int]]) -> list[str]:
    """Each (way, value, places) rounded by the page's arithmetic."""
    return [json.loads(answer) for answer in answered("rounding_lines.ts", questions)]
