"""Every command that prints JSON has a schema, the schema is one, and it bites."""

from __future__ import annotations

import json

import pytest
from jsonschema import Draft202012Validator

from panel.cli.schemas import ANSWERED, schema
from panel.questions.plain_values import FORMAT
from tests.cli.calling import caller
from tests.promises.schema import check_schema
from tests.promises.test_promises import commands

ALWAYS_JSON = {"people export"}
MARKED = {
    "format": FORMAT,
    "session": "Monday",
    "assessor": "AA",
    "code": "123",
    "status": "void",
    "pouring": 1,
    "stopped": [],
}


def test_every_command_that_prints_json_has_a_schema_and_no_other() -> None:
    printing = {
        name for name, command in commands() if any("--json" in one.opts for one in command.params)
    }
    assert set(ANSWERED) == printing | ALWAYS_JSON


@pytest.mark.parametrize("name", sorted(ANSWERED))
def test_a_schema_is_one_of_draft_2020_12_and_lets_new_keys_come(name: str) -> None:
    found = schema(name)
    Draft202012Validator.check_schema(found)
    shapes = found.get("anyOf", [found])
    for shape in shapes:
        assert shape["properties"]["format"] == {"const": FORMAT}
        assert "format" in shape["required"]
        assert "additionalProperties" not in shape
    assert "new keys may come" in found["description"]


def test_a_key_that_a_schema_does_not_tell_fails_here_and_not_elsewhere() -> None:
    check_schema("session mark", MARKED)
    more = {**MARKED, "mood": "good"}
    assert Draft202012Validator(schema("session mark")).is_valid(more)
    with pytest.raises(AssertionError, match="mood"):
        check_schema("session mark", more)
    with pytest.raises(AssertionError, match=r"\$\.status"):
        check_schema("session mark", {**MARKED, "status": "drunk"})
    with pytest.raises(AssertionError, match="pouring"):
        check_schema("session mark", {k: v for k, v in MARKED.items() if k != "pouring"})


def test_the_command_writes_schemas_and_lists_them(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    call = caller(capsys, monkeypatch)
    assert call("schema").out.split("\n")[:-1] == list(ANSWERED)
    assert json.loads(call("schema", "session", "mark").out) == schema("session mark")
    unknown = call("schema", "session", "dance")
    assert unknown.code == 2
    assert "`oakpanel schema` lists them" in unknown.err
