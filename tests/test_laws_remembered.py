"""Random journals, changed at random: what is left standing is what would be made anew."""

from __future__ import annotations

import datetime as dt
import random
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from journal.commands.files import read_journal
from journal.commands.shipped import template_folders
from journal.commands.site import site_files
from journal.reckoning.tally import Tally
from journal.site import templates
from journal.site.issue import Issue
from journal.site.memory import Recollection
from journal.site.templates import Templates
from tests.text_journals import FIRST, HOUSEHOLD, Day, days, lay_out

Change = Callable[[random.Random, list[Day]], list[Day]]
MIXED = ("mixed bedding Otter: 3 lb shredded paper and 2 lb water", "mixed bedding Vole: 2 lb coir")


def one_line_less(chance: random.Random, written: list[Day]) -> list[Day]:
    """Take a line away."""
    at = chance.randrange(len(written))
    lines = list(written[at].lines)
    if lines:
        lines.pop(chance.randrange(len(lines)))
    return [*written[:at], replace(written[at], lines=tuple(lines)), *written[at + 1 :]]


def one_line_more(chance: random.Random, written: list[Day]) -> list[Day]:
    """Add a line that somebody may be named in for the first time, dated otherwise at times."""
    at = chance.randrange(len(written))
    line = chance.choice(
        [
            "took in 3 lb newspaper from Elm House",
            "took in 1 lb junk mail from Nora Quist",
            "took in 2 lb bread from Ivo",
            "spread 1 lb castings on Long Bed",
            "fed 4 lb banana peels to Upper Bin",
            "bedded Lower Bin with 1 lb shredded paper",
            *MIXED,
        ]
    )
    if chance.random() < 0.2:
        line += f", on {(FIRST + dt.timedelta(days=chance.randrange(500))).isoformat()}"
    if line.startswith("mixed") and any(line[:18] in other for day in written for other in day.lines):
        return written
    return [*written[:at], replace(written[at], lines=(*written[at].lines, line)), *written[at + 1 :]]


def another_day(chance: random.Random, written: list[Day]) -> list[Day]:
    """Move an entry to another day."""
    at = chance.randrange(len(written))
    moved = replace(written[at], date=FIRST + dt.timedelta(days=chance.randrange(500)))
    return [*written[:at], moved, *written[at + 1 :]]


def kept_back_or_not(chance: random.Random, written: list[Day]) -> list[Day]:
    """Make an entry private, or no longer so."""
    at = chance.randrange(len(written))
    return [*written[:at], replace(written[at], private=not written[at].private), *written[at + 1 :]]


def other_words(chance: random.Random, written: list[Day]) -> list[Day]:
    """Write other prose."""
    at = chance.randrange(len(written))
    return [*written[:at], replace(written[at], prose="A wet day."), *written[at + 1 :]]


CHANGES: list[Change] = [one_line_less, one_line_more, another_day, kept_back_or_not, other_words]


def made(folder: Path, issue: Issue) -> dict[str, bytes | None]:
    """Every file of the site of a journal; None where one is left standing."""
    return dict(site_files(folder, Tally(read_journal(folder)), issue, []))


@pytest.fixture(autouse=True, scope="module")
def undrawn() -> object:
    """Charts are not drawn here: what they rest on is told instead, and is much quicker."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(templates, "drawn", lambda chart: repr(sorted(chart["data"].items())).encode())
        yield


@settings(max_examples=40, deadline=None)
@given(days(private=True), st.randoms(use_true_random=False), st.integers(1, 3))
def test_what_is_left_standing_is_what_would_be_made_anew(
    written: list[Day], chance: random.Random, steps: int
) -> None:
    """After any change the pages left standing, and the rows remembered, are those of a first publication."""
    with tempfile.TemporaryDirectory() as scratch:
        folder, memory = Path(scratch), Recollection()
        laid = Templates(template_folders(folder))
        written = [
            replace(written[0], lines=(*written[0].lines, *MIXED[: chance.randrange(3)])),
            *written[1:],
        ]
        lay_out(folder, {"all.md": "".join(day.text() for day in written)}, HOUSEHOLD)
        issue = Issue(laid, memory)
        last = {name: data for name, data in made(folder, issue).items() if data is not None}
        for _ in range(steps):
            keys = issue.keys
            for _ in range(chance.randrange(1, 3)):
                written = chance.choice(CHANGES)(chance, written)
            lay_out(folder, {"all.md": "".join(day.text() for day in written)}, HOUSEHOLD)
            issue = Issue(laid, memory, stands=lambda name, key, keys=keys: keys.get(name) == key)  # type: ignore[misc]
            warm = {name: last[name] if data is None else data for name, data in made(folder, issue).items()}
            cold = made(folder, Issue(laid))
            assert warm.keys() == cold.keys()
            assert [name for name in cold if warm[name] != cold[name]] == []
            last = warm
