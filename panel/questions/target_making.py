"""Targets made from what is known: like this cask, like this release, this one but with more."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from typing import TYPE_CHECKING

from analysis.bar_words import sentence
from analysis.bars import Bars, Purpose, forbidding
from panel.errors import CaskBarred, OakpanelError, UnknownRecord
from panel.figures import typed_number
from panel.frames.bars import bars_by_filling
from panel.questions.cask_life import find_cask
from panel.questions.stock import notes_on, on_line
from panel.questions.target_notes import brought_in, house_note_reach, of_sample
from panel.records.targets import Clipped, Likeness

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.target import Target


def like_cask(
    db: Session,
    number: str,
    *,
    as_of: date,
    with_held: bool = False,
    profile: Profile | None = None,
) -> Likeness:
    """Return what the panel found in the latest draw of what is in a cask, moved to the day.

    Notes that few casks have are left out: no other cask could be ranked on them. Where nothing
    that is in it was nosed, the latest draw of what was in it before stands in.

    Raises
    ------
    UnknownRecord
        There is no such cask, or no revealed session has nosed it.
    CaskBarred
        It leaks, so that what was nosed is not what is in it; unless `with_held`.
    """
    from analysis.profile.latest import latest_draws
    from panel.questions.profile import house_profile

    find_cask(db, number)
    lying = bars_by_filling(db, as_of, only_casks=[number])
    if not with_held:
        _refuse_barred(number, [bars for _, bars in lying.values()])
    known = profile or house_profile(db, as_of=as_of)
    rows = on_line(notes_on(db, as_of=as_of, profile=known).profile.estimates)
    rows = rows[(rows["cask"] == number) & rows["estimate"].notna()]
    if rows.empty:
        raise UnknownRecord(
            f"Cask {number} was nosed in no revealed session: nothing says what it is like. Draw "
            "it and put it into a session first."
        )
    sample = str(latest_draws(rows, lying)["sample"].iloc[0])
    rows = rows[rows["sample"] == sample]
    reach = house_note_reach(db, known, as_of)
    return of_sample(rows, f"cask {number}, sample {sample}", reach)


def _refuse_barred(number: str, held_against: Sequence[Bars]) -> None:
    against = [each for bars in held_against for each in forbidding(bars, Purpose.LIKE)]
    if against:
        reasons = " ".join(sentence(number, each) for each in against)
        raise CaskBarred(
            f"{reasons} What was nosed may no longer be what is in it: ask for it all the same "
            "with --with-held, or make the target like another cask."
        )


def like_release(
    db: Session, name: str, *, as_of: date, profile: Profile | None = None
) -> Likeness:
    """Return what the panel found in a release's bench blend; else what was expected of it.

    Of what was found the lines of the target count that the release was made for.

    Raises
    ------
    UnknownRecord
        There is no such release, or nothing is known of it.
    """
    import json

    from panel.questions.profile import house_profile
    from panel.store.release_records import find_release

    release = find_release(db, name)
    labels = [bench.draw.label for bench in release.benches]
    if labels:
        known = profile or house_profile(db, as_of=as_of)
        rows = known.estimates
        rows = rows[rows["sample"].isin(labels) & rows["estimate"].notna()]
        if not rows.empty:
            sample = str(rows.sort_values(["last_nosed", "sample"])["sample"].iloc[-1])
            own = [line.descriptor.name for line in release.target.lines] if release.target else []
            source = f"release {name}, as the panel found its blend {sample}"
            reach = house_note_reach(db, known, as_of)
            return of_sample(rows[rows["sample"] == sample], source, reach, own)
    predicted = json.loads(release.predicted_json or "{}").get("prediction", [])
    if not predicted:
        raise UnknownRecord(f"Of release {name} neither a nosing nor an expected profile is kept.")
    aims = {line["descriptor"]: float(line["estimate"]) for line in predicted}
    return Likeness(f"release {name}, as expected of it (not nosed)", aims, {}, {})


def like_target(aim: Target) -> Likeness:
    """Return the lines of a target."""
    return Likeness(
        f"target {aim.name}",
        {line.descriptor: line.aim for line in aim.lines},
        {line.descriptor: line.tolerance for line in aim.lines},
        {line.descriptor: line.weight for line in aim.lines},
    )


def read_changes(texts: Sequence[str]) -> dict[str, tuple[bool, float]]:
    """Read changes such as `hearth smoke=+10`, `plum stone=-5` or `wet slate=30`.

    Returns
    -------
    dict
        By note whether the number is a step from what it is, and the number.
    """
    found = {}
    for text in texts:
        name, equals, amount = text.rpartition("=")
        try:
            number = typed_number(amount)
        except ValueError:
            equals = ""
            number = 0.0
        if not (equals and name.strip()):
            raise OakpanelError(f"{text!r} is not a change such as 'hearth smoke=+10'.")
        found[name.strip()] = (amount.strip()[0] in "+-", number)
    return found


def changed(like: Likeness, changes: Mapping[str, tuple[bool, float]]) -> Likeness:
    """Return the likeness with more or less of some notes; aims stay on the line.

    Raises
    ------
    UnknownRecord
        A step is asked on a note that the likeness has not.
    """
    aims, clips = dict(like.aims), []
    for name, (is_step, number) in changes.items():
        if is_step and name not in aims:
            near = get_close_matches(name, aims, n=3)
            hint = f" The nearest: {', '.join(near)}." if near else f" It has: {', '.join(aims)}."
            raise UnknownRecord(f"{like.source} has no note {name!r} to change.{hint}")
        asked = aims[name] + number if is_step else number
        aims[name] = min(100.0, max(0.0, asked))
        if aims[name] != asked:
            clips.append(Clipped(name, asked, aims[name]))
    return replace(like, aims=aims, clipped=(*like.clipped, *clips))


def likeness(
    db: Session,
    *,
    cask: str | None = None,
    release: str | None = None,
    target: str | None = None,
    changes: Mapping[str, tuple[bool, float]] | None = None,
    only: Sequence[str] = (),
    as_of: date,
    with_held: bool = False,
    profile: Profile | None = None,
) -> Likeness:
    """Return what a cask, a release or a target is like, with more or less of some notes.

    A note that is named, to be changed or in `only`, is taken however few casks have it.

    Raises
    ------
    UnknownRecord
        There is no such thing, nothing is known of it, or it has not a note that is to change.
    CaskBarred
        The cask leaks, unless `with_held`.
    """
    from panel.frames import target_of

    if cask is not None:
        like = like_cask(db, cask, as_of=as_of, with_held=with_held, profile=profile)
    elif release is not None:
        like = like_release(db, release, as_of=as_of, profile=profile)
    else:
        like = like_target(target_of(db, target or ""))
    return changed(brought_in(like, [*(changes or ()), *only]), changes or {})
