"""The data package adds up to the tally, is valid for readers we did not write, and tells nothing private."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import string
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import duckdb
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from journal.commands.tally import as_comma_separated
from journal.measures.doubt import Sum
from journal.notes.household import Sharing
from journal.notes.materials import Catalogue, Material, Range
from journal.notes.place import Place
from journal.notes.records import Amount, Entry, Notes, Readings, Record
from journal.reckoning.diversion import FIGURES, Figures
from journal.reckoning.tally import Tally
from journal.site.dataset import DESCRIPTOR, data_files
from journal.site.dataset_columns import OURS, TABLES
from journal.site.dataset_text import comma_separated, plain, read_causes, safe, written_causes
from tests.journals import CATALOGUE, PEOPLE, journals, notes_of

DAY = dt.date(2024, 2, 29)
NINE_DIGITS = 1e-9


def rows_of(files: dict[str, bytes], table: str) -> list[dict[str, str]]:
    """The rows of one table as a reader of CSV meets them, the mark against formulas undone."""
    text = io.StringIO(files[f"data/{table}.csv"].decode("utf-8"), newline="")
    return [{name: plain(cell) for name, cell in row.items()} for row in csv.DictReader(text)]


# The six figures by the plain words of the reckoning, on the table's columns alone: nothing of ours is asked.
RULES = {
    "taken_in": "CASE WHEN counted = 1 THEN 1 ELSE 0 END",
    "kept_out_of_landfill": "counted * (share_landfill + share_unknown)",
    "kept_in_use": """CASE
        WHEN counted = -1 THEN -1
        WHEN to_kind NOT IN ('recycling', 'donated', 'given away') THEN counted
        WHEN counted = 0 AND matter = 'waste' THEN -1
        ELSE 0 END""",
    "thrown_out": "CASE WHEN to_kind = 'landfill' THEN 1 ELSE 0 END",
    "castings_harvested": """CASE
        WHEN matter = 'castings' AND from_kind = 'bin' AND to_kind = 'store' THEN 1
        ELSE 0 END""",
    "castings_spread": "CASE WHEN matter = 'castings' AND to_kind = 'planting' THEN 1 ELSE 0 END",
}
TYPES = {
    **dict.fromkeys(("kg", "own_doubt_kg", "share_landfill", "share_unknown"), "DOUBLE"),
    **dict.fromkeys(("id", "line", "same_weighing", "shared_doubt", "giver", "stream", "matter"), "VARCHAR"),
    **dict.fromkeys(("from_kind", "to_kind"), "VARCHAR"),
    "counted": "INTEGER",
    "date": "DATE",
}
SCOPES = {
    "since start": "'all'",
    "year": "strftime(date, '%Y')",
    "month": "strftime(date, '%Y-%m')",
    "stream": "nullif(stream, '')",
    "giver": "nullif(giver, '')",
}


def recomputed(movements: bytes, folder: Path) -> dict[tuple[str, str, str], tuple[float, float]]:
    """Add movements.csv up in DuckDB: (scope, name, figure) to value and expanded doubt in kg."""
    file = folder / "movements.csv"
    file.write_bytes(movements)
    with duckdb.connect() as base:
        base.execute(
            "CREATE TABLE m AS SELECT * FROM read_csv(?, header = true, types = ?)", [str(file), TYPES]
        )
        found: dict[tuple[str, str, str], tuple[float, float]] = {}
        for scope, key in SCOPES.items():
            for figure, times in RULES.items():
                found |= {
                    (scope, str(name), figure): (value, 2 * variance**0.5)
                    for name, value, variance in base.execute(_total(key, times)).fetchall()
                }
    return found


def _total(key: str, times: str) -> str:
    return f"""
        WITH t AS (
            SELECT *, {key} AS name, coalesce({times}, 0) AS times FROM m WHERE {key} IS NOT NULL),
        weighings AS (
            SELECT name, sum(own_doubt_kg * times) AS part FROM t GROUP BY name, coalesce(same_weighing, id)),
        pieces AS (
            SELECT name, unnest(string_split(shared_doubt, '; ')) AS piece, times FROM t
            WHERE shared_doubt <> ''),
        causes AS (
            SELECT name, sum(CAST(split_part(piece, '=', 2) AS DOUBLE) * times) AS part
            FROM pieces GROUP BY name, split_part(piece, '=', 1)),
        doubts AS (
            SELECT name, sum(part * part) AS variance
            FROM (FROM weighings UNION ALL FROM causes) GROUP BY name)
        SELECT name, sum(kg * times), any_value(variance) FROM t JOIN doubts USING (name) GROUP BY name"""


def stated(tally: Tally) -> Iterator[tuple[tuple[str, str, str], float, float]]:
    """Every total of the tally under the key of the table of figures."""
    scopes: dict[str, dict[str, Figures]] = {
        "since start": {"all": tally.since_start}, "year": dict(tally.years), "month": dict(tally.months),
        "stream": dict(tally.streams), "giver": dict(tally.givers),
    }  # fmt: skip
    for scope, heaps in scopes.items():
        for name, figures in heaps.items():
            for each in FIGURES:
                figure = figures.of(each)
                yield (scope, name, each), figure.value, figure.expanded


@settings(max_examples=15)
@given(journals())
def test_the_movements_add_up_to_the_tally(tmp_path_factory: pytest.TempPathFactory, notes: Notes) -> None:
    """Whoever adds the CSV up in a database gets the tally's totals and doubts to nine digits."""
    tally = Tally(notes)
    found = recomputed(data_files(tally)["data/movements.csv"], tmp_path_factory.mktemp("package"))
    for key, value, doubt in stated(tally):
        assert found.get(key, (0.0, 0.0)) == pytest.approx(
            (value, doubt), rel=NINE_DIGITS, abs=NINE_DIGITS
        ), key


