"""The rules of rows and the functions that a PostgreSQL server has to have now.

They change by revisions, as tables do: a revision writes its own beside it and what stands here is
the sum. Nothing but the making and the check of a database imports this.
"""

from __future__ import annotations

from panel.store.migrations import (
    booth_functions_0003,
    booth_rules_0003,
    booth_rules_0004,
    booth_rules_0005,
    booth_rules_0009,
    booth_rules_0010,
)
from panel.store.migrations.server_rules import Function, Policy


def _policies() -> tuple[Policy, ...]:
    changed = {(each.table, each.name): each for each in booth_rules_0004.CHANGED}
    first = (changed.get((each.table, each.name), each) for each in booth_rules_0003.POLICIES)
    return (*first, *booth_rules_0005.ADDED, *booth_rules_0009.ADDED)


def _functions() -> tuple[Function, ...]:
    later = (
        *(*booth_rules_0004.FUNCTIONS, *booth_rules_0009.FUNCTIONS),
        *booth_rules_0010.FUNCTIONS,
    )
    changed = {each.name: each for each in later}
    return tuple(changed.get(each.name, each) for each in booth_functions_0003.FUNCTIONS)


POLICIES = _policies()
FUNCTIONS = _functions()
