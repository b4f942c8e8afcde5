"""The QR code of an address, for who stands before the notice board with a phone."""

from __future__ import annotations

from journal.site.wording import View

QUIET = 4
"""The modules of white around a code that readers need (ISO/IEC 18004)."""


def path_of(address: str) -> View | None:
    """Give the code of an address as one SVG path and the side of its square, in modules, margin included.

    None where the address is longer than the largest code has room for.
    """
    import segno

    try:
        code = segno.make(address, error="m", micro=False)
    except segno.DataOverflowError:
        return None
    strokes = []
    for y, line in enumerate(code.matrix):
        x = 0
        while x < len(line):
            if line[x]:
                start = x
                while x < len(line) and line[x]:
                    x += 1
                strokes.append(f"M{start + QUIET} {y + QUIET}h{x - start}v1h-{x - start}z")
            else:
                x += 1
    return {"path": "".join(strokes), "side": len(code.matrix) + 2 * QUIET}
