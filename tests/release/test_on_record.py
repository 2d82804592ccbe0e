"""What is on record of a release and of its lot: read back row by row from a bare house."""

from __future__ import annotations

import json
from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest

from panel.errors import EntriesAtFault, UnknownRecord
from panel.kinds import (
    BottleKind,
    EventKind,
    GaugeMethod,
    GlassKind,
    ReleaseStatus,
    RemarkKind,
    SessionStatus,
)
from panel.release import benched, lot_forgetting
from panel.release.batch import AsBatch
from panel.release.batch_steps import keep_batch
from panel.release.bench import mix_bench
from panel.release.benched import _evenings, bench_nosed, is_nosed, wants_nosing, why_not_nosed
from panel.release.lot_bottles import (
    bottle_gone,
    find_remark,
    keep_bottles,
    keep_remark,
    tell_safety,
)
from panel.release.lot_nosing import _first
from panel.release.lot_trace import all_bottles, all_remarks, trace_lot, trace_remark
from panel.release.sheet import _malt_ppm
from panel.release.trace import record, trace
from panel.store.batches import ReleaseBatch
from panel.store.bottle_remarks import LotBottle
from panel.store.casks import Filling
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.releases import Release
from panel.store.sessions import PanelSession
from tests.houses.parts import add_draw, add_event, add_filling, add_regauge
from tests.release.bare import FIRST, NOW, TODAY, add_release, build_bare

STEP: Any = {"now": NOW, "by": "LD"}
MIX: Any = {"volume_ml": 100.0, "as_of": TODAY, "now": NOW, "by": "BL"}
BOTTLED: dict[str, Any] = {
    **{"status": ReleaseStatus.BOTTLED, "disgorged_on": FIRST, "disgorged_by": "BL"},
    **{"signed_by": "LD", "signed_at": NOW, "bottled_on": FIRST, "bottles": 200, "abv": 46.0},
}


@pytest.fixture
def house(store: Store) -> Store:
    build_bare(store)
    return store


def bottle(db: Any, number: int) -> LotBottle:
    found: LotBottle = db.get(LotBottle, number)
    return found


def filling(db: Any, label: str) -> Filling:
    found: Filling = db.query(Filling).filter_by(label=label).one()
    return found


def poured(
    db: Any,
    name: str,
    draw: Draw,
    *,
    held_on: date = FIRST,
    status: SessionStatus = SessionStatus.REVEALED,
    kind: GlassKind = GlassKind.TEST,
) -> None:
    """Add a session that poured a sample in two glasses of a kind."""
    evening = PanelSession(name=name, held_on=held_on, status=status, loaded=True, nosing_abv=20.0)
    db.add(evening)
    db.flush()
    for replicate in (1, 2):
        told = {"session_id": evening.id, "kind": kind, "replicate": replicate}
        db.add(KeyRow(draw_id=draw.id, code=f"10{replicate}", **told))
    db.flush()


def test_a_release_is_told_with_its_limits_and_the_batch_it_follows(house: Store) -> None:
    limits = {"bottles": 100, "casks_max": 3}
    with house.write() as db:
        add_release(db, "Winter", ("X1", 30.0), lot_code="L1", **BOTTLED)
        spring = add_release(db, "Spring", ("X1", 20.0), ("X2", 30.0), reason="like the last")
        assert record(db, spring)["limits"] == {}
        assert record(db, spring)["batch"] is None
        spring.limits_json = json.dumps(limits)
        keep_batch(db, "Spring", AsBatch("L1", within_points=8.0))
        told = record(db, spring)
        assert told["limits"] == limits
        assert told["batch"] == {
            **{"before": "L1", "within_points": 8.0, "sample": None, "before_sample": None},
            **{"kept": None, "kept_on": None},
        }
        assert (told["release"], told["status"], told["target"]) == ("Spring", "proposed", "Fen")
        assert (told["reason"], told["planned_on"]) == ("like the last", FIRST)
        assert [(part["cask"], part["litres"]) for part in told["parts"]] == [
            ("X2", 30.0),
            ("X1", 20.0),
        ]
        assert [(part["planned"], part["whole"]) for part in told["parts"]] == [(True, False)] * 2
        kept = [{"cask": "X2", "litres": 30.0}]
        spring.predicted_json = json.dumps({"parts": kept})
        assert [part["planned"] for part in record(db, spring)["parts"]] == [True, False]
        spring.predicted_json = '{"probability": 0.7}'
        assert (told["found"], told["found_reason"]) == (None, "not disgorged yet")
        assert (told["as_signed"], told["agreed"], told["since"]) == (None, [], [])
        assert told["planned"]["probability"] == 0.7
        batch = db.query(ReleaseBatch).one()
        batch.sample, batch.before_sample = (add_draw(db, name, None) for name in ("N", "B"))
        batch.found_json, batch.found_on = '{"word": "alike"}', TODAY
        db.flush()
        told = record(db, spring)["batch"]
        assert (told["sample"], told["before_sample"]) == ("N", "B")
        assert (told["kept"], told["kept_on"]) == ({"word": "alike"}, TODAY)
        bottled = record(db, db.query(Release).filter_by(name="Winter").one())
        assert (bottled["lot_code"], bottled["bottled_on"]) == ("L1", FIRST)
        assert str(NOW.year) in str(bottled["signed_at"])


