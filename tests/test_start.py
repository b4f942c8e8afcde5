"""`start`: from nothing to a first entry that can be published, by someone who has read nothing yet."""

from __future__ import annotations

import datetime as dt
import errno
import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from journal.commands.files import read_journal
from journal.commands.main import middenbook
from journal.commands.start import first_files, lay_out
from journal.reckoning.ledger import build_ledger
from tests.conftest import Program
from tests.disks import DeadDisk, FailingDisk, Killed

DAY = dt.date(2026, 3, 14)


def start(*words: str | Path) -> Result:
    """Run `start`."""
    return CliRunner().invoke(middenbook, ["start", *map(str, words)])


def files(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    return {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in sorted(folder.rglob("*"))
        if file.is_file()
    }


def test_from_nothing_to_a_published_first_entry_in_three_commands(program: Program, tmp_path: Path) -> None:
    """A newcomer types `start` and the two lines that it prints, and the entry is on the site.

    The second line that is printed shows the site while it is written; `publish` stands in for it here.
    """
    first = program("start", "worms", cwd=tmp_path)
    assert first.returncode == 0, first.stderr
    *_, note, preview = first.stdout.splitlines()
    assert len(note.split()) < 20, "under a minute of typing"
    words = shlex.split(note)
    second = program(*words[words.index("--journal") :], cwd=tmp_path)
    assert second.returncode == 0, second.stderr
    assert "→ First Bin" in second.stdout
    assert preview.endswith("--journal worms preview")
    third = program("--journal", "worms", "publish", cwd=tmp_path)
    assert third.returncode == 0, third.stderr
    today = dt.datetime.now().astimezone().date()
    month = (tmp_path / "worms" / "build" / f"{today:%Y-%m}.html").read_text(encoding="utf-8")
    assert "banana peels" in month
    assert (tmp_path / "worms" / "build" / "index.html").is_file()


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_first_journal_is_read_without_a_word(tmp_path: Path, units: str) -> None:
    """What `start` lays out has no problem and no remark, in pounds and in kilograms."""
    lay_out(tmp_path, first_files(units, DAY))
    notes = read_journal(tmp_path)
    assert [finding.sentence for finding in (*notes.problems, *notes.remarks)] == []
    assert notes.household.units == units
    assert {record.verb for record in notes.records} == {"bought", "bedded", "added", "fed", "checked"}
    assert {entry.date for entry in notes.entries} == {DAY}


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_first_worms_are_those_that_were_bought(tmp_path: Path, units: str) -> None:
    """In the first entry the worms come from the shop once, and all that were bought go into the bin."""
    lay_out(tmp_path, first_files(units, DAY))
    ledger = build_ledger(read_journal(tmp_path))
    moved = [movement for movement in ledger.movements if movement.amount.material == "worms"]
    assert [(one.source.kind, one.target.kind, one.inferred) for one in moved] == [
        ("shop", "store", False),
        ("store", "bin", False),
    ]
    assert not ledger.stores.get("worms")


@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_line_that_is_commented_out_can_be_used(tmp_path: Path, units: str) -> None:
    """Each key that household.yaml teaches in a comment is read as soon as its # is taken away."""
    texts = first_files(units, DAY)
    used = re.sub(r"^(\s*)# ?(?=\s*[\w ]+:(?: |$))", r"\1", texts["household.yaml"], flags=re.MULTILINE)
    assert used.count("#") < texts["household.yaml"].count("#") - 10
    lay_out(tmp_path, {**texts, "household.yaml": used})
    notes = read_journal(tmp_path)
    assert [finding.sentence for finding in notes.problems] == []
    assert list(notes.household.givers) == ["Next Door"]
    assert list(notes.household.plantings) == ["Front Bed", "Apple Tree"]
    assert len(notes.household.measures) == 2
    assert notes.household.people == 2
    assert notes.household.goals.per_week


def test_the_same_start_can_also_be_made_in_the_current_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`start .` lays the journal out where the keeper stands, beside what is there."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "letter.txt").write_text("mine")
    done = start(".")
    assert done.exit_code == 0
    assert "--journal" not in done.stdout
    assert (tmp_path / "letter.txt").read_text() == "mine"
    assert (tmp_path / "entries" / "household.yaml").is_file()


@pytest.mark.parametrize("there", ["entries/mine.md", "entries/household.yaml", "entries"])
def test_nothing_is_ever_written_over(tmp_path: Path, there: str) -> None:
    """Where a journal is, or anything in its place, `start` refuses and leaves it alone."""
    (tmp_path / there).parent.mkdir(exist_ok=True)
    (tmp_path / there).write_text("mine")
    done = start(tmp_path)
    assert done.exit_code == 2
    assert "there already" in done.stderr
    assert files(tmp_path) == {there: b"mine"}


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    """A file in the way of the folder is named in a sentence."""
    (tmp_path / "worms").write_text("a file")
    done = start(tmp_path / "worms")
    assert done.exit_code in (1, 2)
    assert str(tmp_path / "worms") in done.stderr
    assert "Traceback" not in done.output


def test_a_name_with_spaces_and_signs_can_be_typed_as_shown(tmp_path: Path) -> None:
    """The lines to type name the folder so that a shell takes it as one word."""
    folder = tmp_path / "our worms; & 'co'"
    done = start(folder)
    assert done.exit_code == 0
    shown = [line for line in done.stdout.splitlines() if " note " in line]
    assert str(folder) in shlex.split(shown[0])


@pytest.mark.parametrize("failure", [OSError(errno.ENOSPC, "full"), Killed()], ids=["disk full", "kill"])
@pytest.mark.parametrize("disk", [FailingDisk, DeadDisk])
def test_a_journal_is_laid_out_whole_or_not_at_all(
    tmp_path: Path, failure: BaseException, disk: type[FailingDisk]
) -> None:
    """Wherever laying out fails, there is no journal yet, and the next try makes all of it."""
    for step in range(1, 60):
        folder = tmp_path / str(step)
        try:
            lay_out(folder, first_files("us", DAY), disk(step, failure))
        except (OSError, Killed):
            entries = folder / "entries"
            left = {file.name for file in entries.iterdir()} if entries.exists() else set()
            assert left in (set(), {"household.yaml", "2026.md"}), f"after step {step}"
            if not left:
                lay_out(folder, first_files("us", DAY))
                assert read_journal(folder).records
        else:
            break
    assert step > 8
