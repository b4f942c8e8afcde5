"""README.md and DEVELOPERS.md lead where they say and leave nothing out."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from journal.commands.files import read_journal
from journal.notes.faults import Fault
from tests.documents import PARTS, blocks, filled, lay_down

CHECKOUT = Path(__file__).resolve().parent.parent
DOCUMENTS = ("README.md", "DEVELOPERS.md")
BASH = 'set -eo pipefail; middenbook() { "$PYTHON" -m journal "$@"; }; python3() { "$PYTHON" "$@"; }; '
OUTSIDE = frozenset({"build/", "journal/site_templates/"})
"""What DEVELOPERS.md names and only a publication or a wheel makes."""

LONGEST = 60  # seconds for one command


def text_of(name: str) -> str:
    """The text of one of the documents."""
    return (CHECKOUT / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_link_leads_to_a_file(name: str) -> None:
    """Each relative link and picture in the documents is a file of the checkout."""
    targets = re.findall(r"\]\(([^)#\s]+)", text_of(name))
    lost = [target for target in targets if "://" not in target and not (CHECKOUT / target).is_file()]
    assert not lost


@pytest.mark.parametrize("name", DOCUMENTS)
def test_no_heading_is_empty(name: str) -> None:
    """Under every heading there is something to read, if only smaller headings that have it."""
    headings = re.findall(
        r"^(#+) (.+)\n+(?=(#+) |\Z)", re.sub(r"<!--.*?-->\n*", "", text_of(name)), re.MULTILINE
    )
    empty = [title for level, title, following in headings if len(following) <= len(level)]
    assert not empty, f"{name} has nothing under {', '.join(empty)}"


@pytest.mark.parametrize("mark", PARTS)
def test_every_drawn_part_is_filled(mark: str) -> None:
    """Between each pair of marks in the README stands what was drawn from the code."""
    found = re.search(rf"<!-- {mark} -->(.*?)<!-- /{mark} -->", text_of("README.md"), re.DOTALL)
    assert found
    assert found[1].strip(), f"nothing stands between the marks of {mark}"


def test_the_drawn_parts_are_those_of_the_code() -> None:
    """Drawing the README's tables anew changes nothing; where it does, run `python tests/documents.py`."""
    assert filled(text_of("README.md")) == text_of("README.md")


def keys_named(folder: Path, household: str) -> list[str]:
    """The keys that the program names where it meets one that it does not know."""
    (folder / "entries").mkdir(exist_ok=True)
    (folder / "entries" / "household.yaml").write_text(household, encoding="utf-8")
    advice = [one.advice for one in read_journal(folder).problems if one.fault is Fault.UNKNOWN_KEY]
    assert len(advice) == 1
    return advice[0].removeprefix("the keys here are: ").split(", ")


def keys_of_household(folder: Path) -> set[str]:
    """Every key that household.yaml may hold, as the program names them; an inner one behind a colon."""
    parts = set(keys_named(folder, "household: {name: A}\nzzz: 1\n"))
    found = {f"household: {key}" for key in keys_named(folder, "household: {name: A, zzz: 1}\n")}
    for part in ("bins", "givers", "plantings", "measures", "materials"):
        named = keys_named(folder, f"household: {{name: A}}\n{part}: {{one: {{zzz: 1}}}}\n")
        found |= {f"{part}: {key}" for key in named}
    for part in ("goals", "bedding", "sharing"):
        named = keys_named(folder, f"household: {{name: A}}\n{part}: {{zzz: 1}}\n")
        found |= {f"{part}: {key}" for key in named}
    return found | (parts - {key.split(":")[0] for key in found})


def test_every_key_of_household_yaml_is_explained(tmp_path: Path) -> None:
    """The README has a row for each key of household.yaml, and for none that is gone."""
    section = text_of("README.md").split("\n## household.yaml", 1)[1].split("\n## ", 1)[0]
    first_cells = re.findall(r"^\| (`[^|]+) \|", section, re.MULTILINE)
    assert {key for cell in first_cells for key in re.findall(r"`([^`]+)`", cell)} == keys_of_household(
        tmp_path
    )


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_heading_that_is_linked_is_there(name: str) -> None:
    """A link to a heading of the same document leads to one."""
    titles = re.findall(r"^#+ (.+)$", text_of(name), re.MULTILINE)
    anchors = {re.sub(r"[^\w -]", "", title.lower()).replace(" ", "-") for title in titles}
    assert not set(re.findall(r"\]\(#([^)]+)\)", text_of(name))) - anchors


