"""The chart of castings: harvested against spread or given away, by month, or by year for a long journal."""

from __future__ import annotations

from collections.abc import Sequence

from journal.measures.periods import month_key
from journal.reckoning.diversion import CASTINGS
from journal.site.edition import Edition
from journal.site.views.tables import NUMBER, head, row, table
from journal.site.wording import View, month_in_words, significant

VERBS = frozenset({"harvested", "spread", "gave"})
MOST_MONTHS = 24
MOST_YEARS = 30
MOST_LABELS = 15


def castings_drawn(edition: Edition) -> View | None:
    """Draw castings in and out, or nothing where there were none."""
    months: dict[str, list[int]] = {}
    for index, record in enumerate(edition.notes.records):
        if record.verb in VERBS:
            months.setdefault(month_key(record.date), []).append(index)
    if not months:
        return None
    periods = _periods(min(months), max([*months, month_key(edition.as_of)]))
    by_year = len(periods[0]) == len("2026")
    rows = [{"at": at, "in": 0.0, "out": 0.0} for at in range(len(periods))]
    places = {period: at for at, period in enumerate(periods)}
    for month, indices in months.items():
        at = places.get(month[:4] if by_year else month)
        if at is not None:
            _add(edition, rows[at], indices)
    if not any(one["in"] or one["out"] for one in rows):
        return None
    data = {
        "periods": [_label(period, at, len(periods)) for at, period in enumerate(periods)],
        "rows": [{**one, "in": round(one["in"], 2), "out": round(one["out"], 2)} for one in rows],
        "in_label": "harvested",
        "out_label": "spread or given away",
        **edition.writer.marks,
    }
    numbers = [
        row(
            str(int(period)) if by_year else month_in_words(period),
            edition.writer.number(significant(one["in"], 3)),
            edition.writer.number(significant(one["out"], 3)),
        )
        for period, one in zip(periods, rows, strict=True)
    ]
    heads = head("Time", ("Harvested", NUMBER), ("Spread or given", NUMBER))
    unit = edition.writer.unit
    return {
        "id": "castings",
        "kind": "in and out",
        "data": data,
        "title": f"Castings in and out, in {unit}",
        "summary": _summary(edition),
        "key": [],
        "table": table(f"Castings by {'year' if by_year else 'month'}, in {unit}", heads, numbers),
    }


def _periods(first: str, last: str) -> list[str]:
    """Give the months from first to last, or the years where there are more months than can be read."""
    start, end = (int(month[:4]) * 12 + int(month[5:]) - 1 for month in (first, last))
    if end - start >= MOST_MONTHS:
        return [f"{year:04d}" for year in range(start // 12, end // 12 + 1)][-MOST_YEARS:]
    return [f"{number // 12:04d}-{number % 12 + 1:02d}" for number in range(start, end + 1)]


def _add(edition: Edition, one: View, indices: Sequence[int]) -> None:
    size = edition.writer.own[1]
    for index in indices:
        record = edition.notes.records[index]
        kg = sum(amount.kg for amount in record.amounts if amount.material == CASTINGS)
        one["in" if record.verb == "harvested" else "out"] += kg / size


def _summary(edition: Edition) -> str:
    write, store = edition.writer.in_words, edition.keeping.castings
    return (
        f"Harvested since the start: {write(store.harvested)}; spread: {write(store.spread)}; given away: "
        f"{write(store.given)}; in store: {write(store.left)}."
    )


def _label(period: str, at: int, count: int) -> str:
    """Give a period's mark on the axis, and none where marks would run into one another."""
    year, _, month = period.partition("-")
    short = f"’{year[2:]}"
    if not month:
        return short if count <= MOST_LABELS or at % 3 == 0 else ""
    if month == "01":
        return short
    return month_in_words(period)[0] if count <= MOST_LABELS or int(month) % 3 == 1 else ""
