"""Whole commands on a failing machine: a sentence and a status, never a traceback, and nothing by halves.

MIDDENBOOK_LONG=1 fails every change of the disk that each command asks for; without it, some of them.
"""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from click.testing import CliRunner, Result

from journal.commands import preview
from journal.commands.main import middenbook
from journal.commands.preview_server import State
from journal.commands.publication import MADE
from journal.commands.together import STAGING
from journal.commands.writing import Disk
from journal.notes.place import Problem

CHECKOUT = Path(__file__).resolve().parent.parent
LONG = bool(os.environ.get("MIDDENBOOK_LONG"))
FED = "fed 3 lb banana peels to First Bin"
SHEET = "date,verb,amount,unit,material,bin\n2026-03-01,fed,2,lb,banana peels,First Bin\n"
JPEG = b"\xff\xd8\xff\xe0 no real picture"
CHANGES = ("create", "write", "flush", "link", "rename", "unlink", "make_folder", "remove_folder")


@pytest.fixture(autouse=True)
def memory(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A memory of the tests' own."""
    folder = tmp_path_factory.getbasetemp() / "memory"
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder))
    return folder


class Failing:
    """Makes the nth change that any command asks of the disk fail."""

    def __init__(self) -> None:
        self.count, self.at, self.failure = 0, 0, OSError(errno.ENOSPC, "full")

    def arm(self, at: int, failure: OSError) -> None:
        """Fail at this change, counted from now."""
        self.count, self.at, self.failure = 0, at, failure


@pytest.fixture
def failing(monkeypatch: pytest.MonkeyPatch) -> Iterator[Failing]:
    """The disk of all commands, failing where it is told to."""
    told = Failing()

    def wrapped(original: Callable[..., object], name: str) -> Callable[..., object]:
        def change(self: Disk, *given: object) -> object:
            told.count += 1
            if told.count == told.at:
                raise told.failure
            return None if name == "flush" else original(self, *given)

        return change

    for name in CHANGES:
        monkeypatch.setattr(Disk, name, wrapped(getattr(Disk, name), name))
    yield told
    told.at = 0


def run(folder: Path, *words: str) -> Result:
    """Run a command on a journal."""
    return CliRunner().invoke(middenbook, ["--journal", str(folder), *words])


def everything(folder: Path) -> dict[str, bytes]:
    """Every file and its bytes, but for the list of made files."""
    return {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in sorted(folder.rglob("*"))
        if file.is_file() and file.name != MADE
    }


def lay(folder: Path, files: dict[str, bytes]) -> None:
    """Make a folder hold these files again."""
    subprocess.run(["rm", "-rf", str(folder)], check=True)
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


