"""A suspected swap by command: who waits, what would be said with them, and cleared up."""

from __future__ import annotations

from pathlib import Path

import pytest

from panel.kinds import ServingStatus
from panel.store.engine import Store
from panel.store.opening import make_database
from panel.store.sessions import PanelSession, Serving
from tests.cli.calling import caller
from tests.cli.test_session import PLAN
from tests.houses.nosed import build_nosed
from tests.houses.to_plan import furnish

AS_OF = ("--as-of", "2026-03-14")


@pytest.fixture
def nosed(tmp_path: Path) -> str:
    path = tmp_path / "weir.sqlite"
    store = make_database(str(path))
    build_nosed(store)
    with store.write() as db:
        glasses = db.query(Serving).join(PanelSession).filter(PanelSession.name == "EV1")
        for glass in glasses.filter(Serving.code.in_(["103", "108"])):
            glass.status = ServingStatus.SWAP_SUSPECTED
    store.close()
    return str(path)


@pytest.mark.slow
def test_agreement_and_profile_say_how_many_scores_wait(
    nosed: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    call = caller(capsys, monkeypatch, "--db", nosed)
    found = call("agreement", "EV1", *AS_OF, "--json").document
    waiting = found["waiting"]
    assert (waiting["n_scores"], waiting["n_glasses"]) == (24, 8)
    assert waiting["verdict_with"]
    assert found["left_out"] == {"swap suspected": 24}
    assert "24 scores on 8 glasses" in " ".join(call("agreement", "EV1", *AS_OF).out.split())
    profile = call("profile", *AS_OF, "--json").document
    assert profile["left_out"] == {"swap suspected": 24}
    assert "24 scores are not used" in " ".join(call("profile", *AS_OF).out.split())


def test_a_swap_is_marked_and_cleared_by_commands(
    store: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    with store.write() as db:
        furnish(db)
    call = caller(capsys, monkeypatch, "--db", str(store.url.database), "session", house=store)
    call(*PLAN)
    call("seal", "spring")
    seat = call("show", "spring", "--json").document["progress"]["seats"][0]
    one, other = (glass["code"] for glass in seat["glasses"][1:3])
    refused = call("clear", "spring", "A1", one, "stood")
    assert refused.code == 1
    assert "No swap is suspected" in refused.err
    call("mark", "spring", "A1", one, "swap-suspected")
    assert call("clear", "spring", "A1", one, "perhaps").code == 2
    cleared = call("clear", "spring", "A1", one, "exchanged", "--with", other, "--json").document
    assert cleared["glasses"] == [
        {"code": one, "read_as": other},
        {"code": other, "read_as": one},
    ]
    call("mark", "spring", "A1", one, "swap-suspected")
    said = call("clear", "spring", "A1", one, "stood", "--with", other).out
    assert f"Glass {one} of A1 is read as {one}." in said
