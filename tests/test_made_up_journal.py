"""The journal that benchmarks are run on is sound, so that they measure the usual road and not the ditch."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import CHECKOUT, Program

MAKE = CHECKOUT / "tests/bench/make_journal.py"
ENTRIES = 60


def made(folder: Path, *words: str) -> dict[str, bytes]:
    """The files of a made-up journal, by name."""
    subprocess.run([sys.executable, MAKE, folder, "--entries", str(ENTRIES), *words], check=True)
    return {str(file.relative_to(folder)): file.read_bytes() for file in folder.rglob("*") if file.is_file()}


def test_the_same_seed_makes_the_same_journal(tmp_path: Path) -> None:
    """Two journals of one seed are the same bytes, and another seed gives another journal."""
    assert made(tmp_path / "a") == made(tmp_path / "b")
    assert made(tmp_path / "c", "--seed", "8") != made(tmp_path / "a")


@pytest.mark.parametrize("arrangement", ["day", "month", "year", "one"])
def test_each_arrangement_holds_the_same_entries(arrangement: str, tmp_path: Path) -> None:
    """However the entries are spread over files, they are the same, with five record lines each."""
    files = made(tmp_path / "a", "--arrangement", arrangement)
    texts = [text.decode() for name, text in sorted(files.items()) if name.endswith(".md")]
    months = made(tmp_path / "b", "--arrangement", "month")
    assert "".join(texts) == "".join(
        text.decode() for name, text in sorted(months.items()) if name.endswith(".md")
    )
    assert "".join(texts).count("\n- ") == 5 * ENTRIES


def test_the_made_up_journal_has_no_problem(tmp_path: Path, program: Program) -> None:
    """Proofreading it finds nothing that could not be read."""
    made(tmp_path / "journal")
    done = program("proofread", "--journal", tmp_path / "journal")
    assert done.returncode == 0, done.stdout + done.stderr
