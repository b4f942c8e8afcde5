"""Every verb of the language is known wherever verbs are told apart."""

from __future__ import annotations

from journal.notes.verbs import VERBS
from journal.reckoning.ledger import RANK, Bookkeeper
from journal.reckoning.slips import UNCOUNTED_VERBS
from tests.handwritten import journal


def test_every_verb_is_known_to_the_ledger() -> None:
    """A verb has a rank within the day and a way of being posted, or is said to move nothing."""
    names = {verb.name for verb in VERBS}
    assert not set(RANK) & UNCOUNTED_VERBS
    assert set(RANK) | UNCOUNTED_VERBS == names
    assert set(Bookkeeper(journal([])).postings) == set(RANK)
