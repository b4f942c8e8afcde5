"""Charts of courses in time: running totals over earlier years, readings over the band that is good."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from journal.site.chart_parts import (
    FADED,
    INK,
    LETTERS,
    MOST_TICKS,
    PAPER,
    RULE,
    SOIL,
    Data,
    Marks,
    days_of_year,
    layered,
    nudged,
    scale_of,
    scale_y,
    values,
    words_of,
    x_end,
    y_end,
)

MOST_STEPS = 6


def cumulative(data: Data) -> dict[str, Any]:
    """This year's running total over earlier years'.

    ``this``: {"label", "rows": [{"day", "value", "low", "high"}]}; ``earlier``: [{"label", "rows"}], newest
    first; ``range``: {"label", "rows": [{"day", "low", "high"}]} or None for the years before those;
    ``goal``: a value or None.
    """
    height = 270
    tops = [row["value"] for line in data["earlier"] for row in line["rows"]]
    tops += [row["high"] for row in data["this"]["rows"]]
    tops += [row["high"] for row in data["range"]["rows"]] if data.get("range") else []
    steps, top = scale_of(max([*tops, data.get("goal") or 0.0], default=0.0))
    y = scale_y("value", (0, top), steps)
    layers: list[Marks] = []
    if data.get("range"):
        layers.append(
            values(data["range"]["rows"])
            .mark_area(fill=RULE, fillOpacity=0.45)
            .encode(x=days_of_year(), y=scale_y("low", (0, top), steps), y2=y_end("high"))
        )
    if data.get("goal"):
        layers.append(
            values([{"value": data["goal"]}])
            .mark_rule(stroke=INK, strokeDash=[2, 4], strokeWidth=1.4)
            .encode(y=y)
        )
    for index, line in enumerate(data["earlier"]):
        dash = [[1, 0], [7, 3], [2, 3]][min(index, 2)]
        layers.append(
            values(line["rows"])
            .mark_line(stroke=FADED, strokeWidth=1.5, strokeDash=dash)
            .encode(x=days_of_year(), y=y)
        )
    this = data["this"]["rows"]
    if this:
        layers.append(
            values(this)
            .mark_area(fill=SOIL, fillOpacity=0.3)
            .encode(x=days_of_year(), y=scale_y("low", (0, top), steps), y2=y_end("high"))
        )
        if this[0]["day"] == this[-1]["day"]:  # an area of a single day has no width
            layers.append(
                values(this[-1:])
                .mark_rule(stroke=SOIL, strokeWidth=1.6)
                .encode(x=days_of_year(), y=scale_y("low", (0, top), steps), y2=y_end("high"))
            )
        layers.append(values(this).mark_line(stroke=SOIL, strokeWidth=3.2).encode(x=days_of_year(), y=y))
        layers.append(
            values(this[-1:])
            .mark_point(shape="circle", filled=True, opacity=1, fill=SOIL, size=70)
            .encode(x=days_of_year(), y=y)
        )
    layers.extend(_line_labels(data, height, top, y))
    return layered(data, height, layers)


def _line_labels(data: Data, height: float, top: float, y: Marks) -> list[Marks]:
    """The year at the end of each line: earlier years at the right edge, this year beside its last point."""
    import altair as alt

    ends = sorted(
        (
            (height * (1 - line["rows"][-1]["value"] / top), line["label"])
            for line in data["earlier"]
            if line["rows"]
        ),
        key=lambda end: end[0],
    )
    places = nudged([place for place, _ in ends], 6, height - 6)
    rows = [
        {"day": 366, "place": place, "words": words} for place, (_, words) in zip(places, ends, strict=True)
    ]
    layers = (
        [
            values(rows)
            .mark_text(align="left", baseline="middle", dx=6, fontSize=LETTERS, fill=FADED)
            .encode(
                x=days_of_year(),
                y=alt.Y(
                    field="place",
                    type="quantitative",
                    scale=None,
                    axis=alt.Axis(labelOverlap=False, tickCount=MOST_TICKS),
                ),
                text=words_of("words"),
            )
        ]
        if rows
        else []
    )
    this = data["this"]["rows"]
    if this:
        last = this[-1]
        near_edge = last["day"] > 290  # noqa: PLR2004 - from here on its label would run out of the chart
        label = {**last, "words": data["this"]["label"]}
        layers.append(
            values([label])
            .mark_text(
                align="right" if near_edge else "left",
                baseline="bottom",
                dx=-6 if near_edge else 8,
                dy=-6,
                fontSize=LETTERS,
                fontWeight="bold",
                fill=SOIL,
            )
            .encode(x=days_of_year(), y=y, text=words_of("words"))
        )
    if data.get("goal"):
        goal = {"day": 4, "value": data["goal"], "words": data["goal_label"]}
        layers.append(
            values([goal])
            .mark_text(align="left", baseline="bottom", dy=-4, fontSize=LETTERS, fontStyle="italic", fill=INK)
            .encode(x=days_of_year(), y=y, text=words_of("words"))
        )
    return layers


def readings(data: Data) -> dict[str, Any]:
    """Readings over the band in which the worms do well.

    ``rows``: [{"day", "value", "low", "high"}] with day counted from the first shown; ``days``: the last day;
    ``marks``: [{"day", "words"}] on the time axis; ``bands``: [{"low", "high", "words", "below"}], the words
    below or above; ``low``, ``high``: ends of the scale.
    """
    height = 210
    domain = (data["low"], data["high"])
    steps = steps_between(*domain)
    x = _course(data)
    layers = _bands(data, x, domain, steps)
    spread = [row for row in data["rows"] if row["high"] - row["low"] > 0]
    if spread:
        layers.append(
            values(spread)
            .mark_rule(stroke=INK, strokeWidth=1.3)
            .encode(x=x, y=scale_y("low", domain, steps), y2=y_end("high"))
        )
    layers.append(
        values(data["rows"])
        .mark_line(stroke=FADED, strokeWidth=1)
        .encode(x=x, y=scale_y("value", domain, steps))
    )
    layers.append(
        values(data["rows"])
        .mark_point(shape="circle", filled=True, opacity=1, fill=SOIL, stroke=PAPER, strokeWidth=1, size=62)
        .encode(x=x, y=scale_y("value", domain, steps))
    )
    return layered(data, height, layers)


def steps_between(low: float, high: float) -> list[float]:
    """Give at most seven round steps from low to high."""
    span = max(high - low, 0.1)
    power = 10.0 ** math.floor(math.log10(span))
    size = next(power * part for part in (0.1, 0.2, 0.25, 0.5, 1, 2) if span / (power * part) <= MOST_STEPS)
    first = math.ceil(low / size)
    return [round((first + at) * size, 3) for at in range(MOST_STEPS + 1) if (first + at) * size <= high]


def _course(data: Data) -> Marks:
    """A time axis in days from the first shown, with the marks it is given."""
    import altair as alt

    labels = {mark["day"]: mark["words"] for mark in data["marks"]}
    expression = "{" + ",".join(f"'{day}':'{words}'" for day, words in labels.items()) + "}[datum.value]"
    axis = alt.Axis(
        labelOverlap=False,
        tickCount=MOST_TICKS,
        values=list(labels),
        labelExpr=expression,
        ticks=True,
        tickColor=INK,
        labelAlign="left",
        labelPadding=4,
    )
    return alt.X(
        field="day",
        type="quantitative",
        scale=alt.Scale(domain=[0, max(1, data["days"])], nice=False),
        axis=axis,
    )


def _bands(data: Data, x: Marks, domain: tuple[float, float], steps: Sequence[float]) -> list[Marks]:
    """The bands in which the worms do well, each with its words where the readings leave room."""
    layers = []
    for band in data["bands"]:
        area = {"day": 0, "end": data["days"], "value": band["low"], "high": band["high"]}
        layers.append(
            values([area])
            .mark_rect(fill="var(--pale-leaf)", fillOpacity=0.75)
            .encode(x=x, x2=x_end("end"), y=scale_y("value", domain, steps), y2=y_end("high"))
        )
        below = band["below"]
        label = {"day": data["days"], "value": band["low" if below else "high"], "words": band["words"]}
        place = {"baseline": "bottom", "dy": -5} if below else {"baseline": "top", "dy": 5}
        layers.append(
            values([label])
            .mark_text(align="right", dx=-6, fontSize=LETTERS, fontStyle="italic", fill=INK, **place)
            .encode(x=x, y=scale_y("value", domain, steps), text=words_of("words"))
        )
    return layers
