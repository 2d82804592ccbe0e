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


@pytest.fixture
def desk_of_a_user(tmp_path: Path) -> Path:
    """Give a folder where somebody works who has an `analysis` of their own."""
    folder = tmp_path / "work"
    (folder / "analysis").mkdir(parents=True)
    (folder / "analysis" / "__init__.py").write_text('NAME = "a user\'s own"\n', encoding="utf-8")
    return folder
