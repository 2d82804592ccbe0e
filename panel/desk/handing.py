"""Pages to hand on, as the desk writes them: in the folder it was started in, a new file each."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from panel.desk.file_names import free_path, plain_name

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from analysis.vatting import Limits
    from panel.desk.app import DeskApp
    from panel.questions.stock_part import StockPart
    from panel.release.batch import AsBatch
    from panel.release.guests import GuestScore
    from panel.release.tasting import Tasting
    from panel.store.engine import Session


def written(desk: DeskApp, named: str, make: Callable[[Session], str]) -> tuple[str, bool]:
    """Make a page from the records and write it; say where it is, or why there is none."""
    from analysis.errors import AnalysisError
    from panel.errors import OakpanelError
    from panel.report.writing import write_report

    try:
        with desk.store.read() as db:
            page = make(db)
        path = free_path(Path.cwd() / f"{plain_name(named, 'page')}.html")
        write_report(path, page)
    except (OakpanelError, AnalysisError) as error:
        return str(error), True
    return f"The page is in {path}; only you can read it.", False


def session_page(desk: DeskApp, name: str, reader: str) -> tuple[str, Callable[[Session], str]]:
    """Return the page of a session, for others unless the lead's is asked for."""
    from panel.report.asked import session_report
    from panel.report.readers import Reader

    whose = Reader(reader or Reader.OTHERS)
    named = f"session-{name}" if whose is Reader.OTHERS else f"session-{name}-{whose}"
    return named, lambda db: session_report(db, name, today=desk.today(), reader=whose)


def cask_page(desk: DeskApp, number: str) -> tuple[str, Callable[[Session], str]]:
    """Return the page of a cask."""
    from panel.report.asked import cask_report

    def make(db: Session) -> str:
        return cask_report(db, number, today=desk.today())

    return f"cask-{number}", make


def ageing_page(
    desk: DeskApp, cask: str | None = None, target: str | None = None
) -> tuple[str, Callable[[Session], str]]:
    """Return the page of ageing: of all styles, of a cask, or of when casks meet a target."""
    from panel.report.asked import ageing_name, ageing_report

    casks = (cask,) if cask else ()

    def make(db: Session) -> str:
        today = desk.today()
        known = desk.known.of(db, as_of=today)
        return ageing_report(db, today=today, casks=casks, target=target, profile=known)

    return f"ageing-{ageing_name(None, None, casks, (), target)}", make


def panel_page(desk: DeskApp, names: tuple[str, ...]) -> tuple[str, Callable[[Session], str]]:
    """Return the lead's page of the panel over some sessions."""
    from panel.report.asked import panel_report

    return "panel", lambda db: panel_report(db, names, today=desk.today())


def tasting_page(
    desk: DeskApp, names: Sequence[str], *, ml: float | None = None, paper: bool = False
) -> tuple[str, Callable[[Session], str]]:
    """Return the guide's cards for a tasting of some releases, or the guests' sheet."""
    from panel.report.asked import tasting_report

    def make(db: Session) -> str:
        return tasting_report(db, names, today=desk.today(), ml=ml, paper=paper)

    return "-".join(("tasting-sheet" if paper else "tasting", *names)), make


def guests_page(
    desk: DeskApp, tasting: Tasting, scores: Sequence[GuestScore]
) -> tuple[str, Callable[[Session], str]]:
    """Return the page of what guests scored, as it was typed here."""
    from panel.report.asked import tasting_report

    names = [pour.name for pour in tasting.pours]

    def make(db: Session) -> str:
        typed = tuple(scores)
        return tasting_report(db, names, today=desk.today(), ml=tasting.ml, guests=typed)

    return "-".join(("tasting-guests", *names)), make


def influences_page(
    desk: DeskApp, descriptor: str | None = None
) -> tuple[str, Callable[[Session], str]]:
    """Return the page of what moves every note, or one."""
    from panel.report.asked_stock import influences_report

    def make(db: Session) -> str:
        today = desk.today()
        known = desk.known.of(db, as_of=today)
        return influences_report(db, today=today, descriptor=descriptor, profile=known)

    return f"influences-{descriptor}" if descriptor else "influences", make


def target_page(desk: DeskApp, target: str) -> tuple[str, Callable[[Session], str]]:
    """Return the page of a target and of the casks that suit it."""
    from panel.report.asked_stock import target_report

    def make(db: Session) -> str:
        today = desk.today()
        return target_report(db, target, today=today, profile=desk.known.of(db, as_of=today))

    return f"target-{target}", make


def blend_page(
    desk: DeskApp,
    target: str,
    limits: Limits,
    litres: Mapping[str, float],
    *,
    like: AsBatch | None,
    with_foretold: bool,
) -> tuple[str, Callable[[Session], str]]:
    """Return the page of a blend as it stands at the desk; limits as they were asked for."""
    from panel.report.asked_stock import blend_report

    taken = {cask: each for cask, each in litres.items() if each > 0.0}

    def make(db: Session) -> str:
        today = desk.today()
        return blend_report(
            *(db, target, limits),
            today=today,
            litres=taken,
            like=like,
            with_foretold=with_foretold,
            profile=desk.known.of(db, as_of=today),
        )

    return f"blend-{target}", make


def release_page(desk: DeskApp, name: str, reader: str) -> tuple[str, Callable[[Session], str]]:
    """Return the page of a release, the guide's unless another reader is named."""
    from panel.desk.release_jobs import known_if_nosed
    from panel.report.asked import release_report
    from panel.report.readers import SheetReader

    whose = SheetReader(reader or SheetReader.GUIDE)

    def make(db: Session) -> str:
        known = known_if_nosed(desk, db, name)
        return release_report(db, name, today=desk.today(), reader=whose, profile=known)

    return f"release-{name}-{whose}", make


def stock_page(desk: DeskApp, part: StockPart) -> tuple[str, Callable[[Session], str]]:
    """Return the page of what needs somebody in the warehouse."""
    from panel.report.asked_stock import stock_report

    named = part.words()

    def make(db: Session) -> str:
        return stock_report(db, today=desk.today(), part=part)

    return f"stock-{named}" if named else "stock", make


def lot_page(desk: DeskApp, lot: str) -> tuple[str, Callable[[Session], str]]:
    """Return the page of a lot, from the bottle back."""
    from panel.report.asked_stock import lot_report

    return f"lot-{lot}", lambda db: lot_report(db, lot, today=desk.today())
