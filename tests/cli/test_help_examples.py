"""Every command shows how it is typed, and what it shows is understood by the command itself."""

from __future__ import annotations

import shlex
from collections.abc import Iterator

import click
import pytest

from panel.cli.help_examples import EXAMPLES
from panel.cli.main import group


def leaves(command: click.Command, *words: str) -> Iterator[str]:
    if isinstance(command, click.Group):
        ctx = click.Context(command)
        for name in command.list_commands(ctx):
            below = command.get_command(ctx, name)
            assert below is not None
            yield from leaves(below, *words, name)
    else:
        yield " ".join(words)


def test_every_command_has_one_and_no_other_has() -> None:
    assert set(EXAMPLES) == set(leaves(group))


@pytest.mark.parametrize(
    ("words", "example"), [(w, example) for w, each in EXAMPLES.items() for example in each]
)
def test_it_is_understood_as_it_stands(words: str, example: str) -> None:
    assert len(example) <= 80 - len("  oakpanel ") - 2
    typed = shlex.split(example)
    command: click.Command | None = group
    for word in words.split():
        assert isinstance(command, click.Group)
        command = command.get_command(click.Context(command), word)
        assert typed.pop(0) == word
    assert command is not None
    command.make_context(words, typed)
    assert f"oakpanel {example}" in command.get_help(click.Context(command, info_name=words))
