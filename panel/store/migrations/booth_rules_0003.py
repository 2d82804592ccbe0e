"""What the booths' own user reaches on PostgreSQL, as revision 0003 wrote it: rules of rows.

A seat's token is set by each transaction (`oakpanel.seat`); the tables hold its SHA-256. With it a
row of this seat's evening is there, and no other; without it, and once the session is closed,
nothing is. The owner of the tables is bound by none of this. AND and OR never stand in one rule:
what a server gives back is compared without its parentheses.
"""

from __future__ import annotations

from panel.store.migrations.server_rules import Policy

HASHED = "encode(sha256(convert_to(current_setting('oakpanel.seat', true), 'UTF8')), 'hex')"
IN_OPEN = (
    "FROM booth_seat s JOIN panel_session p ON p.id = s.session_id "
    f"WHERE s.token_hash = {HASHED} AND p.status = 'open'"
)
THE_SESSION, THE_PERSON = f"(SELECT s.session_id {IN_OPEN})", f"(SELECT s.person_id {IN_OPEN})"
MINE = f"session_id = {THE_SESSION} AND person_id = {THE_PERSON}"
BY_ME = f"by_code = (SELECT m.code FROM person m WHERE m.id = {THE_PERSON})"
KEEPER = "current_user = substr('oakpanel_keeper_' || current_database(), 1, 63)"
"""Whoever the functions run as: nobody can log in under that name."""


def _my_glass(table: str) -> str:
    return f"EXISTS (SELECT 1 FROM serving v WHERE v.id = {table}.serving_id)"


def _on_my_word(table: str) -> str:
    return (
        f"{_my_glass(table)} AND EXISTS (SELECT 1 FROM own_word w WHERE w.id = {table}.own_word_id)"
    )


POLICIES = (
    Policy("oakpanel_revision", "booth", "true"),
    Policy("house_setting", "booth", "name = 'time_zone'"),
    Policy("descriptor", "booth", f"{THE_SESSION} IS NOT NULL"),
    Policy("descriptor_version", "booth", f"{THE_SESSION} IS NOT NULL"),
    Policy("session_descriptor", "booth", f"session_id = {THE_SESSION}"),
    Policy("person", "booth", f"id = {THE_PERSON}"),
    Policy("person", "keeper", KEEPER),
    Policy(
        *("panel_session", "booth"),
        "status <> 'revealed' OR id = "
        f"(SELECT s.session_id FROM booth_seat s WHERE s.token_hash = {HASHED})",
    ),
    Policy("panel_session", "keeper", KEEPER),
    Policy("session_assessor", "booth", MINE),
    Policy("session_assessor", "keeper", KEEPER),
    Policy("booth_seat", "booth", f"token_hash = {HASHED} OR fenced_hash = {HASHED}", "false"),
    Policy("booth_seat", "keeper", KEEPER),
    Policy("serving", "booth", MINE),
    Policy("score", "booth", _my_glass("score")),
    Policy(
        "score_change",
        "booth",
        _my_glass("score_change"),
        f"{_my_glass('score_change')} AND {BY_ME}",
    ),
    Policy("own_word", "booth", MINE),
    Policy("own_word", "keeper", KEEPER),
    Policy("own_score", "booth", _on_my_word("own_score")),
    Policy(
        *("own_score_change", "booth", _my_glass("own_score_change")),
        f"{_on_my_word('own_score_change')} AND {BY_ME}",
    ),
    Policy("fault_mark", "booth", _my_glass("fault_mark")),
    Policy("serving_note", "booth", _my_glass("serving_note")),
    Policy("lead_call", "booth", MINE),
    Policy(
        *("lead_call", "booth_glass", None),
        f"serving_id IS NULL OR {_my_glass('lead_call')}",
        command="INSERT",
        restrictive=True,
    ),
)
