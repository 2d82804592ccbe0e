from __future__ import annotations

import pytest

from panel.cli.main import run
from panel.kinds import SessionStatus
from panel.store.engine import Store
from tests.booth.sitting import set_stage
from tests.houses.at_the_booth import NAME


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    with pytest.raises(SystemExit) as ended:
        run(list(arguments))
    return int(str(ended.value.code)), capsys.readouterr().err


def test_into_a_pipe_the_booth_says_that_it_needs_a_terminal(
    evening: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    code, words = told(capsys, "--db", str(evening.url.database), "booth", NAME)
    assert code == 1
    assert "The booth needs a terminal" in words


@pytest.mark.parametrize(
    ("arguments", "stage", "words"),
    [
        (["booth", "[/x]"], SessionStatus.OPEN, "There is no session '[/x]'"),
    ],
)
def test_without_a_session_to_sit_at_the_command_says_why(
    evening: Store,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    arguments: list[str],
    stage: SessionStatus,
    words: str,
) -> None:
    set_stage(evening, stage)
    monkeypatch.setenv("TEXTUAL_DRIVER", "textual.drivers.headless_driver:HeadlessDriver")
    code, said = told(capsys, "--db", str(evening.url.database), *arguments)
    assert code == 1
    assert words in said
    assert "Traceback" not in said


def test_help_says_what_the_booth_is_for(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        run(["booth", "--help"])
    assert ended.value.code == 0
    assert "Sign in with code and PIN" in capsys.readouterr().out
