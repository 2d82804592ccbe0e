"""A cask that its records bar is refused by everything that chooses casks, with the reason."""

from __future__ import annotations

from datetime import date

import pytest

from panel.kinds import EventKind
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.filling_states import filling_states
from tests.cli.calling import Call
from tests.houses.nosed import TODAY
from tests.houses.parts import add_event

SINCE = date(2026, 3, 1)
LEAKING = "leaking since 2026-03-01, no repair recorded"
LEAKED = "Cask C8 has leaked since 2026-03-01."
LIMITS = ("--litres", "350", "--casks", "2-5", "--old-gauges", "flag")
BY_HAND = ("--target", "Fen", "--litres", "260", "--part", "--old-gauges", "flag")


def filling_of(store: Store, cask: str, **values: object) -> None:
    with store.write() as db:
        filling = db.query(Filling).filter_by(label=f"{cask}/1").one()
        for name, value in values.items():
            setattr(filling, name, value)


def leak(store: Store, cask: str = "C8") -> None:
    with store.write() as db:
        filling = db.query(Filling).filter_by(label=f"{cask}/1").one()
        add_event(db, filling, EventKind.LEAK_FOUND, SINCE)


@pytest.fixture
def leaky(house: Store) -> Store:
    leak(house)
    return house


@pytest.mark.usefixtures("leaky")
def test_match_leaves_a_leaking_cask_out_and_says_so(oakpanel: Call) -> None:
    found = oakpanel("match", "Fen", "--json").document
    assert "C8" not in {each["cask"] for each in found["casks"]}
    assert {"cask": "C8", "sample": "D-C8", "reason": LEAKING} in found["left_out"]
    asked = oakpanel("match", "Fen", "--with-held", "--json").document
    held = {each["cask"]: each["held_against"] for each in asked["casks"]}
    assert LEAKING in held["C8"]
    assert LEAKING not in (held["C9"] or "")
    assert asked["left_out"] == []
    assert f"! C8: {LEAKING}" in oakpanel("match", "Fen", "--with-held").out


@pytest.mark.slow
@pytest.mark.usefixtures("leaky")
def test_vat_takes_it_neither_as_a_part_nor_as_a_stand_in(oakpanel: Call) -> None:
    found = oakpanel("vat", "Fen", *LIMITS, "--json").document
    assert found["barred"] == {"leaking": 1}
    named = {each["cask"] for each in (*found["parts"], *found["stand_ins"])}
    named |= {part["cask"] for answer in found["answers"] for part in answer["parts"]}
    assert "C8" not in named
    asked = oakpanel("vat", "Fen", *LIMITS, "--quick", "--with", "C8", "--json").document
    note = next(part["note"] for part in asked["parts"] if part["cask"] == "C8")
    assert "leaking since 2026-03-01" in note
    assert (
        oakpanel("vat", "Fen", *LIMITS, "--quick", "--with-held", "--json").document["barred"] == {}
    )


@pytest.mark.slow
@pytest.mark.usefixtures("leaky")
def test_propose_refuses_it_unasked(oakpanel: Call) -> None:
    taken = ("--take", "C8=100", "--take", "C9=100")
    said = oakpanel("release", "propose", "Spring", *BY_HAND, *taken)
    assert said.code == 1
    assert LEAKED in said.err
    assert "--with CASK" in said.err
    tried = oakpanel("release", "propose", "Spring", *BY_HAND, *taken, "--with", "C8", "--json")
    assert tried.code == 0, tried.err


def disgorge(
    oakpanel: Call, *others: str, only_try: bool = False, proposed: bool = False
) -> tuple[int, str]:
    """Propose C9 and C10, and say that other casks went in beside them."""
    taken = ("--take", "C9=100", "--take", "C10=100")
    assert proposed or oakpanel("release", "propose", "Spring", *BY_HAND, *taken).code == 0
    given = [
        word
        for cask in ("C9", "C10", *others)
        for word in ("--cask", f"{cask}={0 if cask == 'C10' else 90}@59.0")
    ]
    said = oakpanel("release", "disgorge", "Spring", *given, *(["--try"] if only_try else []))
    return said.code, said.err


def test_a_leaking_stand_in_does_not_enter_unasked(oakpanel: Call, leaky: Store) -> None:
    code, said = disgorge(oakpanel, "C8")
    assert code == 1
    assert "Nothing was kept." in said
    assert LEAKED in said
    assert "unasked" in said
    with leaky.read() as db:
        assert next(s for s in filling_states(db, TODAY) if s.cask == "C8").taken == (
            (date(2025, 12, 1), 0.2),
        )


