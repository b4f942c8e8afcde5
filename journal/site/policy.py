"""The Content-Security-Policy of a page: what it does not use is forbidden.

No page runs a script or asks another host for anything.  The style sheet and the description for machines
stand in the page and are allowed by their hash (W3C Content Security Policy Level 3).
"""

from __future__ import annotations

import base64
import hashlib
from functools import lru_cache

_UNUSED = ("font", "frame", "manifest", "media", "object", "worker")


def policy(style: str, description: str = "", *, shows_pictures: bool = False) -> str:
    """Give the policy of a page with this style sheet and this inline JSON-LD.

    Asking the site's own host stays allowed: no page does it, but auditors read ``robots.txt`` from within.
    A page with pictures forbids the rest piece by piece: on a page read from a disk, checkers take any rule
    on pictures to forbid them all.  Pictures of other hosts never get into a page in the first place.
    """
    scripts = f"script-src {_hashed(description)}" if description else "script-src 'none'"
    if shows_pictures:
        first = "; ".join(f"{kind}-src 'none'" for kind in _UNUSED)
    else:
        first = "default-src 'none'; img-src 'self' file: data:"
    rest = f"style-src {_hashed(style)}; base-uri 'none'; form-action 'none'"
    return f"{first}; {scripts}; connect-src 'self'; {rest}"


@lru_cache(maxsize=4)
def _hashed(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
