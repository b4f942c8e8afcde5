"""`bring-in`: an old spreadsheet becomes entries, with its totals, and once only."""

from __future__ import annotations

import datetime as dt
import errno
from collections.abc import Sequence
from pathlib import Path

import openpyxl
import pytest

from journal.commands.bring_in.outcome import Journal, from_sheet
from journal.commands.bring_in.questions import Told
from tests.bringing import DATA, HOUSEHOLD, POUND, bring_in, csv_file, kilograms, lines_of, new_journal
from tests.disks import DeadDisk, FailingDisk, Killed


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """A journal with one bin and no entry."""
    return new_journal(tmp_path)


def test_a_long_sheet_comes_in_with_its_totals(journal: Path) -> None:
    """Every row becomes a line of its day, with its row's number, and the totals are the sheet's."""
    words = ("--blank-dates", "above", "--introduce", "--write")
    done = bring_in(journal, DATA / "long-log.csv", *words)
    assert done.exit_code == 0, done.stderr
    assert lines_of(journal) == [
        ("2024-03-04", "took in 2.50 lb coffee grounds from Mrs Bell (row 4)"),
        ("2024-03-04", "took in 3 lb newspaper from Mrs Bell (Sunday paper; row 5)"),
        ("2024-03-25", "fed 1.25 lb banana peels to Cupboard (sweet, mostly; row 3)"),
        ("2024-04-01", "fed 1/2 lb apple cores to Cupboard (row 6)"),
        ("2024-04-01", "fed 1/2 lb apple cores to Cupboard (row 7)"),
        ("2024-04-03", "harvested 4.25 lb castings from Cupboard (row 9)"),
    ]
    sums = {verb: kilograms(journal, verb) / POUND for verb in ("took in", "fed", "harvested")}
    assert sums == pytest.approx({"took in": 5.5, "fed": 2.25, "harvested": 4.25}, rel=1e-12)
    text = (journal / "entries/brought-in/long-log.md").read_text()
    assert "## 2024-04-02\n\nQuiet day [rain] (row 8)\n" in text
    assert "rows of totals left out: row 10" in done.stdout


def test_nothing_is_written_unless_told(journal: Path) -> None:
    """Without --write the first entries are shown, and the journal stays as it was."""
    done = bring_in(journal, DATA / "long-log.csv", "--blank-dates", "above", "--introduce")
    assert done.exit_code == 0
    assert "## 2024-03-04" in done.stdout
    assert "add --write" in done.stdout
    assert [file.name for file in (journal / "entries").iterdir()] == ["household.yaml"]
    assert (journal / "entries/household.yaml").read_text() == HOUSEHOLD


def test_every_column_says_why_it_is_read_so(journal: Path) -> None:
    """The keeper sees what each column was taken for, and the reason."""
    done = bring_in(journal, DATA / "long-log.csv")
    assert "Weight (lbs)  amount in lb  its head says so" in done.stdout
    assert "its cells are dates" in done.stdout
    assert "month-first: 3/25/2024 in row 3 can be nothing else" in done.stdout


def test_the_same_rows_are_brought_in_once(journal: Path) -> None:
    """Bringing a file in again adds nothing; rows added to it since come in alone, two alike as two."""
    words = ("--blank-dates", "above", "--introduce", "--write")
    sheet = csv_file(journal, (DATA / "long-log.csv").read_bytes())
    bring_in(journal, sheet, *words)
    once = lines_of(journal)
    again = bring_in(journal, sheet, *words)
    assert again.exit_code == 0
    assert "7 in the journal already" in again.stdout
    assert lines_of(journal) == once
    grown = sheet.read_text().replace(
        "Total,,12.0,,,\n", "4/1/2024,apple cores,1/2,,Cupboard,\n4/9/2024,castings,1,,Cupboard,\n"
    )
    bring_in(journal, csv_file(journal, grown), *words)
    assert len(lines_of(journal)) == len(once) + 2


def test_rows_that_move_are_the_same_rows(journal: Path) -> None:
    """A row put in at the top of the sheet renumbers all others and brings in nothing but itself."""
    head = "Date,Item,Weight (lb),Bin\n"
    rows = "2024-01-05,apple cores,1,Cupboard\n2024-01-06,banana peels,2,Cupboard\n"
    bring_in(journal, csv_file(journal, head + rows), "--write")
    bring_in(journal, csv_file(journal, f"{head}2024-01-04,tea leaves,3,Cupboard\n{rows}"), "--write")
    assert [text.split(" (")[0] for _, text in sorted(lines_of(journal))] == [
        "fed 3 lb tea leaves to Cupboard",
        "fed 1 lb apple cores to Cupboard",
        "fed 2 lb banana peels to Cupboard",
    ]


