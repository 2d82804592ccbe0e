"""The register of samples: told once, put right by reversing a line, a page of alcohol a month."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from sqlalchemy import select

from panel.errors import EntriesAtFault, UnknownRecord
from panel.intake.loading import add_record
from panel.kinds import DrawKind
from panel.questions.register import Register, sample_register, sessions_untold, untold_samples
from panel.questions.register_months import by_month
from panel.records.register import account_for, account_for_session, reverse_line
from panel.store.draws import Draw, DrawPart
from panel.store.engine import Store
from panel.store.filling_states import filling_states
from panel.words.register_words import month_lines, reversed_lines
from tests.conftest import FIXED_NOW
from tests.houses.at_the_desk import build
from tests.houses.held_at_the_desk import NAME, hold

TODAY = date(2026, 3, 14)
APRIL = datetime(2026, 4, 2, 9, 0, tzinfo=UTC)


@pytest.fixture
def house(store: Store) -> Store:
    build(store)
    return store


def tell(store: Store, sample: str, reason: str | None, fate: str | None) -> None:
    with store.write() as db:
        account_for(db, sample, reason=reason, fate=fate, now=FIXED_NOW, by="LD")


def register(store: Store) -> Register:
    with store.read() as db:
        return sample_register(db, as_of=TODAY)


def litres_in(store: Store, label: str) -> float:
    with store.read() as db:
        return next(each.bulk_l for each in filling_states(db, TODAY) if each.label == label)


def test_what_stands_is_reversed_and_never_changed(house: Store) -> None:
    tell(house, "D1", "yearly nosing", None)
    tell(house, "D1", "yearly nosing", "poured away")
    with pytest.raises(EntriesAtFault, match="register reverse") as refused:
        tell(house, "D1", "a guest", None)
    assert refused.value.faults.keys() == {"reason"}
    row = {"sample": "D1", "kind": "cask", "filling": "SW1/1", "fate": "kept", "volume_ml": "200"}
    report = add_record(house, "draws", row, now=FIXED_NOW, by="LD")
    assert {problem.column for problem in report.problems} == {"fate", "volume_ml"}
    told = {**row, "fate": "", "volume_ml": "", "note": "green glass"}
    assert add_record(house, "draws", told, now=FIXED_NOW, by="LD").written
    with house.read() as db:
        draw = db.scalars(select(Draw).where(Draw.label == "D1")).one()
        assert (draw.reason, draw.fate, draw.volume_ml) == ("yearly nosing", "poured away", 300)


def test_a_reversing_line_names_the_one_reversed_and_why(house: Store) -> None:
    tell(house, "D1", "yearly nosing", "poured away")
    before = litres_in(house, "SW1/1")
    for ml, because in ((150.0, "the bottle held half"), (100.0, "read it again")):
        with house.write() as db:
            reverse_line(db, "D1", because=because, millilitres=ml, now=APRIL, by="LD")
    found = register(house)
    first, second = found.reversals
    assert (first.millilitres, first.reason, first.because) == (
        *(300.0, "yearly nosing"),
        "the bottle held half",
    )
    assert (second.of_sample, second.millilitres, second.by) == (2, 150.0, "LD")
    assert (first.reversed_on, second.because) == (date(2026, 4, 2), "read it again")
    [line] = [line for line in found.lines if line.sample == "D1"]
    assert (line.millilitres, line.fate) == (100.0, "poured away")
    assert litres_in(house, "SW1/1") == pytest.approx(before + 0.2)
    assert "line 2 (150 mL" in reversed_lines(found)[1]


def test_a_month_that_is_over_is_not_changed_by_what_is_put_right_later(house: Store) -> None:
    for number in range(1, 7):
        tell(house, f"D{number}", "guests" if number > 4 else "nosing", "poured away")
    [before] = by_month(register(house)).months
    with house.write() as db:
        reverse_line(db, "D5", because="half of it", millilitres=150, now=APRIL, by="LD")
    answer = by_month(register(house))
    february, april = answer.months
    # By hand: 300 mL of 58 % are .174 L pure, six of them 1.044; half a bottle is .087.
    assert [before.lpa, february.lpa] == pytest.approx([1.044, 1.044])
    assert [april.lpa, april.in_lpa] == pytest.approx([0.087, 0.174])
    assert answer.out_lpa - answer.in_lpa == pytest.approx(register(house).lpa)
    assert {part.reason: part.lines for part in february.reasons} == {"guests": 2, "nosing": 4}
    assert april.open_lines == 0
    said = "\n".join(month_lines(answer))
    assert "In all 1.131 L of pure alcohol out, 0.174 L in." in said


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"because": " ", "fate": "kept"}, "because"),
        ({"because": "why"}, "millilitres"),
        ({"because": "why", "millilitres": 0.0}, "millilitres"),
    ],
)
def test_a_reversal_says_why_and_what_is_right(
    house: Store, said: dict[str, object], field: str
) -> None:
    with pytest.raises(EntriesAtFault) as refused, house.write() as db:
        reverse_line(db, "D1", **said, now=FIXED_NOW, by="LD")  # type: ignore[arg-type]
    assert field in refused.value.faults
    assert register(house).reversals == ()


def test_of_a_blend_the_parts_stay_and_a_reference_has_no_line(house: Store) -> None:
    with house.write() as db:
        trial = Draw(label="T1", kind=DrawKind.TRIAL, drawn_on=TODAY, volume_ml=40)
        trial.parts.append(DrawPart(filling_id=1, millilitres=40))
        db.add(trial)
    for sample, right in (("T1", {"millilitres": 20.0}), ("Warm-up", {"fate": "kept"})):
        with pytest.raises(EntriesAtFault), house.write() as db:
            reverse_line(db, sample, because="why", **right, now=APRIL, by="LD")
    with house.write() as db:
        reverse_line(db, "T1", because="why", fate="kept", now=APRIL, by="LD")
    [gone] = register(house).reversals
    assert (gone.millilitres, gone.fate) == (40.0, None)


def test_a_session_is_told_of_at_once_and_asked_about_until_it_is(house: Store) -> None:
    hold(house, "closed")
    tell(house, "D1", None, "kept sealed")
    with house.read() as db:
        assert sessions_untold(db) == [(NAME, 4)]
        assert {each.sample for each in untold_samples(db, NAME)} == {"D1", "D2", "D3", "D4"}
    told = {"leftovers": "poured away", "spikes": "poured away", "reason": "blind"}
    with house.write() as db:
        done = account_for_session(
            db, NAME, **told, posted=["D2"], posted_to="Gannet", now=FIXED_NOW, by="LD"
        )
    assert (done.leftovers, done.spikes, done.posted) == (2, 2, 1)
    with house.read() as db:
        assert sessions_untold(db) == []
        fates = {draw.label: draw.fate for draw in db.scalars(select(Draw))}
    assert [fates[f"D{n}"] for n in range(1, 5)] == [
        *("kept sealed", "posted to Gannet", "poured away", "poured away"),
    ]
    assert fates["House reference"] == "poured away"


def test_what_was_posted_was_poured_and_went_to_somebody(house: Store) -> None:
    hold(house, "closed")
    with pytest.raises(EntriesAtFault), house.write() as db:
        account_for_session(db, NAME, leftovers="kept", posted=["D2"], now=FIXED_NOW, by="LD")
    with pytest.raises(UnknownRecord, match="D6"), house.write() as db:
        account_for_session(
            db, NAME, leftovers=None, posted=["D6"], posted_to="Gannet", now=FIXED_NOW, by="LD"
        )
    with house.read() as db:
        assert sessions_untold(db) == [(NAME, 4)]
