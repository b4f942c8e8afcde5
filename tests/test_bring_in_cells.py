"""What `bring-in` makes of dates, numbers, names and columns, each by itself."""

from __future__ import annotations

import pytest

from journal.commands.bring_in.dates import date_order, read_date
from journal.commands.bring_in.entries import file_name, key_of
from journal.commands.bring_in.introducing import add_names
from journal.commands.bring_in.numerals import amount_words, decimal_sign
from journal.commands.bring_in.sheets import column_letters, column_number
from journal.commands.console import Refusal


@pytest.mark.parametrize(
    ("words", "day_first", "month_first"),
    [
        ("2024-03-04", "2024-03-04", "2024-03-04"),
        ("2024/03/04", "2024-03-04", "2024-03-04"),
        ("20240304", "2024-03-04", "2024-03-04"),
        ("4 March 2024", "2024-03-04", "2024-03-04"),
        ("4-Mar-24", "2024-03-04", "2024-03-04"),
        ("Mar 4, 2024", "2024-03-04", "2024-03-04"),
        ("Monday, March 4th, 2024", "2024-03-04", "2024-03-04"),
        ("3/4/2024 14:05:33", "2024-04-03", "2024-03-04"),
        ("03.04.24", "2024-04-03", "2024-03-04"),
        ("25/3/2024", "2024-03-25", None),
        ("3/25/2024", None, "2024-03-25"),
        ("4/4/24", "2024-04-04", "2024-04-04"),
        ("Mon 3/4/2024", "2024-03-04", "2024-03-04"),
        ("29/2/2023", None, None),
        ("2024-13-01", None, None),
        ("1.5", None, None),
        ("1.25", None, None),
        ("fed", None, None),
    ],
)
def test_dates_of_spreadsheets(words: str, day_first: str | None, month_first: str | None) -> None:
    """Each form of a date has one meaning, or one for each order of its digits."""
    reading = read_date(words)
    for order, expected in (("day-first", day_first), ("month-first", month_first)):
        day = None if reading is None else reading.meaning(order)
        assert (None if day is None else day.isoformat()) == expected


def test_an_order_is_believed_only_when_nothing_speaks_against_it() -> None:
    """Two orders in one column are a question, whatever the majority."""
    both = [("row 1", "25/3/2024"), ("row 2", "3/25/2024"), ("row 3", "25/4/2024")]
    assert "two orders" in date_order(both, None, None, has_real_dates=False).question
    assert date_order(both[:1], None, None, has_real_dates=False).order == "day-first"


@pytest.mark.parametrize(
    ("cell", "sign", "comma", "written"),
    [
        ("2.50", "point", False, "2.50"),
        ("2,50", "comma", False, "2.50"),
        ("1.250,5", "comma", False, "1250.5"),
        ("1,250.5", "point", True, "1250,5"),
        ("about 1 1/2", "point", False, "about 1 1/2"),
        (0.1 + 0.2, "point", False, "0.3"),
        (12.0, "point", False, "12"),
        (1e-7, "point", False, "0.0000001"),
        ("0,250", "point", False, "0,250"),
        ("0.250 kg", "comma", True, "0.250 kg"),
    ],
)
def test_numbers_keep_their_digits(cell: str | float, sign: str, comma: bool, written: str) -> None:  # noqa: FBT001 - a row of the table
    """A number is written as the journal writes numbers, to the digit that the sheet had."""
    assert amount_words(cell, sign, comma=comma) == written


def test_decimals_in_two_ways_are_a_question() -> None:
    """A sheet with 1,5 and 1.5 is asked about."""
    assert decimal_sign([("row 1", "1,5"), ("row 2", "1.5")], None).question
    assert decimal_sign([("row 1", "1,5"), ("row 2", 1.5)], None).sign == "comma"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("givers:\n  Ann: {}\n", "givers:\n  Mrs Bell: {}\n  Ann: {}\n"),
        (
            "givers:   # them\n    # first\n    Ann: {}\n",
            "givers:   # them\n    Mrs Bell: {}\n    # first\n    Ann: {}\n",
        ),
        ("bins:\n  A: {}\n", "bins:\n  A: {}\n\ngivers:\n  Mrs Bell: {}\n"),
        ("bins:\r\n  A: {}\r\n", "bins:\r\n  A: {}\r\n\r\ngivers:\r\n  Mrs Bell: {}\r\n"),
        ("bins: {}", "bins: {}\n\ngivers:\n  Mrs Bell: {}\n"),
        ("givers:", "givers:\n  Mrs Bell: {}\n"),
    ],
)
def test_names_are_put_into_household_yaml_without_touching_it(before: str, after: str) -> None:
    """A new name stands first in its section, comments and line ends stay."""
    assert add_names(before, {"giver": ["Mrs Bell"]}) == after


def test_a_section_in_braces_is_left_to_the_keeper() -> None:
    """Where a section is written in braces the keeper is told what to add."""
    with pytest.raises(Refusal) as refused:
        add_names("givers: {Ann: {}}\n", {"giver": ["Mrs Bell"]})
    assert "Mrs Bell: {}" in refused.value.advice


def test_columns_are_counted_as_spreadsheets_count_them() -> None:
    """Column 1 is A, 27 is AA, and back."""
    assert [column_letters(number) for number in (1, 26, 27, 703)] == ["A", "Z", "AA", "AAA"]
    assert all(column_number(column_letters(number)) == number for number in range(1, 2000))


def test_names_of_files_and_lines() -> None:
    """The file that takes a source is named after it, and a line is known by its words alone."""
    assert file_name("My log (old).xlsx") == "brought-in/My-log-old.md"
    assert file_name("2024-03-04 log.csv") == "brought-in/from-2024-03-04-log.md"
    assert key_of("fed 1 lb peels to A (sweet; row 7)") == key_of("Fed 1 lb  peels to A (sweet; 2024 row 9)")
    assert key_of("fed 1 lb peels to A (row 7)") != key_of("fed 2 lb peels to A (row 7)")
