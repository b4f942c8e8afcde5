"""Charts of bars: months by stream, lying bars of names, castings in and out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from journal.site.chart_parts import (
    FADED,
    INK,
    LEFT,
    LETTERS,
    MOST_TICKS,
    PAPER,
    RIGHT,
    SEEN,
    Data,
    Marks,
    filled_by,
    label_expression,
    layered,
    nudged,
    scale_of,
    scale_y,
    ticks,
    values,
    words_of,
    x_end,
    y_end,
)
from journal.site.drawing import WIDTH

LABEL_ROOM = 26
"""What a line of letters takes beside the bars, in chart units."""

A_LETTER = LETTERS * 0.5
"""What a letter takes on average, in chart units."""


def stacked(data: Data) -> dict[str, Any]:
    """Bars by period, a segment a stream: what was measured in full colour, what was estimated hatched.

    ``periods``: labels in order; ``streams``: names, bottom first; ``rows``: [{"at", "stream", "low", "high",
    "guess"}] with low and high the segment's ends; ``whiskers``: [{"at", "low", "high"}]; ``labels``:
    [{"stream", "value", "edge"}] with edge the part of the width at which the last bar ends.
    """
    height = 250
    steps, top = scale_of(max([row["high"] for row in (*data["rows"], *data["whiskers"])], default=0.0))
    width = WIDTH - data.get("left", LEFT) - data["right"]
    step = width / max(1, len(data["periods"]))
    fills = {stream: f"stream-{index + 1}" for index, stream in enumerate(data["streams"])}

    def bar(row: Mapping[str, Any]) -> dict[str, Any]:
        colour = fills[row["stream"]]
        fill = f"url(#hatch-{colour})" if row["guess"] else f"var(--{colour})"
        middle = (row["at"] + 0.5) * step
        return {
            "left": middle - step * 0.36,
            "right": middle + step * 0.36,
            "low": row["low"],
            "high": row["high"],
            "fill": fill,
        }

    x = _periods(data["periods"], width)
    y = scale_y("low", (0, top), steps)
    layers = [
        values([bar(row) for row in data["rows"]])
        .mark_rect(stroke=INK, strokeWidth=0.9)
        .encode(x=x, x2=x_end("right"), y=y, y2=y_end("high"), fill=filled_by("fill"))
    ]
    marks = [
        {"left": (row["at"] + 0.5) * step, **row}
        for row in data["whiskers"]
        if (row["high"] - row["low"]) / top * height >= SEEN
    ]
    if marks:
        layers.append(values(marks).mark_rule(stroke=PAPER, strokeWidth=4).encode(x=x, y=y, y2=y_end("high")))
        layers.append(values(marks).mark_rule(stroke=INK, strokeWidth=1.6).encode(x=x, y=y, y2=y_end("high")))
        layers.extend(
            values(marks)
            .mark_tick(opacity=1, fill=INK, thickness=1.6, size=step * 0.3, orient="horizontal")
            .encode(x=x, y=scale_y(end, (0, top), steps))
            for end in ("low", "high")
        )
    layers.extend(_stream_labels(data, height, top, width))
    return layered(data, height, layers)


def _periods(labels: Sequence[str], width: float, *, domain: bool = True) -> Marks:
    """The axis of periods side by side: each has its mark under its bar's middle."""
    import altair as alt

    step = width / max(1, len(labels))
    axis = alt.Axis(
        labelOverlap=False,
        tickCount=MOST_TICKS,
        values=[(at + 0.5) * step for at in range(len(labels))],
        labelExpr=label_expression(labels, step),
        domain=domain,
    )
    return alt.X(field="left", type="quantitative", scale=alt.Scale(domain=[0, width], nice=False), axis=axis)


def _stream_labels(data: Data, height: float, top: float, width: float) -> list[Marks]:
    """Each stream's name at the right edge, led to its segment in the last bar by a thin rule."""
    import altair as alt

    labels = sorted(data["labels"], key=lambda label: -label["value"])
    wanted = [height * (1 - label["value"] / top) for label in labels]
    rows = [
        {"left": label["edge"] * width, "y": at, "right": width + 8, "place": place, "words": label["stream"]}
        for label, at, place in zip(labels, wanted, nudged(wanted, 6, height - 6), strict=True)
    ]
    if not rows:
        return []
    axis = alt.Axis(labelOverlap=False, tickCount=MOST_TICKS)
    scale = alt.Scale(domain=[0, width], nice=False)

    def y(field: str) -> Marks:
        return alt.Y(field=field, type="quantitative", scale=None, axis=axis)

    return [
        values(rows)
        .mark_rule(stroke=FADED, strokeWidth=0.9)
        .encode(
            x=alt.X(field="left", type="quantitative", scale=scale, axis=axis),
            x2=x_end("right"),
            y=y("y"),
            y2=y_end("place"),
        ),
        values(rows)
        .mark_text(align="left", baseline="middle", dx=4, fontSize=LETTERS, fill=INK)
        .encode(x=alt.X(field="right", type="quantitative", axis=axis), y=y("place"), text=words_of("words")),
    ]


