"""Files of every kind, and ways to damage them: bytes, cells, parts of a workbook."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable
from random import Random

from openpyxl import Workbook

from panel.intake.kinds import Kind
from tests.intake.files import ASSESSORS, CASKS, DRAWS, LEXICON, MAKES

Rows = list[list[str]]

TEXTS: dict[Kind, str] = {
    Kind.MAKES: MAKES + "late,Sallow Weir,barley,12,,\n",
    Kind.CASKS: CASKS + "C9,American oak,200,2016-05-01,1,63.5,190,C9/1,plain,\n",
    Kind.EVENTS: (
        "filling,kind,happened_on,parent,litres,abv,site,warehouse,row,tier,note\n"
        "C1/1,topped,2018-03-04,C2/1,10,60,,,,,\nC2/1,emptied,2024-06-13,,,,,,,,bottled\n"
    ),
    Kind.REGAUGES: (
        "cask,gauged_on,bulk_l,abv,temperature_c,method,note\n"
        "C1,2015-03-04,171.25,60.5,12.3,weighed,\nC2,2016-03-04,180,61,8,dipped,cold\n"
    ),
    Kind.DRAWS: DRAWS + "C3 autumn,cask,C3,2024-10-10\n",
    Kind.LEXICON: LEXICON + "wet slate,nose,not there,fills the room\n",
    Kind.ASSESSORS: ASSESSORS + "Wren\n",
    Kind.TARGETS: (
        "target,descriptor,aim,tolerance,weight\nLantern,hearth smoke,24,9,2\n"
        "Lantern,plum stone,31.5,9,1\n"
    ),
    Kind.PLANS: (
        "plan,release,year,target,bottles,abv,age,rule_set,limits\n"
        "Years,,,,,,,,draw 900; stay 50\nYears,Lantern 2028,2028,Lantern,600,46,8,,casks 2-5\n"
    ),
    Kind.SCORES: (
        "session,held_on,assessor,sample,kind,replicate,hearth smoke,plum stone\n"
        "F1,2024-02-17,Alder,C1 spring,test,1,11,27\nF1,2024-02-17,Alder,REF,reference,1,0,4.5\n"
        "F1,2024-02-17,Rowan,C1 spring,test,1,15,\n"
    ),
    Kind.OWN_SCORES: (
        "session,assessor,sample,replicate,word,score\nF2,Alder,C1 spring,1,wet slate,12\n"
        "F2,Alder,REF,1,wet slate,40\nF2,Rowan,C1 spring,1,[/x],100\n"
    ),
    Kind.ANSWERS: "session,assessor,glass,place\nF1,Alder,412,1\nF1,Alder,735,2\n",
}
NASTY = (
    *(
        "",
        " ",
        "\x00",
        "\u202eabc",
        "a\u200db",
        "\ufeff",
        "=1+1",
        "'=x",
        "@",
        "-",
        "+1",
        "\U0001f943",
    ),
    *("nan", "inf", "-inf", "1e999", "1_000", "9" * 400, "0.1" * 50, "1,5", "1.234,5", "--5", "-0"),
    *(
        "2026-02-30",
        "0000-00-00",
        "9999-12-31",
        "45000",
        "12/13/2014",
        "#N/A",
        "TRUE",
        "\U0001f943",
    ),
    *("x" * 25_000, "a\nb", 'say "no"', "sep=;", "[/x]", "\udcff", "_x0000_", "_xD83D_", "\x85"),
    *("kept", "void", "test", "reference", "cask", "C1", "Alder", "REF", "hearth smoke", "None"),
)
XML_VALUES = (
    *(
        b"XFD1048576",
        b"A1",
        b"ZZZ9",
        b"A0",
        b"A99999999999",
        b"-1",
        b"4294967296",
        b"1e308",
        b"NaN",
    ),
    *(
        b"&#0;",
        b"&lt;",
        b"&boo;",
        b"s",
        b"e",
        b"inlineStr",
        b"d",
        b"b",
        b"str",
        b"n",
        b"",
        b"2",
        b"14",
    ),
)
DOCTYPE = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]>'


def rows_of(kind: Kind) -> Rows:
    """Return a sound table of a kind."""
    return list(csv.reader(io.StringIO(TEXTS[kind])))


def csv_of(rows: Rows, separator: str = ",") -> bytes:
    """Return a table as a CSV file."""
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator="\n").writerows(rows)
    return out.getvalue().encode("utf-8", "surrogateescape")


def book_of(rows: Rows) -> bytes:
    """Return a table as a workbook; numbers as numbers where they are."""
    book = Workbook()
    page = book.worksheets[0]
    for row in rows:
        page.append([_cell(text) for text in row])
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


def _cell(text: str) -> str | float | None:
    try:
        return float(text) if len(text) < 20 else _storable(text)
    except ValueError:
        return _storable(text)


def _storable(text: str) -> str | None:
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    plain = text.encode("utf-8", "replace").decode()
    return ILLEGAL_CHARACTERS_RE.sub("?", plain) or None


def damaged_cells(rng: Random, rows: Rows) -> Rows:
    """Change, move, double or drop cells, rows and columns."""
    for _ in range(rng.choice((1, 1, 2, 4))):
        row = rng.randrange(len(rows))
        column = rng.randrange(max(1, len(rows[row])))
        way = rng.randrange(7)
        if way < 3 and rows[row]:
            rows[row][min(column, len(rows[row]) - 1)] = rng.choice(NASTY)
        elif way == 3:
            rows.insert(rng.randrange(len(rows) + 1), list(rows[row]))
        elif way == 4 and len(rows) > 1:
            del rows[row]
        elif way == 5:
            rows[row] = rows[row][:column] + rows[row][column + 1 :]
        else:
            rows = [[*cells, *cells[column : column + 1]] for cells in rows]
    return rows


def damaged_bytes(rng: Random, data: bytes) -> bytes:
    """Flip, cut, double or insert bytes."""
    held = bytearray(data)
    for _ in range(rng.choice((1, 1, 3, 20))):
        at = rng.randrange(len(held)) if held else 0
        way = rng.randrange(6)
        if way < 2 and held:
            held[at] = rng.randrange(256)
        elif way == 2:
            held[at:at] = rng.randbytes(rng.choice((1, 4, 60)))
        elif way == 3:
            del held[at : at + rng.choice((1, 4, 200))]
        elif way == 4:
            held[at:at] = held[at : at + rng.choice((8, 300))]
        else:
            del held[at:]
    return bytes(held)


def damaged_book(rng: Random, data: bytes) -> bytes:
    """Damage a part inside the archive, so that the archive itself stays whole."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    name = rng.choice([name for name in sorted(parts) if "sheet" in name or rng.random() < 0.3])
    way = rng.randrange(8)
    if way == 0:
        del parts[name]
    elif way == 1:
        parts[name] = damaged_bytes(rng, parts[name])
    elif way == 2:
        parts[name] = DOCTYPE + parts[name].partition(b"?>")[2]
    elif way == 3:
        parts[name] = parts[rng.choice(sorted(parts))]
    else:
        parts[name] = _damaged_values(rng, parts[name])
    held = io.BytesIO()
    packing = rng.choice((zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2))
    with zipfile.ZipFile(held, "w", packing) as archive:
        for part, content in parts.items():
            archive.writestr(part, content)
    return held.getvalue()


