"""What a booth's entry of the log may vouch for on PostgreSQL, as revision 0010 wrote it.

An entry vouches for rows of the tables that its deed writes, and for a score only together with the
newest row of its history, which has to say the same.
"""

from __future__ import annotations

from panel.store.migrations.booth_rules_0009 import FUNCTIONS as BEFORE
from panel.store.migrations.server_rules import Function

_LINES = (
    ("score", "score_change", "descriptor_version_id"),
    ("own_score", "own_score_change", "own_word_id"),
    ("answer", "answer_change", "question"),
)
_SCORES = "score,score_change,own_score,own_score_change,answer,answer_change"
_GLASS = "serving,session_assessor"
MAY_TELL = {
    "glass taken": _GLASS,
    "scores kept": _SCORES,
    "fault marked": "fault_mark",
    "fault mark taken off": "fault_mark",
    "note kept": "serving_note",
    "lead called": "lead_call",
    "own mark changed": "session_assessor",
    "glass finished": _GLASS,
    "glass taken again": _GLASS,
    "whole glass kept": f"{_GLASS},{_SCORES}",
    "set answered": f"{_GLASS},{_SCORES}",
    "own word named": "own_word",
    "own word renamed": "own_word",
    "own word taken back": "own_word",
}
"""By the action of an entry: the tables of whose rows it may tell."""


def _as_its_history_says(score: str, change: str, line: str) -> str:
    return f"""
        IF mine AND row_of.named = '{score}' THEN
            IF row_of.which !~ '^[0-9]+,[1-9][0-9]{{0,8}}$' THEN
                RETURN false;
            END IF;
            second := split_part(row_of.which, ',', 2)::integer;
            SELECT c.id, c.value INTO newest FROM {change} c
                WHERE c.serving_id = first AND c.{line} = second ORDER BY c.id DESC LIMIT 1;
            IF NOT FOUND OR NOT coalesce(told -> '{change}' ? newest.id::text, false)
                OR newest.value IS DISTINCT FROM (SELECT s.value FROM {score} s
                    WHERE s.serving_id = first AND s.{line} = second)
            THEN
                RETURN false;
            END IF;
        END IF;"""


def _vouched(body: str) -> str:
    declared = "    first integer;\n"
    checks = "".join(_as_its_history_says(*each) for each in _LINES)
    at_the_end = """
        IF NOT mine THEN
            RETURN false;
        END IF;"""
    return body.replace(declared, f"{declared}    second integer;\n    newest record;\n").replace(
        at_the_end, at_the_end + checks
    )


def _append(body: str) -> str:
    fitting = "\n".join(
        f"            WHEN '{action}' THEN '{tables}'" for action, tables in MAY_TELL.items()
    )
    asked = "        OR NOT oakpanel_vouched("
    no_other = f"""        OR EXISTS (SELECT 1 FROM jsonb_object_keys(told::jsonb) t
            WHERE t <> ALL (string_to_array(CASE said ->> 'action'
{fitting}
            ELSE '' END, ',')))
"""
    return body.replace(asked, no_other + asked)


_CHANGED = {"oakpanel_vouched": _vouched, "oakpanel_append": _append}
FUNCTIONS = tuple(
    Function(
        *(each.name, each.takes, each.gives, each.language),
        *(_CHANGED[each.name](each.body), each.for_booths),
    )
    for each in BEFORE
)
