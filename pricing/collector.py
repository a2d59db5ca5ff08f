"""Holds the cyclic collector off while many records are made that hold no cycles."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_off() -> Iterator[None]:
    """Runs its block without the cyclic collector, which would walk every record made so far again and again.

    Nothing is lost: records without cycles are freed by their counts, and the collector is on again afterwards.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
