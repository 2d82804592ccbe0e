"""`oakpanel house`."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from panel.store.engine import Store
from panel.store.house import RULES
from panel.store.log import LogEntry
from tests.cli.calling import Call, caller


@pytest.fixture
def oakpanel(
    store: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    monkeypatch.delenv("OAKPANEL_BY", raising=False)
    return caller(capsys, monkeypatch, "--db", str(store.url.database), house=store)


def test_every_setting_is_shown_with_bounds_and_reason(oakpanel: Call) -> None:
    settings = {s["name"]: s for s in oakpanel("house", "show", "--json").document["settings"]}
    assert settings.keys() == RULES.keys()
    assert settings["pour_ml"] == {
        "name": "pour_ml",
        "value": 20,
        "default": 20,
        "low": 5,
        "high": 50,
        "unit": "mL",
        "reason": "enough to nose, little to spill",
    }
    assert settings["time_zone"]["low"] is None
    lines = oakpanel("house", "show").out.splitlines()
    assert len(lines) == len(RULES) + 1
    assert any(line.startswith("pour_ml") and "5 to 50" in line for line in lines)


def test_a_change_is_kept_and_logged(oakpanel: Call, store: Store) -> None:
    assert oakpanel("house", "set", "pour_ml", "25").out == "pour_ml: 25 (was 20).\n"
    assert oakpanel("house", "set", "time_zone", "Europe/Lisbon", "--json").document == {
        "format": 1,
        "name": "time_zone",
        "before": "UTC",
        "value": "Europe/Lisbon",
    }
    with store.read() as db:
        first, second = db.scalars(select(LogEntry.body_json).order_by(LogEntry.id))
    assert '"before":20,"by":"-","now":25.0,"setting":"pour_ml"' in (first or "")
    assert "Europe/Lisbon" in (second or "")


def test_a_cap_on_ethanol_is_raised_for_a_reason_only(oakpanel: Call, store: Store) -> None:
    raised = ("house", "set", "dose_day_swallowed_g", "36")
    refused = oakpanel(*raised)
    assert refused.code == 1
    assert "to raise it above 32 g say why" in refused.err
    assert oakpanel(*raised, "--reason", "an open day with drivers").code == 0
    assert oakpanel("house", "set", "dose_day_swallowed_g", "34").code == 0, "lowered again"
    assert oakpanel("house", "set", "dose_session_g", "6").code == 0
    assert oakpanel("house", "set", "dose_session_g", "8").code == 0, "no higher than usual"
    with store.read() as db:
        first = db.scalars(select(LogEntry.body_json).order_by(LogEntry.id)).first()
    assert "an open day with drivers" in (first or "")


@pytest.mark.parametrize("name", [name for name in RULES if name.startswith("dose_")])
def test_no_cap_on_ethanol_goes_above_forty_grams(oakpanel: Call, name: str) -> None:
    said = oakpanel("house", "set", name, "40.5", "--reason", "because")
    assert said.code == 1
    assert f"{name} lies between 0 and 40 g" in said.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("pour_ml", "300"), "pour_ml lies between 5 and 50 mL"),
        (("pour_ml", "lots"), "is a number in mL"),
        (("time_zone", "Mars"), "is not a time zone"),
        (("colour", "red"), "There is no setting 'colour'"),
    ],
)
def test_a_wrong_value_changes_nothing(
    oakpanel: Call, store: Store, words: tuple[str, str], said: str
) -> None:
    answer = oakpanel("house", "set", *words)
    assert (answer.code, answer.out) == (1, "")
    assert said in answer.err
    with store.read() as db:
        assert db.scalar(select(LogEntry.id)) is None


def test_only_a_lead_changes_settings_once_there_is_one(oakpanel: Call) -> None:
    oakpanel("people", "add", "M1", "--role", "lead")
    oakpanel("people", "add", "A2")
    said = oakpanel("--by", "A2", "house", "set", "pour_ml", "25")
    assert said.code == 1
    assert "A2 does not have the role 'lead'" in said.err
    assert oakpanel("house", "set", "pour_ml", "25").code == 0
