"""Each picture says what its answer says."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from analysis.agreement import PanelWord
from analysis.chance_words import in_percent
from analysis.pictures import Mark, Shape, Sign, Trust
from analysis.pictures.found import NOT_BELIEVED, SIGNS, signs_of, trust_in, what_was_found
from panel.pictures.casks import alike_in_house, ranked_casks
from panel.pictures.vatting import vatted
from panel.questions.agreement import session_agreement
from panel.questions.matching import target_match
from panel.questions.profile import house_profile
from panel.questions.vatting import house_vatting
from panel.store.engine import Store
from tests.cli.calling import Call, caller
from tests.houses.nosed import NOW, TODAY, build_nosed, weigh_today


@pytest.fixture
def house(store: Store, kept_before: None) -> Store:
    build_nosed(store)
    weigh_today(store)
    return store


@pytest.fixture
def oakpanel(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    from panel.cli import invocation

    monkeypatch.setattr(invocation.Invocation, "now", lambda _self: NOW)
    return caller(capsys, monkeypatch, "--db", str(house.url.database), house=house)


def of(marks: tuple[Mark, ...], shape: Shape, row: int) -> list[Mark]:
    return [mark for mark in marks if mark.shape is shape and mark.row == row]


def test_what_was_found_has_every_glass_of_every_note(house: Store) -> None:
    with house.read() as db:
        result = session_agreement(db, "EV1")
    picture = what_was_found(result)
    assert picture.says.startswith(result.verdict.sentence)
    signs = signs_of(sorted({m.sample for note in result.descriptors for m in note.means}))
    for at, row in enumerate(picture.rows):
        note = result.descriptor(row.name)
        assert row.trust is trust_in(note)
        assert (row.trust is Trust.DOUBTFUL) is (note.verdict.word in NOT_BELIEVED)
        assert row.sign is SIGNS[row.trust]
        means = {signs[mean.sample]: mean.mean for mean in note.means}
        assert {m.text: m.x for m in of(picture.marks, Shape.LETTERS, at)} == pytest.approx(means)
        sizes = [mark.x2 - mark.x for mark in of(picture.marks, Shape.SIZE, at)]
        assert sizes == pytest.approx([note.seen_difference] if note.seen_difference else sizes)


def test_a_note_with_too_little_behind_it_is_not_told_as_not_to_be_believed(house: Store) -> None:
    with house.read() as db:
        result = session_agreement(db, "EV1")
    words = (PanelWord.TOO_LITTLE, PanelWord.DO_NOT)
    first, *others = result.descriptors
    for of_first in words:
        notes = [
            replace(note, verdict=replace(note.verdict, word=word))
            for note, word in ((first, of_first), *((n, PanelWord.TOO_LITTLE) for n in others))
        ]
        picture = what_was_found(replace(result, descriptors=tuple(notes)))
        little = [n.descriptor for n in notes if n.verdict.word is PanelWord.TOO_LITTLE]
        assert f"Too little yet: {', '.join(little)}." in picture.says
        doubted = of_first is PanelWord.DO_NOT
        assert (f"Not to be believed: {first.descriptor}." in picture.says) is doubted
        told = "not to be believed, or too little yet" if doubted else "too little yet"
        assert picture.legend[0].words == told


def test_codes_are_shown_by_their_last_two_digits() -> None:
    assert signs_of(["417", "902"]) == {"417": "17", "902": "02"}
    assert signs_of(["417", "517"]) == {"417": "a", "517": "b"}
    assert signs_of(["SW1", "SW2"]) == {"SW1": "a", "SW2": "b"}


@pytest.mark.slow
def test_ranked_casks_stand_in_tolerances(house: Store) -> None:
    with house.read() as db:
        found = target_match(db, "Fen", as_of=TODAY)
        picture = ranked_casks(db, found, as_of=TODAY)
        estimates = house_profile(db, as_of=TODAY).estimates
    assert [facet.heading.split()[0] for facet in picture.facets] == [
        cask.cask for cask in found.casks[: len(picture.facets)]
    ]
    first = found.casks[0]
    worst = [row.name for row in picture.rows].index(first.worst_descriptor)
    [point] = [m for m in of(picture.marks, Shape.POINT, worst) if m.facet == 0]
    assert point.x == pytest.approx(first.worst_off, abs=0.01)
    assert len(estimates)


def test_a_vatting_lies_between_its_parts(house: Store) -> None:
    from analysis.vatting import Limits

    with house.read() as db:
        answer = house_vatting(db, "Fen", Limits(litres=150), as_of=TODAY, in_full=False)
        notes, litres = vatted(db, answer)
    plan = answer.plan
    assert [row.beside for row in notes.rows] == [
        f"{in_percent(line.probability)} within" for line in plan.mixture.prediction
    ]
    for at, line in enumerate(plan.mixture.prediction):
        [point] = of(notes.marks, Shape.POINT, at)
        assert point.sign is Sign.DIAMOND
        assert point.x == pytest.approx(line.estimate)
        assert len(of(notes.marks, Shape.LETTERS, at)) == len(plan.mixture.parts)
    taken = [mark.x2 for mark in litres.marks]
    assert taken == pytest.approx([part.litres for part in plan.mixture.parts])


def test_alike_casks_are_neighbours(house: Store) -> None:
    """The casks rise on two notes and fall on the third: their numbers are in order."""
    with house.read() as db:
        profile = house_profile(db, as_of=TODAY)
        picture = alike_in_house(db, profile, as_of=TODAY)
    assert picture is not None
    numbers = [int(row.name.removeprefix("C")) for row in picture.rows]
    steps = [abs(after - before) for before, after in pairwise(numbers)]
    assert sorted(numbers) == list(range(1, 11))
    assert sum(steps) <= 13


@pytest.mark.slow
def test_commands_draw(oakpanel: Call, tmp_path: Path) -> None:
    for words in (
        ("agreement", "EV1"),
        ("match", "Fen"),
        ("vat", "Fen", "--litres", "150", "--quick"),
    ):
        here = oakpanel(*words, "--picture", "-")
        assert here.code == 0, here.err
        assert max(map(len, here.out.splitlines())) <= 120
        path = tmp_path / f"{words[0]}.svg"
        to_file = oakpanel(*words, "--picture", str(path))
        assert to_file.code == 0, to_file.err
        assert to_file.out == oakpanel(*words).out
        assert path.read_text(encoding="utf-8").startswith("<svg")
        again = oakpanel(*words, "--picture", str(path))
        assert again.code == 1
        assert "is there already" in again.err
    assert oakpanel("match", "Fen", "--json", "--picture", "-").code == 2
    assert oakpanel("influences", "--picture", "-").code == 2
    for part in (["--two", "C1", "C2"], ["--note", "A1"], ["--assessor", "A1"]):
        assert oakpanel("agreement", "Thursday", *part, "--picture", "-").code == 2
