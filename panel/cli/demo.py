"""`oakpanel demo`: the invented distillery, and the main job done on it."""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, say
from panel.cli.invocation import Invocation, json_option, pass_invocation

if TYPE_CHECKING:
    from datetime import datetime

    from analysis.agreement import Agreement
    from analysis.target import Match
    from analysis.vatting import Limits
    from panel.cli.demo_evening import Held
    from panel.cli.demo_folder import DemoFolder
    from panel.questions.vatting import VatAnswer
    from panel.store.engine import Store

FOLDER = "sallow-weir"
TARGET = "Lantern"
TOP = 8
BOTTLES = 1200


@dataclass
class Steps:
    """Says on stderr what is under way, and keeps how long each step took."""

    started: float = field(default_factory=time.monotonic)
    seconds: dict[str, float] = field(default_factory=dict)
    _last: str = ""

    def __call__(self, step: str) -> None:
        """Say that *step* begins; the one before is over."""
        self.end()
        self._last, self._since = step, time.monotonic()
        say(f"{self._since - self.started:5.1f} s  {step} ...")

    def end(self) -> None:
        """End the step under way."""
        if self._last:
            self.seconds[self._last] = round(time.monotonic() - self._since, 2)
            self._last = ""

    @property
    def total(self) -> float:
        """Return the seconds since the start."""
        return round(time.monotonic() - self.started, 1)


@dataclass(frozen=True)
class Demo:
    """All that the demo has to show."""

    folder: DemoFolder
    held: Held
    agreement: Agreement
    match: Match
    vatting: VatAnswer
    codes: tuple[str, ...]
    sizes: dict[str, int]


@click.command("demo")
@click.option(
    "--at",
    type=click.Path(path_type=Path),
    default=Path(FOLDER),
    show_default=True,
    metavar="DIR",
    help="The folder to build it in; an earlier demo there is replaced.",
)
@json_option
@pass_invocation
def command(inv: Invocation, at: Path, as_json: bool) -> None:
    """Build the invented distillery Sallow Weir and do the main job on it.

    Its records are loaded as yours would be, one more blind session is held by driving the real
    booths without hands, and the casks that suit a release are picked.
    """
    if inv.named is not None:
        raise click.UsageError("The demo makes a database of its own: --at DIR says where.")
    steps = Steps()
    done = run_demo(at, inv.now(), steps)
    if as_json:
        from panel.cli.demo_document import document

        emit_json(document(done, steps, start(done)))
    else:
        click.echo("\n".join(lines(done, steps.total)))


def run_demo(at: Path, now: datetime, steps: Steps) -> Demo:
    """Build, hold the evening, and put the two questions."""
    from panel.cli.demo_bottle import bottle_a_few
    from panel.cli.demo_build import build, demo_moment, keep_register, keep_the_rest
    from panel.cli.demo_evening import EVENING, hold_evening, open_try_out, read_script
    from panel.cli.demo_folder import prepare, source_file
    from panel.cli.demo_mornings import hold_mornings, read_answers

    folder = prepare(at.expanduser())
    moment = demo_moment(now)
    store = build(folder, moment, steps)
    hold_mornings(store, read_answers(source_file("mornings")), moment, steps)
    script = read_script(source_file("next_session"))
    steps(f"planning, sealing and pouring {EVENING}")
    held = hold_evening(store, script, moment, steps)
    keep_register(store, "nosed; what was left kept sealed for the bench", moment)
    keep_the_rest(store, moment)
    folder.write_sheet(f"{EVENING}-pour-sheet.txt", held.pour_sheet)
    folder.write_sheet(f"{EVENING}-tray-labels.txt", held.tray_labels)
    codes = open_try_out(store, script, moment)
    agreement, match, vatting = answers(store, moment, steps)
    steps("a few bottles, and a remark on one")
    bottle_a_few(store, moment)
    sizes = sizes_of(store)
    store.close()
    steps.end()
    return Demo(folder, held, agreement, match, vatting, codes, sizes)


def answers(store: Store, moment: datetime, steps: Steps) -> tuple[Agreement, Match, VatAnswer]:
    """Ask whether the panel can be trusted, which casks suit the target, and what to pour."""
    from panel.cli.demo_evening import EVENING
    from panel.clock import site_date
    from panel.questions.agreement import session_agreement
    from panel.questions.matching import target_match
    from panel.questions.profile import house_profile
    from panel.questions.vatting import house_vatting

    with store.read() as db:
        today = site_date(moment, "UTC")
        steps("can the panel be trusted")
        agreement = session_agreement(db, EVENING, as_of=today)
        steps(f"which casks suit {TARGET}")
        profile = house_profile(db, as_of=today)
        match = target_match(db, TARGET, as_of=today, top=TOP, profile=profile)
        steps(f"which casks in which litres fill {BOTTLES:,} bottles")
        wish = wanted_release()
        vatting = house_vatting(db, TARGET, wish, as_of=today, in_full=False, profile=profile)
        return agreement, match, vatting


def wanted_release() -> Limits:
    """Return what the release has to be besides its notes."""
    from panel.questions.vat_limits import read_limits

    return read_limits(bottles=BOTTLES, abv_percent=46.0, age=8, casks="-12")


def sizes_of(store: Store) -> dict[str, int]:
    """Count what is in the database now."""
    from panel.questions.house import house_sizes

    with store.read() as db:
        return house_sizes(db)


