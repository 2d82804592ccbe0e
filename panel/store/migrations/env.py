"""What Alembic runs: the revisions on the connection that `panel.store.upgrading` hands over."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from alembic import context

from panel.store.base import OpenChoice, UtcMoment
from panel.store.revisions import REVISION_TABLE
from panel.store.stopped_view import drop_view, make_view
from panel.store.tables import METADATA

if TYPE_CHECKING:
    from alembic.autogenerate.api import AutogenContext


def as_plain_type(kind: str, thing: Any, _context: AutogenContext) -> str | Literal[False]:
    """Write a type of ours as the plain one it is stored as: a revision knows nothing of models."""
    if kind == "type" and isinstance(thing, UtcMoment):
        return "sa.DateTime()"
    if kind == "type" and isinstance(thing, OpenChoice):
        return "sa.String()"
    return False


context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    version_table=REVISION_TABLE,
    render_as_batch=True,  # SQLite changes a column by making its table anew
    render_item=as_plain_type,
)
with context.begin_transaction():
    # SQLite makes no table anew that a view reads.
    drop_view(context.get_bind())
    context.run_migrations()
    make_view(context.get_bind())