def test_a_line_that_the_keeper_mended_stays_mended(journal: Path) -> None:
    """A row whose line was changed in the journal is named, and not brought in beside it."""
    sheet = csv_file(journal, "Date,Item,Weight (lb),Bin\n2024-01-05,apple cores,10,Cupboard\n")
    bring_in(journal, sheet, "--write")
    path = journal / "entries/brought-in/log.md"
    path.write_text(path.read_text().replace("10 lb", "1.0 lb"))
    done = bring_in(journal, sheet, "--write")
    assert "row 2: brought before" in done.stderr
    assert [text for _, text in lines_of(journal)] == ["fed 1.0 lb apple cores to Cupboard (row 2)"]


def test_a_wide_sheet_from_western_windows(journal: Path) -> None:
    """Columns of materials, semicolons, decimal commas, day-first dates, an old encoding: all are read."""
    done = bring_in(journal, DATA / "western-windows.csv", "--fill", "bin=Cupboard", "--write")
    assert done.exit_code == 0, done.stderr
    assert "Windows-1252, parted by semicolons" in done.stdout
    assert lines_of(journal) == [
        ("2024-02-03", "bedded Cupboard with 1.5 kg paper (café; row 2)"),
        ("2024-02-13", "bedded Cupboard with 0.25 kg paper (row 3)"),
        ("2024-02-13", "fed 2.75 kg coffee grounds to Cupboard (row 3)"),
        ("2024-02-28", "harvested 3.10 kg castings from Cupboard (sieved; row 4)"),
    ]


QUESTIONS = {
    "dates that begin with either": (
        "Date,Item,Weight (lb),Bin\n3/4/2024,apple cores,1,Cupboard\n",
        "does 3/4/2024 in row 2 begin with the day or the month?",
        ("--dates", "day-first"),
        [("2024-04-03", "fed 1 lb apple cores to Cupboard (row 2)")],
    ),
    "dates without a year": (
        "Date,Item,Weight (lb),Bin\nMarch 4,apple cores,1,Cupboard\n",
        '"March 4" in row 2 has no year',
        ("--year", "2023"),
        [("2023-03-04", "fed 1 lb apple cores to Cupboard (row 2)")],
    ),
    "amounts without a unit": (
        "Date,Item,Weight,Bin\n2024-03-04,apple cores,1,Cupboard\n",
        'in which unit are the amounts of column C "Weight"?',
        ("--column", "weight=kg"),
        [("2024-03-04", "fed 1 kg apple cores to Cupboard (row 2)")],
    ),
    "numbers of nobody knows what": (
        "Date,Zorb,Bin\n2024-03-04,1,Cupboard\n",
        'column B "Zorb" holds numbers: of what?',
        ("--column", "Zorb=sand, lb, took in"),
        [("2024-03-04", "took in 1 lb sand (row 2)")],
    ),
    "a thousand or one and a bit": (
        'Date,Item,Weight (lb),Bin\n2024-03-04,apple cores,"1,250",Cupboard\n',
        "is 1,250 in row 2 more than a thousand",
        ("--decimal", "comma"),
        [("2024-03-04", "fed 1.250 lb apple cores to Cupboard (row 2)")],
    ),
    "no date column": (
        "Item,Weight (lb),Bin,Noted\napple cores,1,Cupboard,today\n",
        "which column holds the dates?",
        (),
        None,
    ),
    "a name that nobody knows": (
        "Date,Item,Weight (lb),Bin\n2024-03-04,aple cores,1,Cupboard\n2024-03-05,apple cores,1,Cupboard\n",
        '"aple cores" is no material that I know; apple cores? (1 row)',
        ("--call", "aple cores=apple cores"),
        [
            ("2024-03-04", "fed 1 lb apple cores to Cupboard (row 2)"),
            ("2024-03-05", "fed 1 lb apple cores to Cupboard (row 3)"),
        ],
    ),
    "a harvest from no bin": (
        "Date,Castings (lb)\n2024-03-04,5\n",
        "which bin?",
        ("--fill", "bin=Cupboard"),
        [("2024-03-04", "harvested 5 lb castings from Cupboard (row 2)")],
    ),
    "two columns of amounts": (
        "Date,Item,Weight (lb),Volume (gal),Bin\n2024-03-04,apple cores,1,2,Cupboard\n",
        "both say how much",
        ("--column", "Volume (gal)=ignore"),
        [("2024-03-04", "fed 1 lb apple cores to Cupboard (row 2)")],
    ),
    "a temperature on no scale": (
        "Date,Bin,Temp\n2024-03-04,Cupboard,20\n",
        "in F or C?",
        ("--column", "Temp=temperature, C"),
        [("2024-03-04", "checked Cupboard: 20 C (row 2)")],
    ),
}


