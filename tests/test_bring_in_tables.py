"""`bring-in`: sheets with several tables and heads, each read by its own, and what is offered leads on."""

from __future__ import annotations

import datetime as dt
import shlex
from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations
from pathlib import Path

import openpyxl
import pytest

from tests.bringing import HOUSEHOLD, POUND, bring_in, csv_file, kilograms, lines_of, new_journal

Sheets = Mapping[str, Iterable[Sequence[object]]]


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """A journal with one bin and no entry."""
    return new_journal(tmp_path)


def workbook(journal: Path, sheets: Sheets) -> Path:
    """Put a workbook beside the journal: a sheet's name to its rows."""
    book = openpyxl.Workbook()
    for name, rows in sheets.items():
        page = book.create_sheet(name)
        for row in rows:
            page.append(list(row))
    del book["Sheet"]
    path = journal / "log.xlsx"
    book.save(path)
    return path


def words_of(journal: Path) -> list[str]:
    """The words of every record, in the order of days."""
    return [words for _, words in lines_of(journal)]


GREENS_AND_CARDBOARD: Sheets = {
    "Greens": [
        ("Date", "Bin", "Lettuce (lb)"),
        *((dt.date(2025, 3, day), "Cupboard", day) for day in (1, 2, 3)),
    ],
    "Card": [("Date", "Bin", "Newspaper (oz)"), (dt.date(2025, 3, 2), "Cupboard", 8)],
}


def test_each_sheet_is_read_by_its_own_heads(journal: Path) -> None:
    """With --sheet all no amount is taken for what another sheet's head names."""
    done = bring_in(journal, workbook(journal, GREENS_AND_CARDBOARD), "--sheet", "all", "--write")
    assert done.exit_code == 0, done.stderr
    assert words_of(journal) == [
        "fed 1 lb lettuce to Cupboard (Greens row 2)",
        "fed 2 lb lettuce to Cupboard (Greens row 3)",
        "bedded Cupboard with 8 oz newspaper (Card row 2)",
        "fed 3 lb lettuce to Cupboard (Greens row 4)",
    ]
    assert "Card    C       Newspaper (oz)  amount in oz of newspaper" in done.stdout


def test_an_answer_holds_for_the_sheets_that_have_the_column(journal: Path) -> None:
    """A head is answered once for all sheets that have it; letters that each sheet has are refused."""
    file = workbook(
        journal,
        {
            "A": [("Date", "Bin", "Lettuce"), (dt.date(2025, 3, 1), "Cupboard", 1)],
            "B": [("Date", "Bin", "Newspaper"), (dt.date(2025, 3, 1), "Cupboard", 2)],
        },
    )
    asked = bring_in(journal, file, "--sheet", "all")
    assert 'A: in which unit are the amounts of column C "Lettuce"?' in asked.stderr
    assert 'B: in which unit are the amounts of column C "Newspaper"?' in asked.stderr
    refused = bring_in(journal, file, "--sheet", "all", "--column", "C=lb")
    assert refused.exit_code == 2
    assert "with --sheet" in refused.stderr
    answers = ("--column", "Lettuce=lb", "--column", "Newspaper=kg", "--write")
    assert bring_in(journal, file, "--sheet", "all", *answers).exit_code == 0
    assert words_of(journal) == [
        "fed 1 lb lettuce to Cupboard (A row 2)",
        "bedded Cupboard with 2 kg newspaper (B row 2)",
    ]


def test_a_sheet_without_dates_can_be_left_out(journal: Path) -> None:
    """A summary beside the log is asked about, with the options that take the other sheets alone."""
    file = workbook(journal, {**GREENS_AND_CARDBOARD, "Sums": [("What", "lb"), ("all", 6.5)]})
    asked = bring_in(journal, file, "--sheet", "all")
    assert asked.exit_code == 1
    assert '--sheet "Greens" --sheet "Card"' in asked.stderr
    assert bring_in(journal, file, "--sheet", "Greens", "--sheet", "Card").exit_code == 0


