"""What a server must refuse the booths' own user, whatever seat it has.

`<mine>` and `<theirs>` are glasses, `<me>` and `<them>` persons, `<session>` is the evening.
"""

from __future__ import annotations

from tests.houses.at_the_booth import NAME

BODY = '{{"action":"{action}","by":"{by}","session":"' + NAME + '"}}'


def _append(told: str = "{}", action: str = "note kept", by: str = "A2") -> str:
    body = BODY.format(action=action, by=by)
    return f"SELECT oakpanel_append('2026-03-14 18:00', '{body}', '{told}')"


DIGEST = "0" * 32
TABLES_THEMSELVES = tuple(
    f"SELECT count(*) FROM public.{table}"
    for table in ("score", "score_change", "serving", "serving_note", "session_assessor", "person")
)
"""What a booth sees by its views only: a table's plans and counters tell of others' rows."""
REFUSED = (
    *TABLES_THEMSELVES,
    "INSERT INTO score_change (id, serving_id, descriptor_version_id, changed_at, by_code) "
    "VALUES (1000000, <mine>, 1, now(), 'A2')",
    "UPDATE public.score SET value = 1 WHERE serving_id = <mine>",
    "DELETE FROM public.serving_note WHERE text > 'm'",
    "CREATE OR REPLACE VIEW oakpanel_booth.score AS SELECT 1",
    "SELECT pin_hash FROM public.person",
    "UPDATE person SET code = 'A9'",
    "SELECT * FROM person_role",
    "INSERT INTO person_role VALUES (<me>, 'lead')",
    "SELECT * FROM sign_in_guard",
    "DELETE FROM sign_in_guard",
    "SELECT * FROM sign_in_try",
    "UPDATE sign_in_try SET proof_hash = '0'",
    "SELECT secret_hex FROM sign_in_secret",
    "SELECT body_json FROM log_entry",
    "SELECT count(*) FROM log_entry",
    "INSERT INTO log_entry (written_at, digest_hex, chain_hex) VALUES (now(), '', '')",
    "SELECT chain_hex FROM log_head",
    "UPDATE log_head SET entries = 0",
    "UPDATE booth_seat SET place = 'elsewhere'",
    "UPDATE booth_seat SET token_hash = 'x'",
    f"INSERT INTO booth_seat VALUES (<session>, <them>, '{'0' * 64}', now())",
    "DELETE FROM booth_seat",
    f"INSERT INTO booth_deed VALUES (<session>, <them>, '{'1' * 32}', 'x', now())",
    "UPDATE booth_deed SET done_at = now()",
    "DELETE FROM booth_deed",
    "INSERT INTO score VALUES (<theirs>, 1, 100, now())",
    "UPDATE score SET serving_id = <theirs> WHERE serving_id = <mine>",
    "INSERT INTO score_change (serving_id, descriptor_version_id, changed_at, by_code) "
    "VALUES (<theirs>, 1, now(), 'A2')",
    "INSERT INTO score_change (serving_id, descriptor_version_id, changed_at, by_code) "
    "VALUES (<mine>, 1, now(), 'A1')",
    "UPDATE score_change SET value = 1",
    "DELETE FROM score_change",
    "INSERT INTO answer VALUES (<theirs>, 1, 1, now())",
    "INSERT INTO answer_change (serving_id, question, changed_at, by_code) "
    "VALUES (<mine>, 1, now(), 'A1')",
    "UPDATE answer_change SET value = 1",
    "DELETE FROM answer_change",
    "SELECT * FROM planned_finding",
    "SELECT * FROM planted",
    "SELECT * FROM passing_hold",
    "SELECT secret_hex FROM site_pack",
    "SELECT * FROM pack_seat",
    "SELECT * FROM pack_amount",
    "INSERT INTO serving_note VALUES (<theirs>, 'mine', now())",
    "INSERT INTO fault_mark VALUES (<theirs>, 'rubber', now())",
    "INSERT INTO lead_call (session_id, person_id, reason, called_at) "
    "VALUES (<session>, <them>, 'water', now())",
    "INSERT INTO lead_call (session_id, person_id, serving_id, reason, called_at) "
    "VALUES (<session>, <me>, <theirs>, 'water', now())",
    "INSERT INTO own_word (session_id, person_id, place, word, named_at) "
    "VALUES (<session>, <them>, 9, 'mine', now())",
    "INSERT INTO own_score VALUES (<mine>, 1, 5, now())",
    "UPDATE serving SET person_id = <them>",
    "UPDATE serving SET status = 'void'",
    "UPDATE session_assessor SET knew_key = true",
    "SELECT note FROM public.panel_session",
    "SELECT key_hash FROM public.panel_session",
    "UPDATE panel_session SET status = 'revealed'",
    "SELECT * FROM serving_mark",
    "SELECT * FROM key_row",
    "SELECT * FROM key_secret",
    "SELECT * FROM draw",
    "SELECT * FROM cask",
    "SELECT oakpanel_person('A1')",
    "SELECT oakpanel_stranger('A9')",
    "SELECT oakpanel_link(now()::timestamp, '{}', '{}')",
    "SELECT oakpanel_tell('session sealed', <them>, now()::timestamp, '')",
    "SELECT oakpanel_settle('evening-12', <them>, NULL, true, true, repeat('0', 64), NULL, "
    "now()::timestamp)",
    _append(by="A1"),
    _append(action="session sealed"),
    _append(f'{{"score":{{"<theirs>,1":"{DIGEST}"}}}}'),
    _append('{"score":{"<theirs>,1":null}}'),
    _append(f'{{"serving":{{"<theirs>":"{DIGEST}"}}}}'),
    _append(f'{{"own_word":{{"1":"{DIGEST}"}}}}'),
    _append(f'{{"session_assessor":{{"<session>,<them>":"{DIGEST}"}}}}'),
    _append(f'{{"key_row":{{"1":"{DIGEST}"}}}}'),
    _append('{"sealed":{"1":"00"}}'),
    "ALTER TABLE public.score DISABLE ROW LEVEL SECURITY",
    "DROP POLICY booth ON public.score",
    "CREATE POLICY mine ON public.score USING (true)",
    "CREATE FUNCTION sha256(text) RETURNS text LANGUAGE sql AS 'SELECT 1'",
    "CREATE TABLE mine (id integer)",
    "TRUNCATE public.score",
    "ALTER ROLE booth_of_one_seat BYPASSRLS",
    "SET LOCAL session_replication_role = replica",
    "SELECT setval('score_change_id_seq', 1)",
    "SELECT last_value FROM log_entry_id_seq",
)
