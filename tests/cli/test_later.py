"""Sessions dated after today: answers of today lack them, and say so."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import func, select, update

from analysis.vatting import GaugeRule, Limits
from panel.cli.later import tell_later
from panel.desk.ageing_page import AgeingPage
from panel.desk.app import DeskApp
from panel.desk.blend_page import BlendPage
from panel.desk.found_page import FoundPage
from panel.desk.held_later import later_here
from panel.desk.influences_page import InfluencesPage
from panel.desk.next_page import NextPage
from panel.desk.page import Page
from panel.desk.release_page import ReleasePage
from panel.desk.target_page import TargetPage
from panel.desk.windows_page import WindowsPage
from panel.errors import NothingNosedBy
from panel.kinds import SessionStatus
from panel.questions.next_choices import NextChoice
from panel.questions.next_wanted import NextWanted
from panel.questions.profile import house_profile
from panel.questions.sessions import held_later
from panel.questions.stands_on import stands_on_sessions
from panel.questions.targets import target_record
from panel.report.common import foot
from panel.report.readers import SheetReader
from panel.report.release import release_page
from panel.store.engine import Session, Store
from panel.store.sessions import PanelSession
from panel.words.left_out import later_words
from tests.cli.calling import Call, caller
from tests.desk.driving import seen, settle, signed_in
from tests.houses.at_the_desk import build
from tests.houses.held_at_the_desk import NAME, NOW, hold, score_all
from tests.houses.nosed import NOW as NOSED_NOW
from tests.houses.nosed import TODAY, build_nosed_to_plan
from tests.report.hard import STANDS
from tests.report.hard_releases import sheet
from tests.thinned import some

HELD = NOW.date()
GUIDE, GUEST = SheetReader.GUIDE, SheetReader.GUEST


@pytest.fixture
def house(store: Store) -> Store:
    """Give a house whose one session is revealed, and dated the day after it was asked."""
    build(store)
    hold(store, "open")
    score_all(store)
    dated(store, SessionStatus.REVEALED, HELD + timedelta(days=1))
    return store


def dated(store: Store, status: SessionStatus, held_on: date) -> None:
    with store.write() as db:
        db.execute(update(PanelSession).values(status=status, held_on=held_on))


def test_a_revealed_session_dated_later_is_named(house: Store) -> None:
    with house.read() as db:
        assert held_later(db, HELD) == (NAME,)
        assert held_later(db, HELD + timedelta(days=1)) == ()
        assert later_here(db, HELD) == f"1 session held after {HELD} is left out: {NAME}."
    dated(house, SessionStatus.CLOSED, HELD + timedelta(days=1))
    with house.read() as db:
        assert held_later(db, HELD) == (), "nothing is told of it before the reveal"


def test_of_a_day_before_all_nosing_the_day_and_what_came_later_are_named(house: Store) -> None:
    with house.read() as db, pytest.raises(NothingNosedBy) as told:
        house_profile(db, as_of=HELD)
    assert (told.value.day, told.value.later) == (HELD, (NAME,))
    assert f"nothing was nosed by {HELD}. 1 session held after that day is left" in str(told.value)


def test_several_are_counted_and_named() -> None:
    said = later_words(("Ebb", "Neap"), date(2026, 11, 30))
    assert said == "2 sessions held after 2026-11-30 are left out: Ebb, Neap."


def test_they_are_said_under_an_answer_that_lacks_any(
    capsys: pytest.CaptureFixture[str],
) -> None:
    tell_later(("Ebb",), HELD)
    assert capsys.readouterr().out == f"\n1 session held after {HELD} is left out: Ebb.\n"
    tell_later((), HELD)
    assert capsys.readouterr() == ("", "")


def test_a_page_to_hand_on_ends_with_them(house: Store) -> None:
    with house.read() as db:
        today = stands_on_sessions(db, today=HELD, as_of=None)
        asked = stands_on_sessions(db, today=HELD, as_of=HELD)
    assert foot(today)[0] == f"1 session held after {HELD} is left out: {NAME}."
    assert foot(asked) == foot(today), "a day that was asked for lacks them no less"


def test_a_guest_is_told_of_no_session_of_the_house() -> None:
    stands = replace(STANDS, held_later=("Ebb",))
    told = {reader: release_page(sheet(), {}, stands, reader=reader) for reader in (GUIDE, GUEST)}
    assert "is left out: Ebb." in told[GUIDE]
    assert "Ebb" not in told[GUEST]


@pytest.fixture
def nosed(store: Store) -> tuple[Store, str]:
    """Give a house of two nosed sessions, the second of them dated after today."""
    build_nosed_to_plan(store)
    with store.write() as db:
        last = db.scalar(select(func.max(PanelSession.id)).where(PanelSession.held_on.is_not(None)))
        name = db.scalar(select(PanelSession.name).where(PanelSession.id == last)) or ""
        later = {"held_on": TODAY + timedelta(days=9)}
        db.execute(update(PanelSession).where(PanelSession.id == last).values(**later))
    return store, name


@pytest.fixture
def oakpanel(
    nosed: tuple[Store, str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> Call:
    from panel.cli.invocation import Invocation

    monkeypatch.setenv("OAKPANEL_STATE", str(tmp_path / "state"))
    monkeypatch.setattr(Invocation, "now", lambda _self: NOSED_NOW)
    return caller(
        *(capsys, monkeypatch, "--db", str(nosed[0].url.database), "--by", "BL"), house=nosed[0]
    )


@pytest.mark.parametrize(
    "asked",
    [
        ("profile",),
        ("influences",),
        pytest.param(("match", "Fen"), marks=pytest.mark.slow),
        pytest.param(("ageing",), marks=pytest.mark.slow),
        pytest.param(("session", "next", "Fen"), marks=pytest.mark.slow),
        pytest.param(
            ("vat", "Fen", "--litres", "200", "--old-gauges", "flag", "--quick"),
            marks=pytest.mark.slow,
        ),
    ],
    ids=" ".join,
)
def test_every_answer_of_today_has_their_names(
    oakpanel: Call, nosed: tuple[Store, str], asked: tuple[str, ...]
) -> None:
    assert oakpanel(*asked, "--json").document["held_later"] == [nosed[1]]
    lacks = f"1 session held after {TODAY} is left out: {nosed[1]}."
    assert " ".join(oakpanel(*asked).out.split()).endswith(lacks)
    on_a_day = " ".join(oakpanel(*asked, "--as-of", str(TODAY)).out.split())
    assert on_a_day.endswith(lacks)
    assert "today" not in on_a_day.replace("today's", "")


def proposing(release: str, *litres: str) -> tuple[str, ...]:
    takes = (part for each in litres for part in ("--take", each))
    how = ("--target", "Fen", *takes, "--old-gauges", "flag")
    return ("release", "propose", release, *how)


def test_a_release_has_their_names_as_well(oakpanel: Call, nosed: tuple[Store, str]) -> None:
    lacks = f"1 session held after {TODAY} is left out: {nosed[1]}."
    proposed = oakpanel(*proposing("Quay", "C8=100", "C9=15"))
    assert proposed.code == 0, proposed.err
    assert " ".join(proposed.out.split()).endswith(lacks)
    again = oakpanel(*proposing("Isle", "C7=20"), "--json")
    assert again.document["held_later"] == [nosed[1]]
    assert " ".join(oakpanel("release", "show", "Quay").out.split()).endswith(lacks)
    assert oakpanel("release", "show", "Quay", "--json").document["held_later"] == [nosed[1]]


FEN = NextChoice("Best casks", "Fen", NextWanted(target="Fen", best=2))
OF_TODAY: dict[str, Callable[[Session], Page]] = {
    "influences": lambda _: InfluencesPage(),
    "found": lambda _: FoundPage("C3"),
    "ageing": lambda _: AgeingPage(),
    "windows": lambda _: WindowsPage("Fen"),
    "target": lambda db: TargetPage(target_record(db, "Fen")),
    "blend": lambda _: BlendPage("Fen", Limits(litres=200.0, gauge_rule=GaugeRule.FLAG)),
    "next": lambda _: NextPage(FEN),
}
"""Every page of the desk whose answer is of today."""


@pytest.mark.parametrize("page", [*some(list(OF_TODAY), 2)])
async def test_the_desk_says_so_too(nosed: tuple[Store, str], page: str) -> None:
    desk = signed_in(DeskApp(nosed[0], by="LD", clock=lambda: NOSED_NOW))
    with nosed[0].read() as db:
        shown = OF_TODAY[page](db)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await desk.push_screen(shown)
        await settle(pilot)
        told = f"1 session held after {TODAY} is left out: {nosed[1]}."
        assert told in " ".join(" ".join(seen(desk)).split())


async def test_the_page_of_a_release_says_so_too(oakpanel: Call, nosed: tuple[Store, str]) -> None:
    assert oakpanel(*proposing("Quay", "C8=100")).code == 0
    desk = signed_in(DeskApp(nosed[0], by="LD", clock=lambda: NOSED_NOW))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(ReleasePage("Quay"))
        await settle(pilot)
        assert f"1 session held after {TODAY} is left out: {nosed[1]}." in " ".join(seen(desk))


def test_of_many_later_sessions_six_are_named_in_words() -> None:
    names = [f"evening-{n}" for n in range(9)]
    assert later_words(names, date(2026, 6, 28)) == (
        "9 sessions held after 2026-06-28 are left out: evening-0, evening-1, evening-2, "
        "evening-3, evening-4, evening-5 and 3 more."
    )
    assert later_words(names[:6], date(2026, 6, 28)).endswith("evening-4, evening-5.")
