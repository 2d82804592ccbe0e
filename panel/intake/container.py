"""The container of a workbook: a zip archive, looked at before anything of it is unpacked.

A small file can unpack to more than a machine has, and a damaged one can make a reader of archives
stumble in a dozen ways. Nothing is unpacked that was not weighed before, parts are read in pieces,
and whatever is wrong comes out as one kind of error.
"""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from posixpath import join, normpath
from xml.parsers import expat

from panel.figures import in_digits

MOST_PARTS = 5_000
MOST_UNPACKED_BYTES = 256 * 2**20
PIECE_BYTES = 2**18
ENTRY = b"PK\x01\x02"
PLAIN_WAYS = frozenset({zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED})
LOCKED = 0x1
TROUBLES = (
    *(zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, expat.ExpatError, struct.error),
    *(EOFError, KeyError, ValueError, OverflowError, IndexError, RuntimeError, OSError),
)
"""What Python's own readers of zip archives and of XML raise over damaged ones: by mutation."""
Tag = Callable[[str, dict[str, str]], None]


class Damaged(Exception):
    """The archive is no workbook that can be read; the sentence says why, and what to do."""


@contextmanager
def in_words() -> Iterator[None]:
    """Turn what the readers of archives raise into `Damaged`."""
    try:
        yield
    except TROUBLES as error:
        raise Damaged(
            f"the workbook cannot be read ({_said(error)}): save it again as .xlsx or CSV UTF-8"
        ) from error


def _said(error: BaseException) -> str:
    said = str(error).strip("'\"") or type(error).__name__
    return said[:120] if said.isprintable() else type(error).__name__


class Container:
    """The parts of a workbook by their names, in whatever case these were written."""

    def __init__(self, data: bytes) -> None:
        if data.count(ENTRY) > MOST_PARTS:
            raise Damaged(
                f"the workbook has over {in_digits(MOST_PARTS, ',')} parts, which no table needs"
            )
        with in_words():
            self._archive = zipfile.ZipFile(io.BytesIO(data))
            self._parts = {_plain(part.filename): part for part in self._archive.infolist()}
        self._left = MOST_UNPACKED_BYTES
        if sum(part.file_size for part in self._parts.values()) > MOST_UNPACKED_BYTES:
            raise _too_large()

    def __contains__(self, name: str) -> bool:
        """Say whether there is a part of this name."""
        return _plain(name) in self._parts

    def pieces(self, name: str) -> Iterator[bytes]:
        """Give a part piece by piece, never more than was promised."""
        part = self._parts.get(_plain(name))
        if part is None:
            raise Damaged(
                f"the workbook cannot be read (there is no part {name} in it): save it again as "
                ".xlsx or CSV UTF-8"
            )
        if part.flag_bits & LOCKED:
            raise Damaged("the workbook is locked with a password: save it unlocked")
        if part.compress_type not in PLAIN_WAYS:
            raise Damaged("the workbook is packed in an unusual way: save it again as .xlsx")
        with self._archive.open(part) as stream:
            while piece := stream.read(PIECE_BYTES):
                self._left -= len(piece)
                if self._left < 0:
                    raise _too_large()
                yield piece


def _too_large() -> Damaged:
    return Damaged(
        f"the workbook unpacks to more than {MOST_UNPACKED_BYTES // 2**20} MiB: delete what does "
        "not belong to the table, or save it as CSV UTF-8 in parts"
    )


def _plain(name: str) -> str:
    return name.replace("\\", "/").lstrip("/").casefold()


def beside(part: str, target: str) -> str:
    """Return the name of the part that a relation of *part* points to."""
    return normpath(join(part.rpartition("/")[0], target)).lstrip("/")


def local(name: str) -> str:
    """Return the name of a tag or an attribute without its prefix."""
    return name.rpartition(":")[2]


def parser() -> expat.XMLParserType:
    """Return a parser that takes nothing declared in the document itself: no workbook does that."""
    made = expat.ParserCreate()
    made.buffer_text = True
    made.StartDoctypeDeclHandler = _refuse_declarations
    return made


def _refuse_declarations(*_: object) -> None:
    raise Damaged("the workbook declares a document type, which none does: save it again as .xlsx")


def each_tag(container: Container, part: str, tell: Tag) -> None:
    """Tell every opening tag of a part, with the names of its attributes as they stand."""
    made = parser()
    made.StartElementHandler = tell
    for piece in container.pieces(part):
        made.Parse(piece)
    made.Parse(b"", True)
