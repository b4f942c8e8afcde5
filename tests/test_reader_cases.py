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
from tests.reader_words import CASES, FAULTS, blocks_of, expected_of, findings_of, read, record_in_words, told

BLOCKS = [
    pytest.param(given, expected, id=f"{file.stem}: {title}")
    for file in sorted(CASES.glob("*.txt"))
    for title, given, expected in blocks_of(file)
]
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
    assert findings_of(file) + "\n" == expected


def test_every_fault_has_a_case() -> None:
    """No kind of finding goes without an input that shows it."""
    said = "\n".join(file.read_text(encoding="utf-8") for file in FAULTS.glob("*.says"))
    said += "\n".join(expected for *_, expected in (block.values for block in BLOCKS))
    said += "\n".join(file.read_text(encoding="utf-8") for file in CASES.glob("*.told"))
    elsewhere = {Fault.UNREADABLE_FILE, Fault.NO_HOUSEHOLD}  # these need a folder: test_reader_files
    reasons = {
        Fault.NUMBER: "runs backwards",
        Fault.DECIMAL_COMMA: "may mean",
        Fault.WRONG_WEEKDAY: "not a Friday",
    }
    missing = [
        fault.code
        for fault in Fault
        if fault not in elsewhere and not re.search(reasons.get(fault) or pattern_of(fault.sentence), said)
    ]
    assert not missing


def pattern_of(sentence_with_blanks: str) -> str:
    """A sentence with blanks as a pattern."""
    return ".*".join(re.escape(part) for part in re.split(r"\{\w+\}", sentence_with_blanks))


def test_faults_have_codes_of_their_own() -> None:
    """A code names one kind of finding, in small letters and hyphens, and every row of the table is whole."""
    codes = [fault.code for fault in Fault]
    assert len(set(codes)) == len(codes)
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", code) for code in codes)
    assert [row[0] for row in fault_rows()] == codes
    assert not [
        cell for row in fault_rows() for cell in row if not cell or "{" in cell.replace("{stream", "")[:0]
    ]


def test_the_verb_table_is_what_the_reader_reads() -> None:
    """Each verb of the README's table, and each of its other forms, is read in any case; none is read twice."""
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
    registry = pint.UnitRegistry()
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
