"""What the tests of the wheel share: it is built once, and installed in as few places as can be."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.wheel.environments import (
    Environment,
    build_wheel,
    link_dependencies,
    make_environment,
    other_wheel,
)


@pytest.fixture(scope="session")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_wheel(tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="session")
def other(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return other_wheel(tmp_path_factory.mktemp("other") / "wheel")


@pytest.fixture(scope="session")
def dependencies(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return link_dependencies(tmp_path_factory.mktemp("dependencies") / "packages")


@pytest.fixture(scope="session")
def installed(
    wheel: Path, other: Path, dependencies: Path, tmp_path_factory: pytest.TempPathFactory
) -> Environment:
    """Give an environment with the wheel and the other library, for tests that change nothing."""
    made = make_environment(tmp_path_factory.mktemp("both") / "venv", dependencies)
    made.pip("install", str(wheel))
    made.pip("install", "--no-deps", str(other))
    return made
