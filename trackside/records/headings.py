"""What the heading of a column says: quantity, unit, direction and position.

The program's own headings are `position`, `direction`, `speed_UNIT`, `force_UNIT`, `oil_UNIT` and
`preload_position`; in front of speed and force `bump_` or `rebound_`, behind them `@POSITION`.
Other benches name their columns in other words and put the unit in brackets: the plain words of the
trade are understood, and any other name can be given one of the program's own (`mapped`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from trackside.errors import BadInput
from trackside.units import QUANTITIES, clean, one_line


class Heading(NamedTuple):
    """kind: position, direction, speed, force, oil, preload, of a recording time, displacement or
    angle, "ignore" for what nobody wants, empty for what is not understood. `unit` is empty where
    the heading has none; `position` is as it was written."""

    kind: str
    unit: str = ""
    direction: str = ""
    position: str = ""
    name: str = ""


UNITS: dict[str, dict[str, tuple[str, ...]]] = {
    "speed": {
        "mm/s": ("mm_s", "mm/s", "mm/sec", "mms", "mmps", "mm·s⁻¹"),
        "in/s": ("in_s", "in/s", "in/sec", "ips", "inch/s", "inches/s", "inch/sec"),
        "m/s": ("m_s", "m/s", "m/sec", "mps"),
    },
    "force": {
        "N": ("n", "newton", "newtons"),
        "lbf": ("lbf", "lb", "lbs", "pounds"),
        "kgf": ("kgf", "kg", "kp"),
        "kN": ("kn",),
        "daN": ("dan",),
    },
    "oil": {
        "°C": ("c", "°c", "degc", "deg c", "celsius"),
        "°F": ("f", "°f", "degf", "deg f", "fahrenheit"),
        "K": ("k", "kelvin"),
    },
    "displacement": {"mm": ("mm",), "in": ("in", "inch"), "m": ("m",), "cm": ("cm",)},
    "time": {"s": ("s", "sec"), "ms": ("ms",)},
    "angle": {"°": ("deg", "°", "degrees")},
}
"""Every unit by the spellings that a heading may have, lower case."""

DIRECTIONS = {
    "bump": "bump",
    "b": "bump",
    "compression": "bump",
    "comp": "bump",
    "cmp": "bump",
    "closing": "bump",
    "c": "bump",
    "rebound": "rebound",
    "reb": "rebound",
    "r": "rebound",
    "extension": "rebound",
    "ext": "rebound",
    "opening": "rebound",
}
"""The words for a direction."""

HARD = {"f", "fh", "h", "hard", "full hard", "fully hard", "full-hard", "fullhard"}
SOFT = {"fs", "s", "soft", "full soft", "fully soft", "full-soft", "fullsoft"}
"""The words for an adjuster's ends."""

_KINDS = {
    "preload": ("preload",),
    "oil": ("oil", "temp", "temperature"),
    "time": ("time",),
    "angle": ("angle", "crank", "crankangle"),
    "speed": ("speed", "velocity", "vel"),
    "displacement": ("displacement", "disp", "travel", "stroke"),
    "force": ("force", "load"),
    "direction": ("direction", "dir", "way"),
    "position": ("position", "pos", "click", "clicks", "setting", "adjuster", "adjustment"),
}  # in the order in which they are looked for
OTHERS = "*"
"""Stands for every column of forces that is not named by itself."""
_OWN = re.compile(
    r"(?:(?P<direction>bump|rebound)_)?"
    r"(?P<kind>preload_position|position|direction|ignore|speed|force|oil)"
    r"(?:_(?P<unit>[^@]+))?(?:@(?P<position>.+))?",
    re.IGNORECASE,
)
_BRACKETS = re.compile(r"[\[(]([^\])]*)[\])]")
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_ENDS = re.compile(r"\b(full[ -]?hard|full[ -]?soft|hard|soft)\b")


def own_heading(name: str) -> Heading | None:
    """A heading in the program's own words; None for any other."""
    match = _OWN.fullmatch(name.strip())
    if match is None:
        return None
    kind, unit = match["kind"].casefold(), match["unit"]
    kind = "preload" if kind == "preload_position" else kind
    if (kind in UNITS) != bool(unit) or (match["direction"] and kind not in ("speed", "force")):
        return None
    symbol = _unit(kind, unit) if unit else ""
    if unit and not symbol:
        return None
    return Heading(
        kind, symbol, (match["direction"] or "").casefold(), match["position"] or "", name.strip()
    )


