"""`oakpanel profile` of casks that nobody nosed, asked of the invented distillery."""

from __future__ import annotations

import pytest

from panel.store.opening import open_store
from tests.houses.invented import Ask, asker, document, invented_house, remember_profile
from tests.houses.pins import by_file

ANSWERS: dict[tuple[str, ...], str] = {}
NEVER, REFILLED = "SW1303", "SW0913"


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> str:
    return invented_house(tmp_path_factory.mktemp("profile"))


@pytest.fixture
def ask(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, database: str) -> Ask:
    remember_profile(monkeypatch)
    return asker("profile", database, capsys, ANSWERS, *by_file(open_store(database)))


@pytest.mark.slow
def test_a_cask_never_nosed_is_foretold_and_says_so(ask: Ask) -> None:
    lines = ask(NEVER).splitlines()
    assert lines[0] == f"{NEVER}/1, cask {NEVER} (13.6 years old): foretold, never nosed"
    assert max(map(len, lines)) <= 80
    assert "19 in 20 such casks lie between the two bounds" in " ".join(lines)
    assert any(line.startswith("hearth smoke") for line in lines)


@pytest.mark.slow
def test_a_nosed_cask_says_on_which_notes_zeros_are_no_measurements(ask: Ask) -> None:
    said = " ".join(ask("SW1710").split())
    assert "Scores at an end of the line are read as beyond it on" in said
    found = document(ask, "SW1710")
    read = {fit["descriptor"]: fit["reading"] for fit in found["fits"]}
    assert set(read.values()) >= {"as_written", "below_what_is_written"}
    assert all(fit["reading_reason"] is None for fit in found["fits"])
    assert all(0 <= row["n_found"] <= row["n_scores"] for row in found["samples"] if row["n_found"])


@pytest.mark.slow
def test_the_document_has_its_rows_without_scores(ask: Ask) -> None:
    found = document(ask, NEVER)
    rows = {row["descriptor"]: row for row in found["samples"]}
    assert {row["kind"] for row in found["samples"]} == {"foretold"}
    assert {row["n_scores"] for row in found["samples"]} == {0}
    assert found["foretold"]["n_casks"] > 100
    smoke, custard = rows["hearth smoke"], rows["custard skin"]
    # The truth of the invented casks stands in the seed script: 38 ppm, thirteen years.
    assert smoke["low"] < smoke["estimate"] < smoke["high"]
    assert smoke["estimate"] > 30
    assert custard["se"] > 3.0


@pytest.mark.slow
def test_its_figures_are_those_of_influences(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, database: str, ask: Ask
) -> None:
    remember_profile(monkeypatch)
    told = document(asker("influences", database, capsys, {}), "hearth smoke")["predictions"]
    mine = next(row for row in told if row["cask"] == NEVER)
    row = next(r for r in document(ask, NEVER)["samples"] if r["descriptor"] == "hearth smoke")
    assert (mine["estimate"], mine["se"]) == pytest.approx((row["estimate"], row["se"]))


@pytest.mark.slow
def test_a_cask_filled_anew_shows_what_is_in_it_before_what_was(ask: Ask) -> None:
    rows = document(ask, REFILLED, "SW1710")["samples"]
    kinds = {row["sample"]: row["kind"] for row in rows}
    assert kinds[f"{REFILLED}/2"] == "foretold"
    assert kinds["SW1710-2"] == "test"
    assert next(iter(kinds)) == f"{REFILLED}/2"


def test_all_samples_are_those_nosed_and_the_others_are_counted(ask: Ask) -> None:
    found = document(ask)
    assert {row["kind"] for row in found["samples"]} <= {"test", "reference"}
    assert found["foretold"] is None
    assert f"{found['n_unnosed']} casks were never nosed" in " ".join(ask().split())


def test_a_name_that_is_nowhere_is_refused_with_the_nearest(ask: Ask) -> None:
    said = ask("SW13O3", code=1)
    assert "no filling of that name lies in a cask" in said
    assert NEVER in said


def test_notes_whose_evenings_share_no_glass_are_named_with_their_counts(ask: Ask) -> None:
    """Some notes are scored on few evenings: the two references never met on them."""
    said = " ".join(ask().split())
    assert said.startswith("The evenings that score some notes share no glass")
    assert "lamp wick (" in document(ask)["apart_notes"]
    assert "hearth smoke" not in said[: said.index("Pour one sample")]
    lines = ask("SW1510").splitlines()
    assert max(map(len, lines)) <= 80
    assert lines[0].startswith("SW1510-1, cask SW1510, drawn 2021-10-12, 6.0 years old")
    assert "Mind: lamp wick, struck match: scored on this note only" in " ".join(
        " ".join(lines).split()
    )


@pytest.mark.slow
def test_an_assessor_s_use_of_the_line_is_said_note_by_note(ask: Ask) -> None:
    lines = ask("--assessor", "Rowan").splitlines()
    assert lines[0] == "Rowan over all sessions"
    assert lines[1].split() == ["note", "higher", "by", "line", "noise", "share", "scores"]
    assert max(map(len, lines)) <= 80
    smoke = next(line for line in lines if line.startswith("hearth smoke"))
    row = next(
        row
        for row in document(ask, "--assessor", "Rowan")["assessors"]
        if row["descriptor"] == "hearth smoke"
    )
    assert f"{row['scale_low']:.2f} to {row['scale_high']:.2f}" in smoke
    assert f"{row['noise_low']:.1f} to {row['noise_high']:.1f}" in smoke
    assert "19 times in 20" in " ".join(lines)


def test_what_is_for_a_person_and_the_lead_is_not_in_the_list(ask: Ask) -> None:
    every = document(ask, "--private")["assessors"]
    person = next(row for row in every if row["note"] is not None)
    lines = ask("--assessor", person["assessor"]).splitlines()
    line = next(text for text in lines if text.startswith(person["descriptor"]))
    assert line.split()[len(person["descriptor"].split()) :][:2] == ["-", "-"]
    assert any("for the person and the lead only" in text for text in lines)


def test_how_people_use_the_line_is_behind_a_lead_s_pin(ask: Ask) -> None:
    found = document(ask)
    assert found["assessors"] is None
    assert "--private" in found["assessors_reason"]
    seen = document(ask, "--private")
    assert {"Rowan", "Wren"} <= {row["assessor"] for row in seen["assessors"]}
    assert seen["assessors_reason"] is None
    assert "Rowan over all sessions" in ask("--private").splitlines()
    assert "over all sessions" not in ask()


def test_an_assessor_who_scored_nothing_is_refused(ask: Ask) -> None:
    assert "Nearest: Rowan" in ask("--assessor", "Rowam", code=1)
