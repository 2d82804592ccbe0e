"""What tracing a bottle costs: processor milliseconds of the answer and of its page.

python -m tests.bench.bench_trace DATABASE LOT
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from panel.clock import utc_now
from panel.release.lot_trace import trace_lot
from panel.report.asked_stock import lot_report
from panel.store.opening import open_store


def least_ms(do: Callable[[], object], runs: int = 5) -> float:
    """The least of some runs, in milliseconds of processor time."""
    found = []
    for _ in range(runs):
        started = time.process_time()
        do()
        found.append(1000.0 * (time.process_time() - started))
    return min(found)


def main(database: str, lot: str) -> None:
    """Trace it, each time in a transaction of its own."""
    store = open_store(database, readonly=True)

    def traced() -> object:
        with store.read() as db:
            return trace_lot(db, lot)

    def page() -> object:
        with store.read() as db:
            return lot_report(db, lot, today=utc_now().date())

    print(f"the trace {least_ms(traced):6.1f} ms, its page {least_ms(page):6.1f} ms")
    store.close()


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
