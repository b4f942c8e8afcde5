"""Laws that hold from the text of a journal to its site: one total everywhere, every line once, nothing else.

MIDDENBOOK_HYPOTHESIS=long tries two thousand journals for each.
"""

from __future__ import annotations

import csv
import io
import json
import tempfile
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import polars
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from journal.commands.files import read_journal
from journal.commands.tally import document
from journal.reckoning.tally import Tally
from journal.site.dataset import data_files
from tests.text_journals import Day, days, lay_out

NEAR = pytest.approx
ARRIVING = {"taken_in", "kept_out_of_landfill", "kept_in_use"}
COUNTS = settings() if settings.get_current_profile_name() == "long" else settings(max_examples=30)


def tally_of(files: Mapping[str, str]) -> Tally:
    """Read a journal of these files."""
    with tempfile.TemporaryDirectory() as folder:
        notes = read_journal(lay_out(Path(folder), files))
    assert not notes.problems, [str(problem.sentence) for problem in notes.problems]
    return Tally(notes)


def of_days(written: Sequence[Day]) -> Tally:
    """Read a journal of one file."""
    return tally_of({"all.md": "".join(day.text() for day in written)})


def rows(files: Mapping[str, bytes], table: str) -> list[dict[str, str]]:
    """Read a table of the data package."""
    return list(csv.DictReader(io.StringIO(files[f"data/{table}.csv"].decode(), newline="")))


def stated(document: Mapping[str, Any]) -> dict[tuple[str, str, str], tuple[float, float]]:
    """Give the totals of `tally --json` under the keys of the table of figures."""
    scopes = {
        "since start": {"all": document["since_start"]}, "year": document["years"],
        "month": document["months"], "stream": document["streams"], "giver": document["givers"],
    }  # fmt: skip
    return {
        (scope, name, figure.removesuffix("_kg")): (each["value"], each["doubt"])
        for scope, heaps in scopes.items()
        for name, figures in heaps.items()
        for figure, each in figures.items()
    }


@given(days())
@COUNTS
def test_the_sites_totals_are_the_terminals(written: list[Day]) -> None:
    """figures.csv on the site states what `tally --json` prints: every total, and its doubt."""
    tally = of_days(written)
    printed = stated(json.loads(json.dumps(document(tally, frozenset()))))
    on_site = {
        (row["scope"], row["name"], row["figure"]): (float(row["kg"]), float(row["doubt_kg"]))
        for row in rows(data_files(tally), "figures")
    }
    assert on_site.keys() == printed.keys()
    for key, value in printed.items():
        assert on_site[key] == NEAR(value, rel=1e-12, abs=1e-12), key


@given(days())
@COUNTS
def test_anyone_can_add_the_movements_up(written: list[Day]) -> None:
    """Polars, which knows nothing of us, adds movements.csv up to the waste and castings of the tally."""
    tally = of_days(written)
    files = data_files(tally)
    if not rows(files, "movements"):
        return
    table = polars.read_csv(
        io.BytesIO(files["data/movements.csv"]),
        infer_schema_length=None,
        schema_overrides={"kg": polars.Float64},
    )
    counted = table.filter((polars.col("counted") == 1) & (polars.col("matter") == "waste"))
    harvested = table.filter((polars.col("from_kind") == "bin") & (polars.col("matter") == "castings"))
    spread = table.filter((polars.col("to_kind") == "planting") & (polars.col("matter") == "castings"))
    figures = tally.since_start
    assert counted["kg"].sum() == NEAR(figures.taken_in.value, rel=1e-9, abs=1e-9)
    assert harvested["kg"].sum() == NEAR(figures.castings_harvested.value, rel=1e-9, abs=1e-9)
    assert spread["kg"].sum() == NEAR(figures.castings_spread.value, rel=1e-9, abs=1e-9)


@given(days())
@COUNTS
def test_every_line_written_is_in_the_package_once(written: list[Day]) -> None:
    """Every record line of an open entry stands in lines.csv with its words, every private one without."""
    files = data_files(of_days(written))
    shown = Counter((row["date"], row["verb"]) for row in rows(files, "lines") if row["private"] == "false")
    hidden = Counter(row["date"] for row in rows(files, "lines") if row["private"] == "true")
    assert shown == Counter(
        (day.date.isoformat(), _verb(line)) for day in written if not day.private for line in day.lines
    )
    assert hidden == Counter(day.date.isoformat() for day in written if day.private for _ in day.lines)
    texts = Counter(row["text"] for row in rows(files, "lines") if row["private"] == "false")
    for text, times in Counter(line for day in written if not day.private for line in day.lines).items():
        if not any(name in text for name in ("Nora", "Elm", "Ivo")):
            assert texts[text] == times, text


def _verb(line: str) -> str:
    first, second, *_ = line.split(" ")
    return f"{first} {second}" if first in {"took", "threw"} else first


@given(days(private=False), st.data())
@COUNTS
def test_a_line_that_nothing_rests_on_takes_only_itself_away(written: list[Day], data: st.DataObject) -> None:
    """Without a line that took in tea leaves, only its day's, stream's and giver's totals are less, by it."""
    day = data.draw(st.sampled_from(written))
    grams = data.draw(st.integers(1, 9999))
    with_line = of_days(
        [*written, Day(day.date, private=False, prose="", lines=(f"took in {grams} g tea leaves from Ivo",))]
    )
    without = of_days([*written, Day(day.date, private=False, prose="", lines=())])
    more, less = stated(document(with_line, frozenset())), stated(document(without, frozenset()))
    month, kg = f"{day.date:%Y-%m}", grams / 1000
    touched = {
        ("since start", "all"),
        ("year", month[:4]),
        ("month", month),
        ("stream", "food scraps"),
        ("giver", "a neighbour 3"),
    }
    for key in more:
        before = less.get(key, (0.0, 0.0))[0]
        is_its = key[:2] in touched and key[2] in ARRIVING
        assert more[key][0] - before == NEAR(kg if is_its else 0.0, abs=1e-9), key
    assert len(rows(data_files(with_line), "lines")) == len(rows(data_files(without), "lines")) + 1


@given(days(), st.data())
@COUNTS
def test_how_a_journal_is_filed_changes_nothing(written: list[Day], data: st.DataObject) -> None:
    """In one file or many, in any order, a journal has the same totals to the last digit."""
    order = data.draw(st.permutations(written))
    files: dict[str, str] = {}
    for day in order:
        name = data.draw(st.sampled_from(["a.md", "z/b.md", "2024.txt"]))
        files[name] = files.get(name, "") + day.text()
    one, other = document(of_days(written), frozenset()), document(tally_of(files), frozenset())
    assert stated(one) == stated(other)
