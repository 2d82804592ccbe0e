"""What revision 0009 changed on a PostgreSQL server: answers on glasses, and sets answered as one.

A booth reads and writes the answers of its own glasses, and the log takes note of a set.
"""

from __future__ import annotations

from panel.store.migrations.booth_functions_0003 import APPEND, VOUCHED
from panel.store.migrations.booth_functions_0003 import FUNCTIONS as FIRST
from panel.store.migrations.booth_rules_0003 import BY_ME
from panel.store.migrations.booth_rules_0003 import POLICIES as BEFORE
from panel.store.migrations.server_rules import Function, Policy

[_GLASS] = [each.seen for each in BEFORE if each.table == "score"]


def _of_my_glass(table: str) -> str:
    return str(_GLASS).replace("score.serving_id", f"{table}.serving_id")


_OF_SESSION = next(each.seen for each in BEFORE if each.table == "session_descriptor")
ADDED = (
    Policy("passing", "booth", _OF_SESSION),
    Policy("answer", "booth", _of_my_glass("answer")),
    Policy(
        *("answer_change", "booth", _of_my_glass("answer_change")),
        f"{_of_my_glass('answer_change')} AND {BY_ME}",
    ),
)
_BODIES = {
    "oakpanel_vouched": VOUCHED.replace(
        "'score', 'own_score', 'fault_mark'", "'score', 'own_score', 'answer', 'fault_mark'"
    ).replace(
        "            WHEN row_of.named = 'lead_call'",
        "            WHEN row_of.named = 'answer_change'\n"
        "                THEN EXISTS (SELECT 1 FROM answer_change c WHERE c.id = first)\n"
        "            WHEN row_of.named = 'lead_call'",
    ),
    "oakpanel_append": APPEND.replace(
        "'whole glass kept', 'own word named'",
        "'whole glass kept', 'set answered', 'own word named'",
    ),
}
FUNCTIONS = tuple(
    Function(each.name, each.takes, each.gives, each.language, _BODIES[each.name], each.for_booths)
    for each in FIRST
    if each.name in _BODIES
)
"""Of those of revision 0003, which never change: what they know more."""
