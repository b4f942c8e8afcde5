"""A journal to note lines in, and the command that does it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from click.testing import CliRunner, Result

from journal.commands.main import middenbook

HOUSEHOLD = """\
household: {name: Test House}
bins: {Cupboard: {worms: red wigglers, surface: 2 sq ft}}
givers: {Shoe Shop: {shown as: a shop}}
plantings: {Plum: {kind: fruit tree}}
measures: {bucket: 5 gal}
"""
DAY = dt.date(2026, 3, 14)
LINE = "fed 1 lb banana peels to Cupboard"
JPEG = b"\xff\xd8\xff\xe0 not much of a picture, but its first bytes are a JPEG's"


def begin(folder: Path) -> Path:
    """Lay a journal out with a household and no entry, and give its folder."""
    (folder / "entries").mkdir()
    (folder / "entries" / "household.yaml").write_text(HOUSEHOLD)
    return folder


def note(journal: Path, *words: str, stdin: str | bytes | None = None) -> Result:
    """Run `note` on the day of these tests."""
    day = () if "--date" in words else ("--date", DAY.isoformat())
    return CliRunner().invoke(middenbook, ["--journal", str(journal), "note", *day, *words], input=stdin)


def entries(journal: Path) -> dict[str, str]:
    """Every entry file with its text, line ends as they are."""
    root = journal / "entries"
    return {
        file.relative_to(root).as_posix(): file.read_bytes().decode("utf-8")
        for file in sorted(root.rglob("*.md"))
    }


def write(journal: Path, files: dict[str, str]) -> None:
    """Put entry files into the journal."""
    for name, text in files.items():
        path = journal / "entries" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode("utf-8"))