def test_heads_further_down_begin_a_table_of_their_own(journal: Path) -> None:
    """A second table in a sheet is read by its heads; heads that are only said again change nothing."""
    text = (
        "March 2025,,,\nDate,Bin,Newspaper (lb),Lettuce (lb)\n2025-03-01,Cupboard,1,2\n"
        "Date,Bin,Newspaper (lb),Lettuce (lb)\n2025-03-02,Cupboard,,3\n"
        "April 2025,,,\nDate,Bin,Lettuce (lb),Castings (lb)\n2025-04-01,Cupboard,4,\n2025-04-02,Cupboard,,5\n"
    )
    done = bring_in(journal, csv_file(journal, text), "--write")
    assert done.exit_code == 0, done.stderr
    assert words_of(journal) == [
        "bedded Cupboard with 1 lb newspaper (row 3)",
        "fed 2 lb lettuce to Cupboard (row 3)",
        "fed 3 lb lettuce to Cupboard (row 5)",
        "fed 4 lb lettuce to Cupboard (row 8)",
        "harvested 5 lb castings from Cupboard (row 9)",
    ]


TWO_ROWS_OF_HEADS: dict[str, tuple[list[Sequence[object]], list[str]]] = {
    "groups above": (
        [
            ("Our worms",),
            ("", "Lettuce", None, "Newspaper", None, ""),
            ("Date", "lb", "oz", "lb", "oz", "Notes"),
            (dt.date(2025, 3, 1), 1, 8, None, 4, "wet"),
        ],
        [
            "fed 1 lb 8 oz lettuce to Cupboard (wet; row 4)",
            "bedded Cupboard with 4 oz newspaper (row 4)",
        ],
    ),
    "units below": (
        [
            ("Date", "Lettuce", "Castings", "Temp", "Notes"),
            ("", "(oz)", "(kg)", "(C)", ""),
            (dt.date(2025, 3, 1), 6, 2, 21, "fine"),
        ],
        [
            "fed 6 oz lettuce to Cupboard (fine; row 3)",
            "harvested 2 kg castings from Cupboard (row 3)",
            "checked Cupboard: 21 C (row 3)",
        ],
    ),
    "merged down": (
        [
            ("Date", "Cupboard", None, "Notes"),
            ("", "Lettuce (lb)", "Newspaper (lb)", ""),
            (dt.date(2025, 3, 1), 2, 3, "so so"),
        ],
        [
            "fed 2 lb lettuce to Cupboard (so so; row 3)",
            "bedded Cupboard with 3 lb newspaper (row 3)",
        ],
    ),
}


@pytest.mark.parametrize(("rows", "expected"), TWO_ROWS_OF_HEADS.values(), ids=TWO_ROWS_OF_HEADS.keys())
def test_heads_in_two_rows_are_read_together(
    journal: Path, rows: list[Sequence[object]], expected: list[str]
) -> None:
    """Groups above the heads, units below them, and cells merged over both rows belong to each column."""
    done = bring_in(journal, workbook(journal, {"2025": rows}), "--fill", "bin=Cupboard", "--write")
    assert done.exit_code == 0, done.stderr
    assert words_of(journal) == expected


@pytest.mark.parametrize("title", ["Worm log", "2025 worm log", "Lettuce log"])
def test_a_title_is_no_head(journal: Path, title: str) -> None:
    """A title above the heads, whatever it begins with or names, is neither data nor a group."""
    text = f"{title},,\nDate,Bin,Newspaper (lb)\n2025-03-01,Cupboard,1\n"
    done = bring_in(journal, csv_file(journal, text), "--write")
    assert done.exit_code == 0, done.stderr
    assert words_of(journal) == ["bedded Cupboard with 1 lb newspaper (row 3)"]


def test_dates_side_by_side_are_refused_with_the_way_out(journal: Path) -> None:
    """A sheet with a column for every date is not asked about cell by cell."""
    text = "Item,2025-03-01,2025-03-08,2025-03-15\nlettuce (lb),1,2,3\n"
    done = bring_in(journal, csv_file(journal, text))
    assert done.exit_code == 1
    assert "dates side by side" in done.stderr
    assert "transposed" in done.stderr


WIDE = "Date,Bin,Lettuce,Newspaper,Eggshells\n2025-03-01,Cupboard,1.5,2,6\n2025-03-02,Cupboard,,3,\n"
ANSWERS = {"Lettuce": "lb", "Newspaper": "lb", "Eggshells": "count"}


@pytest.mark.parametrize("answered", [heads for size in range(4) for heads in combinations(ANSWERS, size)])
def test_what_a_wide_sheet_offers_works_in_any_combination(journal: Path, answered: Sequence[str]) -> None:
    """A column of a material that is told its unit keeps the material; what is open is asked for alone."""
    file = csv_file(journal, WIDE)
    told = [word for head in answered for word in ("--column", f"{head}={ANSWERS[head]}")]
    done = bring_in(journal, file, "--write", *told)
    for head in ANSWERS:
        assert (f'--column "{head}=lb"' in done.stderr) == (head not in answered)
    if len(answered) < len(ANSWERS):
        assert done.exit_code == 1
        return
    assert words_of(journal) == [
        "fed 1.5 lb lettuce to Cupboard (row 2)",
        "bedded Cupboard with 2 lb newspaper (row 2)",
        "fed 6 eggshells to Cupboard (row 2)",
        "bedded Cupboard with 3 lb newspaper (row 3)",
    ]


