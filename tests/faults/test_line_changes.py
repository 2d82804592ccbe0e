"""What is changed in a module and what is not; the changes themselves are tried by hand."""

from __future__ import annotations

from textwrap import dedent

import pytest

from tests.faults.line_changes import Change, changes_of
from tests.faults.mutants import EQUIVALENT, HERE, Reach, equivalents


def made_of(text: str) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for change in changes_of("some.py", dedent(text)):
        found.setdefault(change.before.strip(), []).append(change.after.strip())
    return found


@pytest.mark.parametrize(
    ("line", "changes"),
    [
        ("return a < 3", ["return (a <= 3)", "return a < 4", "return not (a < 3)"]),
        ("return a + b", ["return (a - b)"]),
        ("return a and b", ["return (a or b)", "return not (a and b)"]),
        ("return min(a, b)", ["return max(a, b)"]),
        ("return rows[at - 1]", ["return rows[(at + 1)]", "return rows[at - 2]"]),
        ("return 0.5", ["return 0.625"]),
        ("return True", ["return False", "return not (True)"]),
        ("if not a: return b", ["if False: return b", "if bool(a): return b"]),
    ],
)
def test_what_a_slip_of_the_hand_makes_of_a_line(line: str, changes: list[str]) -> None:
    answer = "bool" if any(" not " in change for change in changes) else "object"
    found = made_of(f"def f(a, b, rows, at) -> {answer}:\n    {line}\n")
    assert found == {line: sorted(changes)}


def test_nothing_is_made_of_words() -> None:
    found = made_of(
        '''
        from typing import TYPE_CHECKING

        if TYPE_CHECKING:
            import x

        LEAST = 4

        @decorated(depth=3)
        def f(n: "int | None" = None) -> str:
            """Three or 4."""
            return f"{n + 1} of 4" if n else "none"

        def g(n):
            raise ValueError(f"{n} is below 3" + str(4))

        def h(n, m):
            said = f"{n + 1} of them"
            return zip(n, m, strict=True), said
        '''
    )
    assert found == {"LEAST = 4": ["LEAST = 5"]}


def test_one_line_is_changed_and_stands() -> None:
    source = "LEAST = 4\n\n\ndef f(a):\n    return a > LEAST\n"
    first, second = changes_of("some.py", source)
    assert (first.at_import, second.at_import) == (True, False)
    assert second.done_to(source) == source.replace("a > LEAST", "(a >= LEAST)")
    reach = Reach({"some.py": {"5": ["slow", "quick"], "9": ["other"]}}, {})
    reach.seconds.update(slow=2.0, quick=1.0, other=0.5)
    assert reach.tests(second) == ["quick", "slow"]
    assert reach.tests(first) == ["other", "quick", "slow"]
    assert reach.tests(Change("else.py", 5, "sum", "", "", False)) == []


def test_what_is_named_equivalent_still_stands_in_the_program() -> None:
    """A line that was rewritten takes its entry with it."""
    for path, before, after in equivalents():
        lines = (HERE / path).read_text(encoding="utf-8").splitlines()
        assert before in {line.strip() for line in lines}, f"{EQUIVALENT.name}: {path}: {before}"
        assert after != before
