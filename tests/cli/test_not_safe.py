"""A draw that is not safe, stopped by command."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from panel.kinds import ServingStatus
from panel.store.engine import Store
from panel.store.sessions import Serving
from tests.cli.calling import caller
from tests.cli.test_session import PLAN
from tests.houses.to_plan import CODES, furnish


def test_the_command_tells_every_glass_that_went(
    store: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    with store.write() as db:
        furnish(db)
    call = caller(capsys, monkeypatch, "--db", str(store.url.database), "session", house=store)
    call(*PLAN)
    call("seal", "spring")
    glasses = call("show", "spring", "--json").document["progress"]["seats"][0]["glasses"]
    one = glasses[1]["code"]
    assert call("mark", "spring", "A1", one, "not-safe", "--after-reveal").code == 2
    marked = call("mark", "spring", "A1", one, "not-safe", "--note", "fuel", "--json").document
    assert (marked["status"], marked["pouring"]) == ("void", 1)
    assert {glass["assessor"] for glass in marked["stopped"]} == set(CODES)
    assert {"assessor": "A1", "code": one} in marked["stopped"]
    gone = {glass["code"] for glass in marked["stopped"]}
    two = next(glass["code"] for glass in glasses[1:] if glass["code"] not in gone)
    said = call("mark", "spring", "A2", two, "not-safe").out
    assert f"stopped on {len(CODES)} trays. Say so aloud" in said
    with store.read() as db:
        void = set(db.scalars(select(Serving.code).where(Serving.status == ServingStatus.VOID)))
    assert {one, two} <= void
    again = call("mark", "spring", "A1", one, "not-safe")
    assert again.code == 1
    assert "void already" in again.err
