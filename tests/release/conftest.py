"""The nosed house and `oakpanel` on it, reckoned as of one day."""

from __future__ import annotations

import pytest

from panel.store.engine import Store
from tests.cli.calling import Call, caller
from tests.houses.nosed import build_nosed, gauge_all, weigh_today


@pytest.fixture
def house(store: Store) -> Store:
    build_nosed(store)
    return store


@pytest.fixture
def gauged(house: Store) -> None:
    """Let every cask be weighed: litres that nobody has looked at for years fill few bottles."""
    gauge_all(house)


@pytest.fixture
def weighed(house: Store) -> None:
    """Let every cask be weighed today, so that litres are those of the records."""
    weigh_today(house)


@pytest.fixture
def oakpanel(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    from panel.cli import invocation
    from tests.houses.nosed import NOW

    monkeypatch.delenv("OAKPANEL_BY", raising=False)
    monkeypatch.setattr(invocation.Invocation, "now", lambda _self: NOW)
    return caller(capsys, monkeypatch, "--db", str(house.url.database), house=house)


@pytest.fixture(autouse=True)
def begin_with_kept(kept_before: None) -> None:
    """Let every house begin with what was reckoned before in houses like it."""
