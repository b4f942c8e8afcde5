"""The new entries read as the journal will read them: what would be a problem there is no record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from journal.commands.bring_in.entries import NewLine, as_prose, lay_out
from journal.notes.entries import Scanned, scan
from journal.notes.household import Household
from journal.notes.materials import Catalogue
from journal.notes.reading import gather_batches, know, mixings_in, read_file


class Trial:
    """The names of a journal, with which new entries are tried."""

    def __init__(self, texts: Mapping[str, str], household: Household, catalogue: Catalogue) -> None:
        self.household = household
        self.catalogue = catalogue
        mixing = [scan(file, text) for file, text in texts.items() if "mixed" in text.lower()]
        self.mixings = [mixings_in(scanned) for scanned in mixing]

    def of(self, lines: Sequence[NewLine]) -> tuple[list[NewLine], list[tuple[str, str]]]:
        """Give the lines, those that would be a problem turned into prose, and of these where and why."""
        lines = list(lines)
        unread: list[tuple[str, str]] = []
        while True:  # a batch that is not mixed takes with it what was bedded with it
            text, at = lay_out(lines)
            wrong = self._problems(scan("", text))
            found = [(at[line], reason) for line, reason in wrong if line in at and at[line].is_record]
            if not found:
                return lines, unread
            unread += [(line.row, reason) for line, reason in found]
            places = {id(line) for line, _ in found}
            lines = [
                line._replace(text=as_prose(line.text), is_record=False) if id(line) in places else line
                for line in lines
            ]

    def _problems(self, fresh: Scanned) -> Iterable[tuple[int, str]]:
        mixings = gather_batches([*self.mixings, mixings_in(fresh)], self.household, self.catalogue)
        part = read_file(know(self.household, self.catalogue, mixings), fresh)
        return [(problem.place.line, problem.sentence) for problem in part.problems]
