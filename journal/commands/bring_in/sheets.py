"""Spreadsheets as rows of cells, each row with the number that the spreadsheet shows beside it."""

from __future__ import annotations

import codecs
import csv
import datetime as dt
import re
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

from journal.commands.console import Refusal

LARGEST_FILE = 64 * 1024**2  # bytes; a million rows of a diary fit in it
LARGEST_CONTENT = 1024**3  # bytes of an XLSX file once unpacked
LARGEST_AREA = 4_000_000  # cells
DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}
_TRIED_ROWS = 200
_UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff]")
_REFERENCE = re.compile(rb"""\br\s*=\s*["']([A-Za-z]{0,3})(\d{1,9})["']""")
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)

Cell = str | float | dt.date
"""What a cell holds: words ("" where it is empty), a number, or a day."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its number from 1 as the spreadsheet counts, its cells, and its sheet where it has several."""

    number: int
    cells: tuple[Cell, ...]
    sheet: str = ""

    @property
    def label(self) -> str:
        """What the row is called: "row 7", or "2024 row 7" where there are several sheets."""
        name = " ".join(re.sub(r"[();<>]", " ", self.sheet).split())
        return f"{name} row {self.number}" if name else f"row {self.number}"

    def __bool__(self) -> bool:
        return any(cell != "" for cell in self.cells)


class Sheet(NamedTuple):
    """All rows that hold something, and how the file was read."""

    rows: Sequence[Row]
    how: str


def read_sheet(path: Path, names: Sequence[str] = ()) -> Sheet:
    """Read a spreadsheet: XLSX where the file is one, else text with any common delimiter and encoding.

    ``names`` chooses sheets of an XLSX file.  Raises Refusal where it cannot be read, or holds several sheets
    and none is chosen.
    """
    data = read_bytes(path)
    if data.startswith(b"PK\x03\x04"):
        return _read_workbook(path, names)
    if data.startswith((b"\xd0\xcf\x11\xe0", b"%PDF", b"{\\rtf")):
        raise Refusal(f'"{path.name}" is no file that can be read here', "save it as XLSX or CSV first")
    return read_delimited(*decode(data, path.name))


def read_bytes(path: Path) -> bytes:
    """Read a file of bearable size; Refusal where it is larger."""
    size = path.stat().st_size
    if size > LARGEST_FILE:
        raise Refusal(
            f'"{path.name}" has {size // 1024**2} MB, more than a diary can hold',
            "see that it is the right file, or bring in a part of it at a time",
        )
    return path.read_bytes()


def decode(data: bytes, name: str) -> tuple[str, str]:
    """Give a text and the name of its encoding: by its mark, else UTF-8, else what Western Windows writes.

    Raises Refusal where it is no text.
    """
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            try:
                return data.decode(encoding), encoding.upper().removesuffix("-SIG")
            except UnicodeDecodeError:
                raise Refusal(
                    f'"{name}" says that it is {encoding.upper()}, and is not', "save it as UTF-8"
                ) from None
    even, odd = data[:4000:2].count(0), data[1:4000:2].count(0)
    if even + odd > len(data[:4000]) // 8:
        encoding = "utf-16-le" if odd > even else "utf-16-be"
        try:
            return data.decode(encoding), encoding.upper()
        except UnicodeDecodeError:
            raise Refusal(f'"{name}" is no text', "save it as UTF-8 text") from None
    try:
        return data.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        pass
    try:
        return data.decode("cp1252"), "Windows-1252"
    except UnicodeDecodeError:
        return data.decode("latin-1"), "Latin-1"


def read_delimited(text: str, encoding: str) -> Sheet:
    """Read delimited text (RFC 4180, with any of the usual delimiters)."""
    text = text.replace("\0", "")
    csv.field_size_limit(LARGEST_FILE)
    given = re.match(r"sep=(.)\r?\n", text)
    delimiter = given[1] if given is not None else _delimiter(text)
    rows = [
        Row(number, tuple(plain_words(cell) for cell in cells))
        for number, cells in enumerate(_records(text, delimiter), 1)
    ]
    if given is not None:
        rows = rows[1:]
    words = DELIMITERS.get(delimiter, f'"{delimiter}"')
    return Sheet([row for row in rows if row], f"{encoding}, parted by {words}")


def _records(text: str, delimiter: str) -> Iterator[list[str]]:
    try:
        yield from csv.reader(text.splitlines(keepends=True), delimiter=delimiter)
    except csv.Error as failure:
        raise Refusal(f"the file cannot be read as rows: {failure}", "save it as CSV or XLSX again") from None


