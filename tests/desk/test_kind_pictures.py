"""What the pages of every kind of session, of training, sites and stock look like, at two sizes.

`OAKPANEL_PICTURES=write pytest -m slow tests/desk/test_kind_pictures.py` draws them anew; look at
what changed before you keep it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

import pytest
from textual.screen import Screen

from panel.desk.app import DeskApp
from panel.desk.homes import page_of
from panel.desk.kinds import AGREEMENT_PAGES
from panel.kinds import SessionKind
from panel.session.plan import SessionPlan
from panel.store.engine import Store
from tests.desk.driving import seen, settle, signed_in
from tests.desk.kept_pictures import LARGE, SMALL, check_picture
from tests.houses import at_the_desk, held_at_the_desk, in_training, to_pass
from tests.houses.held_at_the_desk import hold
from tests.houses.in_sets import Answers, answer_all, opened, picks, ranks, revealed, set_plan
from tests.houses.nosed import NOW as NOSED_NOW
from tests.houses.nosed import build_nosed, weigh_today
from tests.houses.to_plan import HELD_ON
from tests.houses.traced import bursts, trace_all, trace_plan

NOW = held_at_the_desk.NOW
DAY = date(2026, 3, 14)
PEOPLE = at_the_desk.ASSESSORS
PAIRS = set_plan(
    SessionKind.STRONGER,
    assessors=PEOPLE,
    descriptors=("bonfire",),
    held_on=DAY,
    replicates=4,
    alike_within=1.0,
    stronger="D1",
)
ORDER = replace(PAIRS, name="order", kind=SessionKind.RANKING, stronger=None, alike_within=None)
ORDER = replace(ORDER, draws=("D1", "D2", "D3"), replicates=1)
MINUTE = trace_plan(assessors=PEOPLE, descriptors=("bonfire",), held_on=DAY)
Make = Callable[[], Screen[Any]]


def one(name: str, *given: Any) -> Make:
    """Return the maker of a page."""
    return lambda: page_of(name, *given)


def found(kind: SessionKind, name: str) -> Make:
    """Return the maker of the page that says what a session has found."""
    return lambda: AGREEMENT_PAGES[kind](name)


def sealed(store: Store) -> None:
    """A sealed session and a few records."""
    at_the_desk.build(store)
    hold(store, "sealed")


def stocked(store: Store) -> None:
    """Casks that were nosed and gauged."""
    build_nosed(store)
    weigh_today(store)


def passed(store: Store) -> None:
    """A parcel that was passed by somebody who finds what is planted, and holds one cask."""
    to_pass.build_to_pass(store, FIXED)
    to_pass.to_open(store, FIXED, seed=1)  # else what is planted goes by lot
    to_pass.answer(store, to_pass.PLAN.name, FIXED, _nose)
    to_pass.to_reveal(store, to_pass.PLAN.name, FIXED)


def _nose(who: str, label: str) -> tuple[Any, ...]:
    return (to_pass.SPIKES[0],) if label == "D4" else to_pass.good_nose(who, label)


def in_pairs(store: Store) -> None:
    """Pairs, revealed."""
    _in_sets(store, PAIRS, picks("D1"))


def in_order(store: Store) -> None:
    """A ranking, revealed."""
    _in_sets(store, ORDER, ranks(("D1", "D2", "D3")))


def _in_sets(store: Store, plan: SessionPlan, answers: Answers) -> None:
    at_the_desk.build(store)
    opened(store, plan, NOW)
    answer_all(store, plan, answers, NOW)
    revealed(store, plan, NOW)


def in_seconds(store: Store) -> None:
    """A trace, revealed."""
    at_the_desk.build(store)
    opened(store, MINUTE, NOW)
    trace_all(store, MINUTE, bursts("D1"), NOW)
    revealed(store, MINUTE, NOW)


FIXED = datetime.combine(HELD_ON, NOW.timetz())


@dataclass(frozen=True)
class Shown:
    """A house, who looks at it and when, and its pages by the name of their picture."""

    build: Callable[[Store], None]
    by: str
    now: datetime
    pages: Mapping[str, Make]


SHOWN = {
    "sealed": Shown(
        sealed,
        "LD",
        NOW,
        {
            "pack-form": one("pack", held_at_the_desk.NAME),
            "return-form": one("give back", held_at_the_desk.NAME),
            "recall-form": one("recall", held_at_the_desk.NAME),
            "join-form": one("join"),
            "open-pack-form": one("open pack"),
            "key-in-form": one("key in", held_at_the_desk.NAME),
            "seats-form": one("seats", held_at_the_desk.NAME),
            "serve-form": one("start serve", held_at_the_desk.NAME, PEOPLE),
            "review": one("review"),
            "remarks": one("remarks"),
            "remark-form": one("remark", "Spring-1"),
            "planted-none": one("planted"),
            "trainings-none": one("trainings"),
            "next-choices": one("next choices"),
        },
    ),
    "stocked": Shown(
        stocked,
        "BL",
        NOSED_NOW,
        {
            "stock-plans": one("stock plans"),
            "planned-release-form": one("planned release"),
            "next-choices-stocked": one("next choices"),
            "review-stocked": one("review"),
        },
    ),
    "passed": Shown(
        passed,
        "L1",
        FIXED,
        {
            "passing-found": found(SessionKind.PASSING, to_pass.PLAN.name),
            "planted": one("planted"),
            "spike-form": one("new spike"),
            "sound-form": one("known sound"),
            "slips": one("slips"),
            "noses": one("noses"),
        },
    ),
    "in-pairs": Shown(
        in_pairs, "LD", NOW, {"pairs-found": found(SessionKind.STRONGER, PAIRS.name)}
    ),
    "in-order": Shown(
        in_order, "LD", NOW, {"ranking-found": found(SessionKind.RANKING, ORDER.name)}
    ),
    "in-seconds": Shown(
        in_seconds, "LD", NOW, {"trace-found": found(SessionKind.TRACE, MINUTE.name)}
    ),
    "in-training": Shown(
        in_training.build_in_training,
        "L1",
        in_training.NOW,
        {
            "trainings": one("trainings"),
            "readiness": one("readiness", in_training.GOOD),
            "training-form": one("training begins", in_training.GOOD),
            "taken-in-form": one("taken in", in_training.GOOD),
        },
    ),
}


@pytest.mark.slow
@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["small", "large"])
@pytest.mark.parametrize("name", SHOWN)
async def test_pages_look_as_they_were_kept(store: Store, name: str, size: tuple[int, int]) -> None:
    shown = SHOWN[name]
    shown.build(store)
    desk = signed_in(DeskApp(store, by=shown.by, clock=lambda: shown.now, start="house"))
    async with desk.run_test(size=size) as pilot:
        await settle(pilot)
        if size == LARGE:
            await desk.run_action("turn_theme")
        for picture, make in shown.pages.items():
            await desk.push_screen(make())
            await settle(pilot)
            check_picture(picture, size, seen(desk))
            desk.pop_screen()
            await settle(pilot)
