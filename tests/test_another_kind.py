"""A kind of session that no program ships: a member, its facts and one line a registry.

No function is changed for it, and a session of that kind is planned, sealed, nosed at a booth,
closed, revealed and judged as any other.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from typing import Any

import click
import pytest
from click.testing import CliRunner
from sqlalchemy import select, text

from analysis.as_json import as_json
from panel.booth.aloud import kinds as aloud
from panel.booth.app import BoothApp
from panel.booth.kinds import FACES
from panel.cli.kinds import BY_COMMAND, ByCommand, kind_options
from panel.desk.agreement_page import AgreementPage
from panel.desk.kinds import AGREEMENT_PAGES
from panel.desk.sessions import finished, remarks
from panel.errors import NewerDatabase, PlanRefused, WrongState
from panel.frames.kinds import FRAMES, session_frame
from panel.intake.kinds import Kind
from panel.intake.session_kinds import SCORE_FILES
from panel.kinds import KIND_FACTS, KindFacts, LinesFrom, Manner, SessionKind
from panel.questions.agreement import span_agreement
from panel.questions.kinds import ANSWERS, kind_of
from panel.records.people import set_pin
from panel.seat.kinds import PLACES
from panel.serve import kinds as served
from panel.session.kinds import HELD
from panel.session.listed import SessionLine, list_sessions
from panel.session.on_lexicon import ON_LEXICON
from panel.session.plan import plan_session
from panel.session.progress import session_progress
from panel.session.seal import seal_session
from panel.session.sheets import tray_labels
from panel.session.stages import close_session, open_session, reveal_session
from panel.store import booth_queries as booth
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.sessions import PanelSession, Serving
from panel.words.kinds import SESSION_LINES
from tests.booth.by_keys import score_by_keys
from tests.cli.calling import Call, caller
from tests.conftest import FIXED_NOW
from tests.houses.to_plan import CODES, WORDS, furnish, plan

NAME, PIN = "smoke", "5093"
N_SCORES = 9 * len(CODES) * len(WORDS)
"""Six draws, one of them twice, a reference and a warm-up glass."""

FACTS = KindFacts(
    LinesFrom.LEXICON,
    "scored for smoke",
    pooled=False,
    remark="smoke alone",
    manners=frozenset({Manner.NOSE}),
    repeats=False,
)
HELD_SO = replace(
    ON_LEXICON,
    lines_said=lambda summary: f"Smoke on {len(summary.descriptors)} lines.",
    sheet_said=lambda session: f"{session.name}: look for smoke alone.",
)


def with_member(monkeypatch: pytest.MonkeyPatch, name: str, value: str) -> SessionKind:
    """Let the enum have one member more, as if its line stood in the source."""
    member = str.__new__(SessionKind, value)
    member._name_, member._value_ = name, value
    monkeypatch.setattr(SessionKind, "_member_names_", [*SessionKind._member_names_, name])
    monkeypatch.setitem(SessionKind._member_map_, name, member)
    monkeypatch.setitem(SessionKind._value2member_map_, value, member)
    return member


@pytest.fixture
def smoke(monkeypatch: pytest.MonkeyPatch) -> SessionKind:
    """Add the kind: a member, its facts, and a line in the registry of each room."""
    kind = with_member(monkeypatch, "SMOKE", "smoke alone")
    like = SessionKind.PROFILE
    lines: tuple[tuple[dict[SessionKind, Any], Any], ...] = (
        (KIND_FACTS, FACTS),
        (FRAMES, FRAMES[like]),
        (SCORE_FILES, Kind.SCORES),
        (HELD, HELD_SO),
        (ANSWERS, ANSWERS[like]),
        (SESSION_LINES, lambda answer, part: ["On smoke:", *SESSION_LINES[like](answer, part)]),
        (PLACES, PLACES[like]),
        (FACES, FACES[like]),
        (served.FACES, served.FACES[like]),
        (aloud.FACES, aloud.FACES[like]),
        (AGREEMENT_PAGES, AGREEMENT_PAGES[like]),
        (BY_COMMAND, ByCommand(BY_COMMAND[like].part, "--smoke", "Smoke alone.")),
    )
    for registry, entry in lines:
        monkeypatch.setitem(registry, kind, entry)
    return kind


@pytest.fixture
def house(store: Store) -> Store:
    with store.write() as db:
        furnish(db)
        set_pin(db, CODES[0], PIN, now=FIXED_NOW, by="L1")
    return store


@pytest.fixture
def opened(house: Store, smoke: SessionKind, fixed_now: datetime) -> Store:
    """Plan, seal and open a session of that kind."""
    with house.write() as db:
        said = plan_session(db, plan(name=NAME, kind=smoke), now=fixed_now, by="L1")
    assert f"Smoke on {len(WORDS)} lines." in said.lines()
    with house.write() as db:
        seal_session(db, NAME, now=fixed_now, by="L1")
    with house.write() as db:
        open_session(db, NAME, now=fixed_now, by="L1")
    return house


def score(store: Store, code: str, now: datetime) -> None:
    """Score one assessor's glasses as a booth saves them; liquids differ, people hardly."""
    with store.read() as db:
        session = db.scalars(select(PanelSession)).one()
        lines = [line.descriptor_version_id for line in session.descriptors]
        draws = {row.code: row.draw_id for row in db.scalars(select(KeyRow))}
        mine = [glass for glass in session.servings if glass.person.code == code]
        glasses = [glass.code for glass in mine if glass.finished_at is None]
    with store.write() as db:
        seat = booth.take_seat(db, NAME, code, now=now)
        for place, glass in enumerate(sorted(glasses)):
            values = {
                line: float(10 * draws[glass] % 70 + place * seat.person_id % 5) for line in lines
            }
            booth.save_glass(db, seat, glass, values, taken_at=now, finished_at=now)


