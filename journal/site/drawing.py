"""A chart's specification becomes a small inline SVG that follows the page's colours and letters.

The page gives the fonts and the colours (``var(--…)``), a pattern is asked for as ``url(#hatch-…)``.
What Vega writes for every mark and group (roles, empty backgrounds, a dozen decimals) is taken out again:
the picture is one image to a reader, and its numbers stand in the table beside it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from html import escape
from typing import Any

WIDTH = 520
"""Width of every chart in its own units; letters are set for a phone, and made smaller on wide pages."""

_GONE = (
    "xmlns:xlink version class role aria-[a-z]+ pointer-events opacity stroke-miterlimit font-family "
    "font-size fill-opacity stroke-opacity"
)
GONE = re.compile(rf' (?:{_GONE.replace(" ", "|")})="(?:[^"]*)"')
KEPT = re.compile(r' (?:fill-opacity|stroke-opacity|opacity)="0?\.\d+"')
EMPTY_PATH = re.compile(
    r'<path (?:class="(?:background|foreground)"[^>]*|[^>]*\bd="(?:M0,0h0v0h0Z)?"[^>]*)/>'
)
EMPTY_GROUP = re.compile(r"<g[^>]*></g>|<g[^>]*/>")
BARE_GROUP = re.compile(r"<g>((?:(?!</?g\b).)*)</g>", re.DOTALL)
TAG = re.compile(r"<[^>]*>")
NUMBER = re.compile(r"-?\d+\.\d{2,}(?:e-\d+)?")
INVISIBLE = re.compile(r' transform="translate\(0,0\)"| stroke-width="1"| (?:x2|y2)="0"| text-anchor="start"')
PATTERN = re.compile(r"url\(#(hatch-[a-z0-9-]+)\)")
VIEW_BOX = re.compile(r'<svg [^>]*viewBox="([^"]+)"[^>]*>')


def draw(specification: Mapping[str, Any], identity: str, title: str, description: str) -> str:
    """Give the specification (Vega-Lite) as one SVG element whose ids all begin with ``identity``."""
    import vl_convert

    drawn: str = vl_convert.vegalite_to_svg(json.dumps(specification), vl_version="6.1")
    return dressed(drawn, identity, title, description)


def dressed(drawn: str, identity: str, title: str, description: str) -> str:
    """Make Vega's SVG light, name it for screen readers, and give it the patterns it asks for."""
    found = VIEW_BOX.search(drawn)
    box = found[1] if found else f"0 0 {WIDTH} 300"
    body = slimmed(drawn[drawn.index(">") + 1 : drawn.rindex("</svg>")])
    patterns = "".join(_pattern(name, identity) for name in sorted(set(PATTERN.findall(body))))
    body = PATTERN.sub(rf"url(#{identity}-\1)", body)
    return (
        f'<svg viewBox="{box}" role="img" aria-labelledby="{identity}-t {identity}-d">'
        f'<title id="{identity}-t">{escape(title)}</title>'
        f'<desc id="{identity}-d">{escape(description)}</desc>'
        f"{'<defs>' + patterns + '</defs>' if patterns else ''}{body}</svg>"
    )


def slimmed(body: str) -> str:
    """Take out what draws nothing, and all but one decimal."""
    body = EMPTY_PATH.sub("", body)
    return _flattened(TAG.sub(lambda found: _slim_tag(found[0]), body))


def _slim_tag(tag: str) -> str:
    tag = GONE.sub(lambda found: found[0] if KEPT.fullmatch(found[0]) else "", tag)
    return INVISIBLE.sub("", NUMBER.sub(lambda found: _short(float(found[0])), tag))


def _flattened(body: str) -> str:
    """Unwrap groups that hold nothing or say nothing, until none is left."""
    before = ""
    while body != before:
        before = body
        body = BARE_GROUP.sub(r"\1", EMPTY_GROUP.sub("", body))
    return body


def _short(value: float) -> str:
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def _pattern(name: str, identity: str) -> str:
    """Give the hatching of one colour: ``hatch-stream-1`` is drawn in ``var(--stream-1)`` on paper."""
    colour = name.removeprefix("hatch-")
    return (
        f'<pattern id="{identity}-{name}" width="5" height="5" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><rect width="5" height="5" fill="var(--paper)"/>'
        f'<rect width="2.2" height="5" fill="var(--{colour})"/></pattern>'
    )


def swatch(fill: str, identity: str) -> str:
    """Draw a small sample of a fill for a chart's key; it says nothing that the words beside it do not."""
    names = PATTERN.findall(fill)
    patterns = f"<defs>{''.join(_pattern(name, identity) for name in names)}</defs>" if names else ""
    fill = PATTERN.sub(rf"url(#{identity}-\1)", fill)
    return (
        f'<svg viewBox="0 0 24 15" aria-hidden="true">{patterns}'
        f'<rect x=".75" y=".75" width="22.5" height="13.5" fill="{fill}" stroke="currentColor"/></svg>'
    )
