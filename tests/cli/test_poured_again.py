"""A glass that was scored, spilled, poured again and scored again: every command answers."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from panel.kinds import ServingStatus
from panel.store.engine import Store
from panel.store.opening import make_database
from panel.store.sessions import PanelSession, Score, Serving
from tests.cli.calling import Call, caller
from tests.houses.nosed import NOW, build_nosed
from tests.thinned import some

SPILLED = "104"
AS_OF = ("--as-of", "2026-03-14")
ASKED = {
    "agreement": ("agreement", "EV1"),
    "profile": ("profile",),
    "match": ("match", "Fen"),
    "vat": ("vat", "Fen", "--litres", "260", "--part", "--quick", "--old-gauges", "flag"),
    "influences": ("influences",),
    "ageing": ("ageing",),
}


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The nosed house, in which one glass of one evening was poured a second time."""
    path = tmp_path_factory.mktemp("again") / "weir.sqlite"
    store = make_database(str(path))
    build_nosed(store)
    pour_again(store)
    store.close()
    return str(path)


def pour_again(store: Store) -> None:
    """Let the glass of AA have been scored on two lines before it was spilled."""
    with store.write() as db:
        evening = PanelSession.name == "EV1"
        glasses = select(Serving).join(PanelSession).where(evening, Serving.code == SPILLED)
        second = db.scalars(glasses.where(Serving.person.has(code="AA"))).one()
        first = Serving(
            session_id=second.session_id,
            person_id=second.person_id,
            code=SPILLED,
            position=second.position,
            status=ServingStatus.RE_POURED,
        )
        second.pouring = 2
        first.scores = [
            Score(descriptor_version_id=score.descriptor_version_id, value=99.0, given_at=NOW)
            for score in second.scores[:2]
        ]
        db.add(first)


@pytest.fixture
def oakpanel(
    database: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    return caller(capsys, monkeypatch, "--db", database)


@pytest.mark.parametrize("command", some(ASKED, 3))
def test_every_command_answers_after_a_glass_was_poured_again(oakpanel: Call, command: str) -> None:
    said = oakpanel(*ASKED[command], *AS_OF, "--json")
    assert said.code == 0, said.err
    assert said.document
