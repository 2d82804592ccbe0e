"""An option on the wrong side of the command is said to be, with the line to type."""

from __future__ import annotations

import pytest

from panel.cli.main import group
from panel.cli.misplaced import BEFORE
from tests.cli.calling import Call, caller


@pytest.fixture
def oakpanel(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Call:
    return caller(capsys, monkeypatch)


def test_all_options_of_the_house_are_known() -> None:
    names = {name for option in group.params for name in option.opts}
    assert set(BEFORE) == names - {"--version"}


@pytest.mark.parametrize(
    ("typed", "line"),
    [
        ("match Lantern --by Heron", "oakpanel --by CODE match ..."),
        ("match Lantern --by=Heron", "oakpanel --by CODE match ..."),
        ("release propose X --pin-file p", "oakpanel --pin-file FILE release propose ..."),
        ("release --db house.sqlite list", "oakpanel --db FILE release ..."),
        ("profile --debug", "oakpanel --debug profile ..."),
    ],
)
def test_what_stands_before_the_command(oakpanel: Call, typed: str, line: str) -> None:
    said = oakpanel(*typed.split())
    assert said.code == 2
    assert f"stands before the command: `{line}`." in said.err
    assert "Did you mean" not in said.err


def test_what_stands_after_it(oakpanel: Call) -> None:
    said = oakpanel("--json", "profile")
    assert said.code == 2
    assert "--json stands after the command: `oakpanel COMMAND ... --json`." in said.err


def test_any_other_is_told_as_before(oakpanel: Call) -> None:
    assert "No such option '--bye'" in oakpanel("profile", "--bye").err