@pytest.fixture
def revealed(opened: Store, fixed_now: datetime) -> Store:
    for code in CODES:
        score(opened, code, fixed_now)
    with opened.write() as db:
        close_session(db, NAME, now=fixed_now, by="L1")
    with opened.write() as db:
        assert reveal_session(db, NAME, now=fixed_now, by="L1").matches is True
    return opened


def line_of(store: Store) -> SessionLine:
    with store.read() as db:
        return list_sessions(db)[0]


# ---------------------------------------------------------------------- from plan to agreement


def test_its_facts_hold_for_the_plan(house: Store, smoke: SessionKind, fixed_now: datetime) -> None:
    wrong = plan(name=NAME, kind=smoke, manner=Manner.TASTE, replicates=2, most_words=4)
    with pytest.raises(PlanRefused) as refused, house.write() as db:
        plan_session(db, wrong, now=fixed_now, by="L1")
    assert "of the kind 'smoke alone' no glass is tasted" in str(refused.value)
    assert "of the kind 'smoke alone' each draw is poured once" in str(refused.value)
    assert "A number of words goes with own words only" in str(refused.value)


def test_its_kind_is_in_the_records_as_text(opened: Store, smoke: SessionKind) -> None:
    with opened.read() as db:
        assert db.scalar(text("SELECT kind FROM panel_session")) == "smoke alone"
        assert db.scalars(select(PanelSession)).one().kind is smoke


def test_its_sheets_say_it(opened: Store, fixed_now: datetime) -> None:
    with opened.write() as db:
        assert "smoke: look for smoke alone." in tray_labels(db, NAME, now=fixed_now, by="L1")


async def test_it_is_nosed_at_a_booth(opened: Store, fixed_now: datetime) -> None:
    with opened.read() as db:
        mine = [glass for glass in db.scalars(select(Serving)) if glass.person.code == CODES[0]]
        first = min(mine, key=lambda glass: (glass.flight, glass.position)).code
    app = BoothApp(opened, session=NAME, clock=lambda: fixed_now)
    async with app.run_test() as pilot:
        await score_by_keys(pilot, CODES[0], PIN, first, dict.fromkeys(WORDS, 40))
    with opened.read() as db:
        seat = session_progress(db, NAME).seats[0]
    assert (seat.n_done, seat.n_words) == (1, None)
    assert {glass.n_scored for glass in seat.glasses} == {0, len(WORDS)}


@pytest.mark.slow
def test_it_stands_in_the_list(revealed: Store) -> None:
    line = line_of(revealed)
    assert (line.status, line.n_scores) == ("revealed", N_SCORES)
    assert line.remarks() == remarks(line) == "smoke alone"
    assert as_json(line)["own_words"] is False
    assert not finished(line)


@pytest.mark.slow
def test_it_is_judged(
    revealed: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    oakpanel: Call = caller(capsys, monkeypatch, "--db", str(revealed.url.database))
    document = oakpanel("agreement", NAME, "--json").document
    assert {note["descriptor"] for note in document["descriptors"]} == set(WORDS)
    assert document["descriptors"][0]["sample_effect"]["p"] < 0.001
    one = oakpanel("agreement", NAME, "--json", "--assessor", "A2").document
    assert [person["assessor"] for person in one["assessors"]] == ["A2"]
    said = oakpanel("agreement", NAME).out
    assert said.startswith("On smoke:\n")
    assert "A2: " in said


@pytest.mark.slow
def test_its_frame_and_its_page(revealed: Store, smoke: SessionKind) -> None:
    with revealed.read() as db:
        frame = session_frame(db, NAME)
        assert kind_of(db, NAME) is smoke
    assert set(frame["descriptor"]) == set(WORDS)
    assert len(frame) == N_SCORES
    assert isinstance(AGREEMENT_PAGES[smoke](NAME), AgreementPage)


@pytest.mark.slow
def test_it_is_not_laid_beside_others(revealed: Store) -> None:
    with revealed.read() as db, pytest.raises(WrongState, match="was scored for smoke and cannot"):
        span_agreement(db, [NAME])


def test_it_is_asked_for_by_its_flag(smoke: SessionKind) -> None:
    @click.command()
    @kind_options
    def ask(kind: str | None) -> None:
        click.echo(kind)

    told = {flag: CliRunner().invoke(ask, flag).output for flag in ((), "--smoke", "--own-words")}
    assert told == {(): "\n", "--smoke": "smoke alone\n", "--own-words": "own words\n"}


@pytest.fixture
def later(revealed: Store) -> Iterator[Store]:
    """Take the kind away again: the program that reads is an older one."""
    with pytest.MonkeyPatch.context() as without:
        without.delitem(SessionKind._value2member_map_, "smoke alone")
        yield revealed


@pytest.mark.slow
def test_an_older_program_says_that_it_does_not_know_it(later: Store) -> None:
    with later.read() as db, pytest.raises(NewerDatabase, match="does not know"):
        list_sessions(db)