@given(journals())
def test_every_line_is_there_once(notes: Notes) -> None:
    """Each record line has one row in lines.csv, which says how many rows of movements.csv are its own."""
    files = data_files(Tally(notes))
    lines = rows_of(files, "lines")
    moved: dict[str, int] = {}
    for row in rows_of(files, "movements"):
        moved[row["line"]] = moved.get(row["line"], 0) + 1
    assert len({row["id"] for row in lines}) == len(lines) == len(notes.records)
    assert {row["id"]: int(row["movements"]) for row in lines if row["movements"] != "0"} == moved
    assert [row["date"] for row in lines] == [record.date.isoformat() for record in notes.records]


@given(journals())
def test_mass_is_conserved_in_the_table(notes: Notes) -> None:
    """The movements of a line weigh together what the line says."""
    files = data_files(Tally(notes))
    moved: dict[str, float] = {}
    for row in rows_of(files, "movements"):
        moved[row["line"]] = moved.get(row["line"], 0.0) + float(row["kg"])
    for row, record in zip(rows_of(files, "lines"), notes.records, strict=True):
        assert moved.get(row["id"], 0.0) == pytest.approx(
            sum(amount.kg for amount in record.amounts), abs=1e-7
        )


@given(journals())
def test_the_same_journal_gives_the_same_bytes(notes: Notes) -> None:
    """Two makings of the package differ in nothing."""
    assert data_files(Tally(notes)) == data_files(Tally(notes))


def laid_out(files: dict[str, bytes], folder: Path) -> Path:
    """Write the files below a folder and give the descriptor's path."""
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return folder / DESCRIPTOR


def faults(descriptor: Path) -> list[str]:
    """What the library frictionless finds wrong with a package."""
    frictionless = pytest.importorskip("frictionless")
    report = frictionless.validate(str(descriptor), type="package")
    return [error.message for error in report.errors] + [
        f"{task.name}: {error.message}" for task in report.tasks for error in task.errors
    ]


def line(verb: str, text: str, *amounts: Amount, entry: int = 0, **sides: Any) -> Record:  # noqa: ANN401 - a record has sides of many types
    """A record line of the leap day."""
    return Record(verb, DAY, amounts, Place("a.md", 2, 1), entry, text, **sides)


def full_notes() -> Notes:
    """A journal with every kind of thing that reaches the package, shared and private."""
    amount = Amount(1.2, "newspaper", "2 bags", own=0.01, shared={"bag of newspaper": 0.05}, how="by measure")
    read = Readings(20.0, 0.3, 80.0, 0.5, 6.8, 0.05, ("smells sweet", "fruit flies"))
    listed = [
        line("took in", "took in 2 bags of newspaper from Nora", amount, giver="Nora"),
        line("checked", "checked Lower Bin: 68 F", bin="Lower Bin", readings=read),
        line("spent", "spent $4 on a trowel"),
        line(
            "fed", "fed 1 bag to Upper Bin", amount._replace(kg=0.5, words="1 bag"), entry=1, bin="Upper Bin"
        ),
    ]
    entries = [
        Entry(DAY, "Leap day", private=False, place=Place("a.md", 1, 1), blocks=()),
        Entry(DAY, "Quietly", private=True, place=Place("a.md", 5, 1), blocks=()),
    ]
    return Notes(PEOPLE, CATALOGUE, entries, listed, [], [])