def bars(data: Data) -> dict[str, Any]:
    """Lying bars with their names above.

    ``rows``: [{"words", "value", "low", "high", "text", "guess"}], the largest first.
    """
    import altair as alt

    row_height = 52.0
    height = row_height * max(1, len(data["rows"]))
    highest = max([row["high"] for row in data["rows"]], default=1.0) or 1.0
    width = WIDTH - data["left"] - data["right"]
    rows = [
        {
            **row,
            "words": _fitted(row["words"], width / A_LETTER - len(row["text"]) - 2),
            "top": index * row_height + 24,
            "bottom": index * row_height + 40,
            "middle": index * row_height + 32,
            "name": index * row_height + 12,
            "zero": 0,
            "fill": "url(#hatch-stream-1)" if row.get("guess") else "var(--stream-1)",
        }
        for index, row in enumerate(data["rows"])
    ]
    x = alt.X(field="zero", type="quantitative", scale=alt.Scale(domain=[0, highest], nice=False), axis=None)

    def y(field: str) -> Marks:
        return alt.Y(field=field, type="quantitative", scale=None, axis=None)

    layers = [
        values(rows)
        .mark_rect(stroke=INK, strokeWidth=0.9)
        .encode(x=x, x2=x_end("value"), y=y("top"), y2=y_end("bottom"), fill=filled_by("fill")),
        values(rows)
        .mark_text(align="left", baseline="middle", fontSize=LETTERS, fill=INK)
        .encode(x=x, y=y("name"), text=words_of("words")),
        values([{**row, "zero": highest} for row in rows])
        .mark_text(align="right", baseline="middle", fontSize=LETTERS, fill=INK)
        .encode(x=x, y=y("name"), text=words_of("text")),
    ]
    marks = [{**row, "zero": row["low"]} for row in rows if (row["high"] - row["low"]) / highest * width >= 3]  # noqa: PLR2004
    if marks:
        layers.append(
            values(marks).mark_rule(stroke=INK, strokeWidth=1.6).encode(x=x, x2=x_end("high"), y=y("middle"))
        )
    return layered(data, height, layers)


def _fitted(words: str, room: float) -> str:
    """Cut a name off that would run into its figure; the table below the chart has it whole."""
    return words if len(words) <= room else f"{words[: max(1, int(room) - 1)].rstrip()}…"


def in_and_out(data: Data) -> dict[str, Any]:
    """Castings harvested above the line, spread and given away below it.

    ``periods``: labels; ``rows``: [{"at", "in", "out"}]; ``in_label`` and ``out_label`` name the two sides.
    """
    import altair as alt

    bars_height = 230
    height = bars_height + 2 * LABEL_ROOM
    width = WIDTH - data.get("left", LEFT) - data.get("right", RIGHT)
    step = width / max(1, len(data["periods"]))
    up = ticks(max([row["in"] for row in data["rows"]], default=0.0))
    down = ticks(max([row["out"] for row in data["rows"]], default=0.0))
    size = max(up[1], down[1])
    steps = [size * index for index in range(-int(-(-down[-1] // size)), int(-(-up[-1] // size)) + 1)]
    room = (steps[-1] - steps[0]) * LABEL_ROOM / bars_height  # a label on a bar could not be read
    domain = (steps[0] - room, steps[-1] + room)

    def side(name: str, sign: int, fill: str) -> list[dict[str, Any]]:
        return [
            {
                "left": (row["at"] + 0.14) * step,
                "right": (row["at"] + 0.86) * step,
                "low": 0,
                "high": sign * row[name],
                "fill": fill,
            }
            for row in data["rows"]
            if row[name] > 0
        ]

    x = _periods(data["periods"], width, domain=False)
    y = alt.Y(
        field="low",
        type="quantitative",
        scale=alt.Scale(domain=list(domain), nice=False),
        axis=alt.Axis(
            labelOverlap=False,
            tickCount=MOST_TICKS,
            values=steps,
            labelExpr="format(abs(datum.value), ',~r')",
        ),
    )
    rows = side("in", 1, "var(--stream-2)") + side("out", -1, "var(--stream-1)")
    words = [
        {"left": 2, "low": domain[1], "words": data["in_label"]},
        {"left": 2, "low": domain[0], "words": data["out_label"]},
    ]
    layers = [
        values(rows)
        .mark_rect(stroke=INK, strokeWidth=0.9)
        .encode(x=x, x2=x_end("right"), y=y, y2=y_end("high"), fill=filled_by("fill")),
        values([{"low": 0}]).mark_rule(stroke=INK, strokeWidth=1.4).encode(y=y),
        values(words[:1])
        .mark_text(align="left", baseline="top", dy=4, fontSize=LETTERS, fontStyle="italic", fill=INK)
        .encode(x=x, y=y, text=words_of("words")),
        values(words[1:])
        .mark_text(align="left", baseline="bottom", dy=-4, fontSize=LETTERS, fontStyle="italic", fill=INK)
        .encode(x=x, y=y, text=words_of("words")),
    ]
    return layered(data, height, layers)
