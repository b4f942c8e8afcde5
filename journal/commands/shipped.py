"""Finds what came with the program: templates, the catalogue of materials, and the tables of factors."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from journal.commands.kept import kept
from journal.commands.yaml_tree import read_tree
from journal.notes.fields import Sheet
from journal.notes.materials import Catalogue
from journal.notes.materials_reading import read_materials
from journal.notes.tree import Mapping

if TYPE_CHECKING:  # noting a line needs the catalogue alone, and at once
    from journal.reckoning.references import (
        Caution,
        Comparison,
        Factors,
        Nutrients,
        References,
        Source,
        Worms,
    )


PACKAGE = Path(__file__).resolve().parent.parent


class NotShipped(RuntimeError):
    """Something that comes with the program is not where it is to be."""


def site_templates() -> Path:
    """Give the folder of templates: inside the package where it is installed, beside it in a checkout."""
    inside, beside = PACKAGE / "site_templates", PACKAGE.parent / "site_templates"
    for folder in (inside, beside):
        if folder.is_dir():
            return folder
    raise NotShipped(f"the templates are neither in {inside} nor in {beside}: install the program again")


def template_folders(folder: Path) -> list[Path]:
    """Give the folders of templates for the journal in ``folder``, the keeper's own first."""
    own, ours = folder / "site_templates", site_templates()
    return [own, ours] if own.is_dir() and not own.samefile(ours) else [ours]


def reference(name: str) -> Mapping:
    """Give one file of ``journal/reference/`` as a tree."""
    file = PACKAGE / "reference" / name
    if not file.is_file():
        raise NotShipped(f"{file} is missing: install the program again")
    node = read_tree(file.read_text(encoding="utf-8"), f"reference/{name}")
    if not isinstance(node, Mapping):
        raise NotShipped(f"{file} holds no keys: install the program again")
    return node


@cache
def catalogue() -> Catalogue:
    """Give the materials that every journal knows: every command needs them, so they are kept as read."""
    return kept("catalogue", _read_catalogue)


def _read_catalogue() -> Catalogue:
    sheet = Sheet()
    node = reference("materials.yaml")
    materials = read_materials(sheet, node.get("materials") or node, None, "from memory")
    if sheet.problems:
        first = sheet.problems[0]
        raise NotShipped(f"{first.place}: {first.sentence}")
    return Catalogue.of(materials)


@cache
def worms() -> Worms:
    """Give the kinds of worm and their bands."""
    from journal.reckoning.references_reading import read_worms

    return read_worms(reference("worms.yaml"))


@cache
def factors() -> Factors:
    """Give the emission factors by edition."""
    from journal.reckoning.references_reading import read_factors

    return read_factors(reference("factors.yaml"))


@cache
def sources() -> dict[str, Source]:
    """Give the works that the figures come from, by key."""
    from journal.reckoning.references_reading import read_sources

    return read_sources(reference("sources.yaml"))


@cache
def nutrients() -> Nutrients:
    """Give what castings and compost hold, and the conversions of the trade."""
    from journal.reckoning.references_reading import read_nutrients

    return read_nutrients(reference("nutrients.yaml"))


@cache
def comparisons() -> dict[str, Comparison]:
    """Give the published averages that a household's figures are set beside."""
    from journal.reckoning.references_reading import read_comparisons

    return read_comparisons(reference("comparisons.yaml"))


@cache
def cautions() -> dict[str, Caution]:
    """Give the cautions with where each is shown."""
    from journal.reckoning.references_reading import read_cautions

    return read_cautions(reference("cautions.yaml"))


def references() -> References:
    """Give everything that the reckoning takes from published sources."""
    from journal.reckoning.references import References

    return References(sources(), worms(), factors(), nutrients(), comparisons(), cautions())
