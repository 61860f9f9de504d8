"""Keys: their names, what is printed on their caps, and the crew's own choice of them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from trackside.errors import BadPreference

_NAMED: Final[dict[str, tuple[str, str]]] = {
    "enter": ("Enter", ""),
    "tab": ("Tab", ""),
    "shift+tab": ("Shift-Tab", ""),
    "escape": ("Esc", ""),
    "space": ("Space", " "),
    "left": ("←", ""),
    "right": ("→", ""),
    "up": ("↑", ""),
    "down": ("↓", ""),
    "slash": ("/", "/"),
    "question_mark": ("?", "?"),
    "left_square_bracket": ("[", "["),
    "right_square_bracket": ("]", "]"),
    "full_stop": (".", "."),
    "comma": (",", ","),
    "plus": ("+", "+"),
    "minus": ("-", "-"),
    "equals_sign": ("=", "="),
    "asterisk": ("*", "*"),
    "number_sign": ("#", "#"),
    "semicolon": (";", ";"),
    "colon": (":", ":"),
    "exclamation_mark": ("!", "!"),
    "less_than_sign": ("<", "<"),
    "greater_than_sign": (">", ">"),
    "home": ("Home", ""),
    "end": ("End", ""),
    "pageup": ("PgUp", ""),
    "pagedown": ("PgDn", ""),
    "insert": ("Ins", ""),
    "delete": ("Del", ""),
    "backspace": ("Backspace", ""),
    **{f"f{number}": (f"F{number}", "") for number in range(1, 13)},
    **{f"ctrl+{letter}": (f"Ctrl-{letter.upper()}", "") for letter in "abcdefghijklmnopqrstuvwxyz"},
}
"""Key → what its cap says, and the character it types."""

SWALLOWED: Final = (
    "ctrl+h", "ctrl+i", "ctrl+j", "ctrl+m", "ctrl+a", "ctrl+b", "ctrl+c", "ctrl+z", "f1", "f10",
    "f11", "f12",
)  # fmt: skip
"""Keys that some terminals keep to themselves, or send as another key: found by trying."""


def cap(key: str) -> str:
    """What is printed on the cap of a key."""
    return _NAMED[key][0] if key in _NAMED else key


def key_of_cap(printed: str) -> str:
    """The key with that cap."""
    return next((key for key, (said, _) in _NAMED.items() if said == printed), printed)


def character(key: str) -> str:
    """The character that a key types; its own name for those that type none."""
    return (_NAMED[key][1] or key) if key in _NAMED else key


def is_text(key: str) -> bool:
    """Whether the key is text where words are typed."""
    return len(character(key)) == 1


def is_key(name: str) -> bool:
    """Whether there is a key of that name."""
    return name in _NAMED or len(name) == 1


def key_named(text: str) -> str:
    """The key that was written: a letter, a sign, or a name such as `plus`, `f5`, `ctrl+t`.
    BadPreference when there is none of that name."""
    if len(text) == 1 and (text.isalnum() or text.isascii()):
        return next((name for name, (_, typed) in _NAMED.items() if typed == text), text)
    name = text.strip().casefold()
    if name in _NAMED:
        return name
    raise BadPreference(
        f"the preference keys names “{text}”, which is no key",
        "write a letter, a sign, or a name such as plus, f5, space, ctrl+t",
    )


def reachable(action: str, keys: Iterable[str]) -> None:
    """BadPreference when a terminal may swallow every one of these keys."""
    if keys and all(key in SWALLOWED for key in keys):
        told = ", ".join(cap(key) for key in keys)
        raise BadPreference(
            f"the preference keys.{action} has only {told}, which some terminals keep back",
            "add another key",
        )
