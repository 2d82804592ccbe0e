"""Wheels, and environments that they are installed in as by whoever takes them from the index."""

from __future__ import annotations

import base64
import csv
import hashlib
import os
import subprocess
import sys
import sysconfig
import venv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from zipfile import ZipFile

ROOT = Path(__file__).parents[2]
HALVES = ("panel", "analysis", "demo_panel")
OTHERS_FILES = {
    "panel/__init__.py": "NAME = 'another panel'\n",
    "panel/kinds.py": "NAME = 'another panel'\n",
    "panel/cli/__init__.py": "",
    "panel/cli/main.py": "raise ImportError('this is another panel')\n",
    "panel/store/__init__.py": "raise ImportError('this is another panel')\n",
    "panel/store/engine.py": "raise ImportError('this is another panel')\n",
    "panel/LICENSE": "Another licence.\n",
}
"""The library of the same name, where it could stand in our way: the same names of files."""


@dataclass(frozen=True)
class Environment:
    """A virtual environment of its own."""

    folder: Path

    @property
    def bin(self) -> Path:
        """Where its programs lie."""
        return self.folder / "bin"

    @property
    def packages(self) -> Path:
        """Where its packages lie."""
        (found,) = (self.folder / "lib").glob("python3*/site-packages")
        return found

    def pip(self, *words: str) -> None:
        """Install or uninstall by pip, without asking any index."""
        python = str(self.bin / "python")
        settings = os.environ | {"PIP_NO_INDEX": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
        told([sys.executable, "-m", "pip", "--python", python, *words, "-q"], settings)

    def python(self, code: str, *words: str, cwd: Path) -> str:
        """Return what a program prints that works in a folder."""
        return told([str(self.bin / "python"), "-c", code, *words], cwd=cwd)

    def oakpanel(self, *words: str, cwd: Path) -> str:
        """Return what a command prints that works in a folder."""
        return told([str(self.bin / "oakpanel"), *words], os.environ | {"OAKPANEL_LOG": "log"}, cwd)

    def damage(self, distribution: str) -> list[str]:
        """Name the files of a distribution that are not as it brought them."""
        (record,) = self.packages.glob(f"{distribution}-*.dist-info/RECORD")
        rows = csv.reader(record.read_text(encoding="utf-8").splitlines())
        return [name for name, digest, _ in rows if digest and digest != self._digest(name)]

    def _digest(self, name: str) -> str:
        path = self.packages / name
        if not path.exists():
            return "gone"
        content = hashlib.sha256(path.read_bytes()).digest()
        return "sha256=" + base64.urlsafe_b64encode(content).rstrip(b"=").decode()


def told(
    words: Sequence[str], environment: dict[str, str] | None = None, cwd: Path | None = None
) -> str:
    """Return what a program prints; one that fails shows what it said."""
    done = subprocess.run(
        words, env=environment, cwd=cwd, capture_output=True, text=True, check=False, timeout=300
    )
    assert done.returncode == 0, f"{' '.join(words)}\n{done.stdout}{done.stderr}"
    return done.stdout


def make_environment(folder: Path, dependencies: Path) -> Environment:
    """Make an environment that has the dependencies and nothing of ours."""
    venv.create(folder, symlinks=True)
    made = Environment(folder)
    (made.packages / "dependencies.pth").write_text(f"{dependencies}\n", encoding="utf-8")
    return made


def link_dependencies(folder: Path) -> Path:
    """Gather what this environment has of others in one folder, by links: nothing of ours is in it.

    That spares installing numpy, scipy and pandas anew for each environment.
    """
    folder.mkdir()
    for path in _of_others(Path(sysconfig.get_paths()["purelib"])):
        (folder / path.name).symlink_to(path)
    return folder


def _of_others(packages: Path) -> Iterator[Path]:
    for path in packages.iterdir():
        if "oakpanel" not in path.name and path.suffix != ".pth" and path.name != "panel":
            yield path


def build_wheel(folder: Path) -> Path:
    """Build ours as `pip install .` does."""
    told([sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(folder), str(ROOT)])
    (wheel,) = folder.glob("oakpanel-*.whl")
    return wheel


def other_wheel(folder: Path) -> Path:
    """Give a wheel of the other library: the one that OAKPANEL_OTHER names, else a stand-in."""
    if named := os.environ.get("OAKPANEL_OTHER"):
        return Path(named)
    folder.mkdir()
    wheel = folder / "panel-9.9-py3-none-any.whl"
    about = "panel-9.9.dist-info"
    files = OTHERS_FILES | {
        f"{about}/METADATA": "Metadata-Version: 2.1\nName: panel\nVersion: 9.9\n",
        f"{about}/WHEEL": "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
    }
    files[f"{about}/RECORD"] = "".join(f"{name},,\n" for name in [*files, f"{about}/RECORD"])
    with ZipFile(wheel, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return wheel
