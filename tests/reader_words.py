"""The reader's cases: texts read with a household and a small catalogue of their own, and told as lines."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

from journal.commands.files import decode_one, household_tree
from journal.commands.yaml_tree import read_tree
from journal.notes import tree
from journal.notes.fields import Sheet
from journal.notes.materials import Catalogue
from journal.notes.materials_reading import read_materials
from journal.notes.place import Problem
from journal.notes.reading import read_notes
from journal.notes.records import Amount, Entry, Line, Notes, Record

CASES = Path(__file__).parent / "cases"
FAULTS = Path(__file__).parent / "faults"
HEADING = "## 2026-03-14\n\n"
ARROW = "=>"
TITLE = "=== "


@cache
def catalogue() -> Catalogue:
    """The small catalogue of the cases."""
    sheet = Sheet()
    materials = read_materials(sheet, keys_of("materials.yaml"), None, "the cases")
    assert not sheet.problems
    return Catalogue.of(materials)


@cache
def keys_of(name: str) -> tree.Mapping:
    """One YAML file of the cases as a tree."""
    node = read_tree((CASES / name).read_text(encoding="utf-8"), "household.yaml")
    assert isinstance(node, tree.Mapping)
    return node


def read(text: str, *, file: str = "diary.md", household: str = "household.yaml") -> Notes:
    """Read one file of entries."""
    return read_notes({file: text}, keys_of(household), catalogue())


def read_line(line: str, *, household: str = "household.yaml") -> Notes:
    """Read one list item of 14 March 2026; it stands on line 3."""
    return read(f"{HEADING}- {line}\n", household=household)


def told(notes: Notes, *, entries: bool = False) -> str:
    """Everything that was read, one finding a line."""
    lines = [f"{entry_in_words(entry)}" for entry in notes.entries] if entries else []
    lines += [record_in_words(record) for record in notes.records]
    lines += [f"problem {finding_in_words(found)}" for found in notes.problems]
    lines += [f"remark {finding_in_words(found)}" for found in notes.remarks]
    return "\n".join(lines)


def entry_in_words(entry: Entry) -> str:
    """An entry: its date, title, and its blocks, records by number and prose by its first words."""
    blocks = [
        f"#{block.record}" if isinstance(block, Line) else repr(block.text[:60]) for block in entry.blocks
    ]
    private = " (private)" if entry.private else ""
    title = f" {entry.title!r}" if entry.title else ""
    return f"entry {entry.date}{title}{private}: {', '.join(blocks)}"


def finding_in_words(found: Problem) -> str:
    """A finding: where and what."""
    return f"{found.place.line}:{found.place.column} {found.sentence}"


def record_in_words(record: Record) -> str:
    """A record: each filled field, masses to a milligram."""
    parts = [f"{record.date} {record.verb}"]
    parts += [amount_in_words(amount) for amount in record.amounts]
    for name in (
        "giver", "bin", "source_bin", "batch", "batch_kind", "planting", "out_of", "out_of_kind", "words",
        "remark",
    ):  # fmt: skip
        value = getattr(record, name)
        if value:
            parts.append(f"{name.replace('_', ' ')} {value}")
    if record.money is not None:
        parts.append(f"money {record.money.amount:g} {record.money.currency}")
    if record.readings is not None:
        parts += list(readings_in_words(record))
    if record.confirmed:
        parts.append("confirmed")
    return " | ".join(parts)


def amount_in_words(amount: Amount) -> str:
    """An amount: mass, its own standard doubt, material, how it is known, and what it shares."""
    shared = "".join(f", {cause} ±{part:.6f}" for cause, part in amount.shared.items())
    litres = f", {amount.litres:.4f} L" if amount.litres is not None else ""
    batch = ", a batch" if amount.is_batch else ""
    return (
        f"{amount.kg:.6f} ±{amount.own:.6f} kg {amount.material} "
        f"({amount.words}, {amount.how}{litres}{shared}{batch})"
    )


def readings_in_words(record: Record) -> Iterator[str]:
    """A check's readings, each with the half-width of its last digit."""
    found = record.readings
    assert found is not None
    if found.temperature is not None:
        yield f"{found.temperature:.3f} ±{found.temperature_half:.3f} °C"
    if found.moisture is not None:
        yield f"moisture {found.moisture:g} ±{found.moisture_half:g} %"
    if found.acidity is not None:
        yield f"pH {found.acidity:g} ±{found.acidity_half:g}"
    yield from (f"seen {words!r}" for words in found.sightings)


def blocks_of(file: Path) -> Iterator[tuple[str, str, str]]:
    """The blocks of a file of cases: title, input, and what is expected of it."""
    for block in file.read_text(encoding="utf-8").split(f"\n{TITLE}")[1:]:
        title, _, rest = block.partition("\n")
        given, _, expected = rest.partition(f"\n{ARROW}\n")
        yield title, given, expected.strip("\n")


def notes_of(given: str) -> tuple[Notes, bool]:
    """Read a block's input: ``file: NAME`` names its file, headings make it whole; whether it has entries."""
    first, _, rest = given.partition("\n")
    if first.startswith("file: "):
        return read(rest, file=first.removeprefix("file: ")), True
    is_whole = any(line.startswith(("#", "===", "---")) for line in given.splitlines())
    return read(given if is_whole else HEADING + given), is_whole


def expected_of(given: str) -> str:
    """Read a block's input and tell everything."""
    notes, is_whole = notes_of(given)
    return told(notes, entries=is_whole)


def findings_of(file: Path) -> list[Problem]:
    """Read one bad input, whatever its kind, and give all that is wrong with it."""
    content = file.read_bytes()
    if file.suffix == ".yaml":
        return household_findings(content.decode("utf-8"))
    text, wrong = decode_one(file.name, content)
    if text is None:
        assert wrong is not None
        return [wrong]
    notes = read(text, file=file.name)
    return [*notes.problems, *notes.remarks]


def household_findings(text: str) -> list[Problem]:
    """Read a household.yaml and give what is wrong with it."""
    node, problems = household_tree(text)
    if problems:
        return problems
    notes = read_notes({}, node, catalogue())
    lines = text.split("\n")
    return [found._replace(source=lines[found.place.line - 1]) for found in notes.problems]


def whole(found: Problem) -> str:
    """A finding as a keeper sees it: place and sentence, the line with a caret, and the way out."""
    caret = " " * (found.place.column - 1) + "^"
    kind = "remark: " if found.is_remark else ""
    return f"{found.place}: {kind}{found.sentence}\n    {found.source}\n    {caret}\n  {found.advice}"
