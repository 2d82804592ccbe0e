"""What speaks against an unpeated glass behind the smoke, and against another house's lines."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from panel.kinds import PeatOrder, Stage
from panel.session.elsewhere.opening import _other_lines
from panel.session.orders import PEAT_CLASS_STARTS_PPM
from panel.session.smoke import smoke_faults
from panel.store.engine import Store
from tests.houses.parts import descriptor


@pytest.mark.parametrize(
    ("more", "classes", "twice", "faults"),
    [
        ({}, (0, 2), (), 0),
        ({}, (0, 2), (0,), 0),
        ({}, (0, 2), (1,), 1),  # a peated duplicate shows nothing behind the smoke
        ({}, (1, 2), (0,), 0),  # the least smoky class there is counts as unpeated
        ({}, (0, 0), (), 1),
        ({"peat": PeatOrder.BALANCED}, (0, 2), (), 1),
        ({"duplicates": ()}, (0, 2), (), 1),
        ({"after_peat": False, "duplicates": ()}, (0, 0), (1,), 0),
        ({}, (), (), 0),
    ],
)
def test_an_unpeated_glass_behind_the_smoke_asks_for_smoke_and_a_duplicate(
    more: dict[str, Any],
    classes: tuple[int, ...],
    twice: tuple[int, ...],
    faults: int,
) -> None:
    draws = [SimpleNamespace(id=at, label=f"D{at}") for at in range(len(classes))]
    ppm = (0.0, PEAT_CLASS_STARTS_PPM[0] + 1.0, PEAT_CLASS_STARTS_PPM[1] + 1.0)
    liquids = {at: SimpleNamespace(phenol_ppm=ppm[each]) for at, each in enumerate(classes)}
    doubled = [draws[at] for at in twice]
    parts: Any = SimpleNamespace(draws=draws, liquids=liquids, duplicates=doubled)
    told = {"after_peat": True, "peat": None, "duplicates": ("auto",), "replicates": 1, **more}
    plan: Any = SimpleNamespace(**told)
    assert len(list(smoke_faults(plan, parts))) == faults


@pytest.mark.parametrize(
    ("otherwise", "faults"),
    [
        ({}, 0),
        ({"name": "tar"}, 0),  # not known here: it comes with the pack
        ({"version": 2}, 0),
        ({"meaning": "of a cold hearth"}, 1),
        ({"stage": Stage.FINISH}, 1),
        ({"low_words": "faint"}, 1),
        ({"high_words": "faint"}, 1),
        ({"ought_to_be_absent": True}, 1),
    ],
)
def test_a_line_that_means_something_else_here_is_refused(
    store: Store, otherwise: dict[str, Any], faults: int
) -> None:
    told: dict[str, Any] = {"name": "smoke", "version": 1, "meaning": "of a hearth"}
    told |= {"stage": Stage.NOSE, "low_words": "none", "high_words": "very strong"}
    line = SimpleNamespace(**{**told, "ought_to_be_absent": False, **otherwise})
    body: Any = SimpleNamespace(lines=(line,))
    with store.write() as db:
        db.add(descriptor("smoke", meaning="of a hearth"))
        db.flush()
        assert len(list(_other_lines(db, body))) == faults
