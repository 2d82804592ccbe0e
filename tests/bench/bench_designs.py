"""How efficient trays of some of the samples come out, and how long the search takes.

Run: .venv/bin/python -m tests.bench.bench_designs [SEARCH]

A-efficiency over four seeds beside what an earlier search by exchange alone came to (own
measurement, four starts), and the bound that only balanced blocks reach. Seconds are of this
machine while it runs; SEARCH times the usual starts.
"""

from __future__ import annotations

import sys
from time import perf_counter

from panel.session.blocks import efficiency
from panel.session.codes import generator
from panel.session.incomplete import near_balanced

EARLIER = {
    (7, 3, 7): 0.7778,
    (9, 3, 12): 0.7500,
    (13, 4, 13): 0.8125,
    (10, 6, 15): 0.9259,
    (6, 3, 10): 0.8000,
    (12, 6, 10): 0.9049,
    (16, 6, 8): 0.8688,
    (16, 8, 14): 0.9317,
    (20, 6, 10): 0.8517,
    (24, 6, 12): 0.8451,
    (24, 6, 14): 0.8508,
    (30, 6, 14): 0.8275,
}
"""By samples, samples each and assessors."""
SEEDS = 4


def main() -> None:
    search = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    print("samples each assessors  earlier    worst     best    bound  seconds")
    for (samples, each, assessors), earlier in EARLIER.items():
        found: list[float] = []
        started = perf_counter()
        for seed in range(SEEDS):
            rng = generator(seed, "trays")
            rows = near_balanced(samples, each, assessors, rng, search=search)
            value, bound = efficiency(samples, rows)
            found.append(value)
        seconds = (perf_counter() - started) / SEEDS
        print(
            f"{samples:7d} {each:4d} {assessors:9d}   {earlier:.4f}  {min(found):.5f}  "
            f"{max(found):.5f}  {bound:.5f}  {seconds:7.2f}"
        )


if __name__ == "__main__":
    main()
