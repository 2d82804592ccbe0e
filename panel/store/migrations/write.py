"""Write a revision from the models, for a developer to read before it is kept.

`python -m panel.store.migrations.write "what changes"` adds one after the newest; with `--again`
the newest is written anew (as long as nobody has a database at it). A new one is then named in
`panel.store.revisions.REVISIONS`.
"""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from panel.store.engine import connect, locate
from panel.store.upgrading import VERSIONS, alembic_config, migrate


def write_revision(message: str, *, again: bool = False, versions: Path = VERSIONS) -> Path:
    """Compare the models with a database at the newest revision and write what differs."""
    from alembic import command

    present = sorted(versions.glob("[0-9]*.py"))
    if again:
        present.pop().unlink()
    number = f"{len(present) + 1:04d}"
    with TemporaryDirectory() as folder:
        url = locate(str(Path(folder) / "empty.sqlite"))
        migrate(url, versions=(versions,))
        store = connect(url)
        with store.engine.connect() as connection:
            config = alembic_config(connection, (versions,))
            command.revision(config, message, autogenerate=True, rev_id=number)
        store.close()
    written = next(versions.glob(f"{number}_*.py"))
    lines = written.read_text(encoding="utf-8").splitlines(keepends=True)
    kept = [line for line in lines if not line.strip().startswith("# ###")]
    written.write_text("".join(kept), encoding="utf-8")
    return written


if __name__ == "__main__":
    words = [word for word in sys.argv[1:] if word != "--again"]
    written = write_revision(" ".join(words) or "change", again="--again" in sys.argv)
    sys.stdout.write(f"{written}\n")
