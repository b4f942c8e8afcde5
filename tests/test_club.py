"""A club's totals are its members' movements added up again: each once, each with its doubt."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from journal.commands.club.adding import Adding
from journal.commands.club.joining import Joining
from journal.commands.club.roster import Roster
from journal.commands.club.roster_reading import read_roster
from journal.notes.records import Notes
from journal.reckoning.club import Club
from journal.reckoning.diversion import FIGURES
from journal.reckoning.tally import Tally
from journal.site.dataset import data_files
from tests.club_packages import (
    CLUB,
    HOUSES,
    WRONG_BY,
    Files,
    described,
    laid,
    published,
    renamed,
    rows_of,
    total,
    with_rows,
    zipped,
)  # fmt: skip
from tests.journals import journals

NINE_DIGITS = 1e-9
Join = Callable[..., Club]


def joined(folder: Path, paths: Sequence[Path], roster: Roster) -> Club:
    """Join packages in a database below a folder."""
    folder.mkdir()
    adding = Adding(folder)
    try:
        return Joining(adding, roster, published).club(paths)
    finally:
        adding.close()


@pytest.fixture
def join(tmp_path: Path) -> Join:
    """Join packages into a club."""

    def act(*paths: Path, roster: Roster | None = None) -> Club:
        return joined(tmp_path / f"base-{len(list(tmp_path.iterdir()))}", paths, roster or Roster())

    return act


@pytest.fixture(scope="module")
def roster() -> Roster:
    """The roster of the three invented households."""
    read, problems = read_roster(CLUB / "club.yaml")
    assert not problems
    return read


def packages() -> list[Path]:
    """The three published packages."""
    return [CLUB / "published" / house for house in HOUSES]


# -- the three households -----------------------------------------------------------------------------


@pytest.mark.parametrize("house", HOUSES)
def test_the_packages_are_what_the_journals_say(house: str) -> None:
    """The published tables in the tests' data are those that the program makes of the journals there."""
    folder = CLUB / "published" / house
    made = published(CLUB / house)
    tables = ["movements", "lines", "readings", *(["figures"] if house != "mill-cottage" else [])]
    for table in tables:
        name = f"data/{table}.csv"
        assert (folder / name).read_bytes() == made[name], "make them anew: python tests/club_packages.py"


# What the three hand one another, reckoned by hand from the entries: Elm House gave 1.4 kg and donated 1.1,
# which Ash House took in the day after as a sack and 2.5 lb; two weeks later Ash House took in 4 lb that Elm
# House never wrote down but still has on hand (5 - 1.4 - 1.1 = 2.5 kg).
def parts_by_hand(figure: str) -> list[tuple[str, dict[str, str], float]]:
    """Every row of the three with the part of it that counts in the club."""
    parts = []
    for house in HOUSES:
        for row in rows_of(published(CLUB / house)):
            parts.append((house, row, 1.0))
            if (
                house == "elm-house"
                and row["matter"] == "waste"
                and row["to_kind"] in ("given away", "donated")
            ):
                parts += (
                    [(house, arrival_of(row), -1.0)] if figure in ("taken_in", "kept_out_of_landfill") else []
                )
            unwritten = (
                house == "ash-house" and row["date"] == "2025-03-17" and row["giver"] == "the corner house"
            )
            if unwritten and row["counted"] == "1":
                parts.append((house, row, -1.0))
    return parts


def arrival_of(row: dict[str, str]) -> dict[str, str]:
    """The same matter as it was counted when it arrived."""
    return {**row, "counted": "1", "to_kind": "store"}


@pytest.mark.parametrize("figure", FIGURES)
def test_the_club_of_three_is_what_hand_and_plain_python_make_of_it(
    join: Join, roster: Roster, figure: str
) -> None:
    """Value and doubt of every figure agree to nine digits with an independent recomputation."""
    club = join(*packages(), roster=roster)
    whole = club.figures.whole[figure]
    assert (whole.value, whole.expanded) == pytest.approx(
        total(parts_by_hand(figure), figure), rel=NINE_DIGITS
    )


def test_what_one_member_gives_another_counts_once(join: Join, roster: Roster) -> None:
    """Of Elm House's 5 kg of paper only what it did not pass on to Ash House stays in its count."""
    club = join(*packages(), roster=roster)
    numbers = {member.name: member.number for member in club.members}
    elm = club.figures.member_streams[numbers["The Elms"], "paper"]["taken_in"]
    assert elm.value == pytest.approx(5.0 - 1.4 - 1.1 - 4 * 0.45359237)
    assert {(one.how, round(one.kg, 3)) for one in club.handed_on} == {
        ("from store", 1.4), ("from store", 1.1), ("unwritten", 1.814),
    }  # fmt: skip
    alone = {house: join(CLUB / "published" / house).figures.whole["taken_in"].value for house in HOUSES}
    handed = sum(one.kg for one in club.handed_on)
    assert club.figures.whole["taken_in"].value == pytest.approx(sum(alone.values()) - handed)


