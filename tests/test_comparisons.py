"""Comparisons: per person and week, published averages with their year, the household's equivalents."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from journal.commands.shipped import references
from journal.notes.records import Record
from journal.reckoning.comparisons import DiversionRate, compare, diversion_rate
from journal.reckoning.diversion import Figure
from journal.reckoning.keeping import Keeping
from journal.reckoning.references import Comparison
from journal.reckoning.tally import Tally
from tests.handwritten import PEOPLE, amount, day, journal, written

LB = 0.45359237  # kg, exact: NIST Handbook 44, Appendix C

# US EPA, Facts and Figures about Materials, Waste and Recycling, data of 2018: 4.9 lb per person and day.
GENERATED = Comparison(
    "generated",
    "municipal waste generated per person",
    "2018",
    "United States",
    4.9 * LB,
    "4.9 pounds",
    "epa",
    "",
    "seen",
)
FIRST, LAST = dt.date(2026, 1, 1), dt.date(2026, 3, 11)  # seventy days


def kept(kg: float, doubt: float = 0.0) -> Figure:
    """A figure with one record behind it."""
    figure = Figure()
    figure.value, figure.variance = kg, (doubt / 2) ** 2
    figure.records = [3]
    return figure


def test_per_person_and_week() -> None:
    """Two people keep 100 kg in ten weeks: 10 kg a week and 5 a person."""
    found = compare(PEOPLE, (kept(100, 10), kept(100, 10)), (FIRST, LAST), {})
    assert found.weeks == 10
    assert found.per_week is not None
    assert found.per_person_week is not None
    assert (found.per_week.low, found.per_week.typical, found.per_week.high) == pytest.approx((9, 10, 11))
    assert found.per_person_week.typical == pytest.approx(5)
    assert found.per_person_week.records == (3,)


def test_what_neighbours_bring_is_not_ours_per_person() -> None:
    """Of 100 kg kept, 40 were our own: two people in ten weeks make 2 kg a person and week."""
    found = compare(PEOPLE, (kept(100), kept(40)), (FIRST, LAST), {})
    assert found.per_week is not None
    assert found.per_person_week is not None
    assert found.per_week.typical == pytest.approx(10)
    assert found.per_person_week.typical == pytest.approx(2)


def test_a_published_average_keeps_its_year_and_scope() -> None:
    """4.9 lb a day are 34.3 lb a week; the household's share of it stands beside year and scope."""
    (beside,) = compare(PEOPLE, (kept(100), kept(100)), (FIRST, LAST), {"generated": GENERATED}).beside
    assert beside.kg_per_week / LB == pytest.approx(34.3)
    assert beside.share is not None
    assert beside.share.typical == pytest.approx(5 / (34.3 * LB))
    assert beside.share.sources == ("epa",)
    assert (beside.comparison.year, beside.comparison.scope) == ("2018", "United States")


def test_without_people_nothing_is_said_per_person() -> None:
    """A household that does not say how many it is gets no figure per person."""
    found = compare(
        replace(PEOPLE, people=None), (kept(100), kept(100)), (FIRST, LAST), {"generated": GENERATED}
    )
    assert found.per_person_week is None
    assert found.beside[0].share is None


def test_the_first_days_are_no_week() -> None:
    """Three days make no figure per week."""
    assert compare(PEOPLE, (kept(5), kept(5)), (FIRST, FIRST + dt.timedelta(2)), {}).per_week is None


def test_an_equivalent_goes_by_the_weight_the_household_gave_it() -> None:
    """A barrel of 20 kg is filled five times by 100 kg."""
    found = compare(
        replace(PEOPLE, equivalents={"our barrel": 20.0}), (kept(100, 10), kept(100, 10)), (FIRST, LAST), {}
    )
    (barrel,) = found.equivalents
    assert barrel.words == "our barrel"
    assert barrel.count.typical == pytest.approx(5)
    assert (barrel.count.low, barrel.count.high) == pytest.approx((4.5, 5.5))


def rate_of(records: list[Record], on: int = 400) -> DiversionRate | None:
    """The diversion rate of a journal."""
    tally = Tally(journal(records, replace(PEOPLE, otherwise={"food scraps": {"landfill": 1.0}})))
    return diversion_rate(tally.diversion.cells, tally.ledger.movements, day(on))


def test_a_percentage_only_over_the_months_in_which_trash_was_weighed() -> None:
    """Six kilograms kept and two of trash in January make 75 %; May, without trash, does not count."""
    fed = [written("fed", on, amount(kg, "peels"), bin="Crate") for on, kg in ((3, 6.0), (130, 50.0))]
    found = rate_of([*fed, written("threw out", 20, amount(2, "trash", 0.1))])
    assert found is not None
    assert found.months == ("2026-01",)
    assert found.rate.typical == pytest.approx(0.75)
    assert found.rate.low == pytest.approx(6 / 8.2)
    assert found.rate.records == (0, 2)


def test_without_weighed_trash_there_is_no_percentage() -> None:
    """Rejects alone are no weighing of the household's trash."""
    taken = written("took in", 0, amount(5, "newspaper"), giver="Ada")
    reject = written("threw out", 1, amount(2, "newspaper"), out_of="newspaper", out_of_kind="material")
    assert rate_of([taken, reject]) is None


def test_estimated_trash_alone_gives_no_percentage() -> None:
    """A guess at the trash of January is no weighing; with February weighed, only February counts."""
    fed = [written("fed", on, amount(6, "peels"), bin="Crate") for on in (3, 40)]
    guess = written("threw out", 20, amount(2, "trash")._replace(how="estimated"))
    volume = written("threw out", 21, amount(2, "trash")._replace(how="by volume"))
    assert rate_of([*fed, guess, volume]) is None
    found = rate_of([*fed, guess, volume, written("threw out", 45, amount(2, "trash"))])
    assert found is not None
    assert found.months == ("2026-02",)


def test_rates_count_from_a_line_of_an_earlier_day() -> None:
    """A line that belongs ten weeks before the first entry begins the time that is reckoned over."""
    fed = [written("fed", on, amount(10, "peels"), bin="Crate") for on in (0, 69)]
    notes = journal(fed, replace(PEOPLE, otherwise={"food scraps": {"landfill": 1.0}}))
    notes.entries[0] = notes.entries[0]._replace(date=day(69))  # type: ignore[index]
    tally = Tally(notes)
    assert tally.first_day == day(0)
    found = Keeping(tally, references()).comparisons
    assert found is not None
    assert found.weeks == pytest.approx(10)
    assert found.per_person_week is not None
    assert found.per_person_week.typical == pytest.approx(1)


def test_what_neighbours_bring_is_no_part_of_the_percentage() -> None:
    """A neighbour's paper makes our own household no better."""
    records = [
        written("took in", 0, amount(90, "newspaper"), giver="Ada"),
        written("fed", 3, amount(6, "peels"), bin="Crate"),
        written("threw out", 20, amount(2, "trash")),
    ]
    found = rate_of(records)
    assert found is not None
    assert found.rate.typical == pytest.approx(0.75)
