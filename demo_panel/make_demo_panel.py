"""Writes the plain files of Sallow Weir, an invented distillery on the invented river Ombrey.

::

    python -m demo_panel.make_demo_panel [FOLDER]

The same files come out every time. The world: three makes (Reed, unpeated; Ember, lightly; Turf,
heavily peated) over four campaigns, 240 casks filled from 2008 to 2026 in two warehouses, nine
assessors who differ in offset, scale and scatter, thirty blind evenings, one release target.

Planted, for the tool to find (cask numbers in `stock.PLANTED`):

- a hogshead that leaked a quarter of its content by September 2022 and was repaired;
- a butt that three barrels were re-racked into in May 2022;
- a musty hogshead (on hold) that only four of the nine assessors notice;
- a barrel of another owner and a reserved hogshead, both near the target;
- a barrel that leaks a little since August 2023, which its gauge of October 2026 shows; a barrel
  whose hold ended in September 2026;
- a barrel close to 40 % vol, a butt on hold for its struck match;
- a barrel of the parcel "Reed barrels 18-22" that smells of a struck match;
- on night-23 two glasses swapped on Aspen's tray; on night-12 Aspen's fourth glass void;
- Linnet smells nothing of pressed violets; Teal has moved upward since June 2024; Wren uses a
  wider and Alder a narrower line; Plover is unsteady; Sorrel joined in March 2022;
- the hidden reference changes from batch 1 to batch 2, both poured on nights 15 to 17.

What truly is in a cask is in `spirit.py`, how a nose makes a number of it in `noses.py`; the tool
sees only the files. `mornings.csv` holds what will be answered in sessions of other kinds
(`morning.py`). `next_session.csv` holds what each assessor will say on the evening that
`oakpanel demo` holds; it is no file to load.
"""

from __future__ import annotations

import csv
import sys
import zlib
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

from numpy.random import RandomState

from demo_panel import morning, records
from demo_panel.evenings import NEXT, hold_all
from demo_panel.stock import build_stock
from demo_panel.trays import score_all

SEED = 20260117
NEXT_ON = date(2026, 11, 6)
"""Fixes what the demo's evening smells like; it is held on whatever day the demo runs."""


def stream(name: str) -> RandomState:
    """Return a random stream of its own for one part of the world.

    RandomState, because numpy promises its numbers to stay the same over versions.
    """
    return RandomState((SEED + zlib.crc32(name.encode())) % 2**32)


def write(path: Path, headings: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Write one CSV file, the same on every system."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(headings)
        writer.writerows(rows)


def make_all(folder: Path) -> None:
    """Write all files of the demo panel into a folder."""
    stock = build_stock(stream("casks"))
    cellar, evenings = hold_all(stock, stream("evenings"), NEXT_ON)
    mornings = morning.draw_for_mornings(cellar)
    scored = score_all(evenings, stream("scores"))
    past = [one for one in scored if one.evening.number != NEXT]
    coming = [one for one in scored if one.evening.number == NEXT]
    write(folder / "makes.csv", *records.makes(stock))
    write(folder / "casks.csv", *records.casks(stock))
    write(folder / "events.csv", *records.events(stock))
    write(folder / "regauges.csv", *records.regauges(stock, stream("gauges")))
    write(
        folder / "draws.csv",
        *records.draws(cellar.samples, morning.volumes(mornings), stream("draws")),
    )
    write(folder / "lexicon.csv", *records.lexicon())
    write(folder / "assessors.csv", *records.assessors())
    write(folder / "targets.csv", *records.targets())
    write(folder / "plans.csv", *records.plans())
    write(folder / "scores.csv", *records.scores(past))
    write(folder / "mornings.csv", *morning.answers(mornings, stream("mornings")))
    write(folder / "next_session.csv", *records.next_session(coming))


if __name__ == "__main__":
    make_all(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
