"""The Nu Html Checker finds nothing to say about any page, style sheet or drawing."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.judges.folder import hand_made, pages

pytestmark = [pytest.mark.java, pytest.mark.node]


@pytest.fixture(scope="module")
def nu_messages(node_file: Callable[[str], Path]) -> Callable[[Path], list[dict[str, Any]]]:
    """What the checker says about every page and style sheet of a folder, in one call."""
    if not shutil.which("java"):
        pytest.skip("no Java on this machine")
    jar = node_file("vnu-jar/build/dist/vnu.jar")

    def check(site: Path) -> list[dict[str, Any]]:
        files = [*pages(site), *sorted(site.rglob("*.css")), *sorted(site.rglob("*.svg"))]
        command = [
            "java",
            "-Xss8m",
            "-jar",
            str(jar),
            "--also-check-css",
            "--also-check-svg",
            "--format",
            "json",
        ]
        done = subprocess.run(
            [*command, *map(str, files)], capture_output=True, encoding="utf-8", check=False, timeout=300
        )
        messages: list[dict[str, Any]] = json.loads(done.stderr)["messages"]
        return messages

    return check


def told(messages: list[dict[str, Any]]) -> str:
    """The checker's findings, one a line, as file:line: words."""
    return "\n".join(
        f"{Path(message.get('url', '?')).name}:{message.get('lastLine', '?')}: {message['message']}"
        f" | {message.get('extract', '').strip()[:90]}"
        for message in messages[:40]
    )


def test_the_checker_has_nothing_to_say(
    site: Path, nu_messages: Callable[[Path], list[dict[str, Any]]]
) -> None:
    """No page, style sheet or drawing has an error or a warning, whatever its kind."""
    messages = nu_messages(site)
    assert not messages, told(messages)


def test_bad_markup_is_found(tmp_path: Path, nu_messages: Callable[[Path], list[dict[str, Any]]]) -> None:
    """The checker sees a wrong element, a needless attribute and a wrong style, and passes what is right."""
    bad = hand_made(tmp_path / "bad", "<table><p>x</p></table>", sheet__css="p { colour: red }")
    messages = nu_messages(bad)
    assert any("Start tag" in message["message"] for message in messages), told(messages)
    assert any("colour" in message["message"] for message in messages), told(messages)
    needless = hand_made(tmp_path / "needless", '<section><p role="paragraph">x</p></section>')
    assert nu_messages(needless), "a section without a heading, or a needless role, deserves a warning"
    assert not nu_messages(hand_made(tmp_path / "good", sheet__css="p { color: light-dark(#111, #eee) }"))
