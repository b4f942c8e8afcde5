"""README.md and DEVELOPERS.md lead where they say and leave nothing out."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).resolve().parent.parent
DOCUMENTS = ("README.md", "DEVELOPERS.md")
MARKS = ("verbs", "faults", "commands", "entry-language")


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


@pytest.mark.parametrize("mark", MARKS)
def test_every_drawn_part_is_filled(mark: str) -> None:
    """Between each pair of marks in the README stands what was drawn from the code."""
    found = re.search(rf"<!-- {mark} -->(.*?)<!-- /{mark} -->", text_of("README.md"), re.DOTALL)
    assert found
    assert found[1].strip(), f"nothing stands between the marks of {mark}"


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
