"""Settings of the house: their defaults."""

from __future__ import annotations

from panel.store.engine import Store
from panel.store.house import RULES, read_setting


def test_what_nobody_changed_is_the_default(store: Store) -> None:
    with store.read() as db:
        assert {name: read_setting(db, name) for name in RULES} == {
            name: rule.default for name, rule in RULES.items()
        }


def test_every_default_lies_within_its_own_bounds_and_has_a_reason() -> None:
    for rule in RULES.values():
        assert rule.reason
        if not isinstance(rule.default, str):
            assert rule.low <= rule.default <= rule.high