def test_no_command_is_shown_untried() -> None:
    """Each command of the program that stands in a block of the README is one that these tests run."""
    readme = text_of("README.md")
    shown = re.findall(r"^ {4}(middenbook .+)$", readme, re.MULTILINE)
    tried = [line for block in blocks(readme) if block.kind == "run" for line in block.text.splitlines()]
    assert shown
    assert not [line for line in shown if line not in tried]


def keep_a_preview(line: str, folder: Path, environment: dict[str, str]) -> None:
    """Start a preview, wait until it serves, and end it with Ctrl-C."""
    words = [sys.executable, "-m", "journal", *line.split()[1:], "--port", "0"]
    with subprocess.Popen(
        words, cwd=folder, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8"
    ) as running:
        assert running.stdout is not None
        overdue = threading.Timer(LONGEST, running.kill)
        overdue.start()
        seen = any("Ctrl-C ends it" in told for told in running.stdout)
        running.send_signal(signal.SIGINT)
        running.communicate()
        overdue.cancel()
    assert seen
    assert running.returncode == 0


@pytest.mark.slow
@pytest.mark.skipif(not (shutil.which("bash") and shutil.which("git")), reason="needs bash and git")
def test_every_command_shown_works(tmp_path: Path) -> None:
    """The README's commands, run in their order beside the files that it shows, all end well."""
    environment = {**os.environ, "PYTHON": sys.executable, "PYTHONPATH": str(CHECKOUT)}
    shown = blocks(text_of("README.md"))
    lay_down(shown, tmp_path)
    for block in (one for one in shown if one.kind == "run"):
        for line in block.text.splitlines():
            if line.endswith(" preview"):
                keep_a_preview(line, tmp_path, environment)
                continue
            done = subprocess.run(
                ["bash", "-c", BASH + line], cwd=tmp_path, env=environment, capture_output=True,
                encoding="utf-8", timeout=LONGEST, check=False,
            )  # fmt: skip
            assert done.returncode == 0, f"{line}\n{done.stdout}\n{done.stderr}"
    for page in ("my-worms/build", "example/build", "public/worms", "club-site"):
        assert (tmp_path / page / "index.html").is_file()


@pytest.mark.parametrize("title", ["publish", "test"])
def test_newcomers_have_one_command(title: str) -> None:
    """CI reads the two commands for newcomers out of the README, each one line."""
    found = re.search(rf"<!-- command: {title} -->\n\n    (\S.+)\n\n", text_of("README.md"))
    assert found
    assert found[1].startswith("python3 -m venv .venv && ")


def test_every_judge_stands_in_the_developers_guide() -> None:
    """DEVELOPERS.md has a row for each file of judges, and no row for one that is gone."""
    files = {file.name for file in (CHECKOUT / "tests/judges").glob("test_*.py")}
    assert set(re.findall(r"^\| `(test_\w+\.py)` \|", text_of("DEVELOPERS.md"), re.MULTILINE)) == files


def test_what_the_developers_guide_names_is_there() -> None:
    """Each file, folder, test and table that DEVELOPERS.md names between backquotes exists."""
    guide = text_of("DEVELOPERS.md")
    named = set(re.findall(r"`([\w./-]+)`", guide))
    roots = (CHECKOUT, CHECKOUT / "journal", CHECKOUT / "tests" / "judges")
    paths = {name for name in named if re.search(r"/|\.(py|md|yaml|html)$", name)} - OUTSIDE
    assert not {path for path in paths if not any((root / path).exists() for root in roots)}
    code = "".join(
        file.read_text(encoding="utf-8")
        for folder in ("journal", "tests")
        for file in (CHECKOUT / folder).rglob("*.py")
        if "node_modules" not in file.parts
    )
    words = {name for name in named if re.fullmatch(r"_?[A-Z][A-Z_]{2,}|test_\w+|Book\w+", name)}
    assert not {word for word in words if not re.search(rf"\b{word}\b", code)}
