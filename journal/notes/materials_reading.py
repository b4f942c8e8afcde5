"""Materials out of a YAML tree: one form for household.yaml and for the catalogue that is shipped.

A property is one figure (``75%``), low, typical and high (``[70%, 75%, 80%]``), or these with their source:
``{range: [70%, 75%, 80%], source: key, where: Table 3, checked: seen}``.  ``carbon nitrogen`` is a ratio;
with the nitrogen of the same sample it gives the carbon, C = N × C:N, low with high and typical with typical,
since a middle of one range and a middle of another belong to no sample.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from journal.measures.units import read_unit
from journal.notes import tree
from journal.notes.faults import Fault
from journal.notes.fields import (
    Sheet,
    check_keys,
    check_names,
    choice_of,
    mapping_of,
    measured_in,
    number_in,
    percent_in,
    text_of,
    texts_of,
    yes_of,
)
from journal.notes.materials import STREAMS, Catalogue, Material, Range
from journal.notes.names import nearest

KEYS = (
    "stream", "waste", "also", "like", "form of", "moisture", "nitrogen", "carbon", "carbon nitrogen",
    "density", "each", "cautions", "note",
)  # fmt: skip
_EXAMPLE = "spent hops: {stream: food scraps, moisture: 75%, nitrogen: 3%, carbon: 45%, density: 0.4 kg/L}"
_WASTE_STREAMS = frozenset({"paper", "food scraps", "garden"})
_CARBON = (25.0, 60.0)
"""Per cent of dry matter that organic matter can be; what comes out beyond is two samples mixed up."""

Figure = Callable[[Sheet, str], "float | None"]


@dataclass(slots=True)
class _Read:
    """One material before it is complete: what its own lines say."""

    name: str
    place: tree.Scalar
    like: tree.Scalar | None = None
    stream: str | None = None
    waste: bool | None = None
    also: tuple[str, ...] = ()
    form_of: tuple[str, ...] | None = None
    cautions: tuple[str, ...] | None = None
    ranges: dict[str, Range] = field(default_factory=dict)


@dataclass
class _Pool:
    """All materials of one document: as read, and those done so far."""

    read: Mapping[str, _Read]
    known: Catalogue  # those that were there before
    done: dict[str, Material] = field(default_factory=dict)

    @cached_property
    def by_any_name(self) -> Catalogue:
        """The document's own materials to be found by any name; made only where it has to be."""
        return Catalogue.of(
            Material(name, "other", waste=False, also=one.also) for name, one in self.read.items()
        )

    def find(self, name: str) -> str | None:
        """Give the document's own material of this name, or None."""
        if name in self.read:
            return name
        found = self.by_any_name.find(name)
        return None if found is None else found.name


def density_in(sheet: Sheet, text: str) -> float | None:
    """Read a density, "0.4 kg/L" or "20 lb/cu yd", in kg/L."""
    above, slash, below = text.replace(" per ", "/").partition("/")
    mass = measured_in(sheet, above.strip(), ("mass",))
    volume = read_unit(below.strip(), 0)
    below_factor = 1.0
    if volume is None:
        number = number_in(sheet, below.strip())
        if number is not None:
            volume = read_unit(below.strip()[number[0] :].lstrip(), 0)
            below_factor = number[1].value
    if below.strip() in {"m3", "m³"}:
        return None if mass is None or not slash else mass[1] / 1000
    if mass is None or not slash or volume is None or volume[1].kind != "volume" or below_factor <= 0:
        return None
    return mass[1] / (volume[1].size * below_factor)


def mass_in(sheet: Sheet, text: str) -> float | None:
    """Read a mass in kg."""
    found = measured_in(sheet, text.strip(), ("mass",))
    return None if found is None else found[1]


def ratio_in(sheet: Sheet, text: str) -> float | None:
    """Read a carbon-to-nitrogen ratio, "30" or "30:1"."""
    number = number_in(sheet, re.sub(r"\s*:\s*1$", "", text.strip()))
    return None if number is None or number[1].value <= 0 else number[1].value


_PROPERTIES: Mapping[str, tuple[Figure, str, str]] = {
    "moisture": (percent_in, "a share of 0% to 100%", "moisture: 75%"),
    "nitrogen": (percent_in, "a share of 0% to 100%", "nitrogen: 3%"),
    "carbon": (percent_in, "a share of 0% to 100%", "carbon: 45%"),
    "density": (density_in, "a mass in a volume", "density: 0.4 kg/L"),
    "each": (mass_in, "a mass", "each: 5 g"),
    "carbon nitrogen": (ratio_in, "a ratio", "carbon nitrogen: 30"),
}