def test_one_unit_can_be_said_for_all_columns(journal: Path) -> None:
    """Where several columns lack their unit one option says it for those that no other names."""
    file = csv_file(journal, WIDE)
    assert '--fill "unit=lb"' in bring_in(journal, file).stderr
    done = bring_in(journal, file, "--fill", "unit=lb", "--column", "Eggshells=count", "--write")
    assert done.exit_code == 0, done.stderr
    assert words_of(journal)[:3] == [
        "fed 1.5 lb lettuce to Cupboard (row 2)",
        "bedded Cupboard with 2 lb newspaper (row 2)",
        "fed 6 eggshells to Cupboard (row 2)",
    ]


def test_two_answers_for_one_column_are_one_answer(journal: Path) -> None:
    """What one question asks after another of the same column is added to what was said before."""
    file = csv_file(journal, "Date,Bin,Zorb\n2025-03-01,Cupboard,2\n")
    told = ("--column", "Zorb=lettuce")
    assert '--column "Zorb=lb"' in bring_in(journal, file, *told).stderr
    assert bring_in(journal, file, *told, "--column", "Zorb=lb", "--write").exit_code == 0
    assert words_of(journal) == ["fed 2 lb lettuce to Cupboard (row 2)"]


def test_columns_with_one_head_are_told_apart_by_letters(journal: Path) -> None:
    """Two columns with the same head are offered by their letters, and their head alone is refused."""
    text = "Date,Item,Weight,Weight,Bin\n2025-03-01,lettuce,1,2,Cupboard\n"
    file = csv_file(journal, text)
    asked = bring_in(journal, file)
    assert '--column "C=lb"' in asked.stderr
    assert '--column "D=lb"' in asked.stderr
    assert "C, D" in bring_in(journal, file, "--column", "Weight=lb").stderr
    told = ("--column", "C=lb", "--column", "D=ignore", "--write")
    assert bring_in(journal, file, *told).exit_code == 0
    assert words_of(journal) == ["fed 1 lb lettuce to Cupboard (row 2)"]


def test_what_cannot_be_read_of_a_row_leaves_the_rest_of_it(journal: Path) -> None:
    """A row with one cell that cannot be read loses that cell alone, and it is named."""
    text = (
        "Date,Bin,Lettuce (lb),Newspaper (lb),Temp (F)\n2025-03-01,Cupboard,plenty,2,66\n"
        "2025-03-02,Cupboard,1,2,67\n2025-03-03,Cupboard,1,,\n"
    )
    file = csv_file(journal, text)
    done = bring_in(journal, file, "--write")
    assert done.exit_code == 1
    assert "row 2" in done.stderr
    assert bring_in(journal, file, "--leave-out-unreadable", "--write").exit_code == 0
    assert words_of(journal)[:2] == [
        "bedded Cupboard with 2 lb newspaper (row 2)",
        "checked Cupboard: 66 F (row 2)",
    ]
    assert len(words_of(journal)) == 5 + 1
    mended = csv_file(journal, text.replace("plenty", "4"))
    assert bring_in(journal, mended, "--write").exit_code == 0
    assert len(words_of(journal)) == 5 + 2


@pytest.mark.parametrize("head", ["Moist", "Moistness", "Moisture %", "Damp"])
def test_moisture_is_read_by_its_everyday_heads(journal: Path, head: str) -> None:
    """Numbers below a head that speaks of damp are moisture."""
    file = csv_file(journal, f"Date,Bin,{head}\n2025-03-01,Cupboard,70\n")
    assert bring_in(journal, file, "--write").exit_code == 0
    assert words_of(journal) == ["checked Cupboard: moisture 70% (row 2)"]


def test_damp_paper_is_paper(journal: Path) -> None:
    """A material that is said to be damp is an amount, not a reading; words below Moisture are a remark."""
    text = "Date,Bin,Damp newspaper (lb),Moisture\n2025-03-01,Cupboard,3,soggy\n"
    assert bring_in(journal, csv_file(journal, text), "--write").exit_code == 0
    assert words_of(journal) == ["bedded Cupboard with 3 lb newspaper (soggy; row 2)"]


