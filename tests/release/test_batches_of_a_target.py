"""Releases of one target beside each other, and the blends that mixing is learnt from."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import pandas as pd
import pytest

from panel.kinds import ReleaseStatus
from panel.release import mixing
from panel.release.batches import batches_of
from panel.store.engine import Store
from panel.store.releases import Release
from panel.store.targets import StoredTarget
from tests.houses.parts import descriptor, target

TODAY = date(2026, 3, 14)
RECKONED = '{"prediction": [{"descriptor": "ember", "estimate": 40.0, "sd": 3.0}]}'


def release(name: str, of: StoredTarget | None, **more: Any) -> Release:
    told = {"planned_on": TODAY, "status": ReleaseStatus.PROPOSED, "predicted_json": RECKONED}
    return Release(name=name, target=of, proposed_by="LD", **{**told, **more})


def test_only_what_was_made_for_the_target_and_not_given_up_is_listed(store: Store) -> None:
    with store.write() as db:
        ember = descriptor("ember")
        db.add(ember)
        fen, moor = target("Fen", [(ember, 40.0)], 5.0), target("Moor", [(ember, 20.0)], 5.0)
        db.add_all(
            [
                release("Autumn", fen),
                release("Spring", fen, planned_on=date(2025, 3, 14)),
                release("Of Moor", moor),
                release("Of none", None),
                release("Given up", fen, status=ReleaseStatus.CANCELLED),
                release("Not yet", fen, planned_on=date(2026, 3, 15)),
                release("Unknown", fen, predicted_json=None),
            ]
        )
    nobody = cast(Any, SimpleNamespace(estimates=pd.DataFrame(columns=["sample"])))
    with store.read() as db:
        found = batches_of(db, "Fen", as_of=TODAY, profile=nobody)
    assert [batch.release for batch in found.batches] == ["Spring", "Autumn"]
    assert found.bands == {"ember": (35.0, 45.0)}


def test_shares_of_a_blend_are_of_its_pure_alcohol_and_add_up_to_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """By hand: 60 mL at 60 % and 40 at 45 % are 36 and 18. Nobody knows plum of the second, and
    of the other blend one part is in no record."""

    def part(filling: int, millilitres: float) -> tuple[object, ...]:
        named = SimpleNamespace(id=filling, label=f"C{filling}/1")
        return SimpleNamespace(millilitres=millilitres), named, None

    first, second = (SimpleNamespace(label=f"Spring-B{n}", drawn_on=TODAY) for n in (1, 2))
    mixed = [(first, [part(1, 60.0), part(2, 40.0)]), (second, [part(1, 60.0), part(3, 40.0)])]
    strong = {1: 60.0, 2: 45.0}
    states = [
        SimpleNamespace(filling_id=filling, strength_on=lambda _day, abv=abv: abv)
        for filling, abv in strong.items()
    ]
    known = {"C1/1": [("ember", 50.0, 3.0), ("plum", 20.0, 3.0)], "C2/1": [("ember", 10.0, 3.0)]}
    monkeypatch.setattr(mixing, "blends", lambda _db: mixed)
    monkeypatch.setattr(mixing, "filling_states", lambda _db, _day: states)
    monkeypatch.setattr(mixing, "_latest", lambda _estimates, filling: known[filling])
    nosed = pd.DataFrame(
        {"sample": ["Spring-B1", "Spring-B2"], "descriptor": "ember", "estimate": 35.0, "se": 2.0}
    )
    profile = cast(Any, SimpleNamespace(estimates=nosed))
    found = mixing.bench_frames(cast(Any, None), as_of=TODAY, profile=profile)
    shares = found.parts[["blend", "descriptor", "filling", "share_lpa"]].to_numpy().tolist()
    assert shares == [
        ["Spring-B1", "ember", "C1/1", pytest.approx(2.0 / 3.0)],
        ["Spring-B1", "ember", "C2/1", pytest.approx(1.0 / 3.0)],
    ]
    assert found.nosed["blend"].tolist() == ["Spring-B1"]