def test_a_giver_shown_under_a_members_name_is_that_member(join: Join, tmp_path: Path) -> None:
    """Without a roster Elm House's paper still counts once where Ash House shows it by its own name."""
    files = published(CLUB / "ash-house")
    changed = described(
        {name: data.replace(b"the corner house", b"Elm House") for name, data in files.items()}
    )
    folder = laid(changed, tmp_path / "renamed")
    club = join(folder, CLUB / "published" / "elm-house")
    assert sum(one.kg for one in club.handed_on) == pytest.approx(1.4 + 1.1 + 4 * 0.45359237)


def test_a_giver_nobody_calls_a_member_is_none(join: Join) -> None:
    """Without the roster the corner house is anybody's, and nothing comes off Elm House."""
    assert join(*packages()).handed_on == []


def test_a_wrong_total_is_named_with_its_difference(join: Join) -> None:
    """Mill Cottage's stated total is named with how much it differs; the movements' own total counts."""
    club = join(*packages())
    (difference,) = club.differences
    assert (difference.package, difference.scope, difference.figure) == (
        "mill-cottage",
        "since start",
        "taken_in",
    )
    assert difference.by == pytest.approx(WRONG_BY)
    members = {member.household: member.number for member in club.members}
    own = total([("", row, 1.0) for row in rows_of(published(CLUB / "mill-cottage"))], "taken_in")[0]
    assert club.figures.members[members["Mill Cottage"]]["taken_in"].value == pytest.approx(own)


def test_every_form_of_a_package_counts_the_same(join: Join, tmp_path: Path) -> None:
    """A site's folder, its data folder, zips of both and the journal itself give the same totals."""
    files = published(CLUB / "elm-house")
    site = laid(files, tmp_path / "site")
    inner = {name.removeprefix("data/"): data for name, data in files.items()}
    deeper = {f"elm/{name}": data for name, data in files.items()}
    zips = [
        zipped(form, tmp_path / f"{len(form)}-{next(iter(form))[:3]}.zip") for form in (files, inner, deeper)
    ]
    forms = [site, site / "data", *zips, CLUB / "elm-house"]
    found = {join(form).figures.whole["taken_in"].value for form in forms}
    assert len(found) == 1


def test_one_package_given_twice_counts_once(join: Join, tmp_path: Path) -> None:
    """The same content, as a folder and as a zip, counts once and is named."""
    again = zipped(published(CLUB / "elm-house"), tmp_path / "again.zip")
    club = join(CLUB / "published" / "elm-house", again)
    assert club.figures.whole["taken_in"].value == join(again).figures.whole["taken_in"].value
    assert club.remarks == ["again.zip holds the same as elm-house and counts once"]


def test_days_of_one_household_count_once(join: Join, tmp_path: Path) -> None:
    """Of two packages of one household, the one that goes on longer tells the days that both tell."""
    files = published(CLUB / "elm-house")
    early = [row for row in rows_of(files) if row["date"] < "2025-12-31"]

    def shorter(document: dict[str, object]) -> None:
        document["middenbook"]["last_day"] = "2025-03-02"  # type: ignore[index]

    older = laid(described(with_rows(files, early), shorter), tmp_path / "older")
    club = join(older, CLUB / "published" / "elm-house")
    assert club.figures.whole["taken_in"].value == pytest.approx(
        join(CLUB / "published" / "elm-house").figures.whole["taken_in"].value
    )
    (remark,) = club.remarks
    assert "older and elm-house are both of Elm House: the days 2025-02-20 to 2025-03-02 are" in remark
    assert len(club.members) == 1


def test_two_households_of_one_name_are_parted_by_the_roster(join: Join, tmp_path: Path) -> None:
    """The roster can give a package to a member of its own, so that two houses of one name are two."""
    text = "members:\n  Elm House: {}\n  The other Elms: {packages: [other]}\n"
    (tmp_path / "club.yaml").write_text(text, encoding="utf-8")
    read, problems = read_roster(tmp_path / "club.yaml")
    assert not problems
    files = published(CLUB / "elm-house")
    other = laid(with_rows(files, rows_of(files)[:3]), tmp_path / "other")
    club = join(CLUB / "published" / "elm-house", other, roster=read)
    assert [member.name for member in club.members] == ["Elm House", "The other Elms"]
    assert club.remarks == []


def test_participation_counts_households_that_moved_something(join: Join) -> None:
    """A household takes part in a week or month in which it wrote a line that moved something."""
    club = join(*packages())
    assert club.participation.months[dt.date(2025, 3, 1)] == 2
    assert club.participation.months[dt.date(2025, 4, 1)] == 1
    assert club.participation.weeks[dt.date(2025, 12, 29)] == 2
    assert {member.household: member.days for member in club.members}["Ash House"] == 4
    assert club.people == 7