def read_range(sheet: Sheet, node: tree.Node, name: str, checked: str) -> Range | None:
    """Read one property: one figure or three, with or without their source."""
    figure, expected, example = _PROPERTIES[name]
    source, where = checked, ""
    values = node
    if isinstance(node, tree.Mapping):
        keys = check_keys(sheet, node, ("range", "source", "where", "checked", "note"))
        if "range" not in keys:
            sheet.wrong(
                Fault.MISSING_KEY,
                node.place,
                name,
                key="range",
                where=name,
                example="{range: [70%, 75%, 80%]}",
            )
            return None
        values = keys["range"]
        source, where, checked = (
            text_of(sheet, keys[key], example) if key in keys else default
            for key, default in (("source", source), ("where", ""), ("checked", checked))
        )
    items = values.items if isinstance(values, tree.Sequence) else (values,)
    numbers: list[float] = []
    for item in items:
        value = figure(sheet, item.text) if isinstance(item, tree.Scalar) else None
        if value is None:
            sheet.wrong_value(item, expected, example)
            return None
        numbers.append(value)
    if len(numbers) not in (1, 3):
        sheet.wrong_value(values, "one figure, or low, typical and high", example)
        return None
    low, typical, high = numbers * 3 if len(numbers) == 1 else numbers
    if not low <= typical <= high:
        sheet.wrong(Fault.RANGE, values.place, name)
        return None
    return Range(low, typical, high, source, where, checked)


def read_materials(sheet: Sheet, node: tree.Node, catalogue: Catalogue | None, source: str) -> list[Material]:
    """Read all materials below a node; those of the catalogue may be copied, or overridden in part."""
    named = mapping_of(sheet, node, "materials", _EXAMPLE)
    if named is None:
        return []
    keys = {" ".join(key.text.split()): key for key, _ in named.pairs}
    read = {
        name: _read_one(sheet, name, keys[name], value, source)
        for name, value in check_names(sheet, named, "a material")
    }
    pool = _Pool(read, catalogue or Catalogue.of(()))
    for name in read:
        _complete(sheet, name, pool, ())
    return [pool.done[name] for name in read if name in pool.done]


def _read_one(sheet: Sheet, name: str, key: tree.Scalar, node: tree.Node, source: str) -> _Read:
    read = _Read(name, key)
    fields = mapping_of(sheet, node, f'the material "{name}"', _EXAMPLE)
    found = {} if fields is None else check_keys(sheet, fields, KEYS)
    for field_name, value in found.items():
        if field_name in _PROPERTIES:
            figure = read_range(sheet, value, field_name, source)
            if figure is not None:
                read.ranges[field_name] = figure
        elif field_name in _WORDS:
            _WORDS[field_name](sheet, read, value)
    return read


def _set_stream(sheet: Sheet, read: _Read, node: tree.Node) -> None:
    read.stream = choice_of(sheet, node, STREAMS, "stream: food scraps")


def _set_waste(sheet: Sheet, read: _Read, node: tree.Node) -> None:
    read.waste = yes_of(sheet, node, "waste: yes")


def _set_also(sheet: Sheet, read: _Read, node: tree.Node) -> None:
    listed = texts_of(sheet, node, "also: [brewery hops, hop mash]")
    read.also = tuple(name for words in listed for part in words.split(",") if (name := part.strip()))


def _set_like(sheet: Sheet, read: _Read, node: tree.Node) -> None:
    if isinstance(node, tree.Scalar) and node.text:
        read.like = node
    else:
        sheet.wrong_value(node, "the name of a material", "like: leaves")


def _set_form_of(sheet: Sheet, read: _Read, node: tree.Node) -> None:
    read.form_of = texts_of(sheet, node, "form of: [newspaper, office paper]")


def _set_cautions(sheet: Sheet, read: _Read, node: tree.Node) -> None:
    read.cautions = texts_of(sheet, node, "cautions: [dust]")


_WORDS: Mapping[str, Callable[[Sheet, _Read, tree.Node], None]] = {
    "stream": _set_stream,
    "waste": _set_waste,
    "also": _set_also,
    "like": _set_like,
    "form of": _set_form_of,
    "cautions": _set_cautions,
}


