"""`bring-in`: a phone's note becomes entries, its records with a dash, the rest as prose."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bringing import DATA, bring_in, csv_file, lines_of, new_journal


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """A journal with one bin and no entry."""
    return new_journal(tmp_path)


def test_a_phones_note_comes_in(journal: Path) -> None:
    """Sentences that are records get a dash, a batch its list, and all else stays as prose."""
    done = bring_in(journal, DATA / "phone.txt", "--introduce", "--write")
    assert done.exit_code == 0, done.stderr
    assert lines_of(journal) == [
        ("2024-03-03", "Fed 1 lb 4 oz banana peels to First Bin."),
        ("2024-03-03", "checked First Bin: 66 F, moisture 80%"),
        ("2024-03-09", "took in 3 lb coffee grounds from Next Door."),
        ("2024-03-09", "fed 1 lb coffee grounds to First Bin"),
        ("2024-03-09", "mixed bedding Batch 1: 3 lb shredded paper, 2 L water, 1/4 cup grit"),
        ("2024-03-20", "harvested 2 lb castings from First Bin"),
        ("2024-03-20", "spread 1 lb castings on the plum"),
        ("2024-03-20", "bedded First Bin with 2 lb Batch 1"),
    ]
    text = (journal / "entries/brought-in/phone.md").read_text()
    for prose in (
        "it smelled like a wood after rain",
        "Fed up with the fruit flies!",
        "14 March 2024 was the day everything froze, and I forgot to write it down.",
        "Worm notes",
        "## 2024-03-09 potluck",
    ):
        assert f"{prose}\n" in text
    again = bring_in(journal, DATA / "phone.txt", "--introduce", "--write")
    assert "11 in the journal already" in again.stdout
    assert len(lines_of(journal)) == 8


def test_a_phones_note_asks_what_its_dates_mean(journal: Path) -> None:
    """All-digit dates and dates without a year stop with a question, unless the note itself settles them."""
    note = csv_file(journal, "3/4/24\nfed 1 lb apple cores to Cupboard\n", "note.txt")
    assert "--dates day-first" in bring_in(journal, note).stderr
    note.write_text(
        "3/4/24\nfed 1 lb apple cores to Cupboard\n\n3/25/24:\nfed 2 lb apple cores to Cupboard\n"
    )
    settled = bring_in(journal, note, "--write")
    assert settled.exit_code == 0, settled.stderr
    assert [date for date, _ in lines_of(journal)] == ["2024-03-04", "2024-03-25"]
    yearless = csv_file(journal, "May 4\nfed 1 lb tea leaves to Cupboard\n", "second.txt")
    assert "--year 2024" in bring_in(journal, yearless).stderr
    assert bring_in(journal, yearless, "--year", "2023", "--write").exit_code == 0
    assert ("2023-05-04", "fed 1 lb tea leaves to Cupboard") in lines_of(journal)


def test_a_sentence_that_is_meant_as_a_record_is_not_passed_over(journal: Path) -> None:
    """A sentence with a verb and an amount that cannot be read is listed, and holds the note back."""
    note = csv_file(journal, "2024-03-04\nfed 1 lb gravel soup to Cupboard\n", "note.txt")
    done = bring_in(journal, note, "--write")
    assert done.exit_code == 1
    assert 'line 2: "gravel soup" is no material I know' in done.stderr
    assert lines_of(journal) == []


def test_a_weight_without_a_verb_is_pointed_out(journal: Path) -> None:
    """A line that holds a weight and no verb stays prose, and the keeper is told that it does not count."""
    note = csv_file(journal, "2024-03-04\n2 lb peels for the bin\nit rained 3 days\n", "note.txt")
    done = bring_in(journal, note)
    assert done.exit_code == 0
    assert 'line 2 is kept as prose and not counted: "2 lb peels for the bin"' in done.stderr
    assert "line 3" not in done.stderr


def test_a_date_behind_a_bullet_begins_a_day(journal: Path) -> None:
    """Apps that put a bullet before every line put one before dates too; a sentence about a day is none."""
    text = (
        "- 2024-03-04\n  - fed 1 lb lettuce to Cupboard\n• 2024-03-09: fed 2 lb lettuce to Cupboard\n"
        "- 2024-03-12 was so cold\n- fed 3 lb lettuce to Cupboard\n"
    )
    done = bring_in(journal, csv_file(journal, text, "note.txt"), "--write")
    assert done.exit_code == 0, done.stderr
    assert lines_of(journal) == [
        ("2024-03-04", "fed 1 lb lettuce to Cupboard"),
        ("2024-03-09", "fed 2 lb lettuce to Cupboard"),
        ("2024-03-09", "fed 3 lb lettuce to Cupboard"),
    ]


def test_a_full_stop_behind_mrs_ends_no_sentence(journal: Path) -> None:
    """A name with a title stays whole, and is introduced whole."""
    note = csv_file(journal, "2024-03-04\ngot 4 lb newspaper from Mrs. Bell\n", "note.txt")
    done = bring_in(journal, note, "--introduce", "--write")
    assert done.exit_code == 0, done.stderr
    assert lines_of(journal) == [("2024-03-04", "got 4 lb newspaper from Mrs. Bell")]
    assert "  Mrs. Bell: {}\n" in (journal / "entries/household.yaml").read_text()


def test_decimals_of_another_sign_are_asked_about(journal: Path) -> None:
    """A note with decimal commas is brought in with the option that is offered; its dates stay."""
    note = csv_file(journal, "4.3.2024 - thaw\nfed 2,5 kg lettuce to Cupboard\n", "note.txt")
    told = ("--dates", "day-first")
    assert "--decimal comma" in bring_in(journal, note, *told).stderr
    assert bring_in(journal, note, *told, "--decimal", "comma", "--write").exit_code == 0
    assert lines_of(journal) == [("2024-03-04", "fed 2.5 kg lettuce to Cupboard")]
