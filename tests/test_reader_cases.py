"""The entry language by its cases: golden blocks, three whole diaries, and a folder of bad inputs.

The diaries and all figures are made up; masses follow from the round figures of ``cases/materials.yaml``.
"""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pint
import pytest

from journal.notes.faults import Fault, fault_rows
from journal.notes.verbs import VERBS, read_verb, verb_rows
from journal.notes.writing import sentence
from tests.reader_words import (
    CASES,
    FAULTS,
    blocks_of,
    expected_of,
    findings_of,
    notes_of,
    read,
    record_in_words,
    told,
    whole,
)

CHECKOUT = Path(__file__).resolve().parent.parent
CASE_BLOCKS = [
    (f"{file.stem}: {title}", given, expected)
    for file in sorted(CASES.glob("*.txt"))
    for title, given, expected in blocks_of(file)
]
BLOCKS = [pytest.param(given, expected, id=title) for title, given, expected in CASE_BLOCKS]
DIARIES = sorted(CASES.glob("diary_*.md"))
BAD = sorted(file for file in FAULTS.iterdir() if file.suffix != ".says")


def household_of(diary: Path) -> str:
    """The household that a diary is read with."""
    return "household_comma.yaml" if "metric" in diary.stem else "household.yaml"


@pytest.mark.parametrize(("given", "expected"), BLOCKS)
def test_a_case_is_read_as_it_stands_there(given: str, expected: str) -> None:
    """Each block of the language becomes exactly the entries, records, problems and remarks below it."""
    assert expected_of(given) == expected


@pytest.mark.parametrize("diary", DIARIES, ids=lambda file: file.stem)
def test_a_whole_diary_is_read_to_the_last_line(diary: Path) -> None:
    """A terse, a chatty and a metric diary become what stands beside them."""
    notes = read(diary.read_text(encoding="utf-8"), file=diary.name, household=household_of(diary))
    assert told(notes, entries=True) == diary.with_suffix(".told").read_text(encoding="utf-8").rstrip("\n")


@pytest.mark.parametrize("file", BAD, ids=lambda file: file.stem)
def test_a_bad_input_is_told_in_whole_sentences(file: Path) -> None:
    """Each bad input gets its message: place, sentence, the line with a caret, and the way out."""
    expected = file.with_suffix(".says").read_text(encoding="utf-8")
    assert "\n".join(map(whole, findings_of(file))) + "\n" == expected


def test_every_fault_has_a_case() -> None:
    """No kind of finding that the reader can make goes without an input that shows it."""
    found = {problem.fault for file in BAD for problem in findings_of(file)}
    for _, given, _ in CASE_BLOCKS:
        notes, _ = notes_of(given)
        found |= {problem.fault for problem in (*notes.problems, *notes.remarks)}
    sources = [
        *CHECKOUT.glob("journal/notes/*.py"),
        *(CHECKOUT / "journal/commands" / name for name in ("files.py", "yaml_tree.py")),
    ]
    named = {
        Fault[name]
        for file in sources
        for name in re.findall(r"\bFault\.([A-Z_]+)\b", file.read_text(encoding="utf-8"))
    }
    elsewhere = {Fault.UNREADABLE_FILE, Fault.NO_HOUSEHOLD}  # these need a folder: test_reader_files
    assert not {fault.code for fault in named - found - elsewhere}


def test_faults_have_codes_of_their_own() -> None:
    """A code names one kind of finding, in small letters and hyphens, and every row of the table is whole."""
    codes = [fault.code for fault in Fault]
    assert len(set(codes)) == len(codes)
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", code) for code in codes)
    assert [row[0] for row in fault_rows()] == codes
    assert all(row[1] in {"problem", "remark"} and row[2] and row[3] for row in fault_rows())


def test_the_verb_table_is_what_the_reader_reads() -> None:
    """Each verb of the README's table is read in all its forms, in any case, and no form twice."""
    forms = [(form, verb) for verb in VERBS for form in (verb.name, *verb.also)]
    assert len({form for form, _ in forms}) == len(forms)
    for form, verb in forms:
        for written in (form, form.upper(), form.capitalize()):
            assert read_verb(f"{written} 2 lb bread", 0) == (len(form), verb)
        assert read_verb(f"{form}s 2 lb bread", 0) is None
    assert [row[0].split("**")[1] for row in verb_rows()] == [verb.name for verb in VERBS]


@pytest.mark.parametrize("diary", DIARIES, ids=lambda file: file.stem)
def test_what_is_written_back_is_read_as_the_same_record(diary: Path) -> None:
    """Every record of the diaries, written as one canonical line, is the same record again."""
    name = household_of(diary)
    notes = read(diary.read_text(encoding="utf-8"), file=diary.name, household=name)
    for record in notes.records:
        line = sentence(record, on=dt.date(2026, 3, 14), comma="comma" in name)
        again = read(f"## 2026-03-14\n\n- {line}\n- mixed bedding M 9: 1 lb bread\n", household=name)
        if any(amount.is_batch for amount in record.amounts) or (record.batch and record.verb == "checked"):
            continue  # its batch is mixed elsewhere
        assert not again.problems, line
        assert record_in_words(again.records[0]) == record_in_words(record)


def test_weighed_amounts_agree_with_pint() -> None:
    """The mass of each weighed amount of the cases is what Pint 0.25 makes of its words."""
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    checked = 0
    for file in sorted(CASES.glob("*.txt")):
        for _, _, expected in blocks_of(file):
            for kilograms, words in re.findall(r"([\d.]+) ±[\d.]+ kg [^|(]+\(([^,]+), weighed", expected):
                parts = re.findall(r"([\d.]+) ?(lb|oz|g|kg|stone|tonne|short ton)\b", words)
                if " ".join(f"{number} {unit}" for number, unit in parts) != words:
                    continue
                mass = sum(
                    registry.Quantity(float(number), unit.replace("short ton", "short_ton"))
                    .to("kg")
                    .magnitude
                    for number, unit in parts
                )
                assert float(kilograms) == pytest.approx(mass, abs=5e-7)
                checked += 1
    assert checked > 50
