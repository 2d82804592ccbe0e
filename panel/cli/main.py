"""`oakpanel`: the group of all commands, loaded one by one so that help comes at once."""

from __future__ import annotations

import sys
import time
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from difflib import get_close_matches
from importlib import import_module
from urllib.parse import parse_qs, urlsplit

import click
from click.shell_completion import CompletionItem

from panel import __version__
from panel.cli.completing import a_person
from panel.cli.help_examples import add_examples
from panel.cli.invocation import Invocation
from panel.cli.misplaced import misplaced
from panel.cli.plain_output import plain_output
from panel.fault_log import logged, note, told
from panel.figures import own_hand

COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("panel.cli.demo", "Build the invented distillery and do the main job on it."),
    "desk": ("panel.cli.desk", "Open the panel lead's screens."),
    "booth": ("panel.cli.booth", "Open an assessor's booth."),
    "serve": ("panel.cli.serve", "Serve booths to browsers."),
    "db": ("panel.cli.db", "Make, upgrade, check and back up the database."),
    "load": ("panel.cli.load", "Read records from a CSV or Excel file."),
    "save": ("panel.cli.save", "Write records as load reads them."),
    "people": ("panel.cli.people", "PINs, roles and leaving."),
    "training": ("panel.cli.training", "People in training: exercises, how far, taking them in."),
    "house": ("panel.cli.house", "Settings of the house, each with its reason."),
    "session": ("panel.cli.session", "Plan, seal, pour, open, close and reveal a session."),
    "passing": ("panel.cli.passing", "What is planted, what noses catch, what nobody may empty."),
    "agreement": ("panel.cli.agreement", "Can this panel be trusted?"),
    "profile": ("panel.cli.profile", "What each cask is like, over all sessions."),
    "influences": ("panel.cli.influences", "What wood, age, peat and strength do to each note."),
    "ageing": ("panel.cli.ageing", "How notes grow with age, and when a cask is ready."),
    "match": ("panel.cli.match", "Which casks suit a target, and how sure that is."),
    "target": ("panel.cli.target", "What releases should be like; new ones from a cask."),
    "vat": ("panel.cli.vat", "Which casks, in which litres, make a release."),
    "release": ("panel.cli.release", "A release: proposed, tried, signed, bottled, told of."),
    "stock": (
        "panel.cli.stock",
        "The whole stock: what needs somebody, and its plans.",
    ),
    "bottles": ("panel.cli.bottles", "Back from the glass: remarks, traces, bottles kept back."),
    "report": ("panel.cli.report", "Pages to hand on: a session, a cask, a blend, a release."),
    "rules": ("panel.cli.rules", "Rules of law, as sets you can edit; each cites its law."),
    "register": ("panel.cli.register", "Samples drawn: pure alcohol, why, what became of it."),
    "cask": ("panel.cli.cask", "One cask's life, or the list of casks."),
    "strength": ("panel.cli.strength", "Water, vatting and gauging arithmetic."),
    "schema": ("panel.cli.schema", "What a command prints with --json, as a JSON Schema."),
}
SEEN_BY_ALL = (
    "! Every account of this machine can read the password in --db while this runs. Put the URL "
    "into OAKPANEL_DB, or leave the password out of it and keep it in ~/.pgpass."
)
OF_CLICK = (click.ClickException, click.exceptions.Exit, click.Abort)
"""How a command ends otherwise than by its last line, without being at fault."""


class LazyGroup(click.Group):
    """Loads a command's module only when that command is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the module of *cmd_name*; each keeps its command under `command`."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(COMMANDS[cmd_name][0]).command
        return add_examples(command, cmd_name)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command; one that is not there is told with those whose names are near."""
        if args and args[0] not in COMMANDS:
            near = get_close_matches(args[0], COMMANDS, n=3)
            said = f" Did you mean {' or '.join(near)}?" if near else ""
            raise click.UsageError(f"There is no command {args[0]!r}.{said}", ctx)
        return super().resolve_command(ctx, args)

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        """Offer commands from the table here, so that a key in the shell loads none of them."""
        found = [
            CompletionItem(name, help=line)
            for name, (_, line) in COMMANDS.items()
            if name.startswith(incomplete)
        ]
        return [*found, *click.Command.shell_complete(self, ctx, incomplete)]

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list from the table here, so that help loads no command."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.group(
    cls=LazyGroup,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.option("--db", "named", metavar="FILE|URL", help="The database; else OAKPANEL_DB.")
@click.option(
    "--by",
    envvar="OAKPANEL_BY",
    metavar="CODE",
    help="Who acts; else OAKPANEL_BY.",
    shell_complete=a_person,
)
@click.option(
    "--pin-file", metavar="FILE", help="Whoever acts has their PIN in it, one line; - is stdin."
)
@click.option("--debug", is_flag=True, help="Show where a fault happened; log each command.")
@click.version_option(__version__, prog_name="oakpanel")
@click.pass_context
def group(
    ctx: click.Context, named: str | None, by: str | None, pin_file: str | None, debug: bool
) -> None:
    """Blind nosing sessions tied to cask records.

    With no command the desk opens.
    """
    if has_password(named or ""):
        click.echo(SEEN_BY_ALL, err=True)
    ctx.with_resource(own_hand())
    ctx.with_resource(followed(ctx.invoked_subcommand or "desk", debug=debug))
    ctx.obj = Invocation(named=named, by=by, pin_file=pin_file)
    if ctx.invoked_subcommand is None:
        ctx.invoke(import_module("panel.cli.desk").command)


def has_password(named: str) -> bool:
    """Tell whether a database was named by a URL with a password in it."""
    if "://" not in named:
        return False
    try:
        parts = urlsplit(named)
        return bool(parts.password or parse_qs(parts.query).get("password"))
    except ValueError:
        return False


@contextmanager
def followed(command: str, *, debug: bool) -> Iterator[None]:
    """See a command to its end: with `--debug` its time is logged and its fault shown whole."""
    started = time.monotonic()
    try:
        yield
    except Exception as error:
        if debug and not isinstance(error, OF_CLICK):
            traceback.print_exception(error)
            logged(error)
        raise
    finally:
        if debug:
            note([f"debug {command}: {time.monotonic() - started:.3f} s"])


def run(arguments: list[str] | None = None) -> None:
    """Run the command line. Exit 0: done; 1: said in words; 2: wrong usage."""
    with plain_output():
        _run(arguments)


def _run(arguments: list[str] | None) -> None:
    from analysis.errors import AnalysisError
    from panel.errors import OakpanelError

    try:
        code = group.main(args=arguments, prog_name="oakpanel", standalone_mode=False)
    except click.ClickException as error:
        misplaced(error).show()
        sys.exit(error.exit_code)
    except click.Abort:
        click.echo("Stopped; nothing was left half done.", err=True)
        sys.exit(1)
    except (OakpanelError, AnalysisError) as error:
        show_error(error)
        sys.exit(1)
    except Exception as error:  # noqa: BLE001 - what is left is a fault of ours, told in words
        click.echo(told(error), err=True)
        sys.exit(1)
    sys.exit(code if isinstance(code, int) else 0)


def show_error(error: Exception) -> None:
    """Write an error's sentence, and a file's faults one a line, to stderr."""
    from panel.cli.answers import say
    from panel.errors import IntakeError

    say(str(error))
    if isinstance(error, IntakeError):
        for problem in error.problems:
            say(f"  {problem.sentence()}")
