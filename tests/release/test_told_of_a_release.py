"""What is said of a release beside its plan, of its parts, its sessions and its bottles."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import pandas as pd
import pytest
from sqlalchemy.orm import Session

from analysis.as_json import as_json
from analysis.bars import Bar, Barred, FillingFacts
from analysis.vatting import LimitKey, LimitKind, Limits, NoVatting
from panel.kinds import Doubt, GlassKind, SessionStatus, Stage
from panel.questions.agreed import as_agreed
from panel.release.batch import AsBatch, _with_way_out
from panel.release.bench import mix_bench
from panel.release.disgorging import _figure_faults, _keep_parts
from panel.release.doubts import doubts
from panel.release.given import Given, Planned
from panel.release.holding import Lying, not_free
from panel.release.outcome import VatMeasured, _bottles, _rest_words, differences
from panel.release.propose import _name_faults
from panel.release.sheet import _claims
from panel.release.tasting_found import _sessions
from panel.release.trace import blends
from panel.release.woods import _share, _Stay
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.lexicon import DescriptorVersion
from panel.store.sessions import PanelSession, SessionDescriptor
from tests.release.bare import NOW, TODAY, add_release, build_bare
from tests.release.test_at_the_edges import PART, WHOLE, gave, lying, poured

PLAN = {"bulk_litres": 1000.0, "abv_percent": 58.0, "water_litres": 200.0, "probability": 0.7}
PLAN |= {"final_litres": 700.0, "bottles": 985, "age_statement_years": 12}
LIMITS = Limits(bottles=985)


def outcome(**more: Any) -> Any:
    told = {"litres": 1000.0, "abv": 58.0, "water": 200.0, "bottles": 985, "age": 12, "chance": 0.7}
    told |= more
    pour = SimpleNamespace(age_statement_years=told["age"])
    return SimpleNamespace(
        casks=told.get("casks", ()),
        vat=VatMeasured(told["litres"], told["abv"], measured=True),
        water_litres=told["water"],
        bottles=told["bottles"],
        mixture=SimpleNamespace(poured=pour, probability=told["chance"]),
        doubts=told.get("doubts", ()),
    )


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, None),
        ({"litres": 1000.4}, None),
        ({"litres": 999.5}, "The vat holds 999.5 L, planned 1,000.0 (-0.5)."),
        ({"abv": 58.04}, None),
        ({"abv": 58.06}, "Its strength is 58.06 % vol, planned 58.00 (+0.06)."),
        ({"water": 200.6}, "Water to add: 200.6 L, planned 200.0 (+0.6)."),
        ({"bottles": 986}, "Bottles: 986, planned 985 (+1)."),
        ({"age": 11}, "The youngest part is 11 years old, planned were 12."),
        ({"chance": 0.685}, None),
        ({"chance": 0.675}, "The chance of all notes within tolerance is"),
        ({"chance": 0.725}, "The chance of all notes within tolerance is"),
        ({"casks": (gave(45.0, planned=PART),)}, "Cask C8 gave 45.0 L, planned were 40.0. 55.0 L"),
        ({"doubts": (SimpleNamespace(sentence="Odd."),)}, "Odd."),
    ],
)
def test_what_is_otherwise_than_planned_is_told(more: dict[str, Any], said: str | None) -> None:
    found = list(differences(PLAN, outcome(**more), LIMITS))
    assert len(found) == (said is not None)
    assert "".join(found).startswith(said or "")


def test_a_vat_too_weak_is_told_and_no_water() -> None:
    (said,) = differences(PLAN, outcome(water=None), LIMITS)
    assert "below the bottling strength: it cannot be reduced" in said
    unknown = dict.fromkeys(PLAN)
    assert list(differences({**unknown, "age_statement_years": 12}, outcome(), LIMITS)) == []


def test_bottles_are_held_against_what_was_to_be_expected() -> None:
    """700 L less 1.5 % are 985 bottles of 0.7 L; gauges may be off, so fewer were safe to print."""
    plan = {"final_litres": 700.0, "bottles": 960}
    assert list(_bottles(plan, 985, LIMITS)) == []
    (said,) = _bottles(plan, 970, LIMITS)
    assert said == "Bottles: 970, planned 985 (-15); 960 were safe to print."
    assert list(_bottles({"bottles": 960}, 960, LIMITS)) == []
    assert list(_bottles({"bottles": 960}, 961, LIMITS)) == ["Bottles: 961, planned 960 (+1)."]
    (said,) = _bottles({"final_litres": 700.0}, 970, LIMITS)
    assert said.endswith("(-15).")


def test_what_stays_in_a_cask_in_words() -> None:
    assert _rest_words(gave(30.0)) == " 70.0 L stay in it."
    assert _rest_words(gave(100.0)) == " It is empty."
    assert _rest_words(gave(100.0, planned=WHOLE)) == ""
    assert _rest_words(gave(50.0, planned=WHOLE)) == "", "asked"
    assert _rest_words(gave(50.0, planned=WHOLE, empty=True)) == "", "written off"


@pytest.mark.parametrize(
    ("litres", "abv", "vat_litres", "vat_abv", "faults"),
    [
        (30.0, 60.0, None, None, 0),
        (100_000.0, 100.0, 0.1, 100.0, 0),
        (100_000.1, 60.0, None, None, 1),
        (-0.1, 60.0, None, None, 2),  # and no cask gave anything
        (0.0, 60.0, None, None, 1),
        (30.0, 0.0, None, None, 1),
        (30.0, 100.1, None, None, 1),
        (30.0, 60.0, 0.0, None, 1),
        (30.0, 60.0, None, 0.0, 1),
        (30.0, 60.0, None, 100.1, 1),
        (-1.0, 0.0, -1.0, 0.0, 5),
    ],
)
def test_figures_that_no_cask_and_no_vat_has(
    litres: float, abv: float, vat_litres: float | None, vat_abv: float | None, faults: int
) -> None:
    given = {"C8": Given(litres, abv)}
    assert len(list(_figure_faults({"C8": WHOLE}, given, vat_litres, vat_abv))) == faults
    (said,) = _figure_faults({"C8": WHOLE, "C9": PART}, {"C8": Given(1.0, 60.0)}, None, None)
    assert "Nothing is said of cask C9" in said


HELD_BACK = Barred(Bar.HOLD, FillingFacts(100.0, 60.0, on_hold=True, hold_reason="cork"))


def test_what_nobody_agreed_to_is_a_doubt_and_forbids_a_vat() -> None:
    state = lying().state
    held = gave(30.0)
    vat = VatMeasured(30.0, 58.0, measured=False)
    then = [as_json(as_agreed("C8", HELD_BACK))]
    older = [{"cask": "C8", "bar": "on hold", "sentence": "Told only."}]
    for litres, planned, found in (
        (30.0, {}, [Doubt.BARRED]),
        (30.0, {"agreed_then": [{**then[0], "stood": "another"}]}, [Doubt.BARRED]),
        (30.0, {"agreed": older, "agreed_then": []}, [Doubt.BARRED]),
        (0.0, {}, []),
        (30.0, {"agreed_then": then}, []),
        (30.0, {"agreed": older}, []),
    ):
        made: Any = SimpleNamespace(**{name: getattr(held, name) for name in _told_of(held)})
        made.lying, made.given_litres = Lying(state, (HELD_BACK,)), litres
        made.planned = WHOLE
        told = [each.doubt for each in doubts([made], planned, poured(), vat)]
        assert told == found
    barred = {"C8": Lying(state, (HELD_BACK,)), "C9": lying()}
    faults = not_free(barred, {"C8": 30.0, "C9": 30.0, "Z": 1.0}, LIMITS, "Ask by name.")
    assert len(faults) == 3
    assert (faults[1], faults[2]) == ("Cask Z holds nothing.", "Ask by name.")
    assert not_free({"C9": lying()}, {"C9": 30.0}, LIMITS, "Ask by name.") == []
    (little,) = not_free({"C9": lying()}, {"C9": 101.0}, LIMITS, "Ask by name.")
    assert "holds 100.0 L, not 101.0" in little


def _told_of(held: object) -> list[str]:
    return [name for name in dir(held) if not name.startswith("_")]


def test_what_each_cask_gave_is_kept_and_who_gave_nothing_goes(store: Store) -> None:
    build_bare(store)
    with store.write() as db:
        release = add_release(db, "Spring", ("X1", 30.0), ("X2", 60.0))
        ids = {part.filling.cask.number: part.filling_id for part in release.parts}
        third = add_release(db, "Other", ("X3", 1.0)).parts[0].filling_id
        state = SimpleNamespace(filling_id=third, abv=59.0)
        base: dict[str, Any] = {"lying": SimpleNamespace(state=state), "emptied": True}
        casks: Any = [
            SimpleNamespace(cask="X1", planned=Planned(30.0, False), given_litres=29.0, **base),
            SimpleNamespace(cask="X3", planned=None, given_litres=12.0, **base),
        ]
        _keep_parts(db, release, {"X1": Given(29.0, 60.5), "X3": Given(12.0, 58.5)}, casks)
        db.refresh(release)
        found = {
            part.filling_id: (part.litres, part.given_l, part.given_abv, part.whole)
            for part in release.parts
        }
    assert found == {ids["X1"]: (30.0, 29.0, 60.5, True), third: (12.0, 12.0, 58.5, True)}


@pytest.mark.parametrize(
    ("before", "years", "years_before"),
    [(("barrel",), 2.0, 6.0), ((), None, None)],
)
def test_a_wood_s_years_are_those_of_its_youngest(
    before: tuple[str, ...], years: float | None, years_before: float | None
) -> None:
    fillings: list[Any] = [
        (SimpleNamespace(id=n, filled_on=date(2026 - n - 1, 3, 14)), 30.0) for n in (1, 2)
    ]
    states: Any = {1: SimpleNamespace(years_before=6.0), 2: SimpleNamespace(years_before=7.0)}
    stay = _Stay("butt", None, before)
    found = _share(stay, fillings, 120.0, states, TODAY)
    assert (found.percent, found.casks, found.years_before) == (50.0, 2, years_before)
    assert found.years == (None if years is None else pytest.approx(years, abs=0.01))
    del states[2]
    assert _share(stay, fillings, 120.0, states, TODAY).years_before is None


def test_a_release_has_a_name_of_its_own(store: Store) -> None:
    build_bare(store)
    with store.write() as db:
        add_release(db, "Spring")
        assert list(_name_faults(db, "Autumn")) == []
        for name, said in ((" ", "Give"), ("Spring", "already"), ("a\nb", "The release's name")):
            (found,) = _name_faults(db, name)
            assert said in found


@pytest.mark.parametrize(
    ("kind", "within", "adds"),
    [(LimitKind.SHARE, 0.1, True), (LimitKind.SHARE, None, False), (LimitKind.AGE, 0.1, False)],
)
def test_where_the_recipe_stands_in_the_way(
    kind: LimitKind, within: float | None, adds: bool
) -> None:
    keys = (LimitKey(LimitKind.QUANTITY), LimitKey(kind))
    told = dict.fromkeys(NoVatting.__dataclass_fields__)
    found = NoVatting(**{**cast(Any, told), "sentence": "None.", "keys": keys})
    from panel.questions.vatting import VatAnswer

    answer = VatAnswer(
        **cast(Any, {**dict.fromkeys(VatAnswer.__dataclass_fields__), "found": found})
    )
    said = _with_way_out(answer, AsBatch("L1", recipe_within=within)).found.sentence
    assert (said != "None.") is adds


def nose(db: Session, name: str, draw_id: int, status: SessionStatus, *notes: str) -> None:
    held = PanelSession(name=name, held_on=TODAY, status=status, loaded=True)
    db.add(held)
    db.flush()
    told = {"session_id": held.id, "code": "101", "kind": GlassKind.TEST, "replicate": 1}
    db.add(KeyRow(draw_id=draw_id, **told))
    words = {each.descriptor.name: each for each in db.query(DescriptorVersion)}
    for place, note in enumerate(notes, 1):
        held.descriptors.append(SessionDescriptor(place=place, descriptor_version=words[note]))
    db.flush()


def test_a_claim_names_the_revealed_sessions_that_asked_for_its_note(store: Store) -> None:
    build_bare(store)
    known: Any = SimpleNamespace(
        estimates=pd.DataFrame(
            {"sample": "Spring-B1", "descriptor": ["smoke", "plum", "gone"], "se": [1.0, None, 1.0]}
        ).assign(estimate=[30.0, 55.0, 9.0], last_nosed=pd.Timestamp(TODAY))
    )
    nobody: Any = SimpleNamespace(estimates=known.estimates.assign(sample="Other"))
    with store.write() as db:
        release = add_release(db, "Spring", ("X1", 30.0), ("X2", 30.0))
        assert "no blend of it was mixed" in (_claims(db, release, TODAY, known)[1] or "")
        mix_bench(db, "Spring", volume_ml=100.0, as_of=TODAY, now=NOW, by="BL")
        draw = release.benches[0].draw_id
        nose(db, "Blind", draw, SessionStatus.SEALED, "smoke", "plum")
        assert blends(db) == []
        assert "has not nosed its blend" in (_claims(db, release, TODAY, nobody)[1] or "")
        assert "no revealed session says" in (_claims(db, release, TODAY, known)[1] or "")
        nose(db, "First", draw, SessionStatus.REVEALED, "smoke")
        nose(db, "Second", draw, SessionStatus.REVEALED, "smoke", "plum")
        claims, reason = _claims(db, release, TODAY, known)
        assert reason is None
        assert [(each.note, each.points, each.words, each.se) for each in claims] == [
            ("plum", 55.0, "strong", None),
            ("smoke", 30.0, "clear", 1.0),
        ]
        assert [each.sessions for each in claims] == [("Second",), ("First", "Second")]
        assert {each.stage for each in claims} == {Stage.NOSE.value}
        assert [each.name for each in _sessions(db, [draw], TODAY)] == ["First", "Second"]
        assert _sessions(db, [draw], date(2026, 3, 13)) == []
        ((blend, parts),) = blends(db)
        assert (blend.label, [cask.number for *_, cask in parts]) == ("Spring-B1", ["X1", "X2"])