@pytest.mark.parametrize("notes", [full_notes(), notes_of([])], ids=["full", "empty"])
def test_the_package_is_valid_for_a_reader_we_did_not_write(notes: Notes, tmp_path: Path) -> None:
    """The library frictionless finds schema, types, keys, hashes and rows valid, of an empty journal too."""
    assert faults(laid_out(data_files(Tally(notes)), tmp_path)) == []


def test_readings_keep_their_values_and_halves() -> None:
    """A check's readings stand in their own table, in °C, % and pH."""
    (row,) = rows_of(data_files(Tally(full_notes())), "readings")
    assert (row["of_kind"], row["of_name"], row["sightings"]) == (
        "bin",
        "Lower Bin",
        "smells sweet; fruit flies",
    )
    assert (float(row["temperature_c"]), float(row["moisture_percent"]), float(row["ph"])) == (
        20.0,
        80.0,
        6.8,
    )


def test_a_line_that_moves_nothing_is_listed_as_such() -> None:
    """A check and a sum of money have a row among the lines and none among the movements."""
    files = data_files(Tally(full_notes()))
    still = {row["verb"] for row in rows_of(files, "lines") if row["movements"] == "0"}
    assert still == {"checked", "spent"}
    assert not still & {row["verb"] for row in rows_of(files, "movements")}


def secret_notes() -> Notes:
    """A journal that plants a secret word wherever the keeper can write one."""
    hidden = Material("quinceSECRET", "paper", waste=True, also=("quinceSECRETs",))
    shown = Material("shredded paper", "paper", waste=True, form_of=("paper",))
    catalogue = Catalogue.of([*CATALOGUE.materials.values(), hidden, shown])
    household = replace(PEOPLE, givers={"SECRETNora": PEOPLE.givers["Nora"]._replace(name="SECRETNora")})
    causes = {"bag of SECRET": 0.1, "density of quinceSECRET": 0.2}
    amount = Amount(2.0, "quinceSECRET", "2 SECRET bags", shared=causes)
    drawn = Amount(1.0, "shredded paper", "1 kg")
    castings = Amount(1.0, "castings", "1 kg")
    read = Readings(20.0, sightings=("SECRET",))
    listed = [
        line("took in", "took in 2 SECRET bags", amount, entry=1, giver="SECRETNora", remark="SECRET"),
        line("mixed", "mixed bedding SECRET", drawn, entry=1, batch="SECRET Batch", batch_kind="bedding"),
        line("fed", "fed 1 kg shredded paper to Lower Bin, says SECRETNora", drawn, bin="Lower Bin"),
        line("fed", "fed 1 kg to SECRET Bin", drawn, entry=1, bin="SECRET Bin"),
        line("checked", "checked SECRET Bin", entry=1, bin="SECRET Bin", readings=read),
        line("gave", "gave 1 kg castings to SECRETNora", castings, giver="SECRETNora"),
    ]
    entries = [
        Entry(DAY, "Open", private=False, place=Place("b.md", 1, 1), blocks=()),
        Entry(DAY, "SECRET", private=True, place=Place("a.md", 1, 1), blocks=()),
    ]
    return Notes(household, catalogue, entries, listed, [], [], {"SECRET Batch": "bedding"})


def test_private_things_never_travel() -> None:
    """No file holds a private entry's words, a giver's own name, or a name that only private entries use."""
    files = data_files(Tally(secret_notes()))
    assert not [name for name, data in files.items() if b"secret" in data.lower()]
    private = [row for row in rows_of(files, "movements") if row["private"] == "true"]
    assert sum(float(row["kg"]) for row in private) == pytest.approx(4.0)
    assert {row["date"] for row in private} == {DAY.isoformat()}
    assert all(row["written"] == row["material"] == row["arrived_as"] == "" for row in private)
    assert {row["giver"] for row in private if row["verb"] == "took in"} == {"a friend"}


def test_a_household_that_shares_no_entries_tells_only_amounts() -> None:
    """Without entries every row is as of a private entry; with a summary, lines lose only their text."""
    notes = full_notes()
    none = replace(notes, household=replace(notes.household, sharing=Sharing(entries="no")))
    files = data_files(Tally(none))
    assert all(row["private"] == "true" and not row["written"] for row in rows_of(files, "movements"))
    assert all(row["from_name"] in ("", "a friend") for row in rows_of(files, "movements"))
    some = replace(
        notes, household=replace(notes.household, sharing=Sharing(entries="summary", givers="hidden"))
    )
    files = data_files(Tally(some))
    assert not any(row["text"] for row in rows_of(files, "lines"))
    assert {row["written"] for row in rows_of(files, "movements")} == {"2 bags", ""}
    assert b"a friend" not in b"".join(files.values())


