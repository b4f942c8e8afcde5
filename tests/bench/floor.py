"""The floor: what the libraries alone need for the same work, in one process and nothing else around them.

    python tests/bench/floor.py JOURNAL SITE SCRATCH

Parses and renders every entry file's Markdown, writes as many files with as many bytes as the site has, and
draws as many charts as the site holds, of the two kinds that it holds most.
"""

from __future__ import annotations

import hashlib
import re
import sys
import time
from pathlib import Path
from typing import Any

import altair
import vl_convert
from markdown_it import MarkdownIt

DRAWING = re.compile(rb'<svg\b[^>]*role="img".*?</svg>', re.DOTALL)
STREAMS = ("paper", "food scraps", "garden", "other")


def render_markdown(journal: Path) -> int:
    """Parse and render every entry file; returns how many characters of HTML that gives."""
    markdown = MarkdownIt("commonmark")
    files = sorted((journal / "entries").rglob("*.md"))
    return sum(len(markdown.render(file.read_text(encoding="utf-8"))) for file in files)


def write_bytes(site: Path, scratch: Path) -> int:
    """Write every file of the site again, below another folder; returns how many bytes that are."""
    total = 0
    for file in sorted(site.rglob("*")):
        if file.is_file():
            content = file.read_bytes()
            copy = scratch / file.relative_to(site)
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(content)
            total += len(content)
    return total


def charts_in(site: Path) -> int:
    """How many different drawings the site's pages hold, the same one on two pages counted once."""
    drawings = (match for page in site.rglob("*.html") for match in DRAWING.findall(page.read_bytes()))
    return len({hashlib.sha256(drawing).digest() for drawing in drawings})


def months_by_stream(number: int) -> dict[str, Any]:
    """Twelve stacked bars of four streams."""
    rows = [
        {"month": month, "stream": stream, "kg": (number + month * place) % 17 + 1}
        for month in range(1, 13)
        for place, stream in enumerate(STREAMS, 1)
    ]
    chart = altair.Chart(altair.InlineData(values=rows)).mark_bar()
    spec: dict[str, Any] = chart.encode(x="month:O", y="kg:Q", color="stream:N").to_dict()
    return spec


def running_total(number: int) -> dict[str, Any]:
    """A line of fifty-two weeks."""
    rows = [{"week": week, "kg": week * (number % 5 + 1)} for week in range(1, 53)]
    chart = altair.Chart(altair.InlineData(values=rows)).mark_line()
    spec: dict[str, Any] = chart.encode(x="week:Q", y="kg:Q").to_dict()
    return spec


def draw(count: int) -> int:
    """Draw so many charts as SVG; returns how many characters that are."""
    kinds = (months_by_stream, running_total)
    specs = (kinds[number % len(kinds)](number) for number in range(count))
    return sum(len(vl_convert.vegalite_to_svg(spec)) for spec in specs)


def main() -> None:
    """Do all three and say what each took."""
    journal, site, scratch = map(Path, sys.argv[1:4])
    charts = charts_in(site)
    began = time.perf_counter()
    characters = render_markdown(journal)
    rendered = time.perf_counter()
    total = write_bytes(site, scratch)
    written = time.perf_counter()
    draw(charts)
    drawn = time.perf_counter()
    print(f"Markdown {rendered - began:.2f} s for {characters:,} characters of HTML")
    print(f"writing  {written - rendered:.2f} s for {total:,} bytes")
    print(f"drawing  {drawn - written:.2f} s for {charts} charts")


if __name__ == "__main__":
    main()
