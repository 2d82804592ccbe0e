"""In which order a session was served, what that does to its words, and what is said of it."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import Agreement, AgreementSettings, PanelWord, Served, assess_agreement
from analysis.agreement.verdict.serving import said_of_order

QUICK = AgreementSettings(permutations=99, bootstraps=99)


def session(
    kind: str, *, fall: float = 0.0, seed: int = 5, spread: float = 0.0, carry: float = 0.0
) -> pd.DataFrame:
    """Eight casks, two of them twice; `kind` says how they came."""
    rng = np.random.default_rng(seed)
    glasses = [(f"x{n}", 1) for n in range(8)] + [("x0", 2), ("x1", 2)]
    truth = spread * rng.normal(size=8)
    rows = []
    same = rng.permutation(10)
    for who in range(8):
        own = rng.permutation(10)
        if kind == "one order":
            own = same
        if kind == "classes":
            own = np.array(sorted(range(10), key=lambda g: (_late(g), rng.random())))
        if kind == "classes, again":
            own = np.array(sorted(range(10), key=lambda g: (g == 8 or _late(g), rng.random())))
        for place, glass in enumerate(own, start=1):
            name, replicate = glasses[glass]
            y = 50.0 + truth[int(name[1:])] - fall * (place - 5.5) + rng.normal(0.0, 6.0)
            rows.append((f"P{who}", name, replicate, place, round(float(y), 1)))
    names = ["assessor", "sample", "replicate", "position", "score"]
    frame = pd.DataFrame(rows, columns=names)
    return frame.assign(session="S1", held_on="2031-09-04", descriptor="plum")


def _late(glass: int) -> bool:
    return glass in (2, 3, 4, 5)


def judged(kind: str, **how: float) -> Agreement:
    return assess_agreement(session(kind, **how), settings=QUICK)  # type: ignore[arg-type]


def test_equal_casks_that_fall_along_one_order_are_not_acted_on() -> None:
    found = judged("one order", fall=1.8)
    assert found.order.served is Served.ONE_ORDER
    assert found.descriptor("plum").verdict.word is PanelWord.ORDER
    assert found.verdict.word is PanelWord.ORDER
    assert "order of its own" in found.verdict.next_action
    assert {person.reading.n_notes for person in found.assessors} == {0}


def test_everybody_has_an_order_of_his_own() -> None:
    found = judged("own", fall=1.8, spread=10.0)
    assert (found.order.served, found.order.sentence) == (Served.FREE, None)
    order = found.descriptor("plum").order
    assert order is not None
    assert order.per_glass == pytest.approx(-1.8, abs=0.6)
    assert order.f_kept > 0.9
    assert found.descriptor("plum").verdict.word is PanelWord.SAFE


def test_the_fall_is_taken_out_of_the_means() -> None:
    rng = np.random.default_rng(5)
    truth = 10.0 * rng.normal(size=8)
    off = {}
    for name, scores in (
        ("known", session("own", fall=4.0, spread=10.0)),
        ("not known", session("own", fall=4.0, spread=10.0).assign(position=np.nan)),
    ):
        means = assess_agreement(scores, settings=QUICK).descriptor("plum").means
        values = np.array([part.mean for part in means])
        off[name] = float(np.std(values - truth))
    assert off["known"] < 0.8 * off["not known"]


def test_across_classes_the_interval_allows_for_the_order() -> None:
    found = judged("classes", fall=1.8)
    assert found.order.served is Served.CLASSES
    assert found.order.sentence is not None
    assert "nothing is known" in found.order.sentence
    assert "second time after the smoky ones" in str(found.order.next_action)
    note = found.descriptor("plum")
    assert note.verdict.word not in (PanelWord.SAFE, PanelWord.SECOND_LOOK)
    bare = assess_agreement(
        session("classes", fall=1.8).assign(position=np.nan), settings=QUICK
    ).descriptor("plum")
    assert bare.verdict.word in (PanelWord.SAFE, PanelWord.SECOND_LOOK)
    assert note.order is not None
    assert note.order.per_glass < -1.0


def test_what_is_not_known_of_the_order_lowers_the_f_of_unlike_classes() -> None:
    kept = {}
    for kind in ("own", "classes"):
        order = judged(kind, spread=12.0).descriptor("plum").order
        assert order is not None
        kept[kind] = order.f_kept
    assert kept["own"] > 0.97
    assert kept["classes"] < 0.9


def test_glasses_nosed_again_after_the_smoke_are_known_for_twelve_months() -> None:
    tonight = session("classes", fall=1.8)
    late = session("classes, again", fall=1.8, seed=9).assign(session="S0", held_on="2031-03-04")
    early = late.assign(held_on="2029-03-04")
    known = assess_agreement(tonight, recent=late, settings=QUICK, with_history=False)
    forgotten = assess_agreement(tonight, recent=early, settings=QUICK, with_history=False)
    orders = [part.descriptor("plum").order for part in (known, forgotten)]
    assert orders[0] is not None
    assert orders[1] is not None
    assert (orders[0].n_again, orders[1].n_again) == (8, 0)
    assert orders[0].per_glass < orders[1].per_glass
    assert orders[0].per_glass_sd < orders[1].per_glass_sd
    assert "8 glasses nosed again" in str(known.order.sentence)


@pytest.mark.parametrize(
    ("n_again", "hidden", "said", "not_said"),
    [
        (0, True, "nothing is told yet: wait for the reveal", "no glass of an early class"),
        (0, False, "no glass of an early class was nosed again", "told yet"),
        (8, True, "8 glasses nosed again", "told yet"),
    ],
)
def test_liquids_poured_twice_and_not_told_yet_are_no_lack_of_such_glasses(
    n_again: int, hidden: bool, said: str, not_said: str
) -> None:
    order = said_of_order(Served.CLASSES, 2, n_again, hidden=hidden)
    assert said in str(order.sentence)
    assert not_said not in str(order.sentence)
    assert ("`--after-peat`" in str(order.next_action)) == (n_again == 0)


def test_a_second_pouring_after_the_first_is_called_that_and_counted_once() -> None:
    """Eight samples twice, four trays: 32 glasses are nosed again, not 64."""
    rng = np.random.default_rng(3)
    rows = [
        ("S1", "2031-05-04", who, f"s{k}", r, "plum", 30.0 + 5 * k + rng.normal(0, 3), place)
        for who in "ABCD"
        for r in (1, 2)
        for place, k in enumerate(rng.permutation(8), 8 * r)
    ]
    names = ["session", "held_on", "assessor", "sample", "replicate", "descriptor", "score"]
    found = assess_agreement(pd.DataFrame(rows, columns=[*names, "position"]), settings=QUICK)
    assert found.order.served is Served.CLASSES
    order = found.descriptor("plum").order
    assert order is not None
    assert order.n_again == 32
    said = str(found.order.sentence)
    assert said.startswith("2 classes of glasses came one after the other on every tray, all ")
    assert "all glasses of a pouring before all of the next" in said
    assert "32 glasses nosed again" in said


def test_an_order_that_was_not_loaded_is_said_beside_the_verdict() -> None:
    scores = session("own", spread=10.0).drop(columns="position")
    found = assess_agreement(scores, settings=QUICK)
    assert found.order.served is Served.NOT_ON_RECORD
    assert found.descriptor("plum").order is None
    assert found.descriptor("plum").verdict.word is PanelWord.SAFE
    assert "not on record" in str(found.order.sentence)


def test_order_goes_into_json() -> None:
    told = json.loads(json.dumps(judged("classes", fall=1.0).to_dict(), allow_nan=False))
    assert told["order"]["served"] == "in classes, one after the other"
    assert told["descriptors"][0]["order"]["n_again"] == 0


def test_nothing_is_moved_where_all_scores_are_the_same() -> None:
    scores = session("own").assign(score=0.0)
    note = assess_agreement(scores, settings=QUICK).descriptor("plum")
    assert note.verdict.word is PanelWord.ALIKE
    assert note.order is None
