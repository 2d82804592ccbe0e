"""Samples and casks asked for by name: as they were nosed, or foretold where nobody nosed them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Annotated, cast

from analysis.as_json import AsJson
from panel.errors import UnknownRecord
from panel.figures import in_digits
from panel.store.filling_states import filling_states
from panel.store.finding import nearest_words

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.influences import Foretold
    from analysis.profile import Profile
    from analysis.profile.rows import AssessorRow, EstimateRow
    from analysis.vatting import MixingRule


WHOSE_LINE = (
    "How single people use the line is the lead's and each one's own to see: ask with --private, "
    "or with --assessor CODE."
)


@dataclass(frozen=True)
class ToppedSince:
    """A sample, and the day on which its cask was topped after it was drawn."""

    sample: str
    topped_on: date


@dataclass(frozen=True)
class AskedProfile(AsJson):
    """What was asked for of a profile.

    Attributes
    ----------
    profile
        Of all that was nosed.
    rows
        Rows of the samples asked for in the columns of `profile.estimates`; those of a filling
        that nobody nosed have the kind "foretold".
    foretold
        How these came about; None where there are none.
    n_unnosed
        Fillings in cask that nobody nosed, asked for or not.
    named
        Whether samples or casks were asked for by name.
    topped_on
        By sample the day on which its cask was topped after it was drawn: what was nosed is not
        what is in it now.
    people
        How single assessors use the line, for whoever may see it (`assessor_rows`); else None.
    """

    profile: Profile
    rows: Annotated[pd.DataFrame, EstimateRow]
    foretold: Foretold | None
    n_unnosed: int
    named: bool = True
    topped_on: Mapping[str, date] = field(default_factory=dict)
    people: list[AssessorRow] | None = None

    json_keys = (
        *(
            ("profile", "**"),
            ("people", "assessors"),
            "assessors_reason",
            ("rows", "samples"),
            "apart_notes",
            "n_unnosed",
            "nosed_before_topping",
            "foretold",
        ),
    )

    @property
    def assessors_reason(self) -> str | None:
        """Why nobody's use of the line is told."""
        return WHOSE_LINE if self.people is None else None

    @property
    def apart_notes(self) -> str | None:
        """On which notes some samples cannot be compared with the others."""
        from analysis.profile.words import apart_notes

        return apart_notes(self.profile.estimates, self.profile.links)

    @property
    def ends_note(self) -> str | None:
        """How scores at the ends of the line were read on the notes asked for."""
        from analysis.profile.words import read_as_below

        names = set(self.rows.loc[self.rows["n_scores"] > 0, "descriptor"])
        return read_as_below([fit for fit in self.profile.fits if fit.descriptor in names])

    @property
    def waiting_note(self) -> str | None:
        """How many scores are not used because a swap was never cleared up."""
        from analysis.profile.words import waiting_note

        return waiting_note(self.profile.left_out)

    @property
    def nosed_before_topping(self) -> list[ToppedSince]:
        """Samples that other spirit was added to after all that a panel has nosed of them."""
        return [ToppedSince(sample, day) for sample, day in self.topped_on.items()]


def asked_profile(
    db: Session, names: Sequence[str], *, as_of: date, profile: Profile | None = None
) -> AskedProfile:
    """Return what samples, casks or fillings are like; all that was nosed when none is named.

    The filling that lies in a cask now is foretold from wood, fill, age, peat and the rest of
    its records where no revealed session has nosed it.

    Raises
    ------
    UnknownRecord
        Nobody nosed anything of that name, and no filling of it lies in a cask.
    """
    import pandas as pd

    from panel.frames.draws import present_frame
    from panel.questions.profile import house_profile

    known = profile or house_profile(db, as_of=as_of)
    stock = present_frame(db, as_of)
    unnosed = stock[~stock["filling"].isin(known.estimates["filling"])]
    samples = [sample for name in names for sample in _nosed(known, unnosed, name)]
    rows = known.estimates
    if names:
        parts = [rows[rows["sample"] == sample] for sample in dict.fromkeys(samples)]
        rows = pd.concat([rows.iloc[:0], *parts], ignore_index=True)
    wanted = set(unnosed.loc[_named(unnosed, names), "filling"])
    foretold = foretold_of(db, as_of=as_of, profile=known, fillings=wanted) if wanted else None
    if foretold is not None:
        rows = pd.concat([foretold.rows, rows], ignore_index=True) if len(rows) else foretold.rows
    before = _before_topping(db, rows, as_of)
    return AskedProfile(known, rows, foretold, len(unnosed), bool(names), before)