def test_causes_of_doubt_say_whose_they_are() -> None:
    """The catalogue's density is every household's cause; a bag, or our own density, is our own."""
    known = Range(0.3, 0.4, 0.5, "handbook")
    materials = [
        Material("grounds", "food scraps", waste=True, density=known),
        Material("hops", "food scraps", waste=True, density=known._replace(source="household.yaml")),
    ]
    amounts = (
        Amount(
            1.0, "grounds", "1 L", shared={"density of grounds": 0.1, "pail; =blue": 0.2}, how="by volume"
        ),
        Amount(1.0, "hops", "1 L", shared={"density of hops": 0.3}, how="by volume"),
    )
    record = line("took in", "took in 1 L grounds and 1 L hops", *amounts)
    notes = replace(notes_of([record]), catalogue=Catalogue.of(materials))
    first, second = (row["shared_doubt"] for row in rows_of(data_files(Tally(notes)), "movements"))
    assert read_causes(first) == {("catalogue", "density of grounds"): 0.1, ("household", "pail, -blue"): 0.2}
    assert read_causes(second) == {("household", "density of hops"): 0.3}


@given(st.text(max_size=12), st.text(alphabet="=+-@'\t\r\n＝|cmd", max_size=6))
def test_no_cell_begins_a_formula_and_nothing_is_lost(text: str, start: str) -> None:
    """A cell never begins with a sign that a spreadsheet runs, and reads back exactly as it was meant."""
    for words in (text, start, start + text):
        assert safe(words)[:1] not in tuple("=+-@\t\r\n＝＋－＠")
        assert plain(safe(words)) == words


@pytest.mark.parametrize("name", ["＝1+1", "\t=1+1", "\r=1+1", "'t Huis", "-2+3", "a house nearby"])
def test_the_totals_as_csv_name_nobody_by_a_formula(name: str) -> None:
    """A name in ``tally --csv`` is written as the data package writes it, and reads back as it was meant."""
    text = as_comma_separated(["taken in"], [(name, [Sum()])])
    ((_, row),) = [tuple(csv.reader(io.StringIO(text, newline="")))]
    assert row[0] == safe(name)
    assert plain(row[0]) == name


CELLS = st.one_of(
    st.none(), st.integers(), st.floats(allow_nan=False), st.text(alphabet="ab,\"'\r\n =é\u2028", max_size=6)
)


@given(st.integers(1, 4).flatmap(lambda size: st.lists(st.lists(CELLS, min_size=size, max_size=size))))
def test_rows_are_written_as_the_standard_librarys_writer_writes_them(rows: list[list[object]]) -> None:
    """Reference: the csv module of Python, whose default is RFC 4180."""
    text = io.StringIO(newline="")
    csv.writer(text).writerows(rows)
    assert comma_separated((), [list(row) for row in rows], ()) == text.getvalue().encode()


@given(journals())
def test_of_columns_that_the_program_begins_no_cell_begins_with_a_sign(notes: Notes) -> None:
    """Such cells are not looked at again: each begins with a letter or a digit, or is empty."""
    files = data_files(Tally(notes))
    for table in TABLES:
        for row in rows_of(files, table.name):
            assert all(row[name][:1].isalnum() or not row[name] for name in OURS & row.keys())


NAMES = st.text(alphabet=string.ascii_letters + " ,:'é", min_size=1, max_size=12)
CAUSES = st.tuples(
    st.sampled_from(["household", "catalogue"]), NAMES.map(lambda name: " ".join(name.split()) or "bag")
)


@given(st.dictionaries(CAUSES, st.floats(-1e3, 1e3).filter(bool)))
def test_causes_read_back_as_they_were_written(causes: dict[tuple[str, str], float]) -> None:
    """The cell of shared doubts gives back every cause with every digit."""
    assert read_causes(written_causes(causes)) == causes


@pytest.mark.parametrize("cell", ["density", "somebody: bag=1", "household: bag=heavy", "household bag=1"])
def test_a_cell_of_doubts_that_cannot_be_read_is_refused(cell: str) -> None:
    """A cell that is not of the form is a ValueError, never a silent zero."""
    with pytest.raises(ValueError):
        read_causes(cell)


def test_the_descriptor_describes_every_column_and_no_clock() -> None:
    """Each column has a description, each number its unit; there is a schema and no time of making."""
    described: dict[str, Any] = json.loads(data_files(Tally(full_notes()))[DESCRIPTOR])
    assert described["middenbook"]["schema"] == 1
    assert described["middenbook"]["days_with_entries"] == 1
    assert "created" not in described
    for resource, table in zip(described["resources"], TABLES, strict=True):
        assert [field["name"] for field in resource["schema"]["fields"]] == table.heads
        for field in resource["schema"]["fields"]:
            assert field["description"]
            assert field["type"] != "number" or field["unit"]
