"""Comments, ``<!-- … -->``, taken out of the lines of a file; lines keep their number."""

from __future__ import annotations

import re

Gaps = dict[int, list[tuple[int, int]]]
"""Line to the gaps in it: at which index of the text without comments, and how many characters are gone."""

_OPEN = "<!--"
_CLOSE = "-->"
_FENCE = re.compile(r"[ \t]*(`{3,}(?=[^`]*$)|~{3,})")
_BACKTICKS = re.compile("`+")


def strip_comments(lines: list[str]) -> tuple[list[str], Gaps, tuple[int, int] | None]:
    """Give the lines without comments, the gaps left in them, and where a comment begins that never ends.

    What stands in a code fence or between backticks in one line is no comment.
    """
    kept: list[str] = []
    gaps: Gaps = {}
    fence = ""
    opened: tuple[int, int] | None = None
    for number, line in enumerate(lines, 1):
        if fence:
            text = line.strip()
            fence = "" if text.startswith(fence) and not text.strip(fence[0]) else fence
            kept.append(line)
            continue
        if opened is None and _OPEN not in line:
            found = _FENCE.match(line)
            fence = found[1] if found is not None else ""
            kept.append(line)
            continue
        text, opened = _strip(line, number, opened, gaps)
        kept.append(text)
    return kept, gaps, opened


def _strip(
    line: str, number: int, opened: tuple[int, int] | None, gaps: Gaps
) -> tuple[str, tuple[int, int] | None]:
    """Take the comments out of one line; ``opened`` is where a comment began that is still open."""
    kept = ""
    position = 0
    spans = _code_spans(line)[::-1] if "`" in line else []
    while position < len(line):
        if opened is not None:
            end = line.find(_CLOSE, position)
            length = (len(line) if end < 0 else end + len(_CLOSE)) - position
            gaps.setdefault(number, []).append((len(kept), length))
            position += length
            if end < 0:
                break
            opened = None
        start = _comment_start(line, position, spans)
        if start < 0:
            kept += line[position:]
            break
        kept += line[position:start]
        opened = (number, start + 1)
        # "<!-->" and "<!--->" are whole comments, so the end may overlap the beginning's dashes.
        body = start + 2
        end = line.find(_CLOSE, body)
        if end < 0:
            gaps.setdefault(number, []).append((len(kept), len(line) - start))
            break
        length = end + len(_CLOSE) - start
        gaps.setdefault(number, []).append((len(kept), length))
        position, opened = start + length, None
    return kept.rstrip() if number in gaps else kept, opened


def _comment_start(line: str, position: int, spans: list[tuple[int, int]]) -> int:
    """Find where the next comment begins that stands in no code span.

    ``spans`` are those of the line, the first at the end; they lose what begins in front of the comment.
    """
    start = line.find(_OPEN, position)
    while spans and spans[-1][0] < start:
        _, end = spans.pop()
        if start < end:
            start = line.find(_OPEN, end)
    return start


def _code_spans(line: str) -> list[tuple[int, int]]:
    """Give where each code span begins and ends: backticks up to the next run of as many (CommonMark 6.1)."""
    runs = [(found.start(), len(found[0])) for found in _BACKTICKS.finditer(line)]
    later: dict[int, list[int]] = {}
    for start, length in reversed(runs):
        later.setdefault(length, []).append(start)
    spans: list[tuple[int, int]] = []
    end = 0
    for start, length in runs:
        closers = later[length]
        while closers and closers[-1] <= start:
            closers.pop()
        if start >= end and closers:
            end = closers[-1] + length
            spans.append((start, end))
    return spans