def lines(done: Demo, seconds: float) -> list[str]:
    """Return what the demo prints: the session, the verdict, the casks, how to go on."""
    return [
        *_heading(done),
        "",
        "CAN THE PANEL BE TRUSTED?",
        "",
        *_verdict(done.agreement),
        "",
        f"WHICH CASKS SUIT THE RELEASE {TARGET.upper()}?",
        "",
        *_casks(done.match),
        "",
        f"WHICH CASKS IN WHICH LITRES MAKE {BOTTLES:,} BOTTLES, 46 %, 8 YEARS?",
        "",
        *_vatting(done.vatting),
        "",
        "GO ON YOURSELF",
        "",
        *_commands(done),
        "",
        *_cautions(),
        "",
        f"All this took {seconds:.1f} s.",
    ]


def _heading(done: Demo) -> Iterator[str]:
    from panel.cli.demo_evening import EVENING
    from panel.words.answers import paragraph

    sizes = done.sizes
    yield "SALLOW WEIR, an invented distillery on the invented river Ombrey"
    yield ""
    yield from paragraph(
        f"{sizes['casks']} casks, {sizes['sessions']} blind sessions, {sizes['scores']:,} scores, "
        f"loaded from plain files and kept in {done.folder.path}."
    )
    yield from paragraph(
        f"The last of them, {EVENING}, was held just now: {done.held.n_scores} scores at nine "
        "booths that ran without hands. Codes and key were fixed before a glass was poured and "
        f"were the same at the reveal (SHA-256 {str(done.held.revealed.key_hash)[:16]}...)."
    )


def _verdict(agreement: Agreement) -> Iterator[str]:
    from panel.words.answers import paragraph, verdict_line

    yield from paragraph(verdict_line(agreement.verdict))
    for what, found in (
        ("Notes", [(n.verdict.label, n.descriptor) for n in agreement.descriptors]),
        ("Assessors", [(a.verdict.label, a.assessor) for a in agreement.assessors]),
    ):
        yield ""
        yield what
        for verdict, names in _grouped(found).items():
            yield from paragraph(f"{verdict}: {', '.join(names)}.", indent="    ")


def _grouped(found: Sequence[tuple[str, str]]) -> dict[str, list[str]]:
    groups: dict[str, list[str]] = defaultdict(list)
    for verdict, name in found:
        groups[verdict].append(name)
    return groups


def _casks(match: Match) -> list[str]:
    from panel.words.answers import match_lines

    return match_lines(match)


def _vatting(answer: VatAnswer) -> list[str]:
    from panel.words.answers import paragraph
    from panel.words.vat_words import part_lines, poured_lines

    mixture = answer.plan.mixture
    return [
        *paragraph(answer.plan.sentence),
        "",
        *part_lines(mixture.parts),
        "",
        *poured_lines(mixture.poured),
        *(line for check in answer.checks for line in paragraph(check)),
    ]


def _commands(done: Demo) -> Iterator[str]:
    from panel.cli.demo_evening import EVENING, LEAD, PIN, TRY_OUT, TRY_OUT_AT
    from panel.cli.demo_mornings import MORNINGS
    from panel.words.answers import paragraph

    yield from paragraph(f"Everybody's PIN is {PIN}. The panel lead is {LEAD}.")
    yield ""
    yield "The panel lead's desk:"
    yield f"    {start(done)} desk"
    yield f"An assessor's booth; sign in as {TRY_OUT_AT}:"
    yield f"    {start(done)} booth {TRY_OUT}"
    yield from paragraph(
        f"Its glasses stand in this order: {', '.join(done.codes)}. Type a code as if "
        "you read it off the glass.",
        indent="    ",
    )
    yield f"About {EVENING}; one cask's life; what made a note so; what to nose next:"
    yield f"    {start(done)} agreement {EVENING}"
    yield f"    {start(done)} cask {_some_cask(done)}"
    yield f'    {start(done)} influences "hearth smoke"'
    yield f"    {start(done)} session next {TARGET}"
    yield "What the sessions of other kinds have found:"
    yield from (f"    {start(done)} agreement {morning.name}" for morning in MORNINGS)
    yield "The vatting with its prices and stand-ins, and as a release:"
    yield f"    {start(done)} vat {TARGET} --bottles {BOTTLES} --abv 46 --age 8"
    yield f"    {start(done)} release propose Spring --target {TARGET} --bottles {BOTTLES}"
    yield "A second batch like it; and which cask for which of five years' releases:"
    yield f"    {start(done)} vat {TARGET} --bottles {BOTTLES} --as-batch Spring --part"
    yield f"    {start(done)} stock plan 'Five years'"
    yield from paragraph(
        f"In {done.folder.path}: `files` holds the plain files that were loaded, to see what yours "
        "look like; `sheets` holds pour sheet and tray labels."
    )


def start(done: Demo) -> str:
    """Return how every command on the demo begins."""
    return f"oakpanel --db {_quoted(str(done.folder.database))}"


def _quoted(path: str) -> str:
    import shlex

    return shlex.quote(path)


def _some_cask(done: Demo) -> str:
    return done.match.casks[0].cask if done.match.casks else ""


def _cautions() -> Iterator[str]:
    from panel.session.dose import CAUTIONS
    from panel.words.answers import paragraph

    yield "With real glasses:"
    for caution in CAUTIONS:
        yield from paragraph(caution, indent="    ")
