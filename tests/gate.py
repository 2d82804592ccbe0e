"""What the gate asks of a run: nothing skipped unseen; and the two ways to run a test by hand."""

from __future__ import annotations

import gc
from collections.abc import Generator
from os import cpu_count
from typing import TypeVar

import pytest

from tests.examples import IN_GATE

MAY_BE_SKIPPED: dict[str, str] = {}
"""Beginnings of the reasons that the gate lets pass, each with why no gate can do without."""


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let a person ask for the tests from the last to the first."""
    parser.addoption("--reversed", action="store_true", help="run the tests in reversed order")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Turn the order round where that was asked for: no test may lean on the one before."""
    if config.getoption("--reversed"):
        items.reverse()


def pytest_xdist_auto_num_workers() -> int:
    """Let one run more than there are cores: booths, servers and browsers are waited for."""
    return (cpu_count() or 1) + 1


ALLOCATIONS, YOUNG, MIDDLE = 30_000, 10, 10
"""How seldom what nobody holds any more is looked for while tests run."""


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """Look for nothing while modules and tests are read: they stay to the end, all of them."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.enable()


def pytest_collection_finish() -> None:
    """Leave what was read out of every later search as well."""
    gc.freeze()
    gc.set_threshold(ALLOCATIONS, YOUNG, MIDDLE)


Report = TypeVar("Report", pytest.TestReport, pytest.CollectReport)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """In the gate a test that is skipped has failed: there every service it needs is there."""
    return seen_through((yield))


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """The same for a whole file that steps aside while it is read."""
    return seen_through((yield))


def seen_through(report: Report) -> Report:
    """Turn a skip that nobody allowed into a failure that says why it was skipped."""
    if not IN_GATE or report.outcome != "skipped" or hasattr(report, "wasxfail"):
        return report
    reason = reason_of(report)
    if not reason.startswith(tuple(MAY_BE_SKIPPED)):
        report.outcome = "failed"
        report.longrepr = f"The gate skips nothing. {report.nodeid} was skipped: {reason}"
    return report


def reason_of(report: pytest.TestReport | pytest.CollectReport) -> str:
    """Return why a test was skipped, in the words of who skipped it."""
    told = report.longrepr
    words = told[2] if isinstance(told, tuple) else str(told)
    return words.removeprefix("Skipped: ")
