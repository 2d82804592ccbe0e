"""What the steps of a release decide by a day, a blend or a wood, on either side of it."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import pytest

from panel.kinds import EventKind, ReleaseStatus
from panel.release import order
from panel.release.against import BENCH, NOT_NOSED, against_bench
from panel.release.bench import _warnings
from panel.release.benched import BenchNosed, Litres, _mixed_by, wants_nosing
from panel.release.category import category_of
from panel.release.steps import _emptied
from panel.release.woods import WoodShare
from panel.store.casks import FillingEvent, Make
from panel.store.engine import Store
from panel.store.releases import Release
from tests.houses.nosed import NOW
from tests.houses.parts import add_event, add_filling


def bench(probability: float | None, *, out: bool = False) -> BenchNosed:
    line = SimpleNamespace(nosed=SimpleNamespace(is_out=out, descriptor="smoke"))
    vars(line.nosed).update(estimate=40.0, se=1.0, aim=30.0, tolerance=5.0)
    return BenchNosed(
        *("Spring-B1", None, 100.0, 58.0, Litres.PLANNED, 0.0, (), (cast(Any, line),)),
        *(probability, "few notes", None),
    )


@pytest.mark.parametrize(
    ("found", "key"),
    [
        (bench(0.1), None),
        (bench(0.099), BENCH),
        (bench(0.9, out=True), BENCH),
        (bench(None), None),
        (bench(None, out=True), BENCH),
    ],
)
def test_a_blend_nosed_off_its_target_asks_for_a_reason(found: BenchNosed, key: str | None) -> None:
    assert [each.key for each in against_bench(found, "it was poured away")] == (
        [key] if key else []
    )


def test_a_blend_nobody_nosed_asks_for_a_reason() -> None:
    assert [each.key for each in against_bench(None, "no blend was mixed")] == [NOT_NOSED]
    assert against_bench(None) == []


def release_of(*parts: tuple[float, float | None], target: bool = True) -> Release:
    made = [
        SimpleNamespace(filling_id=place, litres=litres, given_l=given)
        for place, (litres, given) in enumerate(parts)
    ]
    aim = SimpleNamespace(name="Fen") if target else None
    return cast(Release, SimpleNamespace(parts=made, benches=[], target=aim))


def test_only_a_blend_wants_nosing() -> None:
    assert wants_nosing(release_of((60.0, None), (40.0, None))) is not None
    assert wants_nosing(release_of((60.0, None), (40.0, 0.0))) is None, "one gave nothing"
    assert wants_nosing(release_of((60.0, 60.0), (40.0, 0.1))) is not None
    assert wants_nosing(release_of((60.0, None))) is None
    assert wants_nosing(release_of((60.0, None), (40.0, None), target=False)) is None


@pytest.mark.parametrize(
    ("poured_ml", "parts", "litres", "apart"),
    [
        ((60.0, 40.0), ((60.0, None), (40.0, None)), Litres.PLANNED, 0.0),
        ((60.7, 39.3), ((60.0, None), (40.0, None)), Litres.PLANNED, 0.007),
        ((60.8, 39.2), ((60.0, None), (40.0, None)), Litres.OTHER, 0.008),
        ((60.0, 40.0), ((60.0, 50.0), (40.0, 50.0)), Litres.PLANNED, 0.1),
        ((50.7, 49.3), ((60.0, 50.0), (40.0, 50.0)), Litres.DISGORGED, 0.007),
        ((50.8, 49.2), ((60.0, 50.0), (40.0, 50.0)), Litres.OTHER, 0.008),
    ],
)
def test_by_which_litres_a_blend_was_mixed(
    poured_ml: tuple[float, float],
    parts: tuple[tuple[float, float | None], ...],
    litres: Litres,
    apart: float,
) -> None:
    """Half a percent for a pipette, and a quarter for two parts of 100 mL in steps of half one."""
    drawn = [
        SimpleNamespace(filling_id=place, millilitres=each) for place, each in enumerate(poured_ml)
    ]
    found, other = _mixed_by(release_of(*parts), cast(Any, SimpleNamespace(parts=drawn)))
    assert found is litres
    assert other == pytest.approx(apart)


def test_a_pipette_s_error_is_warned_of_below_a_millilitre() -> None:
    at, below = (SimpleNamespace(cask=f"C{ml}", millilitres=ml) for ml in (1.0, 0.99))
    assert _warnings(cast(Any, (at,))) == ()
    (said,) = _warnings(cast(Any, (at, below)))
    assert "of cask C0.99:" in said


def test_a_cask_is_emptied_once_and_on_the_day_it_was_disgorged(store: Store) -> None:
    """Somebody may have loaded that it is empty between the signature and the bottling."""
    with store.write() as db:
        first, second = (add_filling(db, number, None) for number in ("0101", "0102"))
        add_event(db, first, EventKind.EMPTIED, date(2026, 3, 5))
        add_event(db, second, EventKind.LEAK_FOUND, date(2026, 3, 5))
        db.flush()
        released: Any = SimpleNamespace(
            name="Spring", lot_code="L26064-1", disgorged_on=date(2026, 3, 4)
        )
        for filling in (first, second):
            _emptied(
                db, released, cast(Any, SimpleNamespace(filling_id=filling.id, filling=filling))
            )
        released.disgorged_on = None
        third = add_filling(db, "0103", None)
        db.flush()
        part = SimpleNamespace(filling_id=third.id, filling=third)
        _emptied(db, released, cast(Any, part))
    with store.read() as db:
        emptied = db.query(FillingEvent).filter_by(kind=EventKind.EMPTIED).all()
        found = {event.filling.cask.number: event.happened_on for event in emptied}
    assert len(emptied) == 2
    assert found == {"0101": date(2026, 3, 5), "0102": date(2026, 3, 4)}


@pytest.mark.parametrize(
    ("years", "before", "finish"),
    [
        (3.0, 9.0, True),
        (3.1, 9.0, False),
        (None, None, False),
        (2.0, 2.0, False),
        (2.0, None, True),
    ],
)
def test_a_second_wood_is_a_finish(years: float | None, before: float | None, finish: bool) -> None:
    share = WoodShare("butt", None, 100.0, 1, ("barrel",), years, before)
    assert share.finish is finish


def step_faults(
    on: date, step: ReleaseStatus | None, *, disgorged: date | None, lot: str | None
) -> int:
    filling = SimpleNamespace(filled_on=date(2013, 5, 1), cask=SimpleNamespace(number="C8"))
    release: Any = SimpleNamespace(
        name="Spring", planned_on=date(2026, 3, 2), disgorged_on=disgorged, lot_code=lot
    )
    release.parts = [SimpleNamespace(filling=filling)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(order, "today_at_site", lambda _db, _now: date(2026, 3, 14))
        return len(list(order.out_of_order(cast(Any, None), release, step, on=on, now=NOW)))


@pytest.mark.parametrize(
    ("on", "step", "faults"),
    [
        (date(2026, 3, 14), ReleaseStatus.BOTTLED, 0),
        (date(2026, 3, 15), ReleaseStatus.BOTTLED, 1),
        (date(2026, 3, 8), ReleaseStatus.BOTTLED, 0),
        (date(2026, 3, 7), ReleaseStatus.BOTTLED, 1),
        (date(2026, 3, 7), ReleaseStatus.SIGNED, 0),
        (date(2026, 3, 5), ReleaseStatus.SIGNED, 0),
        (date(2026, 3, 4), ReleaseStatus.SIGNED, 1),
        (date(2026, 3, 4), None, 0),
        (date(2026, 3, 2), None, 0),
        (date(2026, 3, 1), None, 1),
        (date(2013, 4, 30), None, 2),
    ],
)
def test_the_days_of_the_steps(on: date, step: ReleaseStatus | None, faults: int) -> None:
    """Disgorged on the 5th and signed on the 8th of March, the 67th day of the year."""
    assert step_faults(on, step, disgorged=date(2026, 3, 5), lot="L26067-1") == faults
    assert order.lot_day("L26067-1") == date(2026, 3, 8)
    assert order.lot_day(None) is order.lot_day("M1") is None


@pytest.mark.parametrize(
    ("cereals", "sites", "name"),
    [
        (("barley",), ("A",), "single malt"),
        (("barley", "malt"), ("A", "B"), "blended malt"),
        (("wheat",), ("A",), "single grain"),
        (("wheat", "maize"), ("A", "B"), "blended grain"),
        (("barley", "wheat"), ("A", "A"), "blended"),
    ],
)
def test_what_a_whisky_may_be_called(
    store: Store, cereals: tuple[str, ...], sites: tuple[str, ...], name: str
) -> None:
    """Scotch Whisky Regulations 2009, regulation 3, from memory."""
    with store.write() as db:
        for at, (cereal, site) in enumerate(zip(cereals, sites, strict=True)):
            made = Make(name=f"M{at}", cereal=f" {cereal.title()} ", site=site, phenol_ppm=1.0)
            db.add(made)
    names = [frozenset({f"M{at}"}) for at in range(len(cereals))]
    with store.read() as db:
        assert category_of(db, names, ["American oak"]).name == name
        assert category_of(db, [*names, None]).name is None
        assert category_of(db, []).name is None
        chestnut = category_of(db, names, ["chestnut"])
    assert (chestnut.name, chestnut.reason) == (None, "chestnut is not of oak")
