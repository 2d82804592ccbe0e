"""What revision 0005 added on a PostgreSQL server: a seat reaches the numbers of its own deeds."""

from __future__ import annotations

from panel.store.migrations.booth_rules_0003 import MINE
from panel.store.migrations.server_rules import Policy

ADDED = (Policy("booth_deed", "booth", MINE),)
