"""The real server as its own process on a port of its own, with a database that a test may keep across restarts."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

ROOT = Path(__file__).parents[1]


def free_port() -> int:
    """A port that nothing listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class DemoServer:
    """The demo workshop served; it can be stopped and started again on the same port and database."""

    def __init__(self, database: str, log: Path) -> None:
        self.database = database
        self.log = log
        self.port = free_port()
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        """Where it listens."""
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Starts it and waits until it is ready."""
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "server", "serve", "--demo", "--port", str(self.port), "--database", self.database],
                cwd=ROOT, stdout=log, stderr=log, start_new_session=True,
            )  # fmt: skip
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline:
            try:
                with urllib.request.urlopen(f"{self.url}/readyz", timeout=2) as reply:
                    if reply.status == 200:
                        return
            except OSError:
                assert self.process.poll() is None, self.log.read_text()[-2000:]
                time.sleep(0.1)
        raise AssertionError("the server did not become ready: " + self.log.read_text()[-2000:])

    def stop(self, how: int = signal.SIGTERM) -> None:
        """Stops it and its workers."""
        if self.process is not None and self.process.poll() is None:
            os.killpg(self.process.pid, how)
            self.process.wait(20)
        self.process = None