def test_numbers_of_what_can_be_readings(journal: Path) -> None:
    """A column of numbers with a strange head is offered as a reading too."""
    file = csv_file(journal, "Date,Bin,Gauge\n2025-03-01,Cupboard,70\n")
    assert "=moisture" in bring_in(journal, file).stderr
    assert bring_in(journal, file, "--column", "Gauge=moisture", "--write").exit_code == 0
    assert words_of(journal) == ["checked Cupboard: moisture 70% (row 2)"]


def test_a_household_that_weighs_in_kilograms_sees_them_first(journal: Path) -> None:
    """Totals and offered units are the household's own."""
    household = HOUSEHOLD.replace("name: Test House", "name: Test House, units: metric")
    (journal / "entries" / "household.yaml").write_text(household)
    file = csv_file(journal, "Date,Bin,Lettuce,Temp\n2025-03-01,Cupboard,2,21\n")
    asked = bring_in(journal, file)
    assert '--column "Lettuce=kg"' in asked.stderr
    assert '--column "Temp=temperature, C"' in asked.stderr
    done = bring_in(journal, file, "--column", "Lettuce=kg", "--column", "Temp=temperature, C")
    assert "fed, 1 line: 2.00 kg (4.41 lb)" in done.stdout


def test_the_offered_scale_is_one_at_which_worms_live(journal: Path) -> None:
    """A temperature of 20 is offered as C and one of 68 as F, whatever the household weighs in."""
    for number, scale in ((20, "C"), (68, "F")):
        file = csv_file(journal, f"Date,Bin,Temp\n2025-03-01,Cupboard,{number}\n")
        assert f"temperature, {scale}" in bring_in(journal, file).stderr


def test_readings_that_name_no_bin_can_be_given_one(journal: Path) -> None:
    """Readings without a bin are asked about, and the answer that is printed brings them in."""
    file = csv_file(journal, "Date,Temp F\n2025-03-01,66\n")
    asked = bring_in(journal, file)
    offered = next(line for line in asked.stderr.splitlines() if "--fill" in line)
    assert bring_in(journal, file, *shlex.split(offered), "--write").exit_code == 0
    assert words_of(journal) == ["checked Cupboard: 66 F (row 2)"]


def test_a_planting_that_the_journal_lacks_can_be_introduced(journal: Path) -> None:
    """Where no name of a kind is known the offered option adds one."""
    file = csv_file(journal, "Date,Done,Castings (lb)\n2025-03-01,spread,2\n")
    offered = next(line for line in bring_in(journal, file).stderr.splitlines() if "planting=" in line)
    words = shlex.split(offered.partition(", with")[0])
    assert bring_in(journal, file, *words, "--write").exit_code == 0
    assert words_of(journal) == ["spread 2 lb castings on Apple Tree (row 2)"]


def test_heads_can_say_what_was_done(journal: Path) -> None:
    """Columns of what was fed and what was harvested are two amounts, and neither is ignored."""
    text = "Date,Bin,Item,Fed (lb),Harvested (lb)\n2025-03-01,Cupboard,lettuce,2,\n2025-03-09,Cupboard,,,3\n"
    done = bring_in(journal, csv_file(journal, text), "--write")
    assert done.exit_code == 0, done.stderr
    assert words_of(journal) == [
        "fed 2 lb lettuce to Cupboard (row 2)",
        "harvested 3 lb castings from Cupboard (row 3)",
    ]


def test_a_head_that_says_what_was_done_leaves_the_material_to_the_row(journal: Path) -> None:
    """What was rejected is what its row names, and trash only where no column names anything."""
    for material, heads, cells in (
        ("glossy paper", "Item,Rejected (lb)", "glossy paper,2"),
        ("trash", "Rejected (lb)", 2),
    ):
        file = csv_file(journal, f"Date,{heads}\n2025-03-01,{cells}\n")
        assert f"threw out 2 lb {material} (row 2)" in bring_in(journal, file).stdout


def test_one_thing_in_two_measures_is_counted_once(journal: Path) -> None:
    """Two columns that weigh and measure the same are asked about, not added up."""
    for heads in ("Fed (lb),Fed (gal)", "Lettuce (lb),Lettuce (gal)"):
        file = csv_file(journal, f"Date,Bin,{heads}\n2025-03-01,Cupboard,2,1\n")
        assert "both say how much" in bring_in(journal, file).stderr


