"""Who may sign: a second person, by their own PIN, who is there and did not give the litres."""

from __future__ import annotations

from datetime import date

import pytest

from panel.kinds import Role
from panel.records.people import set_pin
from panel.store.engine import Store
from panel.store.people import Person
from panel.store.releases import Release
from tests.cli.calling import Call
from tests.houses.nosed import NOW
from tests.houses.parts import person


@pytest.fixture
def disgorged(oakpanel: Call, house: Store) -> Call:
    """Let BL propose and another blender, B2, give the litres."""
    with house.write() as db:
        db.add(person("B2", Role.BLENDER, Role.LEAD))
    plan = ("--target", "Fen", "--litres", "350", "--casks", "2-5", "--old-gauges", "flag")
    said = oakpanel("--by", "BL", "release", "propose", "Spring", *plan, "--json")
    assert said.code == 0, said.err
    parts = {part["cask"]: part["litres"] for part in said.document["parts"]}
    given = [w for cask, litres in parts.items() for w in ("--cask", f"{cask}={litres}@59.0")]
    said = oakpanel("--by", "B2", "release", "disgorge", "Spring", *given)
    assert said.code == 0, said.err
    return oakpanel


def test_who_gave_the_litres_cannot_sign(disgorged: Call, house: Store) -> None:
    for by, did in (("B2", "gave the litres of"), ("BL", "proposed")):
        said = disgorged("release", "sign", "Spring", "--by", by, "--despite", "in haste")
        assert said.code == 1
        assert f"{by} {did} release Spring: a second person signs it" in said.err
    assert disgorged("release", "sign", "Spring", "--by", "LD", "--despite", "as agreed").code == 0
    with house.read() as db:
        release = db.query(Release).one()
        assert (release.proposed_by, release.disgorged_by, release.signed_by) == ("BL", "B2", "LD")


def test_who_left_cannot_sign(disgorged: Call, house: Store) -> None:
    with house.write() as db:
        db.query(Person).filter_by(code="LD").one().left_on = date(2026, 3, 1)
    said = disgorged("release", "sign", "Spring", "--by", "LD", "--despite", "in haste")
    assert said.code == 1
    assert "LD left on 2026-03-01 and cannot sign a release." in said.err


@pytest.mark.slow
def test_who_signs_is_whose_pin_it_is(disgorged: Call, house: Store) -> None:
    with house.write() as db:
        set_pin(db, "LD", "8642", now=NOW, by="LD")
    sign = ("release", "sign", "Spring", "--by", "LD", "--despite", "as agreed")
    assert "do not go together" in disgorged(*sign).err, "the PIN of BL is not that of LD"
    assert disgorged("--pin-file", "-", *sign, typed="8642\n").code == 0