@pytest.mark.slow
@pytest.mark.usefixtures("leaky")
def test_a_disgorging_that_is_only_tried_asks_the_same(oakpanel: Call) -> None:
    code, said = disgorge(oakpanel, "C8", only_try=True)
    assert code == 1
    assert LEAKED in said
    sound = disgorge(oakpanel, "C7", only_try=True, proposed=True)
    assert sound[0] == 0, sound[1]


@pytest.mark.slow
def test_a_sound_stand_in_enters(oakpanel: Call) -> None:
    assert disgorge(oakpanel, "C8")[0] == 0


@pytest.mark.slow
@pytest.mark.usefixtures("leaky")
def test_no_target_is_made_like_it_unasked(oakpanel: Call) -> None:
    like = ("target", "make", "As C8", "--like-cask", "C8")
    said = oakpanel(*like)
    assert said.code == 1
    assert LEAKED in said.err
    made = oakpanel(*like, "--with-held", "--json")
    assert made.document["source"] == "cask C8, sample D-C8"


def test_a_target_like_a_cask_of_another_owner_needs_no_leave(oakpanel: Call, house: Store) -> None:
    filling_of(house, "C7", hold_reason="damp cellar", owner="Mill Trust")
    assert oakpanel("target", "make", "As C7", "--like-cask", "C7").code == 0


@pytest.mark.slow
@pytest.mark.usefixtures("leaky")
def test_no_window_is_reckoned_for_it(oakpanel: Call) -> None:
    found = oakpanel("ageing", "--target", "Fen", "--json").document
    assert found["left_out"]["cask C8"] == LEAKING
    assert "C8" not in {window["cask"] for window in found["windows"]}


@pytest.mark.slow
def test_every_reason_is_told_at_once(oakpanel: Call, leaky: Store) -> None:
    filling_of(leaky, "C8", hold_reason="damp cellar", owner="Mill Trust")
    left_out = oakpanel("match", "Fen", "--json").document["left_out"]
    assert [each["reason"] for each in left_out] == [
        f"belongs to Mill Trust: not to be used unasked; on hold: damp cellar; {LEAKING}"
    ]
    refused = oakpanel("release", "propose", "X", *BY_HAND, "--take", "C8=100", "--take", "C9=100")
    for sentence in (LEAKED, "Cask C8 is on hold: damp cellar.", "Cask C8 belongs to Mill Trust."):
        assert sentence in " ".join(refused.err.split())


@pytest.mark.slow
def test_a_repaired_cask_is_used_again(oakpanel: Call, leaky: Store) -> None:
    with leaky.write() as db:
        filling = db.query(Filling).filter_by(label="C8/1").one()
        add_event(db, filling, EventKind.REPAIRED, date(2026, 3, 5))
    assert "C8" in {each["cask"] for each in oakpanel("match", "Fen", "--json").document["casks"]}
    assert disgorge(oakpanel, "C8")[0] == 0


@pytest.mark.slow
def test_two_fillings_in_one_cask_stop_that_cask_and_no_other(oakpanel: Call, house: Store) -> None:
    with house.write() as db:
        old = db.query(Filling).filter_by(label="C8/1").one()
        db.add(
            Filling(
                label="C8/2",
                cask=old.cask,
                make=old.make,
                filled_on=date(2024, 5, 1),
                fill_number=2,
                fill_abv=63.0,
                fill_bulk_l=110.0,
            )
        )
    found = oakpanel("vat", "Fen", *LIMITS, "--quick", "--json").document
    assert found["barred"] == {"one of two fillings in its cask": 1}
    left_out = oakpanel("match", "Fen", "--json").document["left_out"]
    assert "by the records C8/2 lies in the same cask" in left_out[0]["reason"]
    assert "Cask C8 holds two fillings by the records" in disgorge(oakpanel, "C8")[1]
    assert any("lies in the same cask" in flag for flag in flags(oakpanel, "C8"))


def flags(oakpanel: Call, cask: str) -> list[str]:
    found: list[str] = oakpanel("cask", cask, "--json").document["flags"]
    return found


@pytest.mark.slow
def test_a_weak_cask_is_flagged_by_the_law_in_force(oakpanel: Call, house: Store) -> None:
    filling_of(house, "C8", fill_abv=39.5)
    weak = "39.5 % vol at the last gauge"
    assert any(flag.startswith(f"{weak}, below the legal 40 %") for flag in flags(oakpanel, "C8"))
    # In a vat it may go: the vat is what must have the strength.
    assert oakpanel("vat", "Fen", *LIMITS, "--quick", "--json").document["barred"] == {}
    oakpanel("rules", "set", "Scotch whisky", "off")
    assert any(flag.startswith(f"{weak}: close to 40 %") for flag in flags(oakpanel, "C8"))
