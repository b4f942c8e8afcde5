"""Where the shipped figures come from: every one names a source that exists and how far it was checked."""

from __future__ import annotations

import pytest

from journal.notes.place import Place
from journal.notes.tree import Mapping, Scalar
from journal.reckoning.references import CHECKED
from journal.reckoning.references_reading import ReferenceFault, read_sources, read_worms
from tests.shipped_trees import REFERENCE, mappings, text, tree

FILES = sorted(file.name for file in REFERENCE.glob("*.yaml") if file.name != "sources.yaml")


@pytest.mark.parametrize("name", FILES)
def test_every_figure_names_a_source_that_exists(name: str) -> None:
    """What stands in a reference file as a source is a key of sources.yaml."""
    known = read_sources(tree("sources.yaml"))
    wrong = [
        f"{node.place}: {text(node.get('source'))}"
        for node in mappings(tree(name))
        if node.get("source") is not None and text(node.get("source")) not in known
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("name", FILES)
def test_every_figure_says_how_it_was_checked(name: str) -> None:
    """A range, or whatever names a source, also says how it was checked, in one of the agreed words."""
    figures = [node for node in mappings(tree(name)) if node.get("source") or node.get("range")]
    assert figures, name
    wrong = [str(node.place) for node in figures if text(node.get("checked")) not in CHECKED]
    assert not wrong, "\n".join(wrong)
    bare = [str(node.place) for node in figures if node.get("source") is None]
    assert not bare, "\n".join(bare)


@pytest.mark.parametrize("name", FILES)
def test_what_nobody_looked_up_claims_no_source(name: str) -> None:
    """The keys "memory" and "practice" go only with words that admit it, and "memory" never with "seen"."""
    admits = {
        "memory": {"from memory"},
        "practice": {"common practice, no published source"},
        "computed": {"computed"},
    }
    wrong = [
        str(node.place)
        for node in mappings(tree(name))
        for source in [text(node.get("source"))]
        if source in admits and text(node.get("checked")) not in admits[source]
    ]
    assert not wrong, "\n".join(wrong)


def test_every_source_is_used_or_says_what_for() -> None:
    """No work is listed idly: a figure comes from it, or its note says what it is named for."""
    used = {text(node.get("source")) for name in FILES for node in mappings(tree(name))}
    idle = [
        source.key
        for source in read_sources(tree("sources.yaml")).values()
        if source.key not in used and not source.note.startswith("Named for ")
    ]
    assert not idle


def test_a_citation_reads_as_one_sentence() -> None:
    """A source is printed as author, title, publisher and year."""
    found = read_sources(tree("sources.yaml"))["epa-volumes-2016"]
    assert found.citation == (
        "US Environmental Protection Agency, Office of Resource Conservation and Recovery, "
        "Volume-to-Weight Conversion Factors, April 2016."
    )


def test_a_spoiled_file_is_named_with_its_line() -> None:
    """A reference file that does not keep to its form is refused by file, line and column."""
    nowhere = Place("worms.yaml", 7, 3)
    spoiled = Mapping(((Scalar("kinds", nowhere), Scalar("many", nowhere)),), nowhere)
    with pytest.raises(ReferenceFault, match=r'^worms\.yaml:7:3: expected a mapping, not "many"$'):
        read_worms(spoiled)
