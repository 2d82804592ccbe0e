"""What a table's own statement says beside columns and rules: clauses that change what it does.

SQLite keeps the statement that made a table, and obeys what somebody writes into it. No column or
rule by name tells of them: what else is deleted with a row, which of two rows stays, which texts
are alike. A comment is no clause, but nothing of this program writes one there.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from sqlalchemy import Connection, text

WORD = re.compile(
    r"""(?P<comment>--[^\n]*|/\*.*?(?:\*/|\Z))|'(?:[^']|'')*'|"(?:[^"]|"")*"|`[^`]*`|\[[^\]]*\]"""
    r"""|(?P<word>\w+)""",
    re.DOTALL,
)
CLAUSES = frozenset(
    {
        *("COLLATE", "CONFLICT", "DEFERRABLE", "INITIALLY", "DELETE", "UPDATE", "CASCADE"),
        *("RESTRICT", "SET", "MATCH", "WITHOUT", "STRICT", "GENERATED", "ALWAYS", "STORED"),
        *("VIRTUAL", "AUTOINCREMENT", "ASC", "DESC", "WHERE", "TEMP"),
    }
)
STATEMENTS = text("SELECT tbl_name, sql FROM sqlite_master WHERE sql IS NOT NULL")


def clauses_by_table(connection: Connection) -> dict[str, set[str]]:
    """Return by table the clauses of its statement and of its indexes', a line each."""
    counted: dict[str, Counter[str]] = {}
    for table, statement in connection.execute(STATEMENTS):
        counted.setdefault(table, Counter()).update(clauses_of(str(statement)))
    return {table: set(_lines(words)) for table, words in counted.items()}


def clauses_of(statement: str) -> Iterator[str]:
    """Give each clause of a statement, whatever stands in texts and quoted names."""
    for found in WORD.finditer(statement):
        if found["comment"]:
            yield "comment"
        elif found["word"] and (word := found["word"].upper()) in CLAUSES:
            yield f"clause {word}"


def _lines(counted: Counter[str]) -> Iterator[str]:
    for word, times in counted.items():
        yield word
        yield from (f"{word} ({time} times)" for time in range(2, times + 1))
