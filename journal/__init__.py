"""Middenbook: a household's worm and waste journal, from plain text to figures and a site."""

from __future__ import annotations

__version__ = "0.1.0"
