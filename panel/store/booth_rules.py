"""The rules of rows and the functions that a PostgreSQL server has to have now.

They change by revisions, as tables do: a revision writes its own beside it and what stands here is
the sum. Nothing but the making and the check of a database imports this.
"""

from __future__ import annotations

from panel.store.migrations.booth_functions_0003 import FUNCTIONS
from panel.store.migrations.booth_rules_0003 import POLICIES

__all__ = ["FUNCTIONS", "POLICIES"]