def _damaged_values(rng: Random, part: bytes) -> bytes:
    """Put other values between quotation marks or between tags."""
    for _ in range(rng.choice((1, 2, 5))):
        mark, end = rng.choice(((b'"', b'"'), (b">", b"<")))
        pieces = part.split(mark)
        at = rng.randrange(len(pieces))
        rest = pieces[at].partition(end) if mark != end else (pieces[at], b"", b"")
        pieces[at] = rng.choice(XML_VALUES) + rest[1] + rest[2]
        part = mark.join(pieces)
    return part


def _plain_csv(rng: Random, rows: Rows) -> bytes:
    return csv_of(damaged_cells(rng, rows), rng.choice(",,,;\t"))


def _broken_csv(rng: Random, rows: Rows) -> bytes:
    return damaged_bytes(rng, csv_of(rows, rng.choice(",,;\t")))


def _other_letters(rng: Random, rows: Rows) -> bytes:
    text = csv_of(damaged_cells(rng, rows)).decode("utf-8", "replace")
    return text.encode(rng.choice(("utf-16", "utf-8-sig", "latin-1", "utf-32")), "replace")


def _plain_book(rng: Random, rows: Rows) -> bytes:
    return book_of(damaged_cells(rng, rows))


def _broken_book(rng: Random, rows: Rows) -> bytes:
    return damaged_bytes(rng, book_of(rows))


def _broken_part(rng: Random, rows: Rows) -> bytes:
    return damaged_book(rng, book_of(rows))


WAYS: tuple[Callable[[Random, Rows], bytes], ...] = (
    *(_plain_csv, _broken_csv, _other_letters),
    *(_plain_book, _broken_book, _broken_part, _broken_part),
)


def mutated(rng: Random) -> tuple[Kind, bytes]:
    """Return a kind of record and a damaged file of it."""
    kind = rng.choice(list(TEXTS))
    return kind, rng.choice(WAYS)(rng, rows_of(kind))
