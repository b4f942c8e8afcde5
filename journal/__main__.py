"""Run the program as ``python -m journal``."""

from __future__ import annotations

from journal.commands.main import main

main()
