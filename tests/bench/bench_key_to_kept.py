"""From the key to the score on disk: this program beside another checkout of it, in turns.

    python -m tests.bench.bench_key_to_kept /path/to/another/checkout [rounds]

Each round starts a process that opens an evening and keeps 200 scores, one a transaction as a booth
does, first in one checkout, then in the other; what is compared is the median of a round, and of
the rounds the median of the differences.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from statistics import median

ROUNDS = 12
ONE_ROUND = """
import os, sys, tempfile
from datetime import timedelta
from pathlib import Path
from statistics import median
from time import perf_counter
folder = tempfile.mkdtemp(dir=sys.argv[1])
os.environ["OAKPANEL_STATE"] = folder
from panel.store import booth_queries as booth
from panel.store.opening import make_database
from tests.houses.at_the_booth import CODES, NAME, START, open_evening
store = make_database(str(Path(folder) / "panel.sqlite"))
open_evening(store)
with store.write() as db:
    seat = booth.take_seat(db, NAME, "A1", now=START)
with store.write() as db:
    glass = booth.take_glass(db, seat, CODES[0], START)
    lines = [line.version_id for line in booth.tray(db, seat).lines]
took = []
for number in range(220):
    began = perf_counter()
    with store.write() as db:
        moment = START + timedelta(seconds=number)
        booth.save_score(db, seat, glass, lines[number % len(lines)], number % 100, moment)
    took.append(perf_counter() - began)
store.close()
print(median(took[20:]) * 1000)
"""


def one_round(checkout: Path, folder: str) -> float:
    """Return the median of one round, milliseconds."""
    env = {**os.environ, "PYTHONPATH": str(checkout)}
    said = subprocess.run(
        [sys.executable, "-c", ONE_ROUND, folder],
        capture_output=True,
        text=True,
        check=True,
        env=env,
        cwd=checkout,
    )
    return float(said.stdout)


def main() -> None:
    """Run the rounds in turns and write what they took."""
    other, here = Path(sys.argv[1]).resolve(), Path(__file__).parents[2]
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else ROUNDS
    folder = os.environ.get("TMPDIR", "/tmp")
    pairs = [(one_round(other, folder), one_round(here, folder)) for _ in range(rounds)]
    before, after = median(pair[0] for pair in pairs), median(pair[1] for pair in pairs)
    more = median(pair[1] - pair[0] for pair in pairs)
    sys.stdout.write(
        f"{rounds} rounds of 200 scores: other {before:.2f} ms, here {after:.2f} ms, "
        f"paired difference {more:+.2f} ms\n"
    )


if __name__ == "__main__":
    main()