@pytest.mark.parametrize(("text", "asked", "answer", "expected"), QUESTIONS.values(), ids=QUESTIONS.keys())
def test_what_can_be_read_in_two_ways_is_asked(
    journal: Path, text: str, asked: str, answer: Sequence[str], expected: list[tuple[str, str]] | None
) -> None:
    """What a sheet leaves open stops with a question that names the option; with the answer it comes in."""
    sheet = csv_file(journal, text)
    done = bring_in(journal, sheet, "--write")
    assert done.exit_code == 1
    assert asked in done.stderr
    assert lines_of(journal) == []
    if expected is None:
        return
    assert answer[0] in done.stderr
    answered = bring_in(journal, sheet, "--write", *answer)
    assert answered.exit_code == 0, answered.stderr
    assert lines_of(journal) == expected


def test_dates_that_a_spreadsheet_may_have_turned_round_are_asked(journal: Path) -> None:
    """A column of real dates and of day-first texts was opened under the wrong order: nothing is believed."""
    sheet = journal / "log.xlsx"
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.append(["Date", "Item", "Weight (lb)", "Bin"])
    page.append([dt.date(2024, 4, 3), "apple cores", 1, "Cupboard"])
    page.append(["25/03/2024", "apple cores", 1, "Cupboard"])
    book.save(sheet)
    done = bring_in(journal, sheet)
    assert done.exit_code == 1
    assert "perhaps in the wrong order" in done.stderr


def test_a_workbook_with_a_sheet_a_year(journal: Path) -> None:
    """Sheets of an XLSX file are chosen by name or all taken, with verbs as people say them, and readings."""
    sheet = journal / "log.xlsx"
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = "2023"
    heads = ["When", "What was done", "Stuff", "Amount", "Unit", "Temp F", "Moisture"]
    page.append(heads)
    morning = dt.datetime(2023, 5, 1, 8, 30)  # noqa: DTZ001 - a spreadsheet's own, of no zone
    page.append([morning, "feeding", "coffee grounds", 2.3, "lb"])
    page.append([dt.date(2023, 5, 3), "check", None, None, None, 68.5, 0.8])
    page.append([dt.date(2023, 5, 4), "harvest", None, "4 1/2", "lb"])
    later = book.create_sheet("2024")
    later.append(heads)
    later.append([dt.date(2024, 1, 3), "feeding", "peels", 1.0, "kg"])
    book.save(sheet)
    asked = bring_in(journal, sheet)
    assert asked.exit_code == 1
    assert "which sheet?" in asked.stderr
    for chosen in ("2023", "all"):
        done = bring_in(journal, sheet, "--sheet", chosen, "--fill", "bin=Cupboard", "--write")
        assert done.exit_code == 0, done.stderr
    assert lines_of(journal) == [
        ("2023-05-01", "fed 2.3 lb coffee grounds to Cupboard (2023 row 2)"),
        ("2023-05-03", "checked Cupboard: 68.5 F, moisture 80% (2023 row 3)"),
        ("2023-05-04", "harvested 4 1/2 lb castings from Cupboard (2023 row 4)"),
        ("2024-01-03", "fed 1 kg peels to Cupboard (2024 row 2)"),
    ]


def test_pounds_and_ounces_in_two_columns_are_one_amount(journal: Path) -> None:
    """A column of pounds beside one of ounces is a compound amount; one that only converts it is left out."""
    text = "Date,Item,lb,oz,Bin\n2024-03-04,apple cores,2,3,Cupboard\n2024-03-05,apple cores,,12,Cupboard\n"
    bring_in(journal, csv_file(journal, text), "--write")
    assert [words for _, words in lines_of(journal)] == [
        "fed 2 lb 3 oz apple cores to Cupboard (row 2)",
        "fed 12 oz apple cores to Cupboard (row 3)",
    ]
    converted = "Date,Item,Weight (lb),Weight (kg),Bin\n2024-04-04,apple cores,2,0.91,Cupboard\n"
    done = bring_in(journal, csv_file(journal, converted, "other.csv"))
    assert done.exit_code == 0, done.stderr
    assert 'it is "Weight (lb)" in another unit' in done.stdout


