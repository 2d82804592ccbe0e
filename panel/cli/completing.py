"""Names of records in the shell: which argument and option takes which."""

from __future__ import annotations

from collections.abc import Callable

import click

from panel.store.names import Named, names_of

Completes = Callable[[click.Context, click.Parameter, str], list[str]]


def named(kind: Named) -> Completes:
    """Return what completes a name of that kind."""

    def complete(ctx: click.Context, _param: click.Parameter, begins: str) -> list[str]:
        return names_of(kind, begins, ctx.find_root().params.get("named"))

    return complete


a_cask = named(Named.CASK)
a_session = named(Named.SESSION)
a_target = named(Named.TARGET)
a_release = named(Named.RELEASE)
a_person = named(Named.PERSON)
a_note = named(Named.DESCRIPTOR)
a_plan = named(Named.PLAN)
