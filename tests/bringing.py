"""Bringing a file into a journal of the tests' own, and what came of it."""

from __future__ import annotations

import math
from pathlib import Path

from click.testing import CliRunner, Result

from journal.commands.files import read_journal
from journal.commands.main import middenbook

DATA = Path(__file__).parent / "data" / "bring_in"
POUND = 0.45359237  # kg, NIST Handbook 44, Appendix C
HOUSEHOLD = """\
household: {name: Test House}
# the bins
bins:
  Cupboard: {worms: red wigglers}   # the only one
"""


def new_journal(folder: Path) -> Path:
    """Lay out a journal with one bin and no entry."""
    (folder / "entries").mkdir()
    (folder / "entries" / "household.yaml").write_text(HOUSEHOLD)
    return folder


def bring_in(journal: Path, file: Path, *words: str) -> Result:
    """Run `bring-in` on a file."""
    return CliRunner().invoke(middenbook, ["--journal", str(journal), "bring-in", str(file), *words])


def csv_file(journal: Path, text: str | bytes, name: str = "log.csv") -> Path:
    """Put a file beside the journal."""
    path = journal / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    return path


def lines_of(journal: Path) -> list[tuple[str, str]]:
    """Date and words of every record of the journal, which has no problem."""
    notes = read_journal(journal)
    assert not notes.problems, notes.problems[0].sentence
    return [(record.date.isoformat(), record.text) for record in notes.records]


def kilograms(journal: Path, verb: str) -> float:
    """The mass of all records of a verb, in kg."""
    return math.fsum(
        amount.kg
        for record in read_journal(journal).records
        if record.verb == verb
        for amount in record.amounts
    )
