"""Any text as terminal cells, so that every line of a drawing is exactly as wide as it says."""

from __future__ import annotations

import unicodedata
from typing import Final

_PLAIN: Final = str.maketrans(
    {
        "−": "-", "–": "-", "—": "-", "…": "~", "·": ".", "×": "x", "±": "+/-", "→": "->",
        "←": "<-", "′": "'", "″": '"', "’": "'", "‘": "'", "“": '"', "”": '"', "²": "2", "³": "3",
        "µ": "u", "μ": "u", "Δ": "d", "°": "deg ",
    }
)  # fmt: skip
_NO_WIDTH: Final = {"Mn", "Me", "Mc", "Sk"}
_UNSEEN: Final = {"Cc", "Cf", "Cs", "Cn", "Co", "Zl", "Zp"}


def cells(text: str, ascii_only: bool = False) -> list[str]:
    """`text` cut into terminal cells: a wide character is followed by an empty cell.

    Combining marks stay with the letter before them; control, format and unassigned characters
    are left out. With `ascii_only` what has no plain spelling becomes a question mark.
    """
    if ascii_only:
        text = text.replace("°C", "C").replace("°F", "F").translate(_PLAIN)
        text = "".join(
            letter if letter.isascii() else "?"
            for letter in unicodedata.normalize("NFKD", text)
            if not unicodedata.combining(letter)
        )
    if text.isascii() and text.isprintable():
        return list(text)
    found: list[str] = []
    for letter in unicodedata.normalize("NFC", text):
        kind = unicodedata.category(letter)
        if kind in _UNSEEN:
            continue
        wide = unicodedata.east_asian_width(letter) in "WF"
        if kind in _NO_WIDTH and (wide or kind != "Sk"):
            if found and found[-1] and kind != "Sk":
                found[-1] += letter
            continue
        found.append(letter)
        if wide:
            found.append("")
    return found


def fit(text: str, width: int, ascii_only: bool = False) -> list[str]:
    """The cells of `text`, at most `width` of them; what is cut off leaves an ellipsis."""
    whole = cells(text, ascii_only)
    if len(whole) <= width:
        return whole
    if width <= 0:
        return []
    kept = whole[: width - 1]
    if whole[width - 1] == "" and kept:
        kept[-1] = " "
    return [*kept, "~" if ascii_only else "…"]
