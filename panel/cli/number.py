"""A number as an option takes it: with a point, or with one comma that can mean only one thing."""

from __future__ import annotations

from typing import Any

import click

from panel.figures import typed_number


class Number(click.ParamType[float]):
    """Read by the one reader for what people type."""

    name = "float"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number, or say what would be right."""
        if isinstance(value, int | float):
            return float(value)
        try:
            return typed_number(value)
        except ValueError as error:
            self.fail(f"{error}.", param, ctx)


NUMBER = Number()