def _before_topping(db: Session, rows: pd.DataFrame, as_of: date) -> dict[str, date]:
    """By sample the last topping of its cask that came after it was drawn."""
    import pandas as pd

    topped = {
        state.label: state.topped_on
        for state in filling_states(db, as_of)
        if state.topped_on is not None
    }
    drawn = rows[rows["filling"].isin(list(topped)) & (rows["kind"] != "foretold")]
    drawn = drawn.drop_duplicates("sample")
    since = pd.to_datetime(drawn["filling"].map(topped))
    # A draw without a date may be of either side.
    before = ~(pd.to_datetime(drawn["drawn_on"]) > since)
    stale = drawn[before]
    return {
        str(sample): topped[str(filling)]
        for sample, filling in zip(stale["sample"], stale["filling"], strict=True)
    }


def standing_samples(db: Session, profile: Profile, *, as_of: date) -> set[str]:
    """Return the samples that stand for their casks: the latest draw of what is in each.

    For a cask of which only earlier fillings were nosed it is the latest draw of those.
    """
    from analysis.profile.latest import latest_draws
    from panel.frames.draws import present_frame

    fillings = set(present_frame(db, as_of)["filling"])
    return set(latest_draws(profile.estimates, fillings)["sample"])


def foretold_of(
    db: Session,
    *,
    as_of: date,
    profile: Profile,
    fillings: Collection[str] | None = None,
    descriptors: Sequence[str] | None = None,
    with_joint: bool = False,
    rule: MixingRule | None = None,
    on: date | None = None,
) -> Foretold:
    """Foretell the fillings in cask that nobody nosed, all or some of them, as of the day *on*.

    What was re-racked from casks that were nosed is foretold from those, by the mixing rule.
    """
    from analysis.influences import foretell_casks
    from analysis.vatting import with_parents
    from panel.frames.draws import draws_frame, parents_frame, present_frame
    from panel.kept.searches import kept_search
    from panel.questions.mixing_rules import mixing_rule

    stock = present_frame(db, as_of, on=on)
    if fillings is not None:
        stock = stock[stock["filling"].isin(list(fillings))]
    found = foretell_casks(
        profile,
        draws_frame(db, as_of),
        stock,
        descriptors=descriptors,
        with_joint=with_joint,
        search=kept_search(db, profile),
    )
    given = parents_frame(db, as_of, on=on)
    return with_parents(found, profile, given, rule or mixing_rule(db), descriptors=descriptors)


def who_may_go_in(foretold: Foretold, able: int) -> str:
    """Say how many casks never nosed may go in a vatting, and why others may not."""
    count = foretold.rows["filling"].nunique()
    if not count:
        return "Every cask has been nosed: none is foretold."
    casks = "1 cask" if count == 1 else f"{in_digits(count, ',')} casks"
    words = f"Never nosed: {casks}; foretold well enough to go in: {in_digits(able, ',')}."
    if foretold.refused:
        return f"{words} What stands in the way of others: {foretold.reason}"
    why = "; ".join(foretold.remarks[:3])
    return f"{words} What stands in the way of others: {why}." if why else words


def _named(stock: pd.DataFrame, names: Sequence[str]) -> pd.Series:
    return stock["filling"].isin(list(names)) | stock["cask"].isin(list(names))


def _nosed(known: Profile, unnosed: pd.DataFrame, name: str) -> list[str]:
    """Return the sample of that name, or all samples of the cask or filling of that name."""
    rows = known.estimates.drop_duplicates("sample")
    if name in set(rows["sample"]):
        return [name]
    mine = (rows["cask"] == name) | (rows["filling"] == name)
    found = [str(sample) for sample in rows.loc[mine, "sample"]]
    if not found and not _named(unnosed, [name]).any():
        every = dict.fromkeys([*rows["sample"], *rows["cask"].dropna(), *unnosed["cask"]])
        raise UnknownRecord(
            f"No revealed session has nosed {name!r}, and no filling of that name lies in a cask."
            f"{nearest_words(name, every)}"
        )
    return found


def assessor_rows(profile: Profile, code: str | None = None) -> list[AssessorRow]:
    """Return what the profile says of one assessor, or of everybody, ready for JSON.

    Raises
    ------
    UnknownRecord
        Nobody of that code scored in a revealed session.
    """
    rows = cast("list[AssessorRow]", profile.rows_of_people())
    found = rows if code is None else [row for row in rows if row["assessor"] == code]
    if code is not None and not found:
        every = sorted(set(profile.assessors["assessor"]))
        raise UnknownRecord(
            f"No assessor {code!r} scored in a revealed session.{nearest_words(code, every)}"
        )
    return found
