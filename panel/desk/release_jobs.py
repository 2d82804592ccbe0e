"""What the pages of releases read and do, each in one database session of its own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from panel.desk.acting import writing
from panel.figures import in_digits

if TYPE_CHECKING:
    from datetime import date

    from analysis.pictures import Picture
    from analysis.profile import Profile
    from panel.desk.app import DeskApp
    from panel.release.signing import BeforeSigning
    from panel.store.engine import Session

WIDE = 70
"""Letters a line of what is laid over a page."""


def known_if_nosed(desk: DeskApp, db: Session, name: str) -> Profile | None:
    """Return the profile where a blend of the release was nosed; else nobody waits for it."""
    from panel.release.benched import is_nosed

    today = desk.today()
    return desk.known.of(db, as_of=today) if is_nosed(db, name, as_of=today) else None


def read_record(desk: DeskApp, name: str) -> tuple[dict[str, Any], str]:
    """Return everything that is kept of a release, and which sessions that lacks, in words."""
    from panel.desk.held_later import later_here
    from panel.release.trace import record_of

    today = desk.today()
    with desk.store.read() as db:
        known = known_if_nosed(desk, db, name)
        return record_of(db, name, as_of=today, profile=known), later_here(db, today)


def read_before_signing(desk: DeskApp, name: str) -> BeforeSigning:
    """Return what whoever signs sees first."""
    from panel.release.signing import before_signing

    with desk.store.read() as db:
        known = known_if_nosed(desk, db, name)
        return before_signing(db, name, on=desk.today(), profile=known)


def read_sheet(desk: DeskApp, name: str, width: int) -> list[str]:
    """Return what may be told of a release, with the log head that proves it."""
    from panel.release.sheet import sheet_of
    from panel.words.release_sheet import sheet_lines

    with desk.store.read() as db:
        known = known_if_nosed(desk, db, name)
        sheet = sheet_of(db, name, as_of=desk.today(), profile=known)
    return [*sheet_lines(sheet, width), "", f"Log head {sheet.log_head}"]


def read_rails(desk: DeskApp, name: str, db: Session) -> tuple[Picture, ...]:
    """Return where a release stands in the house; nothing where no blend of it was nosed."""
    from panel.pictures.releases import in_the_house

    known = known_if_nosed(desk, db, name)
    return () if known is None else in_the_house(db, name, as_of=desk.today(), profile=known)


def read_batches(desk: DeskApp, target: str, db: Session) -> tuple[Picture, ...]:
    """Return all batches of a target, drawn year under year."""
    from panel.pictures.batches import over_the_years
    from panel.release.batches import batches_of

    today = desk.today()
    known = desk.known.of(db, as_of=today)
    return over_the_years(batches_of(db, target, as_of=today, profile=known))


def write_sheet(desk: DeskApp, name: str) -> Path:
    """Write the sheet into a new file of the folder we were started in."""
    from panel.desk.file_names import free_path, plain_name
    from panel.session.paper import WIDTH, write_private

    path = free_path(Path.cwd() / f"{plain_name(name, 'release')}-sheet.txt")
    write_private(path, "\n".join(read_sheet(desk, name, WIDTH)) + "\n")
    return path


def mix(desk: DeskApp, name: str, volume_ml: float, label: str | None, on: date) -> list[str]:
    """Write the trial draw of a bench blend; return what to pour."""
    from panel.release.bench import mix_bench
    from panel.release.recipe import bench_recipe
    from panel.words.release import bench_lines

    with desk.store.read() as db:  # the reckoning takes seconds: no booth waits for it
        known = _known_on(desk, db, on)
        recipe = bench_recipe(db, name, volume_ml=volume_ml, as_of=on, profile=known)
    with writing(desk.store) as db:
        blend = mix_bench(
            *(db, name),
            volume_ml=volume_ml,
            label=label,
            as_of=on,
            now=desk.now(),
            by=desk.by,
            recipe=recipe,
        )
    return bench_lines(blend, WIDE)


def _known_on(desk: DeskApp, db: Session, on: date) -> Profile | None:
    """Return the profile where it is kept for that day; the recipe says why there is none."""
    from analysis.errors import AnalysisError

    try:
        return desk.known.of(db, as_of=on) if on == desk.today() else None
    except AnalysisError:
        return None


def sign(desk: DeskApp, name: str, code: str, despite: str | None, before: BeforeSigning) -> str:
    """Sign as a second person who has proved who they are; return the news."""
    from panel.release.steps import sign as keep

    with writing(desk.store) as db:
        release = keep(
            *(db, name),
            on=desk.today(),
            now=desk.now(),
            by=code,
            despite=despite,
            profile=before.profile,
        )
        return f"Release {name} is signed by {release.signed_by}: lot {release.lot_code}."


def bottle(desk: DeskApp, name: str, bottles: int | None, on: date) -> str:
    """Freeze a signed release; return the news."""
    from panel.release.steps import bottle as keep

    with writing(desk.store) as db:
        release = keep(db, name, bottles=bottles, on=on, now=desk.now(), by=desk.by)
        return (
            f"Release {name}, lot {release.lot_code}: "
            f"{in_digits(release.bottles, ',')} bottles. Frozen."
        )


def cancel(desk: DeskApp, name: str, reason: str, on: date) -> str:
    """Give a release up; return the news."""
    from panel.release.steps import cancel as keep

    with writing(desk.store) as db:
        keep(db, name, reason, on=on, now=desk.now(), by=desk.by)
    return f"Release {name} is cancelled; its casks are free."
