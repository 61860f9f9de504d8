"""Text that breaks programs: markup, what a terminal obeys, directions, widths, lengths, lines."""

from __future__ import annotations

import unicodedata
from pathlib import Path

from trackside.logbook import Logbook, patch, put
from trackside.records.fields import CORNERS, SESSION_FIELDS

TEXTS = {
    "an end of markup": "[/",
    "lines": "a\nb\tc\r\nd\u2028e",
    "half a tag": "[b",
    "a tag": "[red]x[/red]",
    "an action": "[@click=app.quit]x[/]",
    "a colour": "\x1b[31mred",
    "the clipboard": "a\x1b]52;c;aGFoYQ==\x07b",
    "a link": "\x1b]8;;http://example.org\x1b\\here\x1b]8;;\x1b\\",
    "controls of one byte": "a\x9b31mb\x9d52;c;eA==\x9cc\x85d",
    "directions": "\u202eabc\u2066def\u2069",
    "right to left": "تجربة \u200fשלום\u200e",
    "wide and combining": "漢字 e\u0301\u0316 q\u0308",
    "an emoji of several": "👩\u200d🚒 🏁",
    "a lone surrogate": "a\ud800b",
    "nothing's sign": "a\x00b\x08c",
    "a mark of bytes": "\ufeffabc",
    "five thousand": "x" * 5000,
    "a picture": '<img src="http://example.org/x.png" onerror="x">',
    "signs of a query": "%_'\"*\\ air<",
}
"""A name → what is pasted. Control characters by ECMA-48, directions by Unicode's UAX #9, both from
memory."""
SHORT = [text for text in TEXTS.values() if len(text) < 100]
EVERYTHING = " ".join(SHORT)
"""All but the long one, in one paste."""
_OBEYED = {*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x2028, 0x2029, 0xFEFF}


def obeyed(text: str) -> list[str]:
    """What in a text on several lines a terminal would obey, or cannot be sent to one."""
    return sorted(
        {
            f"U+{ord(letter):04X}"
            for letter in text
            if ord(letter) in _OBEYED
            or (unicodedata.category(letter) in ("Cc", "Cs") and letter != "\n")
        }
    )


def write_everywhere(log: Path, text: str, which: str = "last") -> str:
    """Write the text into every word of that session, its event, every car and damper; its code. A
    lone surrogate, which the logbook refuses, is left out."""
    text = text.replace("\ud800", "")
    with Logbook.open(log, author=text, device="hostile") as logbook:
        session = logbook.session(which)
        about = logbook.record(session)
        fields = [name for name, field in SESSION_FIELDS.items() if field.quantity is None]
        words = dict.fromkeys((name for name in fields if name not in ("start", "status")), text)
        words |= {f"{c}.bump_stop": text for c in CORNERS} | {f"items.{text[:50]}": text}
        unread = {"typed": text, "unit": "", "si": None}
        words |= {"FL.gas_pressure": unread, "RR.hot_pressure": unread, "best_lap": unread}
        shed = {"car": ("name", "number", "words"), "damper": ("model", "place", "words"),
                "build": ("work", "oil", "piston")}  # fmt: skip
        logbook.write(
            patch("session", session, words | {"lap_times": [text, 92.5]}),
            patch("event", about.event, dict.fromkeys(("venue", "title", "words"), text)),
            *(patch(kind, entity, dict.fromkeys(names, text))
              for kind, names in shed.items() for entity, _ in logbook.all(kind)),
            put("note", {"session": session, "driver": text, "turn": text, "words": text}),
            put("change", {"session": session, "what": text, "reason": text,
                           "verdict": "better", "verdict_words": text}),
            put("kept", {"session": session, "title": text, "why": text, "result": text}),
            reason=text,
        )  # fmt: skip
    return session
