"""What all tests share: the checkout, a way to start the program, and that CI skips no judge."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Generator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

CHECKOUT = Path(__file__).resolve().parent.parent

# Examples are drawn the same way on every run: a test that fails in CI fails on the next machine too.
settings.register_profile(
    "steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.register_profile("long", deadline=None, max_examples=2000, print_blob=True)
settings.load_profile(os.environ.get("MIDDENBOOK_HYPOTHESIS", "steady"))

# What the program keeps for itself while it is called from here is no keeper's.
_KEPT = tempfile.TemporaryDirectory(prefix="middenbook-tests-")
os.environ["XDG_CACHE_HOME"] = _KEPT.name

Program = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture(scope="session")
def checkout() -> Path:
    """The folder that holds README.md, journal/, entries/ and tests/."""
    return CHECKOUT


@pytest.fixture(scope="session")
def program(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """Start `python -m journal WORDS…` and return what came of it; `cwd`, `stdin` and `env` may be given.

    The program's memory is a folder of the session's own, so that no test sees what an earlier one drew.
    """
    memory = tmp_path_factory.mktemp("memory")

    def start(
        *words: str | Path, cwd: Path = CHECKOUT, stdin: str = "", env: dict[str, str] | None = None
    ) -> subprocess.CompletedProcess[str]:
        surroundings = {
            **os.environ,
            "PYTHONPATH": str(CHECKOUT),
            "PYTHONUTF8": "1",
            "XDG_CACHE_HOME": str(memory),
            **(env or {}),
        }
        return subprocess.run(
            [sys.executable, "-m", "journal", *map(str, words)],
            cwd=cwd,
            env=surroundings,
            input=stdin,
            capture_output=True,
            encoding="utf-8",
            timeout=300,
            check=False,
        )

    return start


@pytest.fixture(scope="session")
def demo_site(program: Program, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with the demo journal's site, published once for the whole session."""
    folder = tmp_path_factory.mktemp("demo") / "site"
    done = program("publish", "--to", folder)
    assert done.returncode == 0, f"publishing the demo failed:\n{done.stdout}{done.stderr}"
    return folder


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item,
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Where MIDDENBOOK_ALL_JUDGES is set, a skipped test is a failed one: every tool has to be there.

    `1` means every test; `python` those that need no browser, Java or Node. What cannot be tried as root (a
    read-only folder, say) may still be skipped; its reason says "as root".
    """
    report = yield
    wanted = os.environ.get("MIDDENBOOK_ALL_JUDGES", "")
    outside = any(item.get_closest_marker(tool) for tool in ("browser", "java", "node"))
    must_run = wanted == "1" or (wanted == "python" and not outside)
    if not must_run or not report.skipped or hasattr(report, "wasxfail"):
        return report
    reason = str(report.longrepr[2]) if isinstance(report.longrepr, tuple) else str(report.longrepr)
    if "as root" not in reason:
        report.outcome = "failed"
        report.longrepr = f"{item.nodeid} was skipped where every test must run: {reason}"
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(
    collector: pytest.Collector,
) -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """A whole module that skips itself would go unseen; where every test must run, it fails too."""
    report = yield
    if os.environ.get("MIDDENBOOK_ALL_JUDGES") and report.skipped:
        report.outcome = "failed"
        report.longrepr = f"{collector.nodeid} skipped itself as a whole: {report.longrepr}"
    return report
