"""Fills the parts of the README that are drawn from the program's own tables.

`python tests/documents.py` writes them anew; `tests/test_documents.py` fails where they are not up to date.
"""

from __future__ import annotations

import importlib
import re
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

if TYPE_CHECKING:
    from journal.notes.records import Notes

CHECKOUT = Path(__file__).resolve().parent.parent
if __name__ == "__main__":
    sys.path.insert(0, str(CHECKOUT))

README = CHECKOUT / "README.md"
EXAMPLE = "example/"
"""The journal that the README writes out: its files are `<!-- file: example/… -->`."""

_BLOCK = re.compile(r"<!-- (file|run)(?:: ([^ ]+))? -->\n\n((?:(?: {4}.*)?\n)+)")


class Block(NamedTuple):
    """An indented block of the README: a file that it shows, or commands that it gives."""

    kind: str  # "file" or "run"
    name: str
    text: str


def blocks(text: str) -> list[Block]:
    """Give the marked blocks of a document in their order, without their indent."""
    return [
        Block(kind, name, re.sub(r"^ {4}", "", body, flags=re.MULTILINE).strip("\n") + "\n")
        for kind, name, body in _BLOCK.findall(text)
    ]


def lay_down(shown: Iterable[Block], folder: Path) -> None:
    """Write the files that the document shows below a folder."""
    for block in shown:
        if block.kind == "file":
            place = folder / block.name
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_text(block.text, encoding="utf-8")


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Set rows as a table of Markdown; a bar inside a cell is written so that it parts nothing."""
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines)


def verbs(_: str) -> str:
    """Draw the table of verbs."""
    from journal.notes.verbs import verb_rows

    return table(("verb (also read)", "shape", "what it records"), verb_rows())


def faults(_: str) -> str:
    """Draw the two tables of findings: problems, then remarks."""
    from journal.notes.faults import fault_rows

    heads = ("code", "what is said", "the way out")
    drawn = {
        kind: table(heads, ((f"`{row[0]}`", row[2], row[3]) for row in fault_rows() if row[1] == kind))
        for kind in ("problem", "remark")
    }
    return f"Problems:\n\n{drawn['problem']}\n\nRemarks:\n\n{drawn['remark']}"


def units(_: str) -> str:
    """Draw the table of units: every spelling that is read."""
    from journal.measures.units import UNITS

    kinds = {"mass": "weight", "volume": "volume", "area": "area, in household.yaml"}
    rows = (
        (words, "; ".join(", ".join(unit.spellings) for unit in UNITS if unit.kind == kind))
        for kind, words in kinds.items()
    )
    return table(("of", "spellings that are read; a semicolon parts one unit from the next"), rows)


def materials(_: str) -> str:
    """Draw the table of materials by stream: their names, waste first."""
    from journal.commands.shipped import catalogue
    from journal.notes.materials import STREAMS

    known = catalogue().materials.values()
    rows = (
        (stream, counts, ", ".join(sorted(names)))
        for stream in STREAMS
        for counts, waste in (("yes", True), ("no", False))
        if (names := [one.name for one in known if one.stream == stream and one.waste is waste])
    )
    return table(("stream", "counts as waste", "materials"), rows)


def commands(_: str) -> str:
    """Draw the table of commands, and that of their options."""
    from journal.commands.main import COMMANDS

    lines, options = [], []
    for name, (module, words) in COMMANDS.items():
        command = importlib.import_module(module).command
        arguments = [one for one in command.params if isinstance(one, click.Argument)]
        lines.append((f"`{' '.join([name, *map(_argument, arguments)])}`", words))
        options += [(f"`{name}`", f"`{_option(one)}`", one.help or "") for one in _options(command)]
    listed = table(("command", "what it does"), lines)
    return f"{listed}\n\n{table(('of', 'option', 'what it means'), options)}"


def _options(command: click.Command) -> Iterator[click.Option]:
    for one in command.params:
        if isinstance(one, click.Option) and "--journal" not in one.opts and "--help" not in one.opts:
            yield one


def _argument(argument: click.Argument) -> str:
    name = re.sub(r"[^A-Z_]", "", (argument.metavar or argument.name or "").upper())
    shown = f"{name}…" if argument.nargs == -1 else name
    return shown if argument.required else f"[{shown}]"


def _option(option: click.Option) -> str:
    if option.is_flag:
        return option.opts[0]
    choices = " or ".join(option.type.choices) if isinstance(option.type, click.Choice) else ""
    usual = "FILE" if isinstance(option.type, click.Path) else "NUMBER"
    return f"{option.opts[0]} {option.metavar or choices or usual}"


def entry_language(text: str) -> str:
    """Draw how each line of the README's example is read, as `note` would tell it."""
    from journal.commands.note_told import told

    rows = ((record.text.split("\n")[0], "<br>".join(told(record))) for record in read_example(text).records)
    return table(("written", "read as"), rows)


SURENESS = (
    "2 lb apple cores", "2.0 lb apple cores", "2 lb 3 oz apple cores", "900 g apple cores",
    "about 2 lb apple cores", "1-3 lb apple cores", "2 cups coffee grounds", "2 bags of shredded paper",
    "5 eggshells",
)  # fmt: skip
"""Amounts whose doubt the README shows."""


def doubt(text: str) -> str:
    """Draw what some ways of writing an amount are taken for, with their doubt, k = 2."""
    from journal.measures.doubt import Doubtful, rounded
    from journal.measures.units import POUND

    lines = "".join(f"- fed {amount} to Cellar Bin\n" for amount in SURENESS)
    diary = Block("file", f"{EXAMPLE}entries/2026.md", f"## 2026-03-28\n\n{lines}")
    rows = []
    for words, record in zip(SURENESS, read_example(text, diary).records, strict=True):
        (amount,) = record.amounts
        pounds = Doubtful(amount.kg, amount.own, amount.shared).times(1 / float(POUND))
        value, half = rounded(pounds.value, pounds.expanded)
        rows.append((words, f"{value} ± {half} lb", amount.how))
    return table(("written", "taken for", "which is"), rows)


def read_example(text: str, *instead: Block) -> Notes:
    """Read the journal that the README writes out, with other blocks in place of its own."""
    from journal.commands.files import read_journal

    with tempfile.TemporaryDirectory() as folder:
        lay_down([*blocks(text), *instead], Path(folder))
        notes = read_journal(Path(folder) / EXAMPLE)
    assert not notes.problems, [str(problem) for problem in notes.problems]
    return notes


PARTS: Mapping[str, Callable[[str], str]] = {
    "entry-language": entry_language,
    "doubt": doubt,
    "verbs": verbs,
    "units": units,
    "materials": materials,
    "commands": commands,
    "faults": faults,
}


def filled(text: str) -> str:
    """Give a document with every drawn part between its marks drawn anew."""
    for mark, draw in PARTS.items():
        drawn = f"<!-- {mark} -->\n\n{draw(text)}\n\n<!-- /{mark} -->"
        pattern = re.compile(rf"<!-- {mark} -->.*?<!-- /{mark} -->", re.DOTALL)
        text = pattern.sub(lambda _, drawn=drawn: drawn, text)  # type: ignore[misc]
    return text


def main() -> None:
    """Fill the README."""
    README.write_text(filled(README.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
