"""`oakpanel demo`: the folder is treated with care, and the whole main job comes out."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from panel.cli import demo
from panel.cli.demo_build import RECORDS_TO, demo_moment
from panel.cli.demo_document import document
from panel.cli.demo_evening import EVENING, LEAD, PIN, TRY_OUT, TRY_OUT_AT, read_script
from panel.cli.demo_folder import DATABASE, FILES, KINDS, MARK, prepare, source_file
from panel.cli.main import run
from panel.errors import OakpanelError
from panel.questions.plain_values import json_text
from panel.store.booth_queries import sign_in
from panel.store.opening import open_store
from tests.promises.kept import check_promises, keys_of
from tests.promises.schema import check_schema


def test_a_new_folder_gets_the_mark_and_the_plain_files(tmp_path: Path) -> None:
    folder = prepare(tmp_path / "new" / "demo")
    assert (folder.path / MARK).exists()
    assert {path.stem for path in (folder.path / FILES).iterdir()} == set(KINDS)
    assert folder.file("casks").read_bytes() == source_file("casks").read_bytes()


def test_an_earlier_demo_is_replaced(tmp_path: Path) -> None:
    folder = prepare(tmp_path / "demo")
    folder.database.write_bytes(b"old")
    folder.file("casks").write_text("changed", encoding="utf-8")
    folder.write_sheet("pour.txt", "old")
    kept = folder.path / f"{DATABASE}-kept-0-fit"
    kept.write_bytes(b"reckoned from the old one")
    prepare(folder.path)
    assert not folder.database.exists()
    assert not kept.exists()
    assert not (folder.path / "sheets").exists()
    assert folder.file("casks").read_bytes() == source_file("casks").read_bytes()


def test_the_sheet_with_the_key_is_its_owners_alone(tmp_path: Path) -> None:
    sheet = prepare(tmp_path / "demo").write_sheet("pour.txt", "the key")
    modes = [path.stat().st_mode & 0o777 for path in (sheet, sheet.parent)]
    assert modes == [0o600, 0o700]


def test_an_empty_folder_is_used(tmp_path: Path) -> None:
    assert (prepare(tmp_path).path / MARK).exists()


def test_a_folder_with_other_things_is_left_alone(tmp_path: Path) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("mine", encoding="utf-8")
    with pytest.raises(OakpanelError, match=r"letter\.txt.*--at"):
        prepare(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]
    assert letter.read_text(encoding="utf-8") == "mine"


def test_a_database_of_somebody_else_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / DATABASE).write_bytes(b"records of a real house")
    with pytest.raises(OakpanelError, match="leaves it alone"):
        prepare(tmp_path)
    assert (tmp_path / DATABASE).read_bytes() == b"records of a real house"


def test_something_added_to_a_demo_keeps_it_from_being_replaced(tmp_path: Path) -> None:
    folder = prepare(tmp_path / "demo")
    folder.database.write_bytes(b"tried out")
    (folder.path / "notes.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(OakpanelError, match=r"notes\.txt"):
        prepare(folder.path)
    assert folder.database.read_bytes() == b"tried out"


def test_a_file_in_place_of_the_folder_is_said(tmp_path: Path) -> None:
    path = tmp_path / "demo"
    path.write_text("", encoding="utf-8")
    with pytest.raises(OakpanelError, match=r"is a file.*--at DIR"):
        prepare(path)


def test_the_refusal_reaches_the_user_without_a_traceback(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "letter.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(SystemExit) as stopped:
        run(["demo", "--at", str(tmp_path)])
    assert stopped.value.code == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert "letter.txt" in said.err
    assert "Traceback" not in said.err


def test_a_database_that_is_named_is_not_quietly_ignored(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        run(["--db", str(tmp_path / "real.sqlite"), "demo", "--at", str(tmp_path / "demo")])
    assert stopped.value.code == 2
    assert "--at DIR" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_the_demo_never_runs_before_its_records_end() -> None:
    early = datetime(2025, 1, 1, tzinfo=UTC)
    late = datetime(2030, 1, 1, tzinfo=UTC)
    assert demo_moment(early).date() > RECORDS_TO
    assert demo_moment(late) == late


def test_the_records_end_on_the_day_that_the_demo_believes() -> None:
    last = date.min
    for kind in KINDS:
        with source_file(kind).open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                days = [row[name] for name in row if name.endswith("_on") and row[name]]
                last = max([last, *map(date.fromisoformat, days)])
    assert last == RECORDS_TO


def test_the_script_of_the_evening_is_whole() -> None:
    script = read_script(source_file("next_session"))
    assert len(script.assessors) == 9
    assert len(script.draws) == 6
    assert script.duplicate in script.draws
    assert script.reference not in script.draws
    assert len(script.descriptors) == 10
    assert len(script.says) == 9 * 8


DOCUMENTS: list[dict[str, Any]] = []


def noting_document(
    lines: Callable[[demo.Demo, float], list[str]],
) -> Callable[[demo.Demo, float], list[str]]:
    """Return what also keeps the document that `--json` would have printed of the same run."""

    def noted(done: demo.Demo, seconds: float) -> list[str]:
        told = document(done, demo.Steps(), demo.start(done))
        DOCUMENTS.append(json.loads(json_text(told)))
        return lines(done, seconds)

    return noted


@pytest.fixture
def kept_before() -> None:
    """Leave the folder empty: the demo looks at what lies in it."""


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str, str]:
    """Run the demo once; return its folder, what it printed, and what it said on the way."""
    from contextlib import redirect_stderr, redirect_stdout
    from io import StringIO

    path = tmp_path_factory.mktemp("demo") / "sallow weir"
    out, err = StringIO(), StringIO()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(demo, "lines", noting_document(demo.lines))
        with redirect_stdout(out), redirect_stderr(err), pytest.raises(SystemExit) as stopped:
            run(["demo", "--at", str(path)])
    assert stopped.value.code == 0, err.getvalue()
    return path, out.getvalue(), err.getvalue()


def casks_below(heading: str, out: str) -> list[str]:
    """Return the casks of the table that follows a heading."""
    after = out.partition(heading)[2].partition("\ncask ")[2]
    table = after.partition("\n\n")[0]
    return [line.split()[0] for line in table.splitlines()[1:]]


def test_the_demo_prints_verdict_casks_and_commands(shown: tuple[Path, str, str]) -> None:
    path, out, _ = shown
    assert EVENING in out
    assert "SAFE TO ACT ON" in out
    assert "LANTERN" in out
    assert len(casks_below("WHICH CASKS SUIT", out)) == 8
    assert casks_below("WHICH CASKS IN WHICH LITRES", out)
    assert "L of water for" in out
    assert PIN in out
    assert LEAD in out
    assert f"oakpanel --db '{path / DATABASE}' desk" in out
    assert f"booth {TRY_OUT}" in out
    assert "vapour can catch fire" in out


@pytest.mark.usefixtures("shown")
def test_the_demo_keeps_its_keys() -> None:
    """The three answers in it are those of `agreement`, `match` and `vat`, promised there."""
    answers = ("demo.agreement.", "demo.match.", "demo.vatting.")
    check_schema("demo", DOCUMENTS[-1])
    found = {key for key in keys_of(DOCUMENTS[-1], "demo") if not key.startswith(answers)}
    check_promises("json", found, of="demo")


def test_the_demo_reads_well_at_80_columns(shown: tuple[Path, str, str]) -> None:
    wide = [
        line for line in shown[1].splitlines() if len(line) > 80 and "oakpanel --db" not in line
    ]
    assert [line for line in wide if str(shown[0]) not in line] == []


def test_steps_go_to_stderr(shown: tuple[Path, str, str]) -> None:
    assert "loading scores" in shown[2]
    assert "loading scores" not in shown[1]


def test_the_evening_is_in_the_records_like_any_other(
    shown: tuple[Path, str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    database = str(shown[0] / DATABASE)
    with pytest.raises(SystemExit):
        run(["--db", database, "agreement", EVENING, "--json"])
    found = json.loads(capsys.readouterr().out)
    assert len(found["assessors"]) == 9
    assert all(note["n_scores"] == 9 * 7 for note in found["descriptors"])
    assert all(note["n_missing"] == 0 for note in found["descriptors"])


def test_the_answers_are_those_of_the_commands(
    shown: tuple[Path, str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    database = str(shown[0] / DATABASE)
    with pytest.raises(SystemExit):
        run(["--db", database, "match", "Lantern", "--top", "8", "--json"])
    found = json.loads(capsys.readouterr().out)
    ranked = casks_below("WHICH CASKS SUIT", shown[1])
    assert [cask["cask"] for cask in found["casks"]] == ranked


def test_the_booth_that_the_demo_names_lets_one_in(shown: tuple[Path, str, str]) -> None:
    store = open_store(str(shown[0] / DATABASE))
    seat = sign_in(store, TRY_OUT, TRY_OUT_AT, PIN, now=datetime.now(UTC))
    store.close()
    assert seat.code == TRY_OUT_AT


def test_loading_the_demos_files_again_changes_nothing(
    shown: tuple[Path, str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    database = str(shown[0] / DATABASE)
    scores = str(shown[0] / FILES / "scores.csv")
    with pytest.raises(SystemExit):
        run(["--db", database, "--by", LEAD, "load", "scores", scores, "--json"])
    found = json.loads(capsys.readouterr().out)
    assert (found["accepted"], found["changed"], found["problems"]) == (0, 0, [])
