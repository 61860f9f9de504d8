"""Bundles: there and back, damaged, cut short, hostile."""

from __future__ import annotations

import gzip
import json
import os
import random
import zlib
from pathlib import Path

import pytest

from trackside.errors import BadImport, LogbookFull
from trackside.logbook import Logbook, patch, put
from trackside.logbook import bundle as module
from trackside.logbook.bundle import read_bundle, write_bundle
from trackside.logbook.canonical import canonical, digest
from trackside.logbook.merge import Line
from trackside.logbook.sharing import give, receive


def note(words: str):
    return put("note", {"words": words})


@pytest.fixture
def target(logbook: Logbook, tmp_path: Path) -> Path:
    """A bundle of 300 revisions in many pieces."""
    chance = random.Random(5)
    for start in range(0, 300, 100):
        logbook.write(*(note(f"{start + n} {chance.randbytes(700).hex()}") for n in range(100)))
    target = tmp_path / "team.bundle"
    assert give(logbook, target) == 300
    return target


def test_there_and_back(logbook: Logbook, target: Path) -> None:
    with Logbook.open(":memory:") as other:
        assert receive(other, target) == (300, 0, ())
        assert other.current_states() == logbook.current_states()
        assert other.verify()[:2] == (300, ())
        assert receive(other, target) == (0, 300, ())
        assert other.undo() == []  # what another laptop wrote is not this one's to undo


def test_the_format_is_open(target: Path) -> None:
    """RFC 1952 says that members one after another are one file: gzip reads it all."""
    lines = gzip.decompress(target.read_bytes()).decode().splitlines()
    header, *revisions, footer = (json.loads(line) for line in lines)
    assert (header["format"], header["version"]) == ("trackside-bundle", 1)
    assert footer["revisions"] == len(revisions) == 300
    for line in revisions:
        assert digest(canonical(line["envelope"])) == line["rev"]


def test_a_flipped_bit_costs_its_piece_alone(target: Path) -> None:
    whole = target.read_bytes()
    pieces = whole.count(b"\x1f\x8b\x08")
    assert pieces > 2
    chance = random.Random(7)
    for _ in range(60):
        content = bytearray(whole)
        content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
        target.write_bytes(content)
        found = read_bundle(target)
        assert found.problems or len(found.lines) == 300  # named, or harmless
        assert len(found.lines) >= 300 * (1 - 2 / pieces)


@pytest.mark.parametrize("keep", [0.2, 0.5, 0.9, 0.999])
def test_a_bundle_cut_short_gives_what_is_there(target: Path, keep: float) -> None:
    content = target.read_bytes()
    target.write_bytes(content[: int(len(content) * keep)])
    found = read_bundle(target)
    assert any("cut short" in problem for problem in found.problems)
    assert len(found.lines) >= 300 * keep - 120


def test_damaged_lines_are_named_and_the_others_taken(logbook: Logbook, target: Path) -> None:
    lines = gzip.decompress(target.read_bytes()).splitlines(keepends=True)
    lines[4] = lines[4].replace(b'"words":"3 ', b'"words":"4 ')
    lines[9] = b"\xff\xfe\n"
    del lines[20]
    target.write_bytes(gzip.compress(b"".join(lines)))
    with Logbook.open(":memory:") as other:
        taken = receive(other, target)
        assert (taken.added, taken.same) == (297, 0)
        assert taken.problems == (
            "Line 5 is not what was written down.",
            "Line 10 is not what was written down.",
        )
    target.write_bytes(gzip.compress(b"".join(lines[:4] + lines[5:9] + lines[10:])))
    assert read_bundle(target).problems == ("It should hold 300 revisions.",)


def sealed(content: dict) -> Line:
    envelope = canonical(content)
    return Line(digest(envelope), envelope)


HEADER = b'{"format":"trackside-bundle","version":1}'
GOOD = {
    "format": 1, "entity": "e", "kind": "note", "op": "put", "parents": [], "device": "d",
    "seq": 1, "save": 1, "author": "", "reason": "", "recorded_at": "2026-05-09T08:00:00.000Z",
    "body": {"words": "x"},
}  # fmt: skip


@pytest.mark.parametrize(
    "change",
    [
        {"entity": 5},
        {"entity": ""},
        {"entity": "a\0b"},
        {"entity": "x" * 201},
        {"kind": "no\x1b[31m"},
        {"op": "replace"},
        {"parents": "none"},
        {"parents": [5]},
        {"seq": True},
        {"seq": 1 << 60},
        {"save": 2},
        {"body": []},
        {"undoes": 7},
        *(
            {name: f"laptop\u200b{veil}"}
            for name in ("device", "entity", "kind")
            for veil in "\u200e\u061c"
        ),
        {"step": "sideways"},
    ],
)
def test_a_proved_line_of_another_shape_is_left_in_the_bundle(tmp_path: Path, change: dict) -> None:
    target = tmp_path / "odd.bundle"
    write_bundle(target, [sealed(GOOD | change), sealed(GOOD)])
    with Logbook.open(":memory:") as other:
        taken = receive(other, target)
        assert (taken.added, len(taken.problems)) == (1, 1)
        assert "needs a newer trackside" in taken.problems[0]
        assert other.verify()[:2] == (1, ())


