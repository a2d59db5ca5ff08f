"""`make bench`: every benchmark in turn, as one table."""

from __future__ import annotations

import platform
import sys

from . import bench_api, bench_documents, bench_pricing

ALL = {"pricing": bench_pricing.measure, "api": bench_api.measure, "documents": bench_documents.measure}


def main(names: list[str]) -> None:
    """Runs the named benchmarks, all of them unless said."""
    print(f"Python {platform.python_version()}, {platform.machine()}")
    print(f"{'what':<44} {'ours':>13} {'baseline':>13} {'ratio':>8}")
    for name in names or list(ALL):
        for row in ALL[name]():
            print(row, flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