COMMANDS = {
    "start": ("start",),
    "note": ("note", FED),
    "note with a photo": ("note", FED, "--photo", "{}/tray.jpg"),
    "bring-in": ("bring-in", "{}/log.csv", "--write"),
    "publish": ("publish",),
    "chores": ("chores", "--calendar", "{}/due.ics"),
}


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize(
    ("code", "said"),
    [(errno.ENOSPC, "disk is full"), (errno.EROFS, "only be read"), (errno.EACCES, "denied")],
)
def test_a_command_on_a_failing_disk_says_so(
    tmp_path: Path, failing: Failing, name: str, code: int, said: str
) -> None:
    """Whatever change of the disk fails, the command says so in a sentence; all is old or all is new."""
    folder = tmp_path / "worms"
    words = [word.format(tmp_path) for word in COMMANDS[name]]
    (tmp_path / "tray.jpg").write_bytes(JPEG)
    (tmp_path / "log.csv").write_text(SHEET)
    if name == "start":
        words.append(str(folder))
    else:
        assert CliRunner().invoke(middenbook, ["start", str(folder)]).exit_code == 0
    if name == "publish":
        assert run(folder, "publish").exit_code == 0
        year = next((folder / "entries").glob("2*.md"))
        year.write_text(year.read_text() + f"- {FED}\n")
        (folder / "build" / "CNAME").write_text("mine")
    before = everything(tmp_path)
    failing.arm(0, failing.failure)
    assert run(folder, *words).exit_code == 0
    after, steps = everything(tmp_path), failing.count
    assert after != before
    stride = 1 if LONG else max(1, steps // 5)
    for step in sorted({*range(1, steps + 1, stride), steps}):
        lay(tmp_path, before)
        if name == "publish":
            _own(folder / "build")
        failing.arm(step, OSError(code, "refused"))
        done = run(folder, *words)
        failing.at = 0
        found = {key: data for key, data in everything(tmp_path).items() if STAGING not in key}
        assert found in (before, after), f"step {step} of {steps}"
        assert done.exit_code == (0 if found == after and said not in done.stderr else 1), done.output
        assert "fault of the program" not in done.output
        assert "Traceback" not in done.output
        if done.exit_code:
            assert said in done.stderr


def _own(site: Path) -> None:
    """Write the list of made files as it was."""
    names = sorted(name for name in everything(site) if name != "CNAME")
    (site / MADE).write_text("".join(f"{name}\n" for name in names))


def test_a_preview_outlives_a_failing_disk(
    tmp_path: Path, failing: Failing, capsys: pytest.CaptureFixture[str]
) -> None:
    """While previewing, a disk that fails shows up in the page and the terminal; the last good site stays."""
    folder = tmp_path / "worms"
    assert CliRunner().invoke(middenbook, ["start", str(folder)]).exit_code == 0
    server = SimpleNamespace(state=State())
    assert preview.publish_once(folder, folder / "build", server)  # type: ignore[arg-type]
    good = everything(folder / "build")
    year = next((folder / "entries").glob("2*.md"))
    year.write_text(year.read_text() + f"- {FED}\n")
    failing.arm(9, OSError(errno.ENOSPC, "full"))
    assert not preview.publish_once(folder, folder / "build", server)  # type: ignore[arg-type]
    assert any("disk is full" in line for line in server.state.problems)
    assert "disk is full" in capsys.readouterr().err
    assert everything(folder / "build") == good
    failing.arm(0, failing.failure)
    assert preview.publish_once(folder, folder / "build", server)  # type: ignore[arg-type]
    assert everything(folder / "build") != good


def test_a_file_that_vanishes_while_reading_is_a_problem(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An entry that is deleted between being listed and being read is told, and nothing is published."""
    from journal.commands import files

    folder = tmp_path / "worms"
    assert CliRunner().invoke(middenbook, ["start", str(folder)]).exit_code == 0
    extra = folder / "entries" / "2020.md"
    extra.write_text("## 2020-01-01\n\nGone soon.\n")
    listing = files._walk

    def vanishing(root: Path, prefix: str, problems: list[Problem]) -> Iterator[Any]:
        yield from list(listing(root, prefix, problems))
        extra.unlink(missing_ok=True)

    monkeypatch.setattr(files, "_walk", vanishing)
    done = run(folder, "publish")
    assert done.exit_code == 1
    assert "2020.md" in done.stderr
    assert not (folder / "build").exists()


def program(*words: str | Path, memory: Path) -> subprocess.Popen[bytes]:
    """Start the program in a process of its own."""
    surroundings = {**os.environ, "PYTHONPATH": str(CHECKOUT), "XDG_CACHE_HOME": str(memory)}
    return subprocess.Popen(
        [sys.executable, "-m", "journal", *map(str, words)],
        env=surroundings,
        cwd=CHECKOUT,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )


def all_well(*running: subprocess.Popen[bytes]) -> None:
    """Wait for processes, and see that each ended well and said nothing on standard error."""
    for process in running:
        _, err = process.communicate(timeout=120)
        assert process.returncode == 0, err.decode()


@pytest.mark.slow
def test_two_publishers_and_a_note_at_once(tmp_path: Path, memory: Path) -> None:
    """Publications of two journals into one folder leave one of them whole; a note meanwhile is kept."""
    sites = []
    for name in ("a", "b"):
        all_well(program("start", tmp_path / name, memory=memory))
        year = next((tmp_path / name / "entries").glob("2*.md"))
        year.write_text(year.read_text() + f"- fed {ord(name)} lb banana peels to First Bin\n")
        all_well(
            program("--journal", tmp_path / name, "publish", "--to", tmp_path / f"{name}-site", memory=memory)
        )
        sites.append(everything(tmp_path / f"{name}-site"))
    assert sites[0] != sites[1]
    together = tmp_path / "together"
    all_well(
        program("--journal", tmp_path / "a", "publish", "--to", together, memory=memory),
        program("--journal", tmp_path / "b", "publish", "--to", together, memory=memory),
        program("--journal", tmp_path / "a", "publish", "--to", together, memory=memory),
        program("--journal", tmp_path / "a", "note", FED, memory=memory),
    )
    found = everything(together)
    if found not in sites:  # a publication that began after the note holds the note too
        all_well(program("--journal", tmp_path / "a", "publish", "--to", tmp_path / "a-site", memory=memory))
        sites.append(everything(tmp_path / "a-site"))
    assert found in sites
    year = next((tmp_path / "a" / "entries").glob("2*.md"))
    assert year.read_text().count(f"- {FED}\n") == 1


@pytest.mark.slow
def test_a_sheet_brought_in_twice_at_once_is_brought_in_once(tmp_path: Path, memory: Path) -> None:
    """Two runs of bring-in on one sheet leave each row once."""
    (tmp_path / "log.csv").write_text(SHEET)
    all_well(program("start", tmp_path / "worms", memory=memory))
    words = ("--journal", tmp_path / "worms", "bring-in", tmp_path / "log.csv", "--write")
    all_well(*(program(*words, memory=memory) for _ in range(3)))
    brought = (tmp_path / "worms" / "entries" / "brought-in" / "log.md").read_text()
    assert brought.count("- fed 2 lb banana peels") == 1
