"""What the booths' own user may do on PostgreSQL beyond its rows, as revision 0003 wrote it.

Salt of a code, sign in, append to the log. They run as an owner who cannot log in (made by
`panel.store.booth_role`) and who sees no more than they need; the others are theirs alone.
"""

from __future__ import annotations

from panel.store.migrations.booth_sign_in_0003 import (
    PERSON,
    SALT,
    SETTLE,
    SIGN_IN,
    STRANGE,
    STRANGER,
    WAIT,
    WAITING,
)
from panel.store.migrations.server_rules import Function

LINK = """
DECLARE
    nonce text := replace(gen_random_uuid()::text, '-', '');
    previous text;
    before bytea;
    digest bytea := sha256(decode(nonce, 'hex') || convert_to(body, 'UTF8'));
    chain text;
BEGIN
    PERFORM pg_advisory_xact_lock(11319827632236);
    SELECT h.chain_hex INTO previous FROM log_head h ORDER BY h.id LIMIT 1;
    IF NOT FOUND THEN
        SELECT e.chain_hex INTO previous FROM log_entry e ORDER BY e.id DESC LIMIT 1;
    END IF;
    previous := coalesce(previous, repeat('0', 64));
    -- A link that was damaged is reported by the check; here it must not stop who writes.
    before := CASE WHEN previous ~ '^([0-9a-f]{2})*$' THEN decode(previous, 'hex')
        ELSE convert_to(previous, 'UTF8') END;
    chain := encode(sha256(before || digest || sha256(convert_to(kept, 'UTF8'))), 'hex');
    LOOP
        INSERT INTO log_entry (written_at, body_json, nonce_hex, digest_hex, chain_hex, kept_json)
            VALUES (moment, body, nonce, encode(digest, 'hex'), chain, kept)
            ON CONFLICT (id) DO NOTHING;
        EXIT WHEN FOUND;
    END LOOP;
    UPDATE log_head SET entries = least(entries, 2147483646) + 1, chain_hex = chain;
END
"""
TELL = """
SELECT oakpanel_link(
    moment,
    '{"action":' || to_json(action)::text
    || ',"at":"' || to_char(moment, 'YYYY-MM-DD"T"HH24:MI:SS.US') || '+00:00"'
    || ',"by":' || to_json(p.code)::text || more || '}',
    '{"at":"' || to_char(moment, 'YYYY-MM-DD HH24:MI:SS.US') || '"}')
FROM person p WHERE p.id = who
"""
VOUCHED = """
DECLARE
    row_of record;
    first integer;
    mine boolean;
BEGIN
    FOR row_of IN SELECT t.key AS named, r.key AS which, r.value AS digest
        FROM jsonb_each(told) t, jsonb_each_text(t.value) r
    LOOP
        IF row_of.which !~ '^[1-9][0-9]{0,8}(,|$)' OR row_of.digest !~ '^[0-9a-f]{32}$' THEN
            RETURN false;
        END IF;
        first := split_part(row_of.which, ',', 1)::integer;
        mine := CASE
            WHEN row_of.named = 'session_assessor'
                THEN row_of.which = its_session || ',' || its_person
            WHEN row_of.named IN ('serving', 'score', 'own_score', 'fault_mark', 'serving_note')
                THEN EXISTS (SELECT 1 FROM serving v WHERE v.id = first)
            WHEN row_of.named = 'score_change'
                THEN EXISTS (SELECT 1 FROM score_change c WHERE c.id = first)
            WHEN row_of.named = 'own_score_change'
                THEN EXISTS (SELECT 1 FROM own_score_change c WHERE c.id = first)
            WHEN row_of.named = 'lead_call'
                THEN EXISTS (SELECT 1 FROM lead_call c WHERE c.id = first)
            WHEN row_of.named = 'own_word'
                THEN NOT EXISTS (SELECT 1 FROM own_word w WHERE w.id = first
                    AND (w.session_id <> its_session OR w.person_id <> its_person))
            ELSE false END;
        IF NOT mine THEN
            RETURN false;
        END IF;
    END LOOP;
    RETURN true;
END
"""
APPEND = """
DECLARE
    seat record;
    said jsonb := body::jsonb;
BEGIN
    SELECT p.id AS session_id, p.name AS session, m.id AS person_id, m.code INTO seat
        FROM booth_seat s
        JOIN panel_session p ON p.id = s.session_id
        JOIN person m ON m.id = s.person_id
        WHERE p.status = 'open' AND s.token_hash = encode(
            sha256(convert_to(current_setting('oakpanel.seat', true), 'UTF8')), 'hex');
    IF NOT FOUND THEN
        RAISE EXCEPTION 'permission denied: no seat' USING ERRCODE = '42501';
    END IF;
    IF said ->> 'by' IS DISTINCT FROM seat.code
        OR said ->> 'session' IS DISTINCT FROM seat.session
        OR length(body) > 20000
        OR length(told) > 200000
        OR coalesce(said ->> 'action', '') NOT IN (
            'glass taken', 'scores kept', 'fault marked', 'fault mark taken off', 'note kept',
            'lead called', 'own mark changed', 'glass finished', 'glass taken again',
            'whole glass kept', 'own word named', 'own word renamed', 'own word taken back')
        OR NOT oakpanel_vouched(told::jsonb, seat.session_id, seat.person_id)
    THEN
        RAISE EXCEPTION 'permission denied: not of this seat' USING ERRCODE = '42501';
    END IF;
    PERFORM oakpanel_link(moment, body,
        '{"at":"' || to_char(moment, 'YYYY-MM-DD HH24:MI:SS.US') || '"'
        || CASE WHEN told::jsonb = '{}' THEN '' ELSE ',"rows":' || told END || '}');
END
"""
ANSWER = (
    "TABLE(outcome text, tries integer, still_s integer, session_id integer, person_id integer, "
    "code text)"
)
GUARD = "TABLE(failures integer, failed_at timestamp, wait_s integer)"
SQL, PLPGSQL = "sql STABLE", "plpgsql VOLATILE"
FUNCTIONS = (
    Function("oakpanel_person", "typed text", "integer", SQL, PERSON, False),
    Function("oakpanel_stranger", "typed text", "text", SQL, STRANGER, False),
    Function("oakpanel_salt", "typed text", "text", SQL, SALT, True),
    Function("oakpanel_wait", "tries integer", "integer", "sql IMMUTABLE", WAIT, False),
    Function(
        *("oakpanel_waiting", "failed_at timestamp, wait_s integer, moment timestamp", "integer"),
        *("plpgsql IMMUTABLE", WAITING, False),
    ),
    Function("oakpanel_strange", "stranger text", GUARD, SQL, STRANGE, False),
    Function(
        *("oakpanel_link", "moment timestamp, body text, kept text", "void"),
        *(PLPGSQL, LINK, False),
    ),
    Function(
        *("oakpanel_tell", "action text, who integer, moment timestamp, more text", "void"),
        *("sql VOLATILE", TELL, False),
    ),
    Function(
        *("oakpanel_vouched", "told jsonb, its_session integer, its_person integer", "boolean"),
        *(PLPGSQL, VOUCHED, False),
    ),
    Function(
        *("oakpanel_append", "moment timestamp, body text, told text", "void"),
        *(PLPGSQL, APPEND, True),
    ),
    Function(
        "oakpanel_settle",
        "session_name text, who integer, stranger text, passed boolean, fresh boolean, "
        "seat_hash text, at_place text, moment timestamp",
        *(ANSWER, PLPGSQL, SETTLE, False),
    ),
    Function(
        "oakpanel_sign_in",
        "session_name text, typed text, proof text, seat_hash text, at_place text",
        *(ANSWER, PLPGSQL, SIGN_IN, True),
    ),
)
