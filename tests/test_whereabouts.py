"""Where waste is now: what each giver brought is somewhere, all of it and no more."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest
from hypothesis import given

from journal.notes.records import Notes, Record
from journal.reckoning.tally import Tally
from journal.site.edition import Edition
from journal.site.views.whereabouts import Whereabouts
from tests.journals import journals, notes_of, tally_of

LB = 0.45359237  # kg, exact: NIST Handbook 44, Appendix C


def pounds(tally: Tally, giver: str) -> dict[str, float]:
    """Where a giver's waste is, in lb by account."""
    follow = Whereabouts(cast("Edition", SimpleNamespace(tally=tally)))
    heaps = follow.by(lambda whose, _stream: whose)[giver]
    return {f"{where.kind} {where.name}".strip(): round(kg / LB, 6) for where, kg in heaps.items()}


def test_water_thrown_out_with_some_of_a_batch_takes_no_more_paper_along(tmp_path: Path) -> None:
    """A quarter of a batch is thrown out: a quarter of its paper is landfilled, the rest is in the bin."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n- took in 4.0 lb newspaper from Elm House\n"
        "- mixed bedding First Mix: 4.0 lb newspaper, 4.0 lb water\n"
        "## 2026-03-04\n- threw out 2.0 lb First Mix\n- bedded Lower Bin with 6.0 lb First Mix\n",
    )
    assert pounds(tally, "Elm House") == {"landfill": 1, "bin Lower Bin": 3}


def test_drained_liquid_takes_no_paper_along(tmp_path: Path) -> None:
    """Water that runs off a batch leaves its paper where it was."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n- took in 4.0 lb newspaper from Elm House\n"
        "- mixed bedding First Mix: 4.0 lb newspaper, 6.0 lb water\n"
        "- threw out 2.0 lb drained liquid out of First Mix\n- bedded Lower Bin with 4.0 lb First Mix\n",
    )
    assert pounds(tally, "Elm House") == {"batch First Mix": 2, "bin Lower Bin": 2}


def test_what_is_taken_off_a_planting_is_there_no_more(tmp_path: Path) -> None:
    """Leaves spread on a bed and thrown out in part are counted in one place each."""
    tally = tally_of(
        tmp_path,
        "## 2026-03-01\n- took in 5.0 lb leaves from Elm House\n- spread 5.0 lb leaves on Plum\n"
        "## 2026-03-04\n- threw out 2.0 lb leaves out of leaves\n",
    )
    assert pounds(tally, "Elm House") == {"planting Plum": 3, "landfill": 2}


def mixed_once(notes: Notes) -> Notes:
    """The same journal with each batch mixed but once and not of itself, as the reader has it."""
    kept: list[Record] = []
    mixed: set[str | None] = set()
    for record in sorted(notes.records, key=lambda each: each.date):
        if record.verb == "mixed":
            if record.batch in mixed or any(amount.material == record.batch for amount in record.amounts):
                continue
            mixed.add(record.batch)
        kept.append(record)
    return notes_of(kept)


@given(journals())
def test_all_that_a_giver_brought_is_somewhere(notes: Notes) -> None:
    """In bins, batches and beds, on hand, passed on or landfilled: together it is what came in."""
    tally = Tally(mixed_once(notes))
    heaps = Whereabouts(cast("Edition", SimpleNamespace(tally=tally))).by(lambda giver, _stream: giver or "")
    brought: dict[str, float] = {}
    for origin in tally.ledger.origins:
        brought[origin.giver or ""] = brought.get(origin.giver or "", 0.0) + origin.kg
    assert {giver: sum(there.values()) for giver, there in heaps.items()} == pytest.approx(brought, abs=1e-6)
