"""What drawing costs besides the result: processor time and kB of each picture, SVG and cells.

Run: .venv/bin/python -m tests.bench.bench_pictures DATABASE AS_OF
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from datetime import date
from statistics import median
from typing import TYPE_CHECKING

from analysis.pictures import Picture, Plane, to_svg
from panel.pictures.cells import to_cells

if TYPE_CHECKING:
    from panel.store.engine import Session

RUNS = 9
Drawn = Sequence[Picture | Plane]


def main() -> None:
    """Draw every picture of a result that a house has."""
    from panel.store.opening import open_store

    path, day = sys.argv[1], date.fromisoformat(sys.argv[2])
    store = open_store(path)
    print(f"{'picture':<12}{'SVG ms':>8}{'cells ms':>10}{'SVG kB':>8}")
    try:
        with store.read() as db:
            for name, make in _makers(db, day).items():
                _row(name, make)
    finally:
        store.close()


def _row(name: str, make: Callable[[], Drawn]) -> None:
    pictures = make()  # what it imports is loaded once
    if not pictures:
        print(f"{name:<12}nothing to draw")
        return
    as_svg = _milliseconds(lambda: to_svg(*make()))
    as_cells = _milliseconds(lambda: to_cells(*make(), width=80))
    size = len(to_svg(*pictures).encode()) / 1000
    print(f"{name:<12}{as_svg:>8.1f}{as_cells:>10.1f}{size:>8.1f}")


def _milliseconds(draw: Callable[[], object]) -> float:
    took = []
    for _ in range(RUNS):
        started = time.process_time()
        draw()
        took.append(1000 * (time.process_time() - started))
    return median(took)


def _makers(db: Session, day: date) -> dict[str, Callable[[], Drawn]]:
    from analysis.pictures.moving import is_anybody_moving
    from analysis.pictures.results import pictures_of_result
    from analysis.pictures.seen import who_saw_it
    from panel.questions.agreement import session_agreement, span_agreement
    from panel.questions.influences import influences_of
    from panel.questions.moving import levels_of
    from panel.questions.profile import house_profile
    from panel.questions.seen_differently import seen_note
    from panel.questions.sessions import sessions_between

    names = sessions_between(db, None, day)
    newest = names[-1]
    found = session_agreement(db, newest)
    seen = seen_note(db, newest, found.descriptors[0].descriptor)
    span, levels = span_agreement(db, names), levels_of(db, names)
    effects, profile = influences_of(db, as_of=day), house_profile(db, as_of=day)
    return {
        "found": lambda: pictures_of_result(found),
        "seen": lambda: [who_saw_it(seen.note, seen.means, seen.signs, session=newest)],
        "moving": lambda: [is_anybody_moving(levels, span.drift, span.sentence)],
        "effects": lambda: pictures_of_result(effects)[:1],
        "alike": lambda: pictures_of_result(profile),
    }


if __name__ == "__main__":
    main()
