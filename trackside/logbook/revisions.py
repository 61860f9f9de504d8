"""A revision: one thing written down, by whom, when and why; never changed afterwards.

Its envelope is canonical JSON with the keys format, entity, kind, op, parents, device, seq, before,
save, author, reason, recorded_at and body, and where it takes something back, undoes and step.
`rev`, its name, is the hash of the envelope. `parents` are the heads that the writer saw: they, and
never a clock, give the order. `save` is the `seq` of the first revision of the same save, `before`
the name of the one with the `seq` before it, "" for the first; older programs left it out.
"""

from __future__ import annotations

import json
import re
import unicodedata
from typing import Any, Final, Literal, NamedTuple

from trackside.errors import BadRecord, LogbookDamaged
from trackside.logbook.canonical import canonical, digest
from trackside.logbook.uuid7 import uuid7
from trackside.units import clean, one_line

FORMAT = 1

_SHAPE: Final[dict[str, type]] = {
    "format": int,
    "entity": str,
    "kind": str,
    "op": str,
    "parents": list,
    "device": str,
    "seq": int,
    "save": int,
    "author": str,
    "reason": str,
    "recorded_at": str,
    "body": dict,
}
_NAMES: Final = ("entity", "kind", "device", "recorded_at")
MOST_SAVES: Final = 1 << 31
"""Numbers of one computer's revisions: a season takes some ten thousand."""
_OPS: Final = ("put", "set", "drop")
_STEPS: Final = (None, "undo", "redo")

LONGEST: Final = 4 << 20
LONGEST_NAME: Final = 200
DEEPEST: Final = 60
"""What every laptop takes: bytes of an envelope, letters of a kind or code, levels of a body."""

Op = Literal["put", "set", "drop"]
Body = dict[str, Any]


class Write(NamedTuple):
    """Something to be written down.

    op "put" gives the whole body, "set" a patch (path to new value, None for unknown), "drop"
    removes. `parents` default to the present heads, `author` and `recorded_at` to the logbook's.
    """

    kind: str
    op: Op
    entity: str
    body: Body
    reason: str = ""
    parents: tuple[str, ...] | None = None
    undoes: str | None = None
    step: Literal["undo", "redo"] | None = None
    author: str | None = None
    recorded_at: str | None = None


def put(kind: str, body: Body, entity: str | None = None, *, reason: str = "") -> Write:
    """The whole `body` of an entity; without an `entity` a new one is made."""
    return Write(kind, "put", entity or uuid7(), body, reason)


def patch(kind: str, entity: str, values: Body, *, reason: str = "") -> Write:
    """New `values` by path: `driver`, `FL.camber`, `items.Front bar`; None is now unknown.

    The first dot separates: what follows it is one name, dots and all.
    """
    return Write(kind, "set", entity, values, reason)


def drop(kind: str, entity: str, *, reason: str = "") -> Write:
    """Take the entity off the logbook; its history stays."""
    return Write(kind, "drop", entity, {}, reason)


class Revision(NamedTuple):
    """A revision as it stands in the logbook."""

    rev: str
    entity: str
    kind: str
    op: str
    parents: tuple[str, ...]
    device: str
    seq: int
    save: int
    author: str
    reason: str
    recorded_at: str
    body: Body
    undoes: str | None = None
    step: str | None = None

    @classmethod
    def read(cls, rev: str, envelope: str) -> Revision:
        """The revision in `envelope`, its words clean; keys of a newer program are passed over.

        LogbookDamaged when it is no revision.
        """
        try:
            found = json.loads(envelope)
            if is_suspect(envelope):
                found |= {name: cleaned(found[name]) for name in ("author", "reason", "body")}
            return cls.of(rev, found)
        except (KeyError, TypeError, AttributeError, ValueError) as error:
            raise LogbookDamaged(
                f"Revision {rev[:12]} is not what was written down",
                "look at the logbook with trackside verify",
            ) from error

    @classmethod
    def of(cls, rev: str, found: Body) -> Revision:
        """The revision with what an envelope holds; KeyError, TypeError or ValueError when it holds
        no revision."""
        return cls(
            rev,
            found["entity"],
            found["kind"],
            found["op"],
            tuple(found["parents"]),
            found["device"],
            found["seq"],
            found["save"],
            found["author"],
            found["reason"],
            found["recorded_at"],
            dict(found["body"]),
            found.get("undoes"),
            found.get("step"),
        )


