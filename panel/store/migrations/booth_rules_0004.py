"""What revision 0004 changed on a PostgreSQL server: how long a code waits, how long a note is."""

from __future__ import annotations

from panel.store.migrations.booth_rules_0003 import POLICIES
from panel.store.migrations.server_rules import Function, Policy

WAITING = """
DECLARE
    waits_s integer := least(wait_s, 3600);
    passed double precision := extract(epoch FROM moment - failed_at);
BEGIN
    -- A clock set back, or one far past the wait, is not believed: the wait begins anew.
    IF failed_at IS NULL OR waits_s = 0 THEN
        RETURN 0;
    END IF;
    IF passed < 0 OR passed > waits_s + 3600 THEN
        RETURN -1;
    END IF;
    RETURN greatest(ceil(waits_s - passed), 0);
END
"""
FUNCTIONS = (
    Function(
        *("oakpanel_waiting", "failed_at timestamp, wait_s integer, moment timestamp", "integer"),
        *("plpgsql IMMUTABLE", WAITING, False),
    ),
)
[_NOTE] = [each for each in POLICIES if each.table == "serving_note"]
CHANGED = (Policy("serving_note", "booth", _NOTE.seen, f"{_NOTE.seen} AND long_before IS NULL"),)
"""No booth says of its note that it was longer before there was a limit."""