def test_a_lot_is_told_with_what_its_casks_gave(house: Store) -> None:
    """What was given counts, where it was written down; else what was planned."""
    with house.write() as db:
        parent = filling(db, "X3/1")
        child = add_filling(db, "Y1", None, fill_bulk_l=80.0)
        add_event(db, child, EventKind.RE_RACKED, date(2020, 5, 1), parent=parent, litres=80.0)
        add_regauge(db, filling(db, "X1/1"), FIRST, 150.0, 58.0, method=GaugeMethod.WEIGHED)
        lot = add_release(
            *(db, "Spring", ("X1", 30.0), ("X2", 30.0), ("Y1", 20.0)), lot_code="L1", **BOTTLED
        )
        by_cask = {part.filling.cask.number: part for part in lot.parts}
        by_cask["X1"].given_l, by_cask["X1"].given_abv = 60.0, 57.0
        by_cask["X2"].given_l = 0.0
        add_release(db, "Shares a parent", ("X3", 10.0))
        add_release(db, "Shares a cask", ("X1", 10.0), ("X2", 5.0), planned_on=date(2026, 1, 1))
        add_release(db, "Given up", ("X1", 10.0), status=ReleaseStatus.CANCELLED)
        add_filling(db, "Z1", filling(db, "X1/1").make)
        add_release(db, "Shares nothing", ("Z1", 10.0))
        db.flush()
        told = trace_lot(db, "L1")
        first, second = told.parts
        assert (first.cask, first.litres, first.abv_percent) == ("X1", 60.0, 57.0)
        assert (second.cask, second.litres, second.abv_percent) == ("Y1", 20.0, 60.0)
        shares = [first.share_of_vat_percent, second.share_of_vat_percent]
        assert shares == pytest.approx([75.0, 25.0])
        assert (first.came_from, second.came_from) == ((), ("X3/1",))
        assert (first.make, second.make) == ("Sallow plain", None)
        gauges = [(each.litres, each.method) for each in first.gauges]
        assert gauges == [(190.0, "as filled"), (150.0, "weighed")]
        assert [(each.release, each.casks) for each in told.other_lots] == [
            ("Shares a cask", ("X1", "X2")),
            ("Shares a parent", ("X3",)),
        ]
        with pytest.raises(UnknownRecord):
            trace_lot(db, "L2")


@pytest.fixture
def lot(house: Store) -> Store:
    with house.write() as db:
        add_release(db, "Spring", ("X1", 30.0), lot_code="L1", **BOTTLED)
        add_release(db, "Summer", ("X2", 30.0), lot_code="L2", **BOTTLED)
    return house


def remark(db: Any, said: str, *, on: date = TODAY, kind: RemarkKind, lot: str = "L1") -> int:
    keep_remark(db, lot, kind=kind, said=said, made_on=on, who="Ostrow", **STEP)
    found = max(all_remarks(db), key=lambda each: each.remark)
    return found.remark


PLAIN = next(kind for kind in RemarkKind if not kind.concerns_safety)
HARM = next(kind for kind in RemarkKind if kind.concerns_safety)


def test_remarks_are_told_open_and_dangerous_ones_first(lot: Store) -> None:
    with lot.write() as db:
        old, new = (remark(db, "Cork.", on=day, kind=PLAIN) for day in (FIRST, TODAY))
        harm = remark(db, "Glass in it.", on=FIRST, kind=HARM, lot="L2")
        shut = remark(db, "Dull.", kind=PLAIN)
        closed = find_remark(db, shut)
        closed.outcome, closed.closed_on = "answered", TODAY
        db.flush()
        assert [each.remark for each in all_remarks(db)] == [harm, new, old, shut]
        assert [each.remark for each in all_remarks(db, open_only=True)] == [harm, new, old]
        told = trace_remark(db, shut)
        assert [each.remark for each in told.remarks] == [old, new, shut]
        assert [each.remark for each in told.open_remarks] == [old, new]
        assert {each.who for each in told.remarks} == {None}
        assert {each.who_is_kept for each in told.remarks} == {True}
        assert {each.who for each in trace_remark(db, old, with_who=True).remarks} == {"Ostrow"}
        told_on = tell_safety(db, harm, **STEP)
        assert (told_on.id, told_on.told_safety_on) == (harm, TODAY)
        told_on.told_safety_on = FIRST
        assert tell_safety(db, harm, **STEP).told_safety_on == FIRST, "told once already"
        for act in (find_remark, trace_remark):
            with pytest.raises(UnknownRecord, match="There is no remark 99"):
                act(db, 99)


