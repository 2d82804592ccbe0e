"""Scores from a saved file, long or wide, as the frame that everything else takes."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from ..frame_check import DEFAULTS, KINDS, REQUIRED, STATUSES, check_scores
from .table import SavedTable, read_table

NEEDED = ("session", "assessor", "sample")
LONG = ("descriptor", "score")
OF_A_GLASS = ("held_on", "cask", "kind", "flight", "position", "replicate", "pouring", "status")
OF_A_LINE = ("version", "scale_low", "scale_high")
KNOWN = (*NEEDED, *OF_A_GLASS, *OF_A_LINE)
KNEW_KEY = "knew_key"
USUAL = ("flight", "descriptor_version", "scale_low", "scale_high", "kind", "status")
WHOLE = ("flight", "descriptor_version")
_OF_A_DRAW = ("filling", "cask", "drawn_on", "age_years")


def read_scores(
    path: str | Path, *, drawn: pd.DataFrame | None = None, pool_versions: bool = False
) -> pd.DataFrame:
    """Read a file of scores as `oakpanel save scores` writes it, long or wide.

    Parameters
    ----------
    path
        A CSV file or a workbook. Long: a row a score; wide: a row a glass and a column a note.
    drawn
        What :func:`read_drawn` gives: from which filling each sample was drawn, and when. Without
        it a sample counts as drawn from what is in its cask now.
    pool_versions
        Whether the wordings of a note are one note. The file does not tell, so they are kept
        apart: the newest has the plain name.

    Returns
    -------
    pandas.DataFrame
        A scores frame (see :mod:`oakpanel.analysis`).

    Raises
    ------
    FileError
        With every fault: row, column and value.
    FrameError
        The rows do not go together, such as a glass that is scored twice.
    """
    table = read_table(path)
    rows = _long(table)
    frame = _columns(SavedTable(table.file, rows, table.problems))
    frame = frame[_told(frame)].reset_index(drop=True)
    if not pool_versions:
        frame["descriptor"] = _by_version(frame)
    if drawn is not None:
        frame = _with_draws(frame, drawn)
    return check_scores(frame)[[*REQUIRED, *DEFAULTS]]


def _long(table: SavedTable) -> pd.DataFrame:
    """One row a glass and line, whatever the shape of the file."""
    if "word" in table.headings:
        table.problems.append("these are scores on own words, which share no line: read_scores")
    if set(table.headings) & set(LONG):
        table.need((*NEEDED, *LONG))
        table.refuse_others((*KNOWN, *LONG))
        table.raise_faults()
        return table.cells
    table.need(NEEDED)
    table.refuse_slips((*KNOWN, *LONG))
    notes = [name for name in table.headings if name not in KNOWN]
    if not notes:
        table.problems.append("it has neither columns descriptor and score nor one of a note")
    table.raise_faults()
    numbered = table.cells.assign(_row=range(len(table.cells)))
    rows = numbered.melt(
        id_vars=[name for name in numbered.columns if name not in notes],
        value_vars=notes,
        var_name="descriptor",
        value_name="score",
    )
    order = rows.groupby("_row", sort=False).cumcount()
    rows = rows.assign(_note=order).sort_values(["_row", "_note"], kind="stable")
    return rows.set_index("_row").drop(columns="_note")


def _columns(table: SavedTable) -> pd.DataFrame:
    """Every column as its kind of value; all faults at once."""
    headings = table.headings
    found = {name: table.text(name) for name in (*NEEDED, "descriptor")}
    if "cask" in headings:
        found["cask"] = table.text("cask")
    for name in ("score", *OF_A_LINE, "flight", "position", "replicate"):
        if name in headings:
            found[name] = table.number(name)
    if "held_on" in headings:
        found["held_on"] = table.day("held_on")
    if "kind" in headings:
        found["kind"] = table.choice("kind", KINDS, KINDS[0])
    if "status" in headings:
        told = pd.Series([_status(text) for text in table.cells["status"]], table.cells.index)
        found["status"] = SavedTable(
            table.file, pd.DataFrame({"status": told}), table.problems
        ).choice("status", STATUSES, STATUSES[0])
    table.raise_faults()
    frame = pd.DataFrame(found).rename(columns={"version": "descriptor_version"})
    frame["replicate"] = frame["replicate"].fillna(1) if "replicate" in frame.columns else 1
    return _filled(frame)


def _filled(frame: pd.DataFrame) -> pd.DataFrame:
    """Put in what an empty cell stands for."""
    for name in USUAL:
        value = DEFAULTS[name]
        frame[name] = frame[name].fillna(value) if name in frame.columns else value
    return frame.astype(dict.fromkeys(WHOLE, "int64"))


def _status(text: str) -> str:
    """What counts of two states: that a glass was taken back, else that its key was known."""
    parts = [part.strip() for part in text.split("+")]
    others = [part for part in parts if part not in {KNEW_KEY, STATUSES[0], ""}]
    return others[0] if others else (KNEW_KEY if KNEW_KEY in parts else parts[0])


def _told(frame: pd.DataFrame) -> pd.Series:
    """Rows with a score, and blanks: lines that a person scored in the session, on nosed glasses.

    An empty cell is no blank where the line was not on the person's sheet.
    """
    scored = frame["score"].notna()
    glass = frame.groupby(["session", "assessor", "sample", "replicate", "status"], sort=False)
    line = frame.groupby(["session", "assessor", "descriptor"], sort=False)
    nosed = scored.groupby(glass.ngroup()).transform("any")
    asked = scored.groupby(line.ngroup()).transform("any")
    in_use = (frame["status"] == STATUSES[0]) & (frame["kind"] != "warm_up")
    return scored | (nosed & asked & in_use)


def _by_version(frame: pd.DataFrame) -> pd.Series:
    """The name of each note; older wordings say up to which version they were."""
    newest = frame.groupby("descriptor")["descriptor_version"].transform("max")
    older = frame["descriptor_version"] < newest
    names = frame["descriptor"].astype("object").copy()
    version = frame.loc[older, "descriptor_version"].astype("str")
    names[older] = names[older] + " (up to version " + version + ")"
    return names


def _with_draws(frame: pd.DataFrame, drawn: pd.DataFrame) -> pd.DataFrame:
    """Say of each sample from which filling it was drawn, when and how old it was."""
    of_sample = drawn.drop_duplicates("sample").set_index(drawn["sample"].astype("str"))
    known = frame["sample"].astype("str")
    for name in _OF_A_DRAW:
        told = known.map(of_sample[name])
        frame[name] = told.where(told.notna(), frame[name]) if name in frame.columns else told
    frame["draw"] = frame["sample"].where(known.isin(of_sample.index), None)
    return frame