def _delimiter(text: str) -> str:
    """Choose the delimiter that gives most rows the same number of cells."""
    sample = text[:100_000].splitlines(keepends=True)[:_TRIED_ROWS]

    def score(delimiter: str) -> tuple[float, int]:
        counts = [len(cells) for cells in _records("".join(sample), delimiter) if any(cells)]
        if not counts:
            return 0.0, 0
        usual = max(set(counts), key=lambda count: (counts.count(count), count))
        return (counts.count(usual) / len(counts) if usual > 1 else 0.0), usual

    return max(DELIMITERS, key=score)


def _read_workbook(path: Path, names: Sequence[str]) -> Sheet:
    _refuse_bomb(path)
    from python_calamine import load_workbook

    try:
        with load_workbook(str(path)) as book:
            found = {
                name: book.get_sheet_by_name(name).to_python(skip_empty_area=False)
                for name in book.sheet_names
            }
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as failure:  # noqa: BLE001 - the reader's own panics derive from it
        raise Refusal(
            f'"{path.name}" cannot be read as a spreadsheet: {str(failure)[:120]}',
            "save it again as XLSX or CSV",
        ) from None
    sheets = {name: list(_rows(rows)) for name, rows in found.items()}
    filled = [name for name, rows in sheets.items() if rows]
    if len(filled) > 1:
        sheets = {name: [replace(row, sheet=name) for row in rows] for name, rows in sheets.items()}
    unknown = [name for name in names if name not in sheets and name != "all"]
    if unknown:
        raise Refusal(f'there is no sheet "{unknown[0]}"', f"there are: {', '.join(sheets)}", 2)
    chosen = filled if "all" in names or len(filled) == 1 else list(names)
    if len(filled) > 1 and not chosen:
        raise Refusal(
            f"which sheet? {', '.join(filled)} all hold something",
            f'say --sheet "{filled[0]}", several times if need be, or --sheet all',
        )
    shown = ", ".join(f'"{name}"' for name in chosen)
    return Sheet([row for name in chosen for row in sheets[name]], f"XLSX, sheet {shown}")


def _rows(rows: Iterable[Sequence[object]]) -> Iterator[Row]:
    for number, cells in enumerate(rows, 1):
        row = Row(number, tuple(_cell(cell) for cell in cells))
        if row:
            yield row


def _cell(value: object) -> Cell:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.datetime):
        return value.date()
    if isinstance(value, int | float):
        return float(value)
    if isinstance(value, dt.date):
        return value
    return plain_words(str(value if value is not None else ""))


def plain_words(text: str) -> str:
    """Give the words of a text without signs that steer a machine or turn the writing direction."""
    return _UNSEEN.sub(" ", text).strip()


def _refuse_bomb(path: Path) -> None:
    """Refuse a file that would unpack to more than a diary can hold, before anything unpacks it."""
    try:
        with zipfile.ZipFile(path) as package:
            _refuse_vast_package(package, path.name)
    except Refusal:
        raise
    except Exception as failure:  # noqa: BLE001 - a damaged package fails in a dozen ways, all of which mean this
        raise Refusal(
            f'"{path.name}" cannot be read as a spreadsheet: {str(failure)[:120]}',
            "save it again as XLSX or CSV",
        ) from None


def _refuse_vast_package(package: zipfile.ZipFile, name: str) -> None:
    if sum(part.file_size for part in package.infolist()) > LARGEST_CONTENT:
        raise Refusal(f'"{name}" unpacks to more than a diary can hold', "save it again, or as CSV")
    for part in package.infolist():
        if part.filename.startswith("xl/worksheets/") and part.filename.endswith(".xml"):
            _refuse_vast_area(package, part, name)


def _refuse_vast_area(package: zipfile.ZipFile, part: zipfile.ZipInfo, name: str) -> None:
    """Refuse a sheet with cells so far out that the area up to them would not fit in memory."""
    widest = deepest = 1
    tail = b""
    with package.open(part) as stream:
        while chunk := stream.read(1 << 20):
            for letters, digits in _REFERENCE.findall(tail + chunk):
                deepest = max(deepest, int(digits))
                widest = max(widest, column_number(letters.decode()))
            tail = chunk[-40:]
    if widest * deepest > LARGEST_AREA:
        raise Refusal(
            f'"{name}" has something in row {deepest}, column {widest}: too far out for a diary',
            "clear what lies outside the table, or save the table as CSV",
        )


def column_number(letters: str) -> int:
    """Give the number of a column from its letters: A is 1, AA is 27; no letters are 0."""
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number


def column_letters(number: int) -> str:
    """Give the letters of a column from its number, from 1."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
