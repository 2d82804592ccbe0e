"""Where a release stands in the house: what its sheet says, on the house's lines."""

from __future__ import annotations

from pathlib import Path

import pytest

from analysis.pictures import Shape
from panel.pictures.releases import in_the_house
from panel.questions.asked_profile import standing_samples
from panel.questions.profile import house_profile
from panel.release.sheet import sheet_of
from panel.store.engine import Store
from panel.store.lexicon import end_words
from tests.cli.calling import Call
from tests.houses.nosed import TODAY
from tests.release.test_release import nose_blend, propose


@pytest.mark.slow
def test_the_command_draws_the_sheets_notes_among_the_houses_casks(
    oakpanel: Call, house: Store, tmp_path: Path
) -> None:
    propose(oakpanel)
    oakpanel("release", "bench", "Spring")
    without = oakpanel("release", "sheet", "Spring", "--picture", "-")
    assert without.code == 1
    assert "nothing to draw" in without.err
    nose_blend(house, "Spring-B1", (30.0, 24.0, 44.0))
    here = oakpanel("release", "sheet", "Spring", "--picture", "-").out
    assert "Where does Spring stand in the house?" in here
    assert "bench blend, not in the bottling" in " ".join(here.split())
    assert not [f"C{n}" for n in range(1, 11) if f"C{n} " in here]
    path = tmp_path / "spring.svg"
    assert oakpanel("release", "sheet", "Spring", "--picture", str(path)).code == 0
    with house.read() as db:
        [picture] = in_the_house(db, "Spring", as_of=TODAY)
        sheet = sheet_of(db, "Spring", as_of=TODAY)
        profile = house_profile(db, as_of=TODAY)
        standing = standing_samples(db, profile, as_of=TODAY)
        ends = end_words(db)
    assert [row.name for row in picture.rows] == [claim.note for claim in sheet.claims]
    points = [mark.x for mark in picture.marks if mark.shape is Shape.POINT]
    assert points == pytest.approx([claim.points for claim in sheet.claims])
    rows = profile.estimates
    for at, row in enumerate(picture.rows):
        assert row.ends == ends[row.name]
        own = rows[rows["sample"].isin(standing) & (rows["descriptor"] == row.name)]["estimate"]
        [band] = [mark for mark in picture.marks if mark.row == at and mark.shape is Shape.BAND]
        inside = own.between(band.x, band.x2).mean()
        assert 0.7 <= inside <= 1.0, own
        assert own.min() <= band.x < band.x2 <= own.max()
