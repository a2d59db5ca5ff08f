"""A line of a benchmark and how it is timed."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """A measurement beside its baseline, both in seconds; `note` says what was done and how much of it."""

    name: str
    ours_s: float
    baseline_s: float
    note: str

    def __str__(self) -> str:
        ratio = self.ours_s / self.baseline_s
        return f"{self.name:<44} {self.ours_s * 1000:>10.2f} ms {self.baseline_s * 1000:>10.2f} ms {ratio:>8.2f}  {self.note}"


def best(work: Callable[[], object], rounds: int = 5) -> float:
    """The least time of several rounds: what the work takes when nothing else is in the way."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)
