"""Work divided between two processes comes out as if one had done it, whatever becomes of the second."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from journal.commands import files, publish, workmates
from journal.commands.workmates import Workmates
from tests.test_remembered_site import CHECKOUT, EDITS, site

FORKS = pytest.mark.skipif(sys.platform != "linux", reason="only Linux copies a process safely")


@pytest.fixture(autouse=True)
def two_processors(monkeypatch: pytest.MonkeyPatch) -> None:
    """The machine has a second processor, whatever it really has."""
    monkeypatch.setattr(workmates, "can_copy", lambda: sys.platform == "linux")


def whoever(number: int) -> tuple[int, int]:
    """A result, and the process that made it; long enough that both get their share."""
    time.sleep(0.002)
    return number * number, os.getpid()


@FORKS
def test_every_task_is_done_once_and_both_processes_work() -> None:
    """Two hundred short tasks: each result once, made by this process and by one other."""
    with Workmates() as mates:
        results = list(mates.divided([partial(whoever, number) for number in range(200)]))
    assert sorted(square for square, _ in results) == [number * number for number in range(200)]
    processes = {process for _, process in results}
    assert len(processes) == 2
    assert os.getpid() in processes


def test_without_a_second_processor_all_is_done_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """One process, in the order of the tasks."""
    monkeypatch.setattr(workmates, "can_copy", lambda: False)
    with Workmates() as mates:
        assert list(mates.divided([partial(whoever, number) for number in range(3)])) == [
            (number * number, os.getpid()) for number in range(3)
        ]


def here(first: int) -> bool:
    """Whether this is the first process."""
    return os.getpid() == first


def broken_elsewhere(first: int, number: int, how: str) -> int:
    """A task that fails, dies or gives what cannot be handed over, but only in the second process."""
    time.sleep(0.001)
    if not here(first) and number > 5:
        if how == "dies":
            os.kill(os.getpid(), signal.SIGKILL)
        if how == "ends":
            sys.exit(3)
        if how == "fails":
            raise ValueError("no good")
        return lambda: number  # type: ignore[return-value]  # no function travels between processes
    return number


@FORKS
@pytest.mark.parametrize("how", ["dies", "ends", "fails", "hands over nothing"])
def test_what_the_second_process_leaves_undone_is_done_by_the_first(how: str) -> None:
    """Its death is nobody's loss: every result is there, each once."""
    tasks = [partial(broken_elsewhere, os.getpid(), number, how) for number in range(60)]
    with Workmates() as mates:
        assert sorted(mates.divided(tasks)) == list(range(60))


def fails(number: int) -> int:
    """A task that fails wherever it is done."""
    if number == 7:
        raise ValueError("seven")
    return number


@FORKS
def test_a_task_that_fails_is_told_by_the_first_process() -> None:
    """Whichever process met it, the failure is raised here, as if there were no other."""
    with Workmates() as mates, pytest.raises(ValueError, match="seven"):
        list(mates.divided([partial(fails, number) for number in range(20)]))


@FORKS
def test_nobody_is_left_behind_when_the_first_gives_up() -> None:
    """A failure between beginning and end lets the second process go."""
    before = set(children())
    with Workmates() as mates:
        results = mates.divided([partial(time.sleep, 60)] * 4)
        assert set(children()) > before
    assert set(children()) == before
    del results


def children() -> list[str]:
    """The processes that this one has begun and that are still there."""
    return Path(f"/proc/{os.getpid()}/task/{os.getpid()}/children").read_text(encoding="ascii").split()


@FORKS
def test_the_second_process_holds_nothing_of_the_first_open(tmp_path: Path) -> None:
    """No lock and no pipe outlives the first process because the second has it too."""
    with (tmp_path / "held").open("w", encoding="utf-8"), Workmates() as mates:
        tasks: list[Callable[[], tuple[int, set[str]]]] = [partial(opened, 0.01) for _ in range(20)]
        found = list(mates.divided(tasks))
    elsewhere = [names for process, names in found if process != os.getpid()]
    assert elsewhere
    assert not any(str(tmp_path / "held") in names for names in elsewhere)
    assert any(str(tmp_path / "held") in names for process, names in found if process == os.getpid())


def opened(seconds: float) -> tuple[int, set[str]]:
    """The names of all files that this process has open."""
    time.sleep(seconds)
    folder = Path("/proc/self/fd")
    names = set()
    for name in os.listdir(folder):  # noqa: PTH208 - the folder changes while it is read
        try:
            names.add(str((folder / name).readlink()))
        except OSError:
            continue
    return os.getpid(), names


@FORKS
@pytest.mark.parametrize("edit", EDITS)
def test_a_site_made_by_two_is_the_site_made_by_one(
    edit: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Cold, and after an edit with what is remembered: byte for byte."""
    import shutil

    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    folder = tmp_path / "journal"
    shutil.copytree(CHECKOUT / "entries", folder / "entries")
    monkeypatch.setattr(files, "LONG", 0)
    publish.publish(folder, tmp_path / "two")
    EDITS[edit](folder)
    outcome = publish.publish(folder, tmp_path / "two")
    assert outcome.published is not None
    edited = site(tmp_path / "two")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "none"))
    monkeypatch.setattr(files, "LONG", 10**9)
    publish.publish(folder, tmp_path / "one")
    assert edited == site(tmp_path / "one")