def _complete(sheet: Sheet, name: str, pool: _Pool, under_way: tuple[str, ...]) -> Material | None:
    """Complete one material from what it is like, what it overrides, or its own lines alone."""
    if name in pool.done:
        return pool.done[name]
    own = pool.read[name]
    if name in under_way:
        sheet.wrong(Fault.LIKE_CIRCLE, own.place.place, name)
        return None
    model = pool.known.materials.get(name)
    if own.like is not None:
        model = _model(sheet, own, own.like, pool, (*under_way, name))
        if model is None:
            return None
    material = _made(sheet, own, model)
    if material is not None:
        pool.done[name] = material
    return material


def _model(
    sheet: Sheet, own: _Read, like: tree.Scalar, pool: _Pool, under_way: tuple[str, ...]
) -> Material | None:
    """Find the material that this one is like: one of the document first, else one known before."""
    found = pool.find(like.text)
    if found is not None and found != own.name:
        return _complete(sheet, found, pool, under_way)
    model = pool.known.find(like.text)
    if model is None and found is not None:
        sheet.wrong(Fault.LIKE_CIRCLE, own.place.place, own.name)
    elif model is None:
        near = nearest(like.text, [*pool.known.materials, *pool.read])
        sheet.wrong(
            Fault.LIKE_UNKNOWN, like.place, like.text,
            meant="" if near is None else f'; did you mean "{near}"?',
        )  # fmt: skip
    return model


def _made(sheet: Sheet, own: _Read, model: Material | None) -> Material | None:
    stream = own.stream or (model.stream if model is not None else None)
    if stream is None:
        sheet.wrong(
            Fault.MISSING_KEY, own.place.place, own.name, key="stream", where=f'the material "{own.name}"',
            example=f"{own.name}: {{stream: food scraps}}",
        )  # fmt: skip
        return None
    waste = own.waste
    if waste is None:
        waste = model.waste if model is not None and own.stream is None else stream in _WASTE_STREAMS
    base = model or Material(own.name, stream, waste=waste)
    ranges = dict(own.ranges)
    ratio = ranges.pop("carbon nitrogen", None)
    if ratio is not None and "carbon" not in ranges:
        carbon = _carbon(sheet, own, ranges.get("nitrogen") or base.nitrogen, ratio)
        if carbon is not None:
            ranges["carbon"] = carbon
    same = model is not None and model.name == own.name
    return base._replace(
        name=own.name, stream=stream, waste=waste, also=_all_names(own, model if same else None),
        form_of=base.form_of if own.form_of is None else own.form_of,
        cautions=base.cautions if own.cautions is None else own.cautions, **ranges,
    )  # fmt: skip


def _all_names(own: _Read, overridden: Material | None) -> tuple[str, ...]:
    return tuple(dict.fromkeys([*(overridden.also if overridden is not None else ()), *own.also]))


def _carbon(sheet: Sheet, own: _Read, nitrogen: Range | None, ratio: Range) -> Range | None:
    """Work carbon out of nitrogen and the ratio of the two."""
    if nitrogen is None:
        sheet.wrong(
            Fault.MISSING_KEY, own.place.place, own.name, key="nitrogen", where=f'the material "{own.name}"',
            example="nitrogen: 3%",
        )  # fmt: skip
        return None
    typical = nitrogen.typical * ratio.typical
    if not _CARBON[0] <= typical <= _CARBON[1]:
        sheet.wrong(Fault.UNLIKELY_CARBON, own.place.place, f'"{own.name}"', percent=f"{typical:.0f}")
        return None
    ends = (nitrogen.low * ratio.high, nitrogen.high * ratio.low, typical)
    low, high = max(min(ends), _CARBON[0]), min(max(ends), _CARBON[1])
    return Range(
        low, typical, high, ratio.source, f"{ratio.where}; nitrogen × C:N".lstrip("; "), ratio.checked
    )


def with_forms(materials: Iterable[Material]) -> list[Material]:
    """Write out what each material is a form of: a stream stands for every waste material of it."""
    listed = list(materials)
    return [_with_form(material, listed) if material.form_of else material for material in listed]


def _with_form(material: Material, listed: list[Material]) -> Material:
    names: dict[str, None] = {}
    for form in material.form_of:
        if form in STREAMS:
            names.update((other.name, None) for other in listed if other.stream == form and other.waste)
        else:
            names[form] = None
    names.pop(material.name, None)
    return material._replace(form_of=tuple(names))
