"""From revisions to what stands now: the state of one entity, its heads and its conflicts.

A value is known by its path: a field, or a field within a section (FL.camber). Among the revisions
that wrote a path, those count that no later one, seen through parents, has overwritten. One: that
is the value. Several (two laptops, not yet merged): the last in an order made from hashes alone
stands for now, the same on every laptop, and if they differ a person has to settle the conflict.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from heapq import heapify, heappop, heappush
from typing import Any, NamedTuple

from trackside.logbook.revisions import Body, Revision

Path = tuple[str, ...]
_READING = {"typed", "unit", "si"}
KEPT, DROPPED = "kept", "dropped"
"""The two versions where one laptop changed what another took off the logbook."""


class State(NamedTuple):
    """What stands: the body (None once dropped), the heads, and values in conflict by path."""

    body: Body | None
    heads: tuple[str, ...]
    conflicts: dict[str, tuple[Any, ...]]


def split(path: str) -> Path:
    """`FL.camber` as its parts; only the first dot separates."""
    head, dot, name = path.partition(".")
    return (head, name) if dot else (head,)


def leaves(body: Body) -> Iterator[tuple[Path, Any]]:
    """The values of a body by path. A reading is one value; an unknown one (None) is left out."""
    for head, value in body.items():
        yield from _leaves_of((head,), value)


def _leaves_of(path: Path, value: Any) -> Iterator[tuple[Path, Any]]:
    if isinstance(value, dict) and value and len(path) == 1:
        value = {name: inner for name, inner in value.items() if inner is not None}
        if not is_reading(value):
            for name, inner in value.items():
                yield (*path, name), inner
            return
    if value is not None:
        yield path, value


def is_reading(value: dict[str, Any]) -> bool:
    """Whether it is one value, as typed with its unit, and no section of several."""
    return value.keys() <= _READING and "typed" in value and "unit" in value


def build(values: Iterable[tuple[Path, Any]]) -> Body:
    """The body with these values; the inverse of `leaves`."""
    body: Body = {}
    for path, value in sorted(values, key=lambda item: item[0]):
        if len(path) == 1:
            body[path[0]] = value
            continue
        section = body.get(path[0])
        body[path[0]] = {**(section if isinstance(section, dict) else {}), path[1]: value}
    return body


def normal(body: Body) -> Body:
    """`build(leaves(body))`, in one go: unknown values and empty sections are left out."""
    found: Body = {}
    for head, value in body.items():
        if isinstance(value, dict) and value:
            value = {name: inner for name, inner in value.items() if inner is not None} or None
        if value is not None:
            found[head] = value
    return found


def patched(body: Body, values: Body) -> Body:
    """`body`, as `build` makes it, after a patch; the given body stays as it is."""
    after = dict(body)
    for path, value in _by_path(values):
        section = after.pop(path[0], None)
        if len(path) == 1:
            after |= build(_leaves_of(path, value))
            continue
        is_section = isinstance(section, dict) and not is_reading(section)
        section = {**section} if is_section else {}
        section.pop(path[1], None)
        if value is not None:
            section[path[1]] = value
        if section:
            after[path[0]] = section
    return after


def _by_path(values: Body) -> list[tuple[Path, Any]]:
    """A patch in the order in which it is applied: what is now unknown first."""
    return sorted(
        ((split(text), value) for text, value in values.items()),
        key=lambda item: (item[1] is not None, item[0]),
    )


def _touches(path: Path, other: Path) -> bool:
    """Whether a value at `path` leaves no room for one at `other`: the same, within, or around."""
    return path[0] == other[0] and (len(path) == 1 or len(other) == 1 or path == other)


def changes(before: Body | None, after: Body | None) -> dict[str, tuple[Any, Any]]:
    """What differs between two bodies: path to (before, after), None for unknown."""
    old, new = dict(leaves(before or {})), dict(leaves(after or {}))
    return {
        ".".join(path): (old.get(path), new.get(path))
        for path in sorted(old.keys() | new.keys())
        if old.get(path) != new.get(path)
    }


def in_order(revisions: Iterable[Revision]) -> list[Revision]:
    """Parents before children; between equals the smaller hash first. Missing parents are none."""
    by_rev = {revision.rev: revision for revision in revisions}
    waiting = {
        rev: {parent for parent in revision.parents if parent in by_rev}
        for rev, revision in by_rev.items()
    }
    children: dict[str, list[str]] = {}
    for rev, parents in waiting.items():
        for parent in parents:
            children.setdefault(parent, []).append(rev)
    ready = [rev for rev, parents in waiting.items() if not parents]
    heapify(ready)
    ordered = []
    while ready:
        rev = heappop(ready)
        ordered.append(by_rev[rev])
        for child in children.get(rev, ()):
            waiting[child].discard(rev)
            if not waiting[child]:
                heappush(ready, child)
    return ordered


def heads_of(revisions: Iterable[Revision]) -> tuple[str, ...]:
    """The revisions that no other names as parent, sorted."""
    known = list(revisions)
    named = {parent for revision in known for parent in revision.parents}
    return tuple(sorted(revision.rev for revision in known if revision.rev not in named))


def up_to(revisions: Iterable[Revision], heads: Iterable[str]) -> list[Revision]:
    """Those of `revisions` that are `heads` or their ancestors."""
    by_rev = {revision.rev: revision for revision in revisions}
    wanted, open_ = set(), [rev for rev in heads if rev in by_rev]
    while open_:
        rev = open_.pop()
        if rev not in wanted:
            wanted.add(rev)
            open_.extend(parent for parent in by_rev[rev].parents if parent in by_rev)
    return [revision for rev, revision in by_rev.items() if rev in wanted]


def is_chain(ordered: list[Revision]) -> bool:
    """Whether each revision has the one before it as its only parent."""
    before: tuple[str, ...] = ()
    for revision in ordered:
        if revision.parents != before:
            return False
        before = (revision.rev,)
    return True


def hides_its_past(body: Body | None, revision: Revision) -> bool:
    """Whether only the whole chain tells what a patch does to that body: it goes into what looks
    like a reading, but may be what is left of a section with the names of one."""
    heads = {path[0] for path in map(split, revision.body) if len(path) == 2}
    return revision.op == "set" and any(
        isinstance(value, dict) and is_reading(value)
        for value in (body.get(head) for head in heads if body)
    )


def advance(body: Body | None, revision: Revision) -> Body | None:
    """The body after one more revision of a chain; equal to merging the whole chain, unless the
    body hides its past from the revision."""
    if revision.op == "put":
        return normal(revision.body)
    if revision.op == "drop" or body is None:
        return None
    return patched(body, revision.body)


class _Written(NamedTuple):
    """One revision's word on one path; `place` is its place in the order."""

    place: int
    value: Any


