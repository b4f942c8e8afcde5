"""``note``: understand a line, then add it to the day's entry."""

from __future__ import annotations

import datetime as dt
import re
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from journal.commands.console import Refusal, journal_folder, plain, problem_lines, say
from journal.notes.entries import Item, Scanned

if TYPE_CHECKING:
    from journal.notes import tree
    from journal.notes.known import Known
    from journal.notes.place import Problem
    from journal.notes.recipes import Mixing
    from journal.notes.records import Record

_MIXED = re.compile(
    r"\n[ \t]*[-*+][ \t]+(?:\[[xX]\][ \t]+)?[Mm][Ii][Xx][Ee][Dd]\b[^\n]*(?:\n[ \t]+\S[^\n]*)*"
)
_NAMED = re.compile(r"mixed\s+(?:a\s+)?(?:bedding|slurry)\s*(\S*)")
_ITEM = re.compile(r"[ \t]*[-*+][ \t]+")


@click.command(
    epilog="""\b
For example:
  middenbook note "fed 1 lb banana peels to First Bin"
  middenbook note "took in 2 kg newspaper" "shredded 2 kg newspaper" --date 2026-03-14
  middenbook note "harvested 6 lb castings from First Bin" --photo tray.jpg --showing "dark castings"
  middenbook note < today.txt"""
)
@click.argument("lines", nargs=-1, metavar="[LINE]...")
@click.option("--date", "day", metavar="DATE", help="The day of the entry (default: today).")
@click.option(
    "--photo",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="A picture, which is copied into entries/photos/ and shown in the entry.",
)
@click.option("--showing", metavar="WORDS", help="What the picture shows, for those who cannot see it.")
def command(lines: tuple[str, ...], day: str | None, photo: Path | None, showing: str | None) -> int:
    """Add LINE to the day's entry, and show how it was read.

    A line is a sentence as in a diary, without its dash; several lines are each in quotation marks, or come
    from standard input. What cannot be read is refused with the reason, and then nothing is written.
    """
    folder = journal_folder()
    date = _day(day)
    texts = _sentences(lines, from_input=photo is None)
    if showing is not None and photo is None:
        raise click.UsageError("--showing says what a picture shows, and there is no --photo")
    if not texts and photo is None:
        raise click.UsageError('what is to be noted? For example: note "fed 1 lb banana peels to First Bin"')
    note = _understand(folder, texts, date)
    if note.problems:
        return _refuse(note.problems)
    from journal.commands.note_told import so_far, told
    from journal.commands.note_writing import add, read_picture

    picture = None if photo is None else read_picture(photo, date, showing or (texts[0] if texts else ""))
    written = add(folder, note.texts, date, note.markdown, picture)
    for record in note.records:
        for words in told(record, metric=note.metric):
            say(words)
    of_year = [*note.of_year, *note.records]
    for words in dict.fromkeys(so_far(record, of_year, metric=note.metric) for record in note.records):
        if words:
            say(words, "bright_black")
    say(f"entries/{written}, {date.isoformat()}", "green")
    return 0


def _day(words: str | None) -> dt.date:
    """Read ``--date``; today where it is not given."""
    if words is None:
        return dt.datetime.now().astimezone().date()
    from journal.notes.dates import DateProblem, read_date

    try:
        found = read_date(words.strip(), 0)
    except DateProblem as wrong:
        blanks = {"words": wrong.words, **wrong.blanks}
        raise Refusal(wrong.fault.sentence.format(**blanks), "write it as in --date 2026-03-14", 2) from None
    if found is None or found[0] != len(words.strip()):
        raise Refusal(f'"{words}" is no date', "write it as in --date 2026-03-14", 2)
    return found[1]


def _sentences(lines: Sequence[str], *, from_input: bool) -> list[str]:
    """Give the lines to note: those of the command line, else those of standard input.

    Words without quotation marks around them are one sentence.
    """
    if len(lines) > 1 and not any(" " in line.strip() for line in lines):
        lines = [" ".join(lines)]
    if not lines and from_input:
        if sys.stdin.isatty():
            return []
        try:
            text = sys.stdin.buffer.read().decode("utf-8-sig")
        except UnicodeDecodeError:
            raise Refusal("what stands in standard input is not UTF-8", "save it as UTF-8") from None
        lines = text.splitlines()
    return [line.rstrip() for line in lines if line.strip()]


class Understood(NamedTuple):
    """The journal's texts, the lines to write and what they were read as, what is wrong, the year so far.

    ``metric`` says that the household weighs in kilograms.
    """

    texts: dict[str, str]
    markdown: list[str]
    records: list[Record]
    problems: list[Problem]
    of_year: list[Record]
    metric: bool


def _understand(folder: Path, texts: Sequence[str], date: dt.date) -> Understood:
    """Read lines as the journal will, with its names and batches, without reading all of it."""
    from journal.commands.files import HOUSEHOLD, decode, entries_among, gather, household_tree
    from journal.commands.note_arrangement import year_text
    from journal.notes.entries import scan
    from journal.notes.reading import read_file
    from journal.notes.verbs import read_verb

    contents, _ = gather(folder)
    entries, _ = decode(contents)
    household, wrong = household_tree(entries.pop(HOUSEHOLD, None))
    if wrong:
        raise Refusal(wrong[0].sentence, wrong[0].advice)
    entries = entries_among(entries)
    markdown = [text if _ITEM.match(text) else f"- {text.strip()}" for text in texts]
    scanned = scan("", "\n".join([f"## {date.isoformat()}", "", *markdown]) + "\n")
    of_date = _only(scan("", year_text(entries, date.year)), {line[:2] for line in map(_bare, markdown)})
    known = _known(entries, household, [scanned, of_date])
    part = read_file(known, scanned)
    verbless = [line for line in markdown if line[:1] in "-*+" and read_verb(_bare(line), 0) is None]
    problems = [_no_record(line) for line in verbless] or [*part.problems, *part.remarks]
    of_year: list[Record] = []
    if not problems:
        records = read_file(known, of_date).records
        of_year = [record for record in records if record.date.year == date.year]
    metric = known.household.units == "metric"
    return Understood(entries, markdown, part.records, problems, of_year, metric)