def test_rows_that_cannot_be_read_are_listed_and_hold_the_rest_back(journal: Path) -> None:
    """One bad row keeps the sheet out, unless the keeper says to go on without it."""
    text = (
        "Date,Item,Weight (lb),Bin\n2024-03-04,apple cores,1,Cupboard\n2024-03-05,apple cores,soon,Cupboard\n"
    )
    sheet = csv_file(journal, text + "someday,apple cores,1,Cupboard\n" + text.split("\n", 1)[1] * 4)
    done = bring_in(journal, sheet, "--write")
    assert done.exit_code == 1
    assert "row 4" in done.stderr
    assert '"someday" is no date' in done.stderr
    assert lines_of(journal) == []
    assert bring_in(journal, sheet, "--write", "--leave-out-unreadable").exit_code == 0
    assert len(lines_of(journal)) == 5


@pytest.mark.parametrize("failure", [OSError(errno.ENOSPC, "full"), Killed()], ids=["disk full", "kill"])
@pytest.mark.parametrize("disk", [FailingDisk, DeadDisk])
def test_a_file_comes_in_whole_or_not_at_all(
    journal: Path, failure: BaseException, disk: type[FailingDisk]
) -> None:
    """Wherever writing fails, the journal can be read, and holds all of the lines or none."""
    told = Told(blank_dates="above")
    for step in range(1, 40):
        for left in (journal / "entries").glob("brought-in/*"):
            left.unlink()
        (journal / "entries/household.yaml").write_text(HOUSEHOLD)
        opened = Journal.read(journal)
        outcome = from_sheet(opened, DATA / "long-log.csv", told, introduce=True)
        try:
            list(outcome.write(opened, disk(step, failure)))
        except (OSError, Killed):
            assert len(lines_of(journal)) in (0, 6), f"after step {step}"
        else:
            break
    assert step > 5
    assert len(lines_of(journal)) == 6


def test_the_sheets_own_totals_are_held_against_what_is_read(journal: Path) -> None:
    """A total that the amounts do not add up to is pointed out, in a row and in a column of totals."""
    text = (
        "Date,Paper (lb),Coffee grounds (lb),Total (lb)\n2024-03-04,1,2,3\n2024-03-05,1.5,,2.5\n"
        "Sum for March,2.5,3,5.5\n"
    )
    done = bring_in(journal, csv_file(journal, text))
    assert done.exit_code == 0, done.stderr
    assert 'row 4 says 3 for "Coffee grounds (lb)", and the rows above come to 2' in done.stderr
    assert 'row 3 says 2.5 for "Total (lb)", and its amounts come to 1.5' in done.stderr
    assert "Paper" not in done.stderr


def test_a_sheet_as_people_keep_them(journal: Path) -> None:
    """Titles, times, brackets behind a material, months as headings and a column of costs are no trouble."""
    text = (
        "Keeper;R. Smith\nDate;Time;What;How much (kg);To;Cost;Notes\n"
        "14.03.2024;08:30;coffee grounds (wet);1,25;Cupboard;3,50;from work\n"
        "April 2024;;;;;;\n02.04.2024;10:00;castings;4,5;Cupboard;;\n"
    )
    done = bring_in(journal, csv_file(journal, text), "--write")
    assert done.exit_code == 0, done.stderr
    assert lines_of(journal) == [
        ("2024-03-14", "fed 1.25 kg coffee grounds to Cupboard (wet; Cost 3,50; from work; row 3)"),
        ("2024-04-02", "harvested 4.5 kg castings from Cupboard (row 5)"),
    ]


def test_measures_of_the_household_and_things_are_counted(journal: Path) -> None:
    """Bags, buckets and things counted come in as such, each unit in its own cell."""
    household = journal / "entries" / "household.yaml"
    household.write_text(f"{HOUSEHOLD}measures:\n  bag of shredded paper: {{weighed: [2.4 lb, 2.9 lb]}}\n")
    text = (
        "date\taction\tmaterial\tqty\tunit\tbin\n2024-03-03\ttook in\tshredded paper\t2\tbags\t\n"
        "2024-03-04\tfeeding\teggshells\t5\teach\tCupboard\n2024-03-05\tfed\tpeels\t2 lb 3 oz\t\tCupboard\n"
    )
    done = bring_in(journal, csv_file(journal, text), "--write")
    assert done.exit_code == 0, done.stderr
    assert [words for _, words in lines_of(journal)] == [
        "took in 2 bags of shredded paper (row 2)",
        "fed 5 eggshells to Cupboard (row 3)",
        "fed 2 lb 3 oz peels to Cupboard (row 4)",
    ]