def heading(name: str) -> Heading:
    """What a heading says in the words of the trade."""
    plain = clean(name).strip().strip("\"'").strip()
    if own := own_heading(plain):
        return own
    words, unit_text = _apart(plain.casefold())
    tokens = re.findall(r"[a-z°]+", words)
    directions = {DIRECTIONS[t] for t in tokens if t in DIRECTIONS and len(t) > 1}
    direction = directions.pop() if len(directions) == 1 else ""
    kind = next((kind for kind, known in _KINDS.items() if set(known) & set(tokens)), "")
    if kind in ("speed", "force", "oil", "displacement", "time", "angle"):
        unit = _unit(kind, unit_text) or _unit_at_end(kind, words)
        place = _position(words) if kind == "force" and direction else ""
        return Heading(kind, unit, direction if kind in ("speed", "force") else "", place, plain)
    if kind == "position" and _unit("displacement", unit_text):
        return Heading("displacement", _unit("displacement", unit_text), "", "", plain)
    for bare in ("speed", "force"):
        if unit := _unit(bare, words):
            return Heading(bare, unit, "", "", plain)
    if direction:
        unit = _unit("force", unit_text) or _unit_at_end("force", words)
        if kind in ("", "position") and (kind == "" or _position(words)):
            return Heading("force", unit, direction, _position(words), plain)
    short = re.fullmatch(r"([bcr])\s*[@ ]?\s*(\d+(?:[.,]\d+)?)", words)
    if short:
        unit = _unit("force", unit_text)
        return Heading("force", unit, DIRECTIONS[short[1]], short[2], plain)
    if re.fullmatch(r"(?:clicks?\s*)?\d+(?:[.,]\d+)?\s*(?:clicks?)?", words):
        return Heading("force", _unit("force", unit_text), "", _position(words), plain)
    return Heading(kind, "", direction if kind == "position" else "", "", plain)


def _apart(text: str) -> tuple[str, str]:
    """The words of a heading, and its unit where that is in brackets."""
    inside = _BRACKETS.findall(text)
    return _BRACKETS.sub(" ", text).strip(), inside[-1].strip() if inside else ""


def _unit(kind: str, text: str) -> str:
    wanted = text.strip().casefold().replace("  ", " ")
    return next((unit for unit, known in UNITS[kind].items() if wanted in known), "")


def _unit_at_end(kind: str, words: str) -> str:
    """The unit behind a comma, a stroke, a blank or an underscore: `Speed, mm/s`, `Force_N`."""
    for unit, known in UNITS[kind].items():
        for spelling in known:
            if re.search(rf"[\s,/_:]{re.escape(spelling)}$", words):
                return unit
    return ""


def _position(words: str) -> str:
    if end := _ENDS.search(words):
        return end[1]
    found = _NUMBER.findall(words)
    return found[-1] if found else ""


def mapped(columns: Sequence[str]) -> dict[str, str]:
    """What `OWN NAME=position` and so on say, several of them parted by semicolons: the heading in
    the file, casefolded, to the program's own. BadInput for a name that the program has not."""
    pairs = [part for text in columns for part in text.split(";") if part.strip()]
    return named((theirs, ours) for theirs, _, ours in (pair.rpartition("=") for pair in pairs))


def named(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """The same of (heading in the file, the program's own)."""
    found: dict[str, str] = {}
    for theirs, ours in pairs:
        if not theirs.strip() or not own_heading(ours):
            raise BadInput(
                f"“{one_line(f'{theirs}={ours}')}” does not say what a column is",
                "a column is position, direction, speed_mm_s, force_N, bump_force_N@8, oil_C, "
                "preload_position or ignore",
            )
        found[_key(theirs)] = ours.strip()
    return found


def own_name(name: str) -> str:
    """The program's own heading for a heading in the words of the trade; empty where it is not
    understood, or has no unit."""
    found = heading(name)
    if found.kind in ("speed", "force", "oil") and found.unit:
        unit = found.unit.replace("/", "_").replace("°", "")
        direction = f"{found.direction}_" if found.direction else ""
        place = f"@{found.position}" if found.position else ""
        return f"{direction}{found.kind}_{unit}{place}"
    return {"position": "position", "direction": "direction", "preload": "preload_position"}.get(
        found.kind, ""
    )


def headings(
    cells: Sequence[str], said: Mapping[str, str], known: Sequence[Mapping[str, str]] = ()
) -> list[Heading]:
    """What each cell of a line says as a heading: as a person said, else as one of the `known`
    tables names all of its columns, else in the words of the trade."""
    keys = [_key(cell) for cell in cells]
    fitting = [one for one in known if one.keys() <= set(keys)]
    fitting.sort(key=len)
    meant = {**(fitting[-1] if fitting else {}), **said}
    found = []
    for cell, key in zip(cells, keys, strict=True):
        there = heading(cell)
        ours = meant.get(key) or (meant.get(OTHERS) if there.kind in ("", "force") else None)
        own = own_heading(ours) if ours else None
        if own and (key in meant or there.kind == "force"):
            found.append(_with_place(own, there)._replace(name=one_line(cell)))
        else:
            found.append(there)
    return found


def _with_place(own: Heading, there: Heading) -> Heading:
    """A column of forces that a person gave a unit keeps the direction and position of its name."""
    if own.kind != "force" or there.kind != "force":
        return own
    return own._replace(
        direction=own.direction or there.direction, position=own.position or there.position
    )


def _key(name: str) -> str:
    return " ".join(clean(name).strip().strip("\"'").casefold().split())


def factor(kind: str, unit: str) -> tuple[float, float]:
    """(factor, offset) to SI of a unit of `UNITS`."""
    if unit == "daN":
        return 10.0, 0.0
    quantity = {"oil": "temperature", "displacement": "length"}.get(kind, kind)
    found = QUANTITIES[quantity].unit(unit)
    return found.factor, found.offset
