"""`bring-in` and strange files: asked about, read or refused in a sentence, never worse."""

from __future__ import annotations

import contextlib
import io
import zipfile
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from journal.commands.bring_in.outcome import Journal, from_note, from_sheet
from journal.commands.bring_in.questions import Told
from journal.commands.bring_in.sheets import decode, read_delimited, read_sheet
from journal.commands.console import Refusal
from journal.commands.files import read_journal
from tests.bringing import bring_in, csv_file, new_journal


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """A journal with one bin and no entry."""
    return new_journal(tmp_path)


@pytest.mark.parametrize(
    ("data", "name", "said"),
    [
        (b"", "log.csv", "holds no rows"),
        (b"no date here\n", "note.txt", "no line that is a date"),
        (b"PK\x03\x04 and then nothing", "log.xlsx", "cannot be read as a spreadsheet"),
        (b"\xd0\xcf\x11\xe0old", "log.xls", "save it as XLSX or CSV"),
        (b"%PDF-1.7", "log.pdf", "no file that can be read here"),
        (b"\xff\xfeD", "log.csv", "UTF-16"),
    ],
)
def test_what_is_no_spreadsheet_is_refused_in_a_sentence(
    journal: Path, data: bytes, name: str, said: str
) -> None:
    """A file that is nothing of the kind is named, with the way out."""
    done = bring_in(journal, csv_file(journal, data, name))
    assert done.exit_code == 1
    assert said in done.stderr


def workbook_with(cells: str) -> bytes:
    """A small XLSX file whose only sheet holds these cells."""
    book = openpyxl.Workbook()
    data = io.BytesIO()
    book.save(data)
    out = io.BytesIO()
    with zipfile.ZipFile(data) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for part in source.infolist():
            content = source.read(part)
            if part.filename == "xl/worksheets/sheet1.xml":
                content = content.replace(b"<sheetData />", f"<sheetData>{cells}</sheetData>".encode())
                content = content.replace(
                    b"<sheetData></sheetData>", f"<sheetData>{cells}</sheetData>".encode()
                )
            target.writestr(part.filename, content)
    return out.getvalue()


def test_a_sheet_that_would_fill_the_memory_is_refused(journal: Path) -> None:
    """A cell at the far end of a sheet, or a file that unpacks to gigabytes, is refused unopened."""
    far = '<row r="1048576"><c r="XFD1048576" t="n"><v>1</v></c></row>'
    done = bring_in(journal, csv_file(journal, workbook_with(far), "far.xlsx"))
    assert done.exit_code == 1
    assert "too far out" in done.stderr
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as package:
        info = zipfile.ZipInfo("xl/worksheets/sheet1.xml")
        info.compress_type = zipfile.ZIP_DEFLATED
        with package.open(info, "w", force_zip64=True) as part:
            for _ in range(17):
                part.write(b" " * (64 * 1024**2))
    done = bring_in(journal, csv_file(journal, bomb.getvalue(), "bomb.xlsx"))
    assert "unpacks to more" in done.stderr


ODD_CELLS = (
    "3/4/2024|2024-03-04|1,5|1.250|½|-|=1+1|Cupboard|fed|lb|apple cores|12 oz|1/0|((|<!--|```|Total|\u202e|"
    "1e400|٣|row 7)|\x1b[31m|" + "9" * 400
)
CELLS = st.one_of(st.text(max_size=12), st.sampled_from(ODD_CELLS.split("|")))
ROWS = st.lists(st.lists(CELLS, max_size=6), max_size=8)
HEADS = st.lists(
    st.sampled_from(
        ["Date", "Item", "Weight (lb)", "Bin", "From", "Notes", "kg", "Temp", "pH", "Verb", "", "Paper"]
    ),
    max_size=6,
)


@settings(max_examples=60)
@given(heads=HEADS, rows=ROWS, delimiter=st.sampled_from([",", ";", "\t"]))
def test_no_sheet_breaks_the_program_or_the_journal(
    tmp_path_factory: pytest.TempPathFactory, heads: list[str], rows: list[list[str]], delimiter: str
) -> None:
    """Whatever a sheet holds, it is read, asked about or refused; what is written can be read again."""
    folder = new_journal(tmp_path_factory.mktemp("fuzz"))
    quoted = [[f'"{cell.replace(chr(34), chr(34) * 2)}"' for cell in row] for row in [heads, *rows]]
    sheet = csv_file(folder, "\n".join(delimiter.join(row) for row in quoted).encode("utf-8", "replace"))
    opened = Journal.read(folder)
    try:
        outcome = from_sheet(
            opened, sheet, Told(dates="day-first", year=2024, leave_out=True), introduce=True
        )
    except Refusal:
        return
    if outcome.questions:
        return
    records = [line for line in outcome.sifted.new if line.is_record]
    list(outcome.write(opened))
    notes = read_journal(folder)
    assert not notes.problems, notes.problems[0].sentence
    assert len(notes.records) == len(records)
    again = from_sheet(Journal.read(folder), sheet, Told(dates="day-first", year=2024, leave_out=True))
    assert not again.sifted.new


ODD_LINES = (
    "2024-03-04|March 4, 2024|3/4/24|fed 1 lb apple cores to Cupboard|# x|<!--|```|mixed bedding B|"
    "1 lb newspaper|- fed up|---|> q|1. one|checked Cupboard: 66 F|bedded Cupboard with 1 lb B|    code|"
    "2024-03-05 t|* [x] fed 2 lb tea leaves to Cupboard"
)


@settings(max_examples=60)
@given(st.lists(st.one_of(st.text(max_size=40), st.sampled_from(ODD_LINES.split("|"))), max_size=14))
def test_no_note_breaks_the_program_or_the_journal(
    tmp_path_factory: pytest.TempPathFactory, lines: list[str]
) -> None:
    """Whatever a note holds, its records come in as records, and the journal stays readable."""
    folder = new_journal(tmp_path_factory.mktemp("fuzz"))
    note = csv_file(folder, "\n".join(lines).encode("utf-8", "replace"), "note.txt")
    opened = Journal.read(folder)
    told = Told(dates="month-first", year=2024, leave_out=True)
    try:
        outcome = from_note(opened, note, told)
    except Refusal:
        return
    if outcome.questions:
        return
    records = [line for line in outcome.sifted.new if line.is_record]
    list(outcome.write(opened))
    notes = read_journal(folder)
    assert not notes.problems, notes.problems[0].sentence
    assert len(notes.records) == len(records)
    assert not from_note(Journal.read(folder), note, told).sifted.new


@settings(max_examples=60)
@given(st.lists(st.tuples(st.integers(4, 4500), st.integers(0, 255)), min_size=1, max_size=12))
def test_a_damaged_workbook_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, damage: list[tuple[int, int]]
) -> None:
    """A spreadsheet with some of its bytes changed is read as far as it can be, or refused in a sentence."""
    book = bytearray(workbook_with('<row r="1"><c r="A1" t="n"><v>1</v></c></row>'))
    for at, byte in damage:
        book[at % len(book)] = byte
    path = tmp_path_factory.mktemp("fuzz") / "log.xlsx"
    path.write_bytes(book)
    with contextlib.suppress(Refusal):
        read_sheet(path, ["all"])


@settings(max_examples=200)
@given(st.binary(max_size=300))
def test_any_bytes_are_text_or_refused(data: bytes) -> None:
    """Bytes of any kind become rows, or are refused in a sentence."""
    try:
        text, encoding = decode(data, "x.csv")
    except Refusal:
        return
    read_delimited(text, encoding)
