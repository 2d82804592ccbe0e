"""What drawing costs besides the result: processor time and kB of pictures and of pages.

A picture is asked to take less than 10 ms, a page less than 1 s and 300 kB. Of a page all is
counted but the reckoning: answers are kept, so that each is made a second time from what is known.

Run: .venv/bin/python -m tests.bench.bench_pictures DATABASE AS_OF [TARGET [CASK [RELEASE]]]
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
WIDTH = 80
Drawn = Sequence[Picture | Plane]
Makers = dict[str, Callable[[], Drawn]]


def main() -> None:
    """Draw every picture of a result that a house has, and write every page."""
    from panel.store.opening import open_store

    path, day = sys.argv[1], date.fromisoformat(sys.argv[2])
    target, cask, release = [*sys.argv[3:6], "", "", ""][:3]
    store = open_store(path)
    try:
        with store.read() as db:
            print(f"{'picture':<22}{'SVG ms':>8}{'cells ms':>10}{'SVG kB':>8}")
            makers = _of_sessions(db, day)
            makers |= _of_a_target(db, day, target) if target else {}
            makers |= _of_growth(db, day, target, cask) if target and cask else {}
            makers |= _of_a_release(db, day, release) if release else {}
            for name, make in makers.items():
                _row(name, make)
            print(f"\n{'page':<22}{'ms':>8}{'kB':>8}")
            pages = _pages(db, day, cask, release)
            pages |= _stock_pages(db, day, target) if target else {}
            for name, write in pages.items():
                _page_row(name, write)
    finally:
        store.close()


def _row(name: str, make: Callable[[], Drawn]) -> None:
    pictures = make()  # what it imports is loaded once
    if not pictures:
        print(f"{name:<22}nothing to draw")
        return
    as_svg = _milliseconds(lambda: to_svg(*make()))
    as_cells = _milliseconds(lambda: to_cells(*make(), width=WIDTH))
    size = len(to_svg(*pictures).encode()) / 1000
    print(f"{name:<22}{as_svg:>8.1f}{as_cells:>10.1f}{size:>8.1f}")


def _page_row(name: str, write: Callable[[], str]) -> None:
    size = len(write().encode()) / 1000
    print(f"{name:<22}{_milliseconds(write):>8.0f}{size:>8.1f}")


def _milliseconds(draw: Callable[[], object]) -> float:
    took = []
    for _ in range(RUNS):
        started = time.process_time()
        draw()
        took.append(1000 * (time.process_time() - started))
    return median(took)


def _of_sessions(db: Session, day: date) -> Makers:
    from analysis.pictures.moving import is_anybody_moving
    from analysis.pictures.results import pictures_of_result
    from analysis.pictures.seen import who_saw_it
    from panel.questions.agreement import session_agreement, span_agreement
    from panel.questions.influences import influences_of
    from panel.questions.profile import house_profile
    from panel.questions.seen_differently import seen_note
    from panel.questions.sessions import sessions_between

    names = sessions_between(db, None, day)
    newest = names[-1]
    found = session_agreement(db, newest)
    seen = seen_note(db, newest, found.descriptors[0].descriptor)
    span = span_agreement(db, names)
    people = [one.drift for one in span.assessors if one.drift is not None]
    effects, profile = influences_of(db, as_of=day), house_profile(db, as_of=day)
    return {
        "found": lambda: pictures_of_result(found),
        "seen": lambda: [who_saw_it(seen.note, seen.means, seen.signs, session=newest)],
        "moving": lambda: [is_anybody_moving(people, span.drift, span.sentence)],
        "effects": lambda: pictures_of_result(effects)[:1],
        "alike": lambda: pictures_of_result(profile),
    }


def _of_a_target(db: Session, day: date, target: str) -> Makers:
    """Which casks, and what a vatting does, of stock that is known already."""
    from analysis.pictures.against import which_casks
    from analysis.pictures.vatted import what_it_does
    from analysis.vatting import Limits, VattingPlan, plan_vatting
    from panel.frames import target_of
    from panel.questions.matching import target_match
    from panel.questions.profile import house_profile
    from panel.questions.stock import notes_on
    from panel.questions.vatting import house_stock

    aim, profile = target_of(db, target), house_profile(db, as_of=day)
    asked = [line.descriptor for line in aim.lines]
    match = target_match(db, target, as_of=day)
    notes = notes_on(db, as_of=day, profile=profile, descriptors=asked, day=day)
    stock = house_stock(db, as_of=day, bottling_on=day, descriptors=asked).stock
    plan = plan_vatting(stock, aim, Limits(bottles=1200, abv_percent=46.0))
    makers: Makers = {"which casks": lambda: [which_casks(match, aim, notes.profile.estimates)]}
    if isinstance(plan, VattingPlan):
        said = plan.sentence
        makers["vatting"] = lambda: what_it_does(plan.mixture, stock, target=target, said=said)
    return makers


def _of_growth(db: Session, day: date, target: str, cask: str) -> Makers:
    from analysis.pictures.growth import how_it_grows
    from panel.frames import target_of
    from panel.questions.ageing import house_ageing

    grown = house_ageing(db, as_of=day, casks=(cask,), target=target)
    lines = {line.descriptor: line for line in target_of(db, target).lines}
    curve = next(one for one in grown.curves if one.descriptor in lines)
    line, window = lines[curve.descriptor], grown.windows[0]

    def one_note() -> Drawn:
        plane = how_it_grows(curve, line=line, window=window)
        return [] if plane is None else [plane]

    return {"growth, one note": one_note}


def _of_a_release(db: Session, day: date, release: str) -> Makers:
    from panel.pictures.releases import on_rails
    from panel.questions.profile import house_profile
    from panel.release.sheet import sheet_of

    sheet, profile = sheet_of(db, release, as_of=day), house_profile(db, as_of=day)
    return {"rails": lambda: [on_rails(db, sheet, profile, as_of=day)]}


def _pages(db: Session, day: date, cask: str, release: str) -> dict[str, Callable[[], str]]:
    """Every page from answers that are known: what is timed is its pictures and its words."""
    from panel.pictures.sessions import pictures_for_lead
    from panel.questions.agreement import session_agreement
    from panel.questions.sessions import sessions_between
    from panel.questions.stands_on import stands_on
    from panel.report.asked import ageing_report, cask_report, release_report
    from panel.report.asked_stock import influences_report
    from panel.report.readers import Reader
    from panel.report.session import session_page
    from panel.session.facts import session_facts

    newest = sessions_between(db, None, day)[-1]
    found, facts = session_agreement(db, newest), session_facts(db, newest)

    def session() -> str:
        drawn = pictures_for_lead(db, found)
        stands = stands_on(db, day)
        return session_page(found, facts, stands, reader=Reader.LEAD, pictures=drawn)

    pages: dict[str, Callable[[], str]] = {
        "session, lead's": session,
        "panel": _panel_page(db, day),
        "ageing": lambda: ageing_report(db, today=day),
        "influences": lambda: influences_report(db, today=day),
    }
    if cask:
        pages["cask"] = lambda: cask_report(db, cask, today=day)
    if release:
        pages["release"] = lambda: release_report(db, release, today=day)
    return pages


def _panel_page(db: Session, day: date) -> Callable[[], str]:
    from panel.pictures.people import moving
    from panel.questions.agreement import span_agreement
    from panel.questions.sessions import sessions_between
    from panel.questions.stands_on import stands_on
    from panel.report.panel import panel_page

    span = span_agreement(db, sessions_between(db, None, day))
    return lambda: panel_page(span, stands_on(db, day), pictures=moving(span))


def _stock_pages(db: Session, day: date, target: str) -> dict[str, Callable[[], str]]:
    """Pages of a target: its casks, its plan, two of the plan's casks put together by hand."""
    from analysis.vatting import Limits
    from panel.questions.influences import influences_of
    from panel.questions.vatting import house_vatting
    from panel.report.asked import ageing_report
    from panel.report.asked_stock import blend_report, influences_report, target_report

    limits = Limits(bottles=1200, abv_percent=46.0)
    taken = {
        part.cask: 50.0 for part in house_vatting(db, target, limits, as_of=day).plan.mixture.parts
    }
    effects = influences_of(db, as_of=day, with_map=False, with_stock=False)
    note = effects.notes[0].descriptor
    return {
        "influences, one note": lambda: influences_report(db, today=day, descriptor=note),
        "ageing for a target": lambda: ageing_report(db, today=day, target=target),
        "target": lambda: target_report(db, target, today=day),
        "blend, best choice": lambda: blend_report(db, target, limits, today=day),
        "blend, by hand": lambda: blend_report(db, target, limits, today=day, litres=taken),
    }


if __name__ == "__main__":
    main()
