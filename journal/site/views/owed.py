"""What published figures owe their reader: time covered, gaps, how it was measured, what is not known."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from journal.reckoning.fates import unknown_share
from journal.site.edition import Edition
from journal.site.views.tables import how_measured, share_words, span_words
from journal.site.wording import MONTHS, as_if_landfilled, counted, day_in_words, listed

MOST_GAPS = 6
"""So many of the newest months without an entry are named; of more only the number is told."""


class Owed:
    """Makes the plain statements that belong beside the figures of one edition."""

    def __init__(self, edition: Edition) -> None:
        self.edition = edition
        self.tally = edition.tally

    def first_day(self) -> dt.date | None:
        """Give the first day that an entry or a line with a day of its own tells of."""
        return self.tally.first_day

    def caveats(self) -> Iterator[str]:
        """Say what the figures owe their reader."""
        edition = self.edition
        since = self.tally.since_start
        how = how_measured(since.taken_in, "all that was taken in")
        if how:
            yield how
        yield self.covered()
        unknown = as_if_landfilled(unknown_share(edition.household, self.tally.diversion.by_kind.items()))
        if unknown:
            yield unknown
        yield self.rate()
        if edition.household.sharing.entries != "yes":
            yield "The household shares its figures, not its diary."

    def covered(self) -> str:
        """Say what time is covered, on how many days something was written, and which months are missing."""
        edition = self.edition
        first = self.first_day()
        if first is None:
            return "Nothing is written yet."
        days = {entry.date for entry in edition.notes.entries}
        span = (edition.as_of - first).days + 1
        if span == 1:
            return f"All of it was written on one day, {day_in_words(first)}."
        words = (
            f"{len(days):,} of the {counted(span, 'day')} from {day_in_words(first)} to "
            f"{day_in_words(edition.as_of)} {'has' if len(days) == 1 else 'have'} an entry"
        )
        gaps = gaps_between(edition, first, edition.as_of)
        if gaps:
            shown = [f"{MONTHS[int(month[5:]) - 1]} {int(month[:4])}" for month in gaps[-MOST_GAPS:]]
            words += (
                f"; {listed(shown)} {'has' if len(gaps) == 1 else 'have'} none"
                if len(gaps) <= MOST_GAPS
                else f"; {len(gaps)} months have none"
            )
        return words + ". Gaps are shown, none is filled."

    def rate(self) -> str:
        """Give the part of our own waste that stayed out of landfill, where the trash is weighed."""
        found = self.edition.keeping.diversion_rate
        if found is None:
            told = any(
                record.verb == "threw out" and not record.out_of_kind for record in self.edition.notes.records
            )
            how = "not weighed" if told else "not recorded"
            return f"What went to landfill is {how}, so no percentage is given."
        months = counted(len(found.months), "month")
        return (
            f"In the {months} with weighed trash, {share_words(found.rate)} of the household’s own "
            "logged waste stayed out of landfill."
        )

    def beside(self) -> Iterator[str]:
        """Set the weight beside what the household knows, and beside the number of people."""
        edition, found = self.edition, self.edition.keeping.comparisons
        if found is None or self.tally.since_start.kept_out_of_landfill.value <= 0:
            return
        told = [
            f"{span_words(edition, one.count)} × “{edition.said(one.words)}”" for one in found.equivalents
        ]
        if told:
            yield f"Since the start that is as much as {listed(told, 'or')}, by the household’s own weights."
        person = found.per_person_week
        if person is not None and person.typical > 0 and edition.household.people:
            size, unit = edition.writer.own[1], edition.writer.unit
            weight = span_words(edition, person, size, unit)
            many = edition.household.people
            each = "a week, for the one person" if many == 1 else f"a person and week, over {many:,} people"
            yield f"Of our own waste alone it comes to {weight} {each} living here."


def gaps_between(edition: Edition, first: dt.date, last: dt.date) -> list[str]:
    """Give the months between two days without a single entry."""
    there = {month for month, entries in edition.months.items() if entries}
    months = (last.year - first.year) * 12 + last.month - first.month + 1
    return [month for month in months_until(last, months) if month not in there]


def months_until(last: dt.date, count: int) -> list[str]:
    """Give so many month keys up to a day's month, in order; none before the year 1."""
    end = last.year * 12 + last.month - 1
    return [
        f"{number // 12:04d}-{number % 12 + 1:02d}" for number in range(max(12, end - count + 1), end + 1)
    ]
