"""The commands that answer, asked of the invented distillery's own files."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

import demo_panel
from panel.cli.main import run
from panel.intake.loading import load_file
from panel.store.opening import make_database
from tests.houses.invented import remember_agreements, remember_profile

FILES = Path(demo_panel.__file__).parent
KINDS = ("makes", "casks", "events", "regauges", "draws", "lexicon", "assessors", "targets")
NOW = datetime(2026, 11, 20, 12, 0, tzinfo=UTC)
AS_OF = "2026-11-20"
ANSWERS: dict[tuple[str, ...], str] = {}


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("answers") / "weir.sqlite"
    store = make_database(str(path))
    for kind in (*KINDS, "scores"):
        load_file(store, kind, FILES / f"{kind}.csv", now=NOW, by="Heron")
    store.close()
    return str(path)


class Asked:
    """One command line and what came of it."""

    def __init__(self, capsys: pytest.CaptureFixture[str], database: str) -> None:
        self.capsys, self.database = capsys, database

    def __call__(self, *arguments: str, code: int = 0) -> str:
        """Run the command once and remember its answer: nothing here changes the records."""
        if arguments not in ANSWERS:
            ANSWERS[arguments] = self._run(arguments, code)
        return ANSWERS[arguments]

    def _run(self, arguments: tuple[str, ...], code: int) -> str:
        with pytest.raises(SystemExit) as stopped:
            run(["--db", self.database, *arguments])
        printed = self.capsys.readouterr()
        assert stopped.value.code == code, printed.err
        return printed.out if code == 0 else printed.err

    def json(self, *arguments: str) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self(*arguments, "--json"))
        return found


@pytest.fixture
def ask(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, database: str
) -> Asked:
    remember_agreements(monkeypatch)
    remember_profile(monkeypatch)
    return Asked(capsys, database)


@pytest.mark.slow
def test_agreement_has_the_keys_that_scripts_lean_on(ask: Asked) -> None:
    found = ask.json("agreement", "night-30")
    assert {"session", "verdict", "descriptors", "assessors"} <= set(found)
    note = found["descriptors"][0]
    keys = {"descriptor", "n_scores", "n_missing", "sample_effect", "variance", "icc", "verdict"}
    assert keys | {"kendall_w", "scaling"} <= set(note)
    assert {"f", "df_num", "df_den", "p"} <= set(note["sample_effect"])
    assert {"assessor", "interaction", "residual"} <= set(note["variance"])
    assert {"f_sample", "f_scaling", "f_disagreement"} <= set(note["scaling"])
    assert "private" not in found


def test_agreement_in_words_fits_eighty_columns(ask: Asked) -> None:
    lines = ask("agreement", "night-30").splitlines()
    assert "Session night-30" in lines[0]
    assert max(map(len, lines)) <= 80


def test_the_same_sentence_in_words_and_in_json(ask: Asked) -> None:
    said = " ".join(ask("agreement", "night-30").split())
    for note in ask.json("agreement", "night-30")["descriptors"]:
        assert " ".join(note["sentence"].split()) in said


def test_one_assessor_and_one_descriptor_have_pages(ask: Asked) -> None:
    assert "with others" in ask("agreement", "night-30", "--assessor", "Wren")
    assert "Kendall's W" in ask("agreement", "night-30", "--descriptor", "hearth smoke")
    assert "There are:" in ask("agreement", "night-30", "--assessor", "Wern", code=1)


def test_private_facts_ask_for_a_lead_with_a_pin(ask: Asked) -> None:
    assert "has no PIN yet" in ask("agreement", "night-30", "--private", code=1)


def test_an_unknown_session_names_the_nearest(ask: Asked) -> None:
    assert "night-30" in ask("agreement", "night-3O", code=1)


@pytest.mark.slow
def test_match_ranks_by_probability_and_says_how_sure_it_is(ask: Asked) -> None:
    found = ask.json("match", "Lantern", "--top", "8", "--as-of", AS_OF)
    chances = [cask["probability"] for cask in found["casks"]]
    assert len(chances) == 8
    assert chances == sorted(chances, reverse=True)
    keys = {"cask", "probability", "distance", "worst_descriptor", "n_scores", "last_nosed"}
    assert keys <= set(found["casks"][0])
    assert "chance" in found["sentence"]


def test_casks_of_others_on_hold_or_emptied_are_not_ranked_unasked(ask: Asked) -> None:
    found = ask.json("match", "Lantern", "--as-of", AS_OF)
    ranked = {cask["cask"] for cask in found["casks"]}
    barred = {part["cask"]: part["reason"] for part in found["left_out"]}
    owned = [cask for cask, reason in barred.items() if "belongs to" in reason]
    assert owned
    assert any("on hold" in reason for reason in barred.values())
    assert not ranked & set(owned)
    every = ask.json("match", "Lantern", "--as-of", AS_OF, "--with-held")
    assert set(owned) <= {cask["cask"] for cask in every["casks"]}


@pytest.mark.slow
def test_as_of_an_earlier_day_knows_less(ask: Asked) -> None:
    early = ask.json("match", "Lantern", "--as-of", "2022-01-01")
    assert early["n_ranked"] < ask.json("match", "Lantern", "--as-of", AS_OF)["n_ranked"]
    assert all(cask["last_nosed"] <= "2022-01-01" for cask in early["casks"])


@pytest.mark.slow
def test_profile_of_a_cask_shows_its_draws(ask: Asked) -> None:
    found = ask.json("profile", "SW1710", "--as-of", AS_OF)
    assert {row["cask"] for row in found["samples"]} == {"SW1710"}
    row = found["samples"][0]
    assert {"sample", "cask", "descriptor", "estimate", "se", "n_scores", "n_sessions"} <= set(row)
    assert "points" in ask("profile", "SW1710", "--as-of", AS_OF)
    assert "Nearest" in ask("profile", "SW17l0", code=1)


@pytest.mark.slow
def test_a_cask_s_life_and_the_list(ask: Asked) -> None:
    assert "filled" in ask("cask", "SW1710", "--as-of", AS_OF)
    found = ask.json("cask", "SW1710", "--as-of", AS_OF)
    assert found["entries"][0]["kind"] == "filled"
    assert len(ask.json("cask", "--as-of", AS_OF)["casks"]) == 240
    assert len(ask("cask", "--as-of", AS_OF).splitlines()) == 241


def test_an_unreadable_date_is_wrong_usage(ask: Asked) -> None:
    assert "is not a date" in ask("cask", "--as-of", "25/11/2026", code=2)


def test_strength_gives_units_in_the_names(ask: Asked) -> None:
    # OIML R 22 (1975): 100 L of 63.5 % to 20 % vol wants 219.38 L of water.
    found = ask.json("strength", "reduce", "--litres", "100", "--from", "63.5", "--to", "20")
    assert found["water_litres"] == pytest.approx(219.38, abs=0.005)
    married = ask.json("strength", "marry", "--part", "100@63.5", "--part", "100@50")
    assert married["bulk_litres"] == pytest.approx(199.886, abs=0.0005)
    assert ask.json("strength", "weigh", "--kg", "180", "--abv", "58")["litres"] == pytest.approx(
        197.27, abs=0.005
    )
    volume = ask.json("strength", "at-20", "--litres", "200", "--abv", "60", "--temperature", "10")
    assert volume["litres_at_20"] == pytest.approx(201.74, abs=0.005)
    assert "add 39.40 L of water" in ask(
        "strength", "reduce", "--litres", "100", "--from", "63.5", "--to", "46"
    )


def test_small_volumes_print_in_millilitres(ask: Asked) -> None:
    reduced = ask("strength", "reduce", "--ml", "50", "--from", "60", "--to", "20")
    # OIML R 22: 50 mL of 60 % take 100.75 mL of water and come to 150 mL.
    assert "50.0 mL at 60 % vol: add 100.8 mL of water (100.6 g)" in reduced
    assert "Together 150.0 mL" in reduced
    assert "at 20 °C" in reduced
    same = ask.json("strength", "reduce", "--litres", "0.05", "--from", "60", "--to", "20")
    assert same == ask.json("strength", "reduce", "--ml", "50", "--from", "60", "--to", "20")
    both = ("--ml", "50", "--litres", "0.05", "--from", "60", "--to", "20")
    assert "--litres or --ml" in ask("strength", "reduce", *both, code=2)


def test_a_reading_away_from_20_degrees_is_corrected(ask: Asked) -> None:
    # OIML R 22: an alcoholometer of soda-lime glass reading 60 at 15 °C; the same without glass.
    read = ("strength", "read", "--temperature", "15", "--reading", "60")
    assert ask.json(*read)["abv_percent"] == pytest.approx(61.73, abs=0.005)
    meter = ask.json(*read, "--instrument", "meter")
    assert meter["abv_percent"] == pytest.approx(61.78, abs=0.005)
    dense = ask.json("strength", "read", "--temperature", "20", "--density", "909.115")
    assert dense["abv_percent"] == pytest.approx(60.0, abs=0.005)
    assert "given" not in ask("strength", "read", "--temperature", "15", code=2)


def test_what_a_cask_lost_has_empty_and_keeps(ask: Asked) -> None:
    # Figures of the trade: 200 L at 63.5 % to 168 L at 58.2 % in ten years.
    lost = ask.json("strength", "loss", "--start", "200@63.5", "--end", "168@58.2", "--years", "10")
    assert lost["lpa_percent_a_year_compound"] == pytest.approx(2.58, abs=0.005)
    assert lost["lpa_percent_a_year_simple"] == pytest.approx(2.30, abs=0.005)
    empty = ask.json("strength", "ullage", "--size", "250", "--litres", "212.5")
    assert empty["ullage_litres"] == 37.5
    falls = ("strength", "until", "--start-abv", "50", "--end-abv", "45", "--years", "10")
    assert ask.json(*falls)["years"] == pytest.approx(10.0)
    rises = ("strength", "until", "--start-abv", "50", "--end-abv", "51", "--years", "10")
    assert ask.json(*rises)["years"] is None
    assert "no such day" in ask(*rises)


def test_strength_refuses_what_cannot_be(ask: Asked) -> None:
    up = ("strength", "reduce", "--litres", "1", "--from", "40", "--to", "46")
    assert "water cannot raise it" in ask(*up, code=1)
    assert "is not litres@strength" in ask("strength", "marry", "--part", "100", code=2)


@pytest.mark.slow
def test_private_facts_after_the_leads_pin(
    tmp_path: Path,
    database: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    import shutil

    from panel.records.people import set_pin
    from panel.store.opening import open_store
    from tests.conftest import FIXED_NOW

    copy = tmp_path / "copy.sqlite"
    shutil.copy(database, copy)
    store = open_store(str(copy))
    with store.write() as db:
        set_pin(db, "Heron", "5209", now=FIXED_NOW, by="Heron")
    store.close()
    typed = iter(["1111", "5209"])
    monkeypatch.setattr("panel.cli.proving.at_terminal", lambda: True)
    monkeypatch.setattr("click.prompt", lambda *_args, **_kwargs: next(typed))
    wrong = Asked(capsys, str(copy))._run(("agreement", "night-30", "--private"), 1)
    assert "do not go together" in wrong
    shown = Asked(capsys, str(copy))._run(("agreement", "night-30", "--private"), 0)
    assert "For the person named and the lead only" in shown or "for one person's eyes" in shown
