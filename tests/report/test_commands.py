"""Pages to hand on as the commands write them: what stands on each, for whom, and what never."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest

from analysis.agreement import PanelWord
from panel.kinds import EventKind, SessionStatus
from panel.questions import kinds
from panel.questions.agreement import session_agreement
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.sessions import PanelSession
from tests.cli.calling import Call
from tests.houses.parts import add_event
from tests.release.signing import UNNOSED
from tests.release.test_release import disgorge, nose_blend, propose
from tests.report.reading import Read

CODES = ("AA", "BB", "CC", "DD")
READERS = ("house", "guide", "guest")
KIB = 1024


def page(oakpanel: Call, *words: str) -> str:
    said = oakpanel("report", *words, "--to", "-")
    assert said.code == 0, said.err
    assert len(said.out) < 300 * KIB
    return said.out


def read(oakpanel: Call, *words: str) -> Read:
    return Read(page(oakpanel, *words))


def fetches_nothing(found: Read) -> Read:
    """Hold a page against what it may have in it, and its headings against their order."""
    kinds = {tag for tag, _ in found.tags}
    assert not kinds & {"script", "link", "img", "iframe", "object", "form", "a", "base"}
    attributes = {name for _, held in found.tags for name in held}
    assert not attributes & {"src", "href", "style", "action"}
    assert not [name for name in attributes if name.startswith("on")]
    levels = [level for level, _ in found.headings]
    assert (levels[0], levels.count(1)) == (1, 1)
    assert all(after <= before + 1 for before, after in pairwise(levels))
    [policy] = [held["content"] for tag, held in found.tags if "http-equiv" in held]
    assert str(policy).startswith("default-src 'none'; style-src 'sha256-")
    return found


def named(text: str) -> list[str]:
    return [code for code in CODES if code in text.split() or f"{code} " in text]


# ---------------------------------------------------------------- a session


def test_a_page_for_others_names_nobody_of_a_small_panel(oakpanel: Call) -> None:
    said = oakpanel("agreement", "EV1", "--json").document
    others, lead = (
        read(oakpanel, "session", "EV1"),
        read(oakpanel, "session", "EV1", "--for", "lead"),
    )
    for found in (others, lead):
        fetches_nothing(found)
        assert said["verdict"].lower() in found.text.lower()
        assert all(note["descriptor"] in found.text for note in said["descriptors"])
    assert named(others.text) == []
    assert all(person["sentence"] in lead.text for person in said["assessors"])


def test_before_the_reveal_a_page_knows_codes_only(oakpanel: Call, house: Store) -> None:
    with house.write() as db:
        db.query(PanelSession).filter_by(name="EV1").one().status = SessionStatus.CLOSED
    for reader in ("others", "lead"):
        found = page(oakpanel, "session", "EV1", "--for", reader)
        assert "D-C" not in found
        assert "not revealed yet" in found
        assert "103" in found


@pytest.mark.slow
def test_who_saw_it_differently_stands_on_the_leads_page_after_the_reveal_only(
    oakpanel: Call, house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    with house.read() as db:
        found = session_agreement(db, "EV1")
    first, second, third = found.descriptors
    words = (PanelWord.SAFE, PanelWord.SECOND_LOOK, PanelWord.CAMPS)
    notes = tuple(
        replace(note, verdict=replace(note.verdict, word=word))
        for note, word in zip((first, second, third), words, strict=True)
    )
    judged = replace(found, descriptors=notes)
    monkeypatch.setattr(kinds, "session_answer", lambda *_words, **_more: judged)
    lead = page(oakpanel, "session", "EV1", "--for", "lead")
    drawn = re.findall(r"Who saw ([^<]+) differently in EV1\?</h2>", lead)
    assert drawn == [third.descriptor, second.descriptor]
    for picture in re.findall(r"<svg.*?</svg>", lead, re.DOTALL):
        assert not [code for code in CODES if f">{code}<" in picture]
    assert "differently" not in page(oakpanel, "session", "EV1", "--for", "others")
    with house.write() as db:
        db.query(PanelSession).filter_by(name="EV1").one().status = SessionStatus.CLOSED
    assert "differently" not in page(oakpanel, "session", "EV1", "--for", "lead")


def test_a_page_is_a_new_file_of_its_owner_alone(
    oakpanel: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert oakpanel("report", "session", "EV1").code == 0
    assert oakpanel("report", "session", "EV1").code == 0
    made = sorted(tmp_path.glob("session-*.html"))
    assert [path.name for path in made] == ["session-EV1-2.html", "session-EV1.html"]
    assert all(path.stat().st_mode & 0o777 == 0o600 for path in made)
    again = oakpanel("report", "session", "EV1", "--to", str(made[1]))
    assert (again.code, "is there already" in again.err) == (1, True)
    assert made[0].read_bytes() == made[1].read_bytes()


def test_what_cannot_be_answered_is_said_and_nothing_written(
    oakpanel: Call, tmp_path: Path
) -> None:
    place = tmp_path / "page.html"
    said = oakpanel("report", "session", "EV9", "--to", str(place))
    assert (said.code, "EV9" in said.err, place.exists()) == (1, True, False)
    mixed = oakpanel("report", "panel", "EV1", "--since", "2026-01-01")
    assert mixed.code == 2


# ---------------------------------------------------------------- casks, ageing, the panel


@pytest.mark.slow
def test_the_page_of_a_cask_says_what_the_commands_say(oakpanel: Call) -> None:
    found = fetches_nothing(read(oakpanel, "cask", "C3"))
    life = oakpanel("cask", "C3", "--json").document
    profile = oakpanel("profile", "C3", "--json").document["samples"]
    for entry in life["entries"]:
        assert entry["words"] in found.text
    for note in profile:
        assert f"{note['descriptor']} {note['estimate']:.1f} {note['se']:.1f}" in found.text
    assert named(found.text) == []
    assert "check with your excise officer" in found.text


def test_a_cask_that_lies_empty_has_a_page_that_says_so(oakpanel: Call, house: Store) -> None:
    with house.write() as db:
        filling = db.query(Filling).filter_by(label="C9/1").one()
        add_event(db, filling, EventKind.EMPTIED, date(2026, 2, 1))
    found = read(oakpanel, "cask", "C9")
    assert "Nothing: it is empty." in found.text


@pytest.mark.slow
def test_the_page_of_ageing_has_its_windows(oakpanel: Call) -> None:
    said = oakpanel("ageing", "--cask", "C3", "--cask", "C4", "--json").document
    found = fetches_nothing(read(oakpanel, "ageing", "--cask", "C3", "--cask", "C4"))
    assert {window["cask"] for window in said["windows"]} == {"C3", "C4"}
    assert "Fen" in found.text
    assert [title for level, title in found.headings if level == 1] == ["Ageing C3, C4"]


@pytest.mark.slow
def test_the_page_of_the_panel_is_for_its_lead(oakpanel: Call) -> None:
    found = fetches_nothing(read(oakpanel, "panel"))
    said = oakpanel("agreement", "EV1", "EV2", "--json").document
    assert said["sentence"] in found.text
    assert "For the panel lead" in found.text
    codes = [title for title in CODES if title in found.text.split()]
    assert codes == list(CODES)  # in the order of their codes, whoever did how well


# ---------------------------------------------------------------- a release


@pytest.fixture
def bottled(oakpanel: Call, house: Store, weighed: None) -> None:
    parts = propose(oakpanel)
    oakpanel("release", "bench", "Spring")
    nose_blend(house, "Spring-B1", (30.0, 24.0, 44.0))
    disgorge(oakpanel, parts)
    assert oakpanel("--by", "LD", "release", "sign", "Spring", *UNNOSED).code == 0
    assert oakpanel("release", "bottle", "Spring").code == 0


@pytest.mark.slow
@pytest.mark.usefixtures("bottled")
def test_a_release_has_three_readers(oakpanel: Call) -> None:
    pages = {one: read(oakpanel, "release", "Spring", "--for", one) for one in READERS}
    texts = {reader: fetches_nothing(found).text for reader, found in pages.items()}
    sheet = oakpanel("release", "sheet", "Spring", "--json").document
    blocks = oakpanel("release", "sheet", "Spring").out.split("\n\n")[2:-2]
    for block in blocks:
        for reader in ("house", "guide"):
            assert " ".join(block.split()) in texts[reader]
    casks = [
        part["cask"] for part in oakpanel("release", "show", "Spring", "--json").document["parts"]
    ]
    assert all(cask in texts["house"].split() for cask in casks)
    for reader in ("guide", "guest"):
        assert not [cask for cask in casks if cask in texts[reader].replace(",", " ").split()]
    assert f"at least {sheet['youngest_years']} years" in texts["guest"]
    assert "Do not drive after it" in texts["guest"]
    assert "What not to say" in texts["guide"]
    assert [claim["note"] for claim in sheet["claims"] if claim["note"] not in texts["guest"]] == []


def test_a_guest_hears_nothing_of_a_draft(oakpanel: Call) -> None:
    propose(oakpanel)
    said = oakpanel("report", "release", "Spring", "--for", "guest", "--to", "-")
    assert (said.code, "once it is bottled" in said.err, said.out) == (1, True, "")
    draft = read(oakpanel, "release", "Spring", "--for", "guide")
    assert "A DRAFT" in draft.text
    assert "Wait for the bottling" in draft.text
    assert "Points are" not in draft.text  # it tells of no note
