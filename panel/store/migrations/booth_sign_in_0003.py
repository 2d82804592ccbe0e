"""How the booths' own user signs somebody in on PostgreSQL, as revision 0003 wrote it.

A server can undo a transaction, and with it a count of wrong PINs: so a try is counted first, and
told only when the same is asked again in a later transaction. Codes that nobody has wait as well.
"""

PERSON = """
SELECT coalesce(
    (SELECT p.id FROM person p WHERE p.code = typed),
    (SELECT min(p.id) FROM person p WHERE lower(p.code) = lower(typed) HAVING count(*) = 1))
"""
STRANGER = """
SELECT encode(sha256(convert_to(s.secret_hex || lower(typed), 'UTF8')), 'hex')
FROM sign_in_secret s ORDER BY s.id LIMIT 1
"""
SALT = """
SELECT coalesce(
    (SELECT regexp_replace(p.pin_hash, '[$][^$]*$', '') FROM person p
     WHERE p.id = oakpanel_person(typed) AND p.pin_hash ~
        '^scrypt-sha256([$][0-9]{1,9}){3}[$]([0-9a-f]{2}){1,64}[$][0-9a-f]{64}$'),
    'scrypt-sha256$16384$8$1$' || left(oakpanel_stranger(typed), 32))
"""
WAIT = """
SELECT CASE WHEN tries < 5 THEN 0 ELSE least(60 * 2 ^ least(tries - 5, 10), 3600)::integer END
"""
WAITING = """
DECLARE
    passed double precision := extract(epoch FROM moment - failed_at);
BEGIN
    -- A clock set back, or one far past the wait, is not believed: the wait begins anew.
    IF failed_at IS NULL OR wait_s = 0 THEN
        RETURN 0;
    END IF;
    IF passed < 0 OR passed > wait_s + 3600 THEN
        RETURN -1;
    END IF;
    RETURN greatest(ceil(wait_s - passed), 0);
END
"""
STRANGE = """
SELECT count(*)::integer, max(t.tried_at), oakpanel_wait(count(*)::integer)
FROM sign_in_try t WHERE t.stranger_hash = stranger
"""
SIGN_IN = """
#variable_conflict use_column
DECLARE
    moment timestamp := clock_timestamp() AT TIME ZONE 'UTC';
    who integer := oakpanel_person(typed);
    stranger text := oakpanel_stranger(typed);
    tried record;
    counted record;
    left_s integer;
BEGIN
    IF seat_hash !~ '^[0-9a-f]{64}$' OR proof !~ '^[0-9a-f]{64}$' OR length(at_place) > 200
    THEN
        RAISE EXCEPTION 'permission denied: no sign-in' USING ERRCODE = '42501';
    END IF;
    SELECT * INTO tried FROM sign_in_try t WHERE t.seat_hash = oakpanel_sign_in.seat_hash;
    IF FOUND AND tried.transaction_id = pg_current_xact_id()::text THEN
        RETURN QUERY SELECT 'asked', 0, 0, 0, 0, '';
        RETURN;
    ELSIF FOUND THEN
        RETURN QUERY SELECT * FROM oakpanel_settle(
            session_name, tried.person_id, tried.stranger_hash, tried.passed,
            tried.tried_at > moment - interval '1 minute', seat_hash, at_place, moment);
        RETURN;
    END IF;
    DELETE FROM sign_in_try t WHERE t.tried_at < moment - interval '30 days';
    IF who IS NOT NULL THEN
        INSERT INTO sign_in_guard (person_id, failures, wait_s) VALUES (who, 0, 0)
            ON CONFLICT DO NOTHING;
        SELECT g.failures, g.failed_at, g.wait_s INTO counted
            FROM sign_in_guard g WHERE g.person_id = who FOR UPDATE;
    ELSE
        PERFORM pg_advisory_xact_lock(hashtextextended(stranger, 0));
        SELECT c.failures, c.failed_at, c.wait_s INTO counted FROM oakpanel_strange(stranger) c;
    END IF;
    left_s := oakpanel_waiting(counted.failed_at, counted.wait_s, moment);
    IF left_s < 0 THEN
        UPDATE sign_in_guard g SET failed_at = moment WHERE g.person_id = who;
        UPDATE sign_in_try t SET tried_at = moment
            WHERE t.stranger_hash = stranger AND who IS NULL AND t.tried_at = counted.failed_at;
        left_s := counted.wait_s;
    END IF;
    IF left_s > 0 THEN
        RETURN QUERY SELECT 'waits', counted.failures, left_s, 0, 0, '';
        RETURN;
    END IF;
    UPDATE sign_in_guard g SET failures = g.failures + 1, failed_at = moment,
        wait_s = oakpanel_wait(g.failures + 1) WHERE g.person_id = who;
    INSERT INTO sign_in_try (seat_hash, person_id, stranger_hash, passed, transaction_id, tried_at)
        VALUES (
            seat_hash, who, CASE WHEN who IS NULL THEN stranger END,
            EXISTS (SELECT 1 FROM person p WHERE p.id = who AND p.pin_hash = oakpanel_salt(typed)
                || '$' || encode(sha256(decode(proof, 'hex')), 'hex')),
            pg_current_xact_id()::text, moment);
    RETURN QUERY SELECT 'asked', 0, 0, 0, 0, '';
END
"""
SETTLE = """
#variable_conflict use_column
DECLARE
    seat record;
    counted record;
    held boolean;
BEGIN
    IF NOT coalesce(passed, false) OR NOT fresh THEN
        SELECT g.failures, g.failed_at, g.wait_s INTO counted
            FROM sign_in_guard g WHERE g.person_id = who;
        IF who IS NULL THEN
            SELECT c.failures, c.failed_at, c.wait_s INTO counted FROM oakpanel_strange(stranger) c;
        ELSIF fresh THEN
            PERFORM oakpanel_tell('sign-in refused', who, moment, '');
        END IF;
        DELETE FROM sign_in_try t WHERE t.seat_hash = oakpanel_settle.seat_hash
            AND t.person_id IS NOT NULL;
        RETURN QUERY SELECT 'refused', counted.failures,
            greatest(oakpanel_waiting(counted.failed_at, counted.wait_s, moment), 0), 0, 0, '';
        RETURN;
    END IF;
    DELETE FROM sign_in_try t WHERE t.seat_hash = oakpanel_settle.seat_hash;
    DELETE FROM sign_in_guard g WHERE g.person_id = who;
    SELECT p.id AS session_id, m.id AS person_id, m.code, p.status, EXISTS (
            SELECT 1 FROM session_assessor a WHERE a.session_id = p.id AND a.person_id = m.id
        ) AS has_tray INTO seat
        FROM panel_session p, person m WHERE p.name = session_name AND m.id = who;
    IF NOT FOUND OR seat.status <> 'open' OR NOT seat.has_tray THEN
        RETURN QUERY SELECT CASE WHEN seat.status = 'open' THEN 'no tray' ELSE 'not open' END,
            0, 0, 0, 0, coalesce(seat.code, '')::text;
        RETURN;
    END IF;
    held := EXISTS (SELECT 1 FROM booth_seat s
        WHERE s.session_id = seat.session_id AND s.person_id = who);
    INSERT INTO booth_seat AS s (session_id, person_id, token_hash, taken_at, place)
        VALUES (seat.session_id, who, seat_hash, moment, at_place)
        ON CONFLICT ON CONSTRAINT pk_booth_seat DO UPDATE SET
            fenced_hash = s.token_hash, token_hash = excluded.token_hash,
            taken_at = excluded.taken_at, place = excluded.place;
    PERFORM oakpanel_tell('booth signed in', who, moment,
        ',"session":' || to_json(session_name)::text || ',"took_over":' || held::text);
    RETURN QUERY SELECT 'seated', 0, 0, seat.session_id, who, seat.code::text;
END
"""
