"""What all kinds of chart share: width and letters, scales and their steps, room for labels.

Nothing is measured by the letters of the machine that draws, so every machine draws the same bytes: places
for labels are kept free here, not found by the renderer.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from journal.site.drawing import WIDTH

Data = Mapping[str, Any]
Marks = Any
"""A chart, a layer or a channel of Altair, whose own types are too loose to say more."""

INK = "var(--ink)"
FADED = "var(--faded)"
RULE = "var(--rule)"
PAPER = "var(--paper)"
SOIL = "var(--soil)"
LETTERS = 17
LINE = 19.0
"""The least distance of two labels, in chart units."""

MOST_TICKS = 1000
"""More than any axis has: below it, the renderer would thin out the marks it was given."""

SEEN = 3
"""Whiskers shorter than this, in chart units, are not seen and not drawn."""

LEFT, RIGHT, TOP, BOTTOM = 46, 12, 14, 30
MONTHS = "JFMAMJJASOND"
MONTH_STARTS = (1, 32, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335)


MANNER: Mapping[str, Any] = {
    "aria": False,
    "font": "inherit",
    "background": "transparent",
    "autosize": {"type": "none"},
    "view": {"stroke": None},
    "mark": {"invalid": None},
    "axis": {
        "grid": False,
        "domain": False,
        "ticks": False,
        "title": None,
        "labelColor": INK,
        "labelFontSize": LETTERS,
        "labelLimit": 0,
        "labelOverlap": False,
        "labelBound": False,
        "labelFlush": False,
        "labelPadding": 6,
    },
    "axisY": {"grid": True, "gridColor": RULE, "gridWidth": 1},
    "axisX": {"domain": True, "domainColor": INK, "domainWidth": 1.2},
}
"""What all charts share, as Vega-Lite's ``config``."""

COMMA: Mapping[str, Any] = {
    "number": {"decimal": ",", "thousands": "\u202f", "grouping": [3], "currency": ["", ""]}
}
"""How the renderer writes numbers for a household with a decimal comma."""


def layered(data: Data, height: float, layers: Sequence[Marks]) -> dict[str, Any]:
    """Lay charts over one another on a plot of this height; ``data`` may keep room on any side of it.

    Gives the specification.  Altair's own layering would copy each chart, three times, with all it could say.
    """
    import altair as alt

    left, right = data.get("left", LEFT), data.get("right", RIGHT)
    config = {**MANNER, "locale": COMMA} if data.get("comma") else MANNER
    padding = {"left": left, "right": right, "top": TOP, "bottom": data.get("bottom", BOTTOM)}
    rows: dict[str, str] = {}  # those of all layers, each under a name of Altair's: layers can share them
    each = {"top_level": False, "datasets": rows}
    return {
        "$schema": alt.SCHEMA_URL,
        "config": {**config, "padding": padding},
        "width": WIDTH - left - right,
        "height": height,
        "layer": [layer.to_dict(validate=False, context=each) for layer in layers],
        "datasets": rows,
    }


def values(rows: Sequence[Mapping[str, Any]]) -> Marks:
    """Begin a layer of these rows, which stand in the specification itself: as a text, never copied."""
    import altair as alt

    return alt.Chart(alt.InlineData(values=json.dumps(list(rows)), format=alt.JsonDataFormat(type="json")))


def x_end(field: str) -> Marks:
    """Give the channel of a mark's other end across."""
    import altair as alt

    return alt.X2(field=field)


def y_end(field: str) -> Marks:
    """Give the channel of a mark's other end upright."""
    import altair as alt

    return alt.Y2(field=field)


def words_of(field: str) -> Marks:
    """Give the channel of a label's words."""
    import altair as alt

    return alt.Text(field=field, type="nominal")


def filled_by(field: str) -> Marks:
    """Give the channel of fills that the rows name themselves."""
    import altair as alt

    return alt.Fill(field=field, type="nominal", scale=None, legend=None)


def nudged(wanted: Sequence[float], low: float, high: float, apart: float = LINE) -> list[float]:
    """Move label positions (ascending) as little as needed to stand ``apart`` within low to high."""
    placed: list[float] = []
    for position in wanted:
        placed.append(max(position, placed[-1] + apart if placed else low))
    for index in range(len(placed) - 1, -1, -1):
        limit = high if index == len(placed) - 1 else placed[index + 1] - apart
        placed[index] = min(placed[index], limit)
    return placed


def ticks(highest: float) -> list[float]:
    """Give three to five round steps from 0 to at least the highest value."""
    if highest <= 0:
        return [0.0, 1.0]
    power = 10.0 ** (len(str(int(highest))) - 1) if highest >= 1 else 10.0 ** -_leading_zeros(highest)
    step = next(
        (power * part for part in (0.1, 0.2, 0.25, 0.5, 1, 2, 2.5, 5) if power * part * 4 >= highest),
        power * 10,
    )
    count = 1
    while step * count < highest:
        count += 1
    return [float(f"{step * index:.6g}") for index in range(count + 1)]


def scale_of(highest: float) -> tuple[list[float], float]:
    """Give the steps of a scale and its end: the last step, or just above the highest value if nearer."""
    steps = ticks(highest)
    if len(steps) > 2 and steps[-1] - highest > 0.3 * steps[1]:  # noqa: PLR2004 - a scale keeps one step above nought
        return steps[:-1], highest * 1.03
    return steps, steps[-1]


def _leading_zeros(value: float) -> int:
    zeros = 0
    while value < 1:
        value *= 10
        zeros += 1
    return zeros


def scale_y(field: str, domain: Sequence[float], steps: Sequence[float], *, reverse: bool = False) -> Marks:
    """Give the upright scale of a field, from one end of the domain to the other, ruled at the steps."""
    import altair as alt

    return alt.Y(
        field=field,
        type="quantitative",
        scale=alt.Scale(domain=list(domain), nice=False, zero=False, reverse=reverse),
        axis=alt.Axis(
            labelOverlap=False,
            tickCount=MOST_TICKS,
            values=list(steps),
            format=",~r" if max(map(abs, steps)) >= 1 else "~r",
        ),
    )


def days_of_year(field: str = "day") -> Marks:
    """A year's days from 1 to 366, marked at the middle of each month by its first letter."""
    import altair as alt

    return alt.X(
        field=field,
        type="quantitative",
        scale=alt.Scale(domain=[1, 366], nice=False),
        axis=alt.Axis(
            labelOverlap=False,
            tickCount=MOST_TICKS,
            values=[start + 15 for start in MONTH_STARTS],
            labelExpr=f"'{MONTHS}'[floor(datum.value / 30.6)]",
        ),
    )


def label_expression(labels: Sequence[str], step: float) -> str:
    """Give the expression that writes the label of each period under its bar."""
    listed = ",".join(f"'{label}'" for label in labels)
    return f"[{listed}][floor(datum.value / {step})]"