_CONTROL = re.compile("[\x7f-\x9f\u2028-\u202e\u2066-\u2069\ufeff]")
_ESCAPED = re.compile(r"\\[ubfr]")
_PLAIN = bytes(range(0x7F))


def is_suspect(envelope: str) -> bool:
    """Whether control characters may be in it, spelled out or as JSON writes them. What is not
    plain ASCII is looked at alone: it is a few letters of thousands."""
    if "\\" in envelope and _ESCAPED.search(envelope):
        return True
    if envelope.isascii():
        return "\x7f" in envelope
    rest = envelope.encode(errors="surrogatepass").translate(None, _PLAIN)
    return bool(_CONTROL.search(rest.decode(errors="surrogatepass")))


def cleaned(value: Any) -> Any:
    """A JSON value with every text, keys too, free of control characters."""
    if isinstance(value, str):
        return clean(value)
    if isinstance(value, dict):
        return {clean(name): cleaned(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [cleaned(inner) for inner in value]
    return value


def is_name(text: str) -> bool:
    """Whether it can name a kind, an entity or a computer: one line, not too long, and nothing in
    it that nobody sees (U+200B, U+200E, U+061C …): it would pass for another."""
    return 0 < len(text) <= LONGEST_NAME and text == one_line(text) and text == unveiled(text)


def unveiled(name: str) -> str:
    """The name without what nobody sees."""
    if name.isascii():
        return name
    return "".join(letter for letter in name if unicodedata.category(letter) != "Cf")


def has_shape(found: Any) -> bool:
    """Whether an envelope has the shape that every version agrees on: the one check of all that is
    written here, by hand or from a document, and of all that comes in."""
    return (
        isinstance(found, dict)
        and all(type(found.get(name)) is kind for name, kind in _SHAPE.items())
        and all(is_name(found[name]) for name in _NAMES)
        and found["op"] in _OPS
        and all(isinstance(parent, str) for parent in found["parents"])
        and isinstance(found.get("undoes"), (str, type(None)))
        and isinstance(found.get("before"), (str, type(None)))
        and found.get("step") in _STEPS
        and 0 < found["save"] <= found["seq"] < MOST_SAVES
        and not is_deeper(found["body"], DEEPEST)
    )


def is_deeper(value: Any, levels: int) -> bool:
    """Whether a JSON value has more than so many levels."""
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return levels < 0 or any(is_deeper(each, levels - 1) for each in inner)


def seal(
    write: Write,
    *,
    parents: tuple[str, ...],
    device: str,
    seq: int,
    save: int,
    author: str,
    reason: str,
    recorded_at: str,
    before: str = "",
) -> tuple[Revision, str]:
    """The revision that `write` becomes, and its envelope.

    BadRecord if it is not JSON, or if it is more than another laptop would take.
    """
    if not (is_name(write.kind) and is_name(write.entity)):
        raise BadRecord("This cannot be written down: its kind or code is no name", "correct it")
    if is_deeper(write.body, DEEPEST):
        raise BadRecord(f"This is nested deeper than {DEEPEST} levels", "write it more simply")
    content: Body = {
        "format": FORMAT,
        "entity": write.entity,
        "kind": write.kind,
        "op": write.op,
        "parents": sorted(parents),
        "device": device,
        "seq": seq,
        "before": before,
        "save": save,
        "author": author,
        "reason": reason,
        "recorded_at": recorded_at,
        "body": write.body,
    }
    if write.undoes:
        content |= {"undoes": write.undoes, "step": write.step}
    envelope = canonical(content)
    if not has_shape(content):
        raise BadRecord("This cannot be written down: no other laptop would take it", "correct it")
    if len(envelope.encode()) > LONGEST:
        raise BadRecord("This is too long to be carried to another laptop", "write less at once")
    return Revision.read(digest(envelope), envelope), envelope
