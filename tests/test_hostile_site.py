"""Made-up diaries go all the way: what was read is reckoned, drawn and published, and nothing fails.

MIDDENBOOK_FUZZ_SITES says how many diaries are published.
"""

from __future__ import annotations

import os
import random
import xml.etree.ElementTree as ET
from itertools import islice
from pathlib import Path

from journal.commands.files import read_journal
from journal.commands.proofread import summary
from journal.commands.shipped import template_folders
from journal.commands.site import site_files
from journal.commands.tally import Asked, written
from journal.reckoning.slips import slips
from journal.reckoning.tally import Tally
from journal.site.issue import Issue
from journal.site.memory import Recollection
from journal.site.templates import Templates
from tests.fuzz.reader import CORPUS, corpus, diaries

SITES = int(os.environ.get("MIDDENBOOK_FUZZ_SITES", "8"))
BY = (None, "stream", "giver", "bin", "month")
ASKED = [Asked(frozenset(), by, as_json=False, as_csv=False) for by in BY]


def test_made_up_diaries_are_published(tmp_path: Path) -> None:
    """Every made-up diary has totals, slips and a site whose feed is XML; only its problems are left out."""
    household = (CORPUS / "household.yaml").read_bytes()
    (tmp_path / "entries").mkdir()
    (tmp_path / "entries" / "household.yaml").write_bytes(household)
    templates, memory = Templates(template_folders(tmp_path)), Recollection()
    for number, text in enumerate(islice(diaries(random.Random(30), corpus()), SITES)):
        file = tmp_path / "entries" / "all.md"
        file.write_bytes(text.encode("utf-8", "surrogatepass"))
        notes = read_journal(tmp_path)
        tally = Tally(notes)
        try:
            for asked in ASKED:
                assert written(tally, asked)
            assert summary(tally)
            slips(notes, tally.ledger, notes.newest)
            site = dict(site_files(tmp_path, tally, Issue(templates, memory), []))
            ET.fromstring(site["feed.xml"] or b"")  # noqa: S314 - our own
            assert b"</html>" in (site["index.html"] or b"")
        except Exception as fault:
            raise AssertionError(f"diary {number}: {text!r}") from fault