def test_weeks_months_and_years_add_up(join: Join) -> None:
    """A week over the turn of the year is whole, while its days fall into two months and two years."""
    figures = join(*packages()).figures
    whole = figures.whole["taken_in"].value
    for table in (figures.weeks, figures.months, figures.years, figures.streams, figures.members):
        assert sum(totals["taken_in"].value for totals in table.values()) == pytest.approx(whole)
    turn = figures.weeks[dt.date(2025, 12, 29)]["taken_in"].value
    assert turn == pytest.approx(0.45359237 + 1.5)


# -- any households -----------------------------------------------------------------------------------


@settings(max_examples=6)
@given(st.lists(journals(15), min_size=1, max_size=3))
def test_any_club_is_its_members_added_up(
    tmp_path_factory: pytest.TempPathFactory, several: list[Notes]
) -> None:
    """At every level value and doubt agree with plain Python to nine digits, shared causes included."""
    folder = tmp_path_factory.mktemp("club")
    houses: dict[str, Files] = {}
    for number, notes in enumerate(several, start=1):
        household = replace(notes.household, name=f"House {number}")
        houses[f"house-{number}"] = data_files(Tally(replace(notes, household=household)))
    paths = [laid(files, folder / name) for name, files in houses.items()]
    club = joined(folder / "base", paths, Roster())
    assert not [*club.left_out, *club.differences]
    rows = [(house, row) for house, files in houses.items() for row in rows_of(files)]
    for figure in FIGURES:
        check(club, rows, figure)


def levels_of(house: str, row: dict[str, str]) -> list[tuple[str, object]]:
    """Every level that a row adds to, with the row's key there."""
    day = dt.date.fromisoformat(row["date"])
    keys: list[tuple[str, object]] = [
        ("whole", None),
        ("years", day.year),
        ("months", day.replace(day=1)),
        ("weeks", day - dt.timedelta(days=day.weekday())),
        ("members", int(house.removeprefix("house-"))),
    ]
    return [*keys, ("streams", row["stream"])] if row["stream"] else keys


def check(club: Club, rows: list[tuple[str, dict[str, str]]], figure: str) -> None:
    """Compare one figure at every level with plain Python."""
    heaps: dict[tuple[str, object], list[tuple[str, dict[str, str], float]]] = {}
    for house, row in rows:
        for level in levels_of(house, row):
            heaps.setdefault(level, []).append((house, row, 1.0))
    for (table, name), parts in heaps.items():
        totals = getattr(club.figures, table)
        found = (totals if table == "whole" else totals.get(name, {})).get(figure)
        told = (0.0, 0.0) if found is None else (found.value, found.expanded)
        expected = total(parts, figure)
        assert told == pytest.approx(expected, rel=NINE_DIGITS, abs=NINE_DIGITS), (table, name, figure)


def test_the_catalogues_doubt_is_one_for_all_and_a_bags_is_not(tmp_path: Path, join: Join) -> None:
    """Two households' litres of one material share its density: that doubt doubles; their bags' do not."""
    files = published(CLUB / "mill-cottage")
    (row,) = [row for row in rows_of(files) if row["material"] == "coffee grounds"]
    doubts = []
    for cause in ("catalogue: density of coffee grounds", "household: bag"):
        one = {**row, "own_doubt_kg": "0.0", "shared_doubt": f"{cause}=0.05"}
        paths = [
            laid(renamed(with_rows(files, [one]), f"House {number}"), tmp_path / f"{cause[:4]}-{number}")
            for number in (1, 2)
        ]
        doubts.append(join(*paths).figures.whole["taken_in"].expanded)
    assert doubts == pytest.approx([2 * (0.05 + 0.05), 2 * (0.05**2 + 0.05**2) ** 0.5])


def added(tmp_path: Path, values: Sequence[float]) -> float:
    """What the club's database makes of a column of numbers."""
    tmp_path.mkdir(exist_ok=True)
    adding = Adding(tmp_path)
    try:
        (found,) = adding.base.execute("SELECT added(x) FROM (SELECT unnest(?) AS x)", [values]).fetchall()
        return float(found[0])
    finally:
        adding.close()


def test_a_sum_is_the_same_in_whatever_order_its_parts_come(tmp_path: Path) -> None:
    """Two threads add as they come; floats would differ in their last digits.  Source: fractions.Fraction."""
    parts = [0.1 * number / 7 + 10.0 ** (number % 9 - 6) for number in range(1, 400)]
    orders = [parts, parts[::-1], sorted(parts), sorted(parts, key=lambda part: part % 0.01)]
    sums = {added(tmp_path / str(number), order) for number, order in enumerate(orders)}
    assert len(sums) == 1
    assert sums.pop() == pytest.approx(float(sum(map(Fraction, parts))), rel=1e-15)
    assert len({sum(order) for order in orders}) > 1, "these parts would show it"


def test_numbers_too_large_for_whole_steps_are_added_all_the_same(tmp_path: Path) -> None:
    """A package of absurd weights makes absurd totals, no failure."""
    assert added(tmp_path, [1e300, 1.0, 2e300]) == pytest.approx(3e300)