def test_bottles_of_a_lot_stand_somewhere_until_they_go(lot: Store) -> None:
    with lot.write() as db:
        keep_bottles(db, "L1", place="shelf", count=3, kind=BottleKind.RETAINED, **STEP)
        keep_bottles(db, "L1", place="desk", count=1, kind=BottleKind.UNOPENED, **STEP)
        keep_bottles(db, "L2", place="shelf", count=1, kind=BottleKind.RETAINED, **STEP)
        numbers = [each.bottle for each in all_bottles(db)]
        first, second, third, *_ = numbers
        assert trace_lot(db, "L1").retained_here == 3
        gone = bottle_gone(db, second, gone_to=" laboratory ", **STEP)
        assert (gone.bottle, gone.gone_to) == (second, "laboratory")
        assert trace_lot(db, "L1").retained_here == 2
        with pytest.raises(EntriesAtFault) as refused:
            bottle_gone(db, second, gone_to=" ", **STEP)
        assert sorted(refused.value.faults) == ["bottle", "gone_to"]
        with pytest.raises(UnknownRecord, match="There is no bottle 99"):
            bottle_gone(db, 99, gone_to="laboratory", **STEP)
        release = db.query(Release).filter_by(name="Spring").one()
        # The bottle that has stood there longest, whatever its number; none poured or gone.
        bottle(db, third).kept_on = FIRST
        db.flush()
        found = _first(db, release, BottleKind.RETAINED)
        assert found is not None
        assert found.id == third
        bottle(db, third).draw = add_draw(db, "poured", None)
        db.flush()
        assert getattr(_first(db, release, BottleKind.RETAINED), "id", None) == first
        bottle(db, first).gone_on, bottle(db, first).gone_to = TODAY, "desk"
        db.flush()
        assert _first(db, release, BottleKind.RETAINED) is None
        assert getattr(_first(db, release, BottleKind.UNOPENED), "place", None) == "desk"


