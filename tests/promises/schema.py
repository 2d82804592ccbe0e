"""Holds what a command printed against the schema that is published for it, key by key."""

from __future__ import annotations

from functools import cache
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import best_match

from panel.cli.schemas import schema


def check_schema(name: str, document: object) -> None:
    """Fail where a document has a key that its schema does not tell, lacks one or is otherwise."""
    fault = best_match(_validator(name).iter_errors(document))
    assert fault is None, f"{name}: {fault.json_path}: {fault.message}"


@cache
def _validator(name: str) -> Draft202012Validator:
    return Draft202012Validator(
        closed(schema(name)), format_checker=Draft202012Validator.FORMAT_CHECKER
    )


def closed(found: Any) -> Any:
    """Return a schema in which no object may have more keys than it tells."""
    if isinstance(found, list):
        return [closed(part) for part in found]
    if not isinstance(found, dict):
        return found
    # What stands under "properties" and "$defs" is named by others, "properties" among the names.
    told = {
        key: {name: closed(part) for name, part in value.items()}
        if key in ("properties", "$defs")
        else closed(value)
        for key, value in found.items()
    }
    return {"additionalProperties": False, **told} if "properties" in told else told
