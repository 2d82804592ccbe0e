"""Fifty edits past the program on a filled house, and by which way each must be found.

Forty-two leave the log as it was, or cut or change it: they are found from the database alone.
Eight write records and log anew together, so that everything fits: four of them a head on paper
must find, four the last head that this account saw.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass

from panel.store.findings import Way
from tests.faults.rewriting import rewrite

Do = Callable[[sqlite3.Connection], None]


@dataclass(frozen=True)
class Edit:
    """One edit: what is said of it, how it is done, what finds it and under which heading."""

    name: str
    do: Do
    way: Way
    about: str


def sql(*statements: str) -> Do:
    """Return a doing of plain statements; each must change something."""

    def do(file: sqlite3.Connection) -> None:
        for statement in statements:
            done = file.execute(statement)
            if done.rowcount == 0:
                raise ValueError(f"nothing to edit: {statement}")

    return do


def and_rewrite(*statements: str, drop_last: bool = False) -> Do:
    """Return a doing after which the log is written anew to fit."""

    def do(file: sqlite3.Connection) -> None:
        sql(*statements)(file)
        last = file.execute("SELECT max(id) FROM log_entry").fetchone()[0]
        rewrite(file, drop=last if drop_last else None)

    return do


def records(name: str, *statements: str) -> Edit:
    """Return an edit of rows that leaves the log as it was."""
    return Edit(name, sql(*statements), Way.FILE, "records")


def log(name: str, *statements: str) -> Edit:
    """Return an edit of the log itself."""
    return Edit(name, sql(*statements), Way.FILE, "log")


def tables(name: str, *statements: str) -> Edit:
    """Return an edit of tables, rules or triggers."""
    return Edit(name, sql(*statements), Way.FILE, "tables")


LAST = "(SELECT max(id) FROM log_entry)"
SEALED = "(SELECT id FROM panel_session WHERE name = 'practice')"
ONE_SCORE = "rowid = (SELECT min(rowid) FROM score)"
SIGNED = "name = 'First Light'"
CODES = "(SELECT {which}(code) FROM key_row WHERE session_id = " + SEALED + " AND code <> 'x')"
SWAP = (
    f"UPDATE key_row SET code = 'x' WHERE session_id = {SEALED} AND code = {CODES}".format(
        which="max"
    ),
    f"UPDATE key_row SET code = '999' WHERE session_id = {SEALED} AND code = {CODES}".format(
        which="min"
    ),
    f"UPDATE key_row SET code = (SELECT min(code) FROM serving WHERE session_id = {SEALED}) "
    "WHERE code = 'x'",
    f"UPDATE key_row SET code = (SELECT max(code) FROM serving WHERE session_id = {SEALED}) "
    f"WHERE session_id = {SEALED} AND code = '999'",
)
FORGED = (
    "INSERT INTO log_entry (written_at, body_json, nonce_hex, digest_hex, chain_hex) VALUES "
    "('2026-03-14 18:00:00.000000', '{\"action\":\"release signed\"}', '00', '11', '22')"
)

OF_SCORES = (
    records("a score", f"UPDATE score SET value = value + 30 WHERE {ONE_SCORE}"),
    records("a score made text", f"UPDATE score SET value = 'high' WHERE {ONE_SCORE}"),
    records("a score taken away", f"DELETE FROM score WHERE {ONE_SCORE}"),
    records(
        "a score and its history alike",
        "UPDATE score SET value = 99 WHERE serving_id = (SELECT max(serving_id) FROM score)",
        "UPDATE score_change SET value = 99 WHERE serving_id = (SELECT max(serving_id) FROM score)",
    ),
    records("history", "UPDATE score_change SET value = 1 WHERE id = 1"),
    records("history taken away", "DELETE FROM score_change WHERE id = 2"),
    records("who gave a score", "UPDATE score_change SET by_code = 'Wren' WHERE id = 3"),
    records("when a score was given", "UPDATE score SET given_at = '2026-01-01 00:00:00.000000'"),
    records("a score on an own word", "UPDATE own_score SET value = 100 - value"),
    records("an own word", "UPDATE own_word SET word = 'dull' WHERE id = 1"),
    records("a fault mark taken off", "DELETE FROM fault_mark"),
    records("a fault mark put on", "INSERT INTO fault_mark SELECT max(id), 'soapy', "
            "'2026-03-14 18:00:00.000000', NULL FROM serving"),
    records("a void", "UPDATE serving SET status = 'void' WHERE id = 40"),
    records("a lead's mark", "UPDATE serving_mark SET status = 'kept'"),
    records("a lead's mark taken away", "DELETE FROM serving_mark"),
    records("a glass of somebody else", "UPDATE serving SET code = '000' WHERE id = 41"),
    records("who knew the key", "UPDATE session_assessor SET knew_key = 1 - knew_key"),
    records("a note", "UPDATE serving_note SET text = 'fine'"),
)  # fmt: skip
OF_THE_KEY = (
    records("the key exchanged", *SWAP),
    records("the key and its hash", *SWAP, "UPDATE panel_session SET key_hash = "
            "'0f0e0d0c0b0a09080706050403020100' || substr(key_hash, 33) WHERE id = " + SEALED),
    records("the filling behind a draw", "UPDATE draw SET filling_id = (SELECT max(id) FROM "
            "filling) WHERE id = (SELECT min(id) FROM draw WHERE kind = 'cask')"),
    records("the cask behind a filling", "UPDATE filling SET cask_id = (SELECT max(id) FROM cask) "
            "WHERE id = 1"),
    records("the parts of a blend", "UPDATE draw_part SET millilitres = millilitres * 2"),
    records("a session made blind", "UPDATE panel_session SET blind = 1 - blind"),
    records("a stage", "UPDATE panel_session SET status = 'closed' WHERE status = 'revealed'"),
)  # fmt: skip
OF_THE_HOUSE = (
    records("litres of a release", "UPDATE release_part SET litres = litres + 50"),
    records("who signed", f"UPDATE release SET signed_by = 'Heron2' WHERE {SIGNED}"),
    records("a lot", f"UPDATE release SET lot_code = 'L1' WHERE {SIGNED}"),
    records("a release's status", f"UPDATE release SET status = 'cancelled' WHERE {SIGNED}"),
    records("a role", "INSERT INTO person_role SELECT id, 'lead', NULL FROM person "
            "WHERE code = 'Alder'"),
    records("a PIN", "UPDATE person SET pin_hash = (SELECT pin_hash FROM person WHERE code = "
            "'Alder') WHERE code = 'Heron'"),
    records("a hold", "UPDATE filling SET hold_reason = NULL, hold_until = NULL, "
            "owner = 'somebody'"),
    records("a regauge", "UPDATE regauge SET abv = abv + 1 WHERE id = 1"),
    records("a cap on ethanol", "INSERT OR REPLACE INTO house_setting VALUES "
            "('dose_day_g', '40', NULL)"),
)  # fmt: skip
OF_THE_LOG = (
    log("the log cut", f"DELETE FROM log_entry WHERE id = {LAST}"),
    log("the log emptied", "DELETE FROM log_entry"),
    log("an entry out of the middle", "DELETE FROM log_entry WHERE id = 100"),
    log("an entry forged", FORGED),
    log("an entry rewritten", "UPDATE log_entry SET body_json = replace(body_json, 'Heron', "
        "'Wren') WHERE id = 3"),
    log("an entry cleared", f"UPDATE log_entry SET body_json = NULL, nonce_hex = NULL "
        f"WHERE id = {LAST}"),
)  # fmt: skip
OF_TABLES = (
    tables("a trigger", "CREATE TRIGGER up AFTER INSERT ON score BEGIN UPDATE score SET value = "
           "100 WHERE serving_id = NEW.serving_id; END"),
    tables("a missing table", "DROP TABLE mixing_note"),
)  # fmt: skip
TOGETHER = (
    ("a score", f"UPDATE score SET value = value + 30 WHERE {ONE_SCORE}"),
    ("litres of a release", "UPDATE release_part SET litres = litres + 50"),
    ("who signed", f"UPDATE release SET signed_by = 'Alder' WHERE {SIGNED}"),
    ("the key exchanged", *SWAP),
)
REWRITTEN = tuple(
    Edit(f"{name}, and the log with it, {way.value}", and_rewrite(*statements), way, about)
    for way, about in ((Way.HEAD, "head"), (Way.SEEN, "last seen"))
    for name, *statements in TOGETHER
)
EDITS = (*OF_SCORES, *OF_THE_KEY, *OF_THE_HOUSE, *OF_THE_LOG, *OF_TABLES, *REWRITTEN)
