"""What can be read of a row that has faults, so that its other faults are said at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from functools import cache
from typing import Annotated, Any

from pydantic import TypeAdapter, ValidationError
from pydantic_core import PydanticCustomError

from panel.intake.cells import RowModel


def read_partly(model: type[RowModel], raw: dict[str, Any], today: date) -> Any:
    """Return a row that has only what could be read: asking for another of its values raises.

    AttributeError, as of anything that is not there.
    """
    row: Any = model.model_construct(at=raw["at"])
    for name, adapter in _adapters(model).items():
        if name not in raw:
            continue
        try:
            row.__dict__[name] = adapter.validate_python(raw[name], context={"today": today})
        except ValidationError:
            row.__dict__.pop(name, None)
    return row


def further_faults(row: RowModel) -> Iterator[dict[str, Any]]:
    """Give what a row's own checks find in the cells that could be read."""
    for check in type(row).__pydantic_decorators__.model_validators.values():
        try:
            check.func(row)
        except PydanticCustomError as found:
            yield {**(found.context or {}), "words": found.message()}
        except AttributeError:
            continue  # it asks for a cell that cannot be read


def with_blanks(row: RowModel) -> Any:
    """Return a row of which every cell that could not be read, or is not there, is blank."""
    model = type(row)
    return model.model_construct(**{**dict.fromkeys(model.model_fields), **row.__dict__})


def told_of(rows: Iterable[RowModel], column: str) -> set[str]:
    """Return what stands in a column, of rows in which it may be blank or could not be read."""
    return {said for row in rows if (said := row.__dict__.get(column))}


def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)


@cache
def _adapters(model: type[RowModel]) -> dict[str, TypeAdapter[Any]]:
    return {
        name: _adapter(Annotated[(field.annotation, *field.metadata)])
        for name, field in model.model_fields.items()
        if name != "at"
    }