def test_who_made_a_remark_is_overwritten_where_somebody_was_named(
    lot: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[str] = []
    monkeypatch.setattr(lot_forgetting, "finish", lambda _store, tell: tell("done") or "over")
    monkeypatch.setattr(lot_forgetting, "need_room", lambda _store: told.append("room"))
    with lot.write() as db:
        named = remark(db, "Cork.", kind=PLAIN)
        keep_remark(db, "L1", kind=PLAIN, said="Dull.", made_on=TODAY, **STEP)
    act: Any = {"outcome": "answered", **STEP, "tell": told.append}
    done, over = lot_forgetting.close_and_overwrite(lot, named, **act)
    assert (done.remark, done.outcome, done.forgotten) == (named, "answered", True)
    assert str(over) == "over"
    assert told == ["room", "done"]
    with lot.read() as db:
        assert find_remark(db, named).person is None
    done, nothing = lot_forgetting.close_and_overwrite(lot, named + 1, **act)
    assert (done.remark, done.forgotten, nothing) == (named + 1, False, None)
    assert told == ["room", "done"], "nothing is overwritten where nobody was named"


def test_a_blend_is_nosed_in_a_revealed_session_that_poured_it_blind(house: Store) -> None:
    with house.write() as db:
        release = add_release(db, "Spring", ("X1", 30.0), ("X2", 30.0))
        assert why_not_nosed(release) == "no blend of it was mixed for the panel"
        for _ in range(2):
            mix_bench(db, "Spring", **MIX)
        one, other = (bench.draw for bench in release.benches)
        poured(db, "Blind", one, status=SessionStatus.CLOSED)
        poured(db, "Warm", one, kind=GlassKind.WARM_UP)
        poured(db, "Later", one, held_on=date(2026, 3, 15))
        assert why_not_nosed(release) == "no revealed session has nosed its blend"
        assert not is_nosed(db, "Spring", as_of=TODAY)
        assert bench_nosed(db, release, as_of=TODAY) is None
        poured(db, "Second", one, held_on=TODAY)
        poured(db, "First", one, held_on=FIRST)
        poured(db, "Other", other, held_on=FIRST)
        assert is_nosed(db, "Spring", as_of=TODAY)
        each = _evenings(db, one.id, TODAY)
        assert [(part.session, part.held_on) for part in each] == [
            ("First", FIRST),
            ("Second", TODAY),
        ]
        assert {part.nosing_abv_percent for part in each} == {20.0}
        nosed = {(part.sample, part.session) for part in trace(db, release) if part.session}
        assert nosed == {
            *((one.label, name) for name in ("First", "Second", "Later")),
            (other.label, "Other"),
        }


def test_the_blend_nosed_last_is_held_against_the_target(
    house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    line = SimpleNamespace(descriptor="smoke")
    found: Any = SimpleNamespace(lines=(line,), probability=0.4, reason=None)
    asked: list[tuple[Any, ...]] = []

    def held(*given: Any) -> Any:
        asked.append((given[0], given[1], given[2].name))
        return found

    monkeypatch.setattr("analysis.target.sample_against", held)
    planned = {"probability": 0.6, "prediction": [{"descriptor": "smoke", "estimate": 31, "sd": 2}]}
    with house.write() as db:
        release = add_release(
            *(db, "Spring", ("X1", 30.0), ("X2", 30.0)), predicted_json=json.dumps(planned)
        )
        for _ in range(2):
            mix_bench(db, "Spring", **MIX)
        one, other = (bench.draw for bench in release.benches)
        poured(db, "Last", one, held_on=TODAY)
        poured(db, "Before", other, held_on=FIRST)
        profile: Any = object()
        told = bench_nosed(db, release, as_of=TODAY, profile=profile)
        assert asked == [(profile, one.label, "Fen")]
        assert told is not None
        assert (told.sample, told.probability, told.predicted) == (one.label, 0.4, 0.6)
        assert [each.session for each in told.evenings] == ["Last"]
        (beside,) = told.lines
        assert vars(beside) == {"nosed": line, "predicted": 31, "predicted_sd": 2}
        assert told.litres is benched.Litres.PLANNED
        assert told.other_share == pytest.approx(0.0)
        poured(db, "Same day", other, held_on=TODAY)
        bench_nosed(db, release, as_of=TODAY, profile=profile)
        assert asked[-1][1] == other.label, "of two on a day the last by its label"
        release.target = None
        assert bench_nosed(db, release, as_of=TODAY, profile=profile) is None


@pytest.mark.parametrize(
    ("given", "aim", "wants"),
    [
        ((None, None), "Fen", True),
        ((30.0, 0.0), "Fen", False),
        ((30.0, 0.1), "Fen", True),
        ((None,), "Fen", False),
        ((None, None), None, False),
    ],
)
def test_what_is_mixed_for_a_target_wants_nosing(
    house: Store, given: tuple[float | None, ...], aim: str | None, wants: bool
) -> None:
    with house.write() as db:
        casks = [("X1", 30.0), ("X2", 30.0)][: len(given)]
        release = add_release(db, "Spring", *casks, aim=aim)
        for part, litres in zip(release.parts, given, strict=True):
            part.given_l = litres
        assert (wants_nosing(release) is not None) is wants


def test_malt_phenols_go_by_pure_alcohol() -> None:
    def part(at: int, litres: float, given: float | None = None, **abv: float) -> Any:
        held = SimpleNamespace(fill_abv=64.0, cask=SimpleNamespace(number=f"X{at}"))
        told = {"given_abv": None, "abv": None, **abv}
        return SimpleNamespace(filling_id=at, litres=litres, given_l=given, filling=held, **told)

    states: Any = {at: SimpleNamespace(phenol_ppm=ppm) for at, ppm in enumerate((0.0, 50.0, 20.0))}
    parts = [part(0, 30.0, abv=60.0), part(1, 30.0, 40.0, abv=60.0, given_abv=45.0), part(2, 25.0)]
    # 1,800 of nothing, 1,800 of 50 as it was given, 1,600 of 20 at the strength it was filled at.
    wanted = (1800.0 * 50.0 + 1600.0 * 20.0) / 5200.0
    assert _malt_ppm(parts, states)[0] == pytest.approx(wanted)
    assert _malt_ppm([], states) == (None, "nothing is in it")
    states[1].phenol_ppm = None
    assert _malt_ppm(parts, states) == (None, "the malt of cask X1 is not on record")
    assert _malt_ppm([part(9, 30.0)], states)[0] is None