def _bare(line: str) -> str:
    return _ITEM.sub("", line, count=1)


def _known(entries: Mapping[str, str], household: tree.Mapping | None, used: Sequence[Scanned]) -> Known:
    """Give what lines may name: the household, the catalogue, and the batches that can be meant in them.

    Gathering all names of a long journal would take longer than reading the lines.
    """
    from journal.commands.shipped import catalogue
    from journal.notes.household_reading import read_household
    from journal.notes.reading import gather_batches, know, mixings_in

    read, everything, _ = read_household(household, catalogue())
    words = _words(item.text for scanned in used for item in _items(scanned))
    texts = (*entries.values(), *(item.text for scanned in used for item in _items(scanned)))
    if not any(_may_name_a_batch(text, words) for text in texts):
        return know(read, everything, {})
    mixings = gather_batches([*_mixed_in(entries), *map(mixings_in, used)], read, everything)
    meant: dict[str, Mixing] = {}
    while fresh := {
        name: mixing
        for name, mixing in mixings.items()
        if name not in meant and words.issuperset(name.split())
    }:
        meant |= fresh
        words |= _words(each.text for mixing in fresh.values() for each in _with_inner(mixing.item))
    return know(read, everything, {name: mixings[name] for name in mixings if name in meant})


def _may_name_a_batch(text: str, words: AbstractSet[str]) -> bool:
    """Whether a batch may be mixed in a text whose name begins with one of these words; most hold none."""
    from journal.notes.names import ARTICLES, tokens

    text = text.lower()
    at = text.find("mixed")
    while at >= 0:
        found = _NAMED.match(text, at)
        if found is not None:
            row = tokens(found[1].strip(" ,.;:!"))
            if not row or row[0] in ARTICLES or row[0] in words:
                return True
        at = text.find("mixed", at + 1)
    return False


def _mixed_in(entries: Mapping[str, str]) -> Iterator[list[Mixing]]:
    """Give the batches that each file mixes, looking only at the lines that mix one."""
    from journal.notes.entries import scan
    from journal.notes.reading import mixings_in

    for file, text in entries.items():
        if "mixed" not in text and "mixed" not in text.lower():
            continue
        if "<!--" in text or "```" in text or "~~~" in text:
            yield mixings_in(scan(file, text))  # what is commented out or in a fence mixes nothing
            continue
        lines = "\n" + text.replace("\r\n", "\n")
        for found in _MIXED.finditer(lines):
            at = lines.count("\n", 0, found.start())
            yield [
                mixing._replace(place=mixing.place._replace(line=mixing.place.line + at))
                for mixing in mixings_in(scan(file, found[0][1:]))
            ]


def _words(texts: Iterable[str]) -> set[str]:
    """Give the words of texts as names are compared."""
    from journal.notes.names import tokens

    return {word for text in texts for word in tokens(text)}


def _items(scanned: Scanned) -> Iterator[Item]:
    for draft in scanned.drafts:
        for block in draft.blocks:
            if isinstance(block, Item):
                yield from _with_inner(block)


def _with_inner(item: Item) -> Iterator[Item]:
    yield item
    for child in item.children or ():
        yield from _with_inner(child)


def _only(scanned: Scanned, beginnings: set[str]) -> Scanned:
    """Leave of entries the items that begin with one of these pairs of letters."""
    beginnings = {each.lower() for each in beginnings}
    for draft in scanned.drafts:
        draft.suspects.clear()
        draft.blocks = [
            block
            for block in draft.blocks
            if isinstance(block, Item) and block.text[:2].lower() in beginnings
        ]
    return scanned


def _no_record(line: str) -> Problem:
    """Say that a line is none, with the nearest verb."""
    from journal.notes.faults import Fault
    from journal.notes.names import nearest
    from journal.notes.place import Place, Problem
    from journal.notes.verbs import VERBS

    words = _bare(line)
    first = words.split(" ", 1)[0] if words else ""
    near = nearest(first, [form for verb in VERBS for form in (verb.name, *verb.also)])
    meant = f'; did you mean "{near}"?' if near else ""
    known = ", ".join(verb.name for verb in VERBS)
    return Problem(
        Fault.NO_VERB, Place("", 1, line.find(words) + 1), first,
        f'"{first}" is no verb that begins a record{meant}',
        f"begin with one of: {known}. Words without a record are written into the file itself.", line,
    )  # fmt: skip


def _refuse(problems: Sequence[Problem]) -> int:
    """Show what cannot be read; nothing is written."""
    for problem in problems:
        first, *rest = problem_lines(problem)
        click.secho(plain(first.partition(": ")[2]), err=True, fg="red")
        for line in rest:
            click.echo(plain(line), err=True)
    click.echo("nothing was written", err=True)
    return 1
