"""Scores: a session's history, loaded as revealed, or more of one that was loaded before."""

from __future__ import annotations

from panel.intake.kinds import Kind
from panel.intake.load import Load
from panel.intake.own_lines import OwnLines
from panel.intake.score_comparison import compare
from panel.intake.score_glasses import Sessions, ToldGlass
from panel.intake.score_lines import Sheets
from panel.intake.score_names import Names
from panel.intake.score_rows import OwnScoreFile, ScoreFile
from panel.intake.score_sessions import fetch_scores
from panel.intake.score_writing import write_scores
from panel.store.line_tables import ON_DESCRIPTORS, ON_OWN_WORDS


def take_scores(load: Load, file: ScoreFile) -> None:
    """Check all cells against the records and each other, then write the new ones."""
    names = Names.of(load, file)
    sessions = Sessions(load, names, file, Kind.SCORES)
    glasses = _glasses(sessions, names, file)
    lines = Sheets(load, names, file)
    lines.lay_out(glasses)
    recorded = fetch_scores(load, sessions.states.values())
    changes = compare(load, file, glasses, lines, recorded)
    if not load.problems and not load.check:
        write_scores(load, sessions.states, changes, ON_DESCRIPTORS)


def take_own_scores(load: Load, file: OwnScoreFile) -> None:
    """Do the same for scores on words of the assessors' own."""
    names = Names.of(load, file)
    sessions = Sessions(load, names, file, Kind.OWN_SCORES)
    glasses = _glasses(sessions, names, file)
    lines = OwnLines(file)
    lines.lay_out(glasses)
    recorded = fetch_scores(load, sessions.states.values(), ON_OWN_WORDS)
    changes = compare(load, file, glasses, lines, recorded)
    if not load.problems and not load.check:
        write_scores(load, sessions.states, changes, ON_OWN_WORDS)


def _glasses(sessions: Sessions, names: Names, file: ScoreFile) -> list[ToldGlass]:
    glasses = [sessions.glass(row) for row in file.glasses]
    for number, raw in file.unsound_glasses.items():
        glasses[number].faults.extend(names.unknown_in(raw))
        glasses[number].session = sessions.with_faults(file.glasses_partly[number])
    return glasses