def fold(revisions: Iterable[Revision]) -> State:
    """The state after all of these revisions of one entity, in whatever order they are given."""
    return fold_in_order(in_order(revisions))


def fold_in_order(ordered: list[Revision]) -> State:
    """The same of revisions with parents before children."""
    if not is_chain(ordered):
        return merge(ordered)
    body = None
    for revision in ordered:
        if hides_its_past(body, revision):
            return merge(ordered)
        body = advance(body, revision)
    return State(body, heads_of(ordered), {})


def merge(ordered: list[Revision]) -> State:
    """The state after revisions with branches, parents before children."""
    heads = heads_of(ordered)
    written, alive = _replayed(ordered)
    conflicts = {
        ".".join(path): tuple(word.value for word in words)
        for path, words in written.items()
        if _differ(words)
    }
    standing = [alive[head] for head in heads]
    if not any(standing):
        return State(None, heads, {})
    if not all(standing):
        conflicts[""] = (KEPT, DROPPED)
    last = ((path, words[-1].value) for path, words in written.items())
    body = build((path, value) for path, value in last if value is not None)
    return State(body, heads, conflicts)


def versions(revisions: Iterable[Revision]) -> dict[str, tuple[tuple[Revision, Any], ...]]:
    """Every conflict of one entity by path: who wrote which value.

    The path "" is whether it is to stand at all: "kept" or "dropped".
    """
    ordered = in_order(revisions)
    written, alive = _replayed(ordered)
    heads = [revision for revision in ordered if revision.rev in heads_of(ordered)]
    if not any(alive[head.rev] for head in heads):
        return {}
    found = {
        ".".join(path): tuple((ordered[word.place], word.value) for word in words)
        for path, words in written.items()
        if _differ(words)
    }
    if not all(alive[head.rev] for head in heads):
        found[""] = tuple((head, KEPT if alive[head.rev] else DROPPED) for head in heads)
    return found


def set_by(ordered: list[Revision]) -> dict[str, Revision]:
    """Who set each value that stands, by path, after revisions with branches, parents before
    children: what stands for now where they differ."""
    written, alive = _replayed(ordered)
    if not any(alive[head] for head in heads_of(ordered)):
        return {}
    return {
        ".".join(path): ordered[words[-1].place]
        for path, words in written.items()
        if words[-1].value is not None
    }


def _differ(words: list[_Written]) -> bool:
    return any(word.value != words[0].value for word in words)


def _replayed(ordered: list[Revision]) -> tuple[dict[Path, list[_Written]], dict[str, bool]]:
    """The words that count for each path, and whether the entity stands after each revision."""
    place_of = {revision.rev: place for place, revision in enumerate(ordered)}
    seen: list[int] = []  # for each revision, the set of its ancestors and itself, as bits
    alive: dict[str, bool] = {}
    written: dict[Path, list[_Written]] = {}
    for place, revision in enumerate(ordered):
        parents = [parent for parent in revision.parents if parent in place_of]
        past = 0
        for parent in parents:
            past |= seen[place_of[parent]]
        seen.append(past | 1 << place)
        unseen = bool(revision.parents) and not parents
        goes_on = unseen or any(alive[parent] for parent in parents)
        alive[revision.rev] = revision.op == "put" or (revision.op == "set" and goes_on)
        for path, value in _words_of(revision, written, past).items():
            beside = [old for old in written.get(path, ()) if not past >> old.place & 1]
            written[path] = [*beside, _Written(place, value)]
    return written, alive


def _words_of(
    revision: Revision, written: dict[Path, list[_Written]], past: int
) -> dict[Path, Any]:
    """What a revision says about each path. What it replaces, it declares unknown (None)."""
    if revision.op == "drop":
        return {}
    if revision.op == "put":
        return dict.fromkeys(_known(written, past)) | dict(leaves(revision.body))
    words: dict[Path, Any] = {}
    for path, value in _by_path(revision.body):
        touched = [old for old in written if _touches(path, old)]
        words |= dict.fromkeys(_known({old: written[old] for old in touched}, past))
        words |= {old: None for old in words if _touches(path, old)}
        words |= {path: None} | dict(_leaves_of(path, value))
    return words


def _known(written: dict[Path, list[_Written]], past: int) -> list[Path]:
    return [path for path, words in written.items() if any(past >> w.place & 1 for w in words)]