@pytest.mark.parametrize(
    "envelope",
    ['{"a":NaN}', '{"a":1,"a":2}', '{"a": 1}', '{"a":1e400}', "[" * 100_000, '{"a":"\\ud800"}'],
)
def test_a_line_spelled_otherwise_is_named(tmp_path: Path, envelope: str) -> None:
    target = tmp_path / "odd.bundle"
    write_bundle(target, [Line(digest(envelope), envelope), sealed(GOOD)])
    found = read_bundle(target)
    assert len(found.lines) == 1
    assert "not JSON as trackside spells it" in found.problems[0]


def test_bodies_that_no_program_of_ours_would_write_do_no_harm(tmp_path: Path) -> None:
    deep: object = "x"
    for _ in range(400):
        deep = [deep]
    bodies = [
        {"FL": {"camber": {"typed": "1", "unit": "", "si": 10**400}}, "start": 5, "event": {}},
        {"laps": {"typed": None, "unit": None, "si": "x"}, "driver": ["\x1b"], "session": {}},
        {"words": deep},
        {"": {"": ""}, "a.b.c": {"d.e": None}},
    ]
    lines = [
        sealed(GOOD | {"entity": f"{kind}{number}", "kind": kind, "body": body})
        for kind in ("session", "note", "event", "unheard-of")
        for number, body in enumerate(bodies)
    ]
    target = tmp_path / "odd.bundle"
    write_bundle(target, lines)
    with Logbook.open(":memory:") as other:
        taken = receive(other, target)
        assert (taken.added, len(taken.problems)) == (12, 5)
        assert "numbers were given out twice" in taken.problems[4]
        other.rebuild()
        assert other.verify().problems == ()
        assert other.search("x") is not None


def test_a_newer_programs_kinds_and_fields_are_kept(tmp_path: Path) -> None:
    target = tmp_path / "newer.bundle"
    line = sealed(GOOD | {"kind": "aerial", "format": 2, "mood": "good", "body": {"of": 3}})
    write_bundle(target, [line])
    with Logbook.open(":memory:") as other:
        assert receive(other, target) == (1, 0, ())
        assert other.state("e") == {"of": 3}
        assert other.lines() == [line]


def packed_zeros(megabytes: int, line: bytes) -> bytes:
    packer = zlib.compressobj(9, zlib.DEFLATED, 31)
    chunk = line * ((1 << 20) // len(line))
    return b"".join(packer.compress(chunk) for _ in range(megabytes)) + packer.flush()


@pytest.mark.parametrize(("line", "cause"), [(b"\0", "without end"), (b"12345678\n", "far more")])
def test_a_bomb_is_refused(tmp_path: Path, line: bytes, cause: str) -> None:
    target = tmp_path / "bomb.bundle"
    target.write_bytes(packed_zeros(120, line))
    assert target.stat().st_size < 1 << 20
    with Logbook.open(":memory:") as other:
        with pytest.raises(BadImport, match=cause):
            receive(other, target)
        assert other.verify().revisions == 0


def test_a_file_too_large_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_PACKED", 1000)
    (tmp_path / "large.bundle").write_bytes(bytes(1001))
    with pytest.raises(BadImport, match="larger than any bundle"):
        read_bundle(tmp_path / "large.bundle")


@pytest.mark.parametrize("content", [b"", b"a letter home", b"\x1f\x8b\x08", bytes(5000)])
def test_what_is_no_bundle_is_refused(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "letter").write_bytes(content)
    with pytest.raises(BadImport, match="not a bundle"):
        read_bundle(tmp_path / "letter")
    with pytest.raises(BadImport, match="cannot be read"):
        read_bundle(tmp_path)


def test_a_newer_bundle_is_refused(tmp_path: Path) -> None:
    header = json.dumps({"format": "trackside-bundle", "version": 2})
    (tmp_path / "newer").write_bytes(gzip.compress(header.encode() + b"\n"))
    with pytest.raises(BadImport, match="version 2"):
        read_bundle(tmp_path / "newer")


def test_a_stick_pulled_out_holds_the_old_bundle(
    logbook: Logbook, target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    older = target.read_bytes()
    logbook.write(note("newer"))

    def refuse(*_: object) -> None:
        raise OSError(5, "Input/output error")

    for step in ("os.fsync", "Path.replace"):
        with monkeypatch.context() as patched:
            patched.setattr(f"trackside.logbook.atomic_file.{step}", refuse)
            with pytest.raises(LogbookFull, match="Input/output error"):
                give(logbook, target)
        assert target.read_bytes() == older
        assert [name for name in os.listdir(target.parent) if name.endswith(".part")] == []
    give(logbook, target)
    assert len(read_bundle(target).lines) == 301


@pytest.mark.parametrize("line", [b'{"sha256":"","revisions":0}', HEADER])
def test_a_bundle_of_nothing_but_ends_and_beginnings_is_refused(
    tmp_path: Path, line: bytes
) -> None:
    target = tmp_path / "odd.bundle"
    target.write_bytes(gzip.compress(HEADER + b"\n" + (line + b"\n") * 30_000, 9))
    with pytest.raises(BadImport, match="do not use this file"):
        read_bundle(target)


def test_partial_bundles_meet_in_any_order(logbook: Logbook, tmp_path: Path) -> None:
    entity = note("first").entity
    logbook.write(put("note", {"words": "a"}, entity))
    for word in "bcdefg":
        logbook.write(patch("note", entity, {"words": word}))
    lines = logbook.lines()
    parts = []
    for number in range(3):
        parts.append(tmp_path / f"{number}.bundle")
        write_bundle(parts[-1], lines[number::3])
    with Logbook.open(":memory:") as other:
        for part in parts[::-1]:
            receive(other, part)
        assert other.state(entity) == {"words": "g"}
        assert other.verify()[:2] == (7, ())