def test_castings_and_trash_are_not_fed(journal: Path) -> None:
    """A verb that is filled in for the feed does not turn castings or trash into feed."""
    text = "Date,Bin,Lettuce (lb),Castings (lb),Trash (lb)\n2025-03-01,Cupboard,2,3,4\n"
    assert bring_in(journal, csv_file(journal, text), "--fill", "verb=fed", "--write").exit_code == 0
    assert words_of(journal) == [
        "fed 2 lb lettuce to Cupboard (row 2)",
        "harvested 3 lb castings from Cupboard (row 2)",
        "threw out 4 lb trash (row 2)",
    ]


def test_a_last_row_that_adds_up_the_sheet_is_no_record(journal: Path) -> None:
    """Totals without a word are left out and named, also where rows without a date are of the date above."""
    text = (
        "Date,Bin,Lettuce (lb),Newspaper (lb)\n2025-03-01,Cupboard,1,2\n,Cupboard,2,\n"
        "2025-03-09,Cupboard,4,1.5\n,,7,3.5\n"
    )
    done = bring_in(journal, csv_file(journal, text), "--blank-dates", "above", "--write")
    assert done.exit_code == 0, done.stderr
    assert "rows of totals left out: row 5" in done.stdout
    assert kilograms(journal, "fed") / POUND == pytest.approx(7, rel=1e-12)


def test_the_offered_year_is_that_of_the_other_dates(journal: Path) -> None:
    """A date without a year is offered the year of the sheet, so that the offer can be taken as it stands."""
    text = "Date,Bin,Lettuce (lb)\n2021-03-01,Cupboard,1\n2 March,Cupboard,1\n"
    assert "--year 2021" in bring_in(journal, csv_file(journal, text)).stderr
    note = csv_file(journal, "2021-03-01\nfed 1 lb lettuce to Cupboard\n\nMarch 2\nsnow\n", "note.txt")
    assert "--year 2021" in bring_in(journal, note).stderr


def test_a_name_with_a_slip_is_offered_mended(journal: Path) -> None:
    """The call that is offered for a misspelt name is the one to use."""
    file = csv_file(journal, "Date,Item,Weight (lb),Bin\n2025-03-01,letuce,1,Cupboard\n")
    offered = next(line for line in bring_in(journal, file).stderr.splitlines() if "--call" in line)
    words = shlex.split(offered.partition(", or")[0])
    assert bring_in(journal, file, *words, "--write").exit_code == 0
    assert words_of(journal) == ["fed 1 lb lettuce to Cupboard (row 2)"]


def test_a_gap_that_cannot_be_filled_is_refused(journal: Path) -> None:
    """A kind that no row has is told, rather than passed over."""
    file = csv_file(journal, "Date,Item,Weight (lb),Bin\n2025-03-01,lettuce,1,\n")
    done = bring_in(journal, file, "--fill", "bins=Cupboard")
    assert done.exit_code == 2
    assert "material, bin" in done.stderr


def test_some_words_among_the_amounts_of_a_material_are_not_passed_over(journal: Path) -> None:
    """A column of a material with few numbers among words is one of amounts; the words are listed."""
    text = (
        "Date,Bin,Lettuce\n2025-03-01,Cupboard,2 lb\n2025-03-02,Cupboard,a bit\n2025-03-03,Cupboard,loads\n"
    )
    done = bring_in(journal, csv_file(journal, text))
    assert done.exit_code == 1
    assert "2 could not be read" in done.stderr


def test_names_without_a_place_are_kept_as_a_remark(journal: Path) -> None:
    """What a row names beside what its sentence can say stays with the line."""
    text = "Date,Bin,Castings (lb),Crop\n2025-03-01,Cupboard,2,lettuce\n2025-03-02,Cupboard,3,tomatoes\n"
    assert bring_in(journal, csv_file(journal, text), "--write").exit_code == 0
    assert words_of(journal) == [
        "harvested 2 lb castings from Cupboard (lettuce; row 2)",
        "harvested 3 lb castings from Cupboard (tomatoes; row 3)",
    ]


@pytest.mark.parametrize("head", ["Cafe Blue", "Bucket weight"])
def test_a_word_of_a_head_that_happens_to_be_a_supply_names_none(journal: Path, head: str) -> None:
    """One word of a head is not taken for worms, bottles and the like."""
    done = bring_in(journal, csv_file(journal, f"Date,Bin,{head}\n2025-03-01,Cupboard,2\n"))
    assert "Indian blues" not in done.stdout
    assert "plastic bottles" not in done.stdout
