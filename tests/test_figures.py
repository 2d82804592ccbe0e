"""What somebody types as a number: a point, or one comma that can mean only one thing."""

from __future__ import annotations

import pytest

from panel.desk.typed import any_number
from panel.errors import OakpanelError
from panel.figures import typed_number
from panel.questions.strength import read_part
from panel.store.engine import Store
from tests.cli.calling import Call, caller


@pytest.mark.parametrize(
    ("text", "number"),
    [("63.5", 63.5), ("63,5", 63.5), (" -0,25 ", -0.25), ("0,125", 0.125), ("1234,567", 1234.567)],
)
def test_a_comma_is_read_where_it_is_clear(text: str, number: float) -> None:
    assert typed_number(text) == number


@pytest.mark.parametrize("text", ["1,234", "12,345", "1,2,3", "1.234,5", "", "nan", "inf", "x"])
def test_what_could_mean_two_things_or_none_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"could be|is not a number"):
        typed_number(text)


def test_a_form_says_what_it_could_be() -> None:
    with pytest.raises(OakpanelError, match=r"1,234 could be 1234 or 1\.234"):
        any_number("1,234")


@pytest.fixture
def oakpanel(
    store: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    return caller(capsys, monkeypatch, "--db", str(store.url.database), house=store)


def test_a_command_reads_both_alike(oakpanel: Call) -> None:
    point = oakpanel("strength", "reduce", "--litres", "10.5", "--from", "63.5", "--to", "46")
    comma = oakpanel("strength", "reduce", "--litres", "10,5", "--from", "63,5", "--to", "46")
    assert (comma.code, comma.out) == (0, point.out)
    refused = oakpanel("strength", "reduce", "--litres", "1,234", "--from", "63,5", "--to", "46")
    assert refused.code == 2
    assert "1,234 could be 1234 or 1.234" in refused.err
    assert read_part("190,5@57,1") == (190.5, 57.1)
    assert oakpanel("house", "set", "draw_loss_fraction", "0,2").out == (
        "draw_loss_fraction: 0.2 (was 0.1).\n"
    )
