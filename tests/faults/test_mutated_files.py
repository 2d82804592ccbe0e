"""A few hundred damaged files; the many are tried by `python -m tests.faults.mutated_files`."""

from __future__ import annotations

from pathlib import Path

from tests.examples import examples
from tests.faults.mutated_files import try_files

FILES = 210


def test_a_damaged_file_is_refused_in_words_or_taken_whole(tmp_path: Path) -> None:
    files = examples(FILES)
    trial = try_files(tmp_path, first=1, files=files)
    assert trial.failed == []
    assert sum(trial.became.values()) == files
    assert trial.became["with faults"] > files / 4  # a trial that refuses all proves little
    assert trial.became["taken"] > 0
