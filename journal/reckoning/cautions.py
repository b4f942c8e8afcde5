"""Which cautions belong where: by a journal's materials, streams and verbs, and by the pages they name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from journal.notes.records import Notes
from journal.reckoning.references import Caution


class Shown(NamedTuple):
    """A caution and what calls for it: the materials, streams and verbs that occur, or the page."""

    caution: Caution
    because: tuple[str, ...]


class Occurring(NamedTuple):
    """What occurs in a journal."""

    materials: frozenset[str]
    streams: frozenset[str]
    verbs: frozenset[str]


def occurring(notes: Notes) -> Occurring:
    """Gather the materials, streams and verbs of all records."""
    materials = {amount.material for record in notes.records for amount in record.amounts}
    verbs = {record.verb for record in notes.records}
    known = (notes.catalogue.materials.get(name) for name in materials)
    streams = frozenset(material.stream for material in known if material is not None)
    return Occurring(frozenset(materials), streams, frozenset(verbs))


def cautions_for(
    notes: Notes, found: Occurring, cautions: Mapping[str, Caution], page: str | None = None
) -> list[Shown]:
    """Give the cautions of a journal in which so much occurs, or of one page, in the order of their file.

    On a page, a caution stands if it names the page and something it warns of occurs, or if it names nothing
    but pages.  A material's own ``cautions`` call for theirs wherever it occurs.
    """
    asked = _asked_by_materials(notes, found.materials)
    shown = []
    for caution in cautions.values():
        if page is not None and caution.pages and page not in caution.pages:
            continue
        because = [
            *sorted(found.materials.intersection(caution.materials)),
            *sorted(found.streams.intersection(caution.streams)),
            *sorted(found.verbs.intersection(caution.verbs)),
            *asked.get(caution.key, ()),
        ]
        always = not (caution.materials or caution.streams or caution.verbs)
        if because or always:
            shown.append(Shown(caution, tuple(dict.fromkeys(because)) or ((page,) if page else ())))
    return shown


def _asked_by_materials(notes: Notes, materials: frozenset[str]) -> dict[str, list[str]]:
    asked: dict[str, list[str]] = {}
    for name in sorted(materials):
        material = notes.catalogue.materials.get(name)
        for key in () if material is None else material.cautions:
            asked.setdefault(key, []).append(name)
    return asked
