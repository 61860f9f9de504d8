"""What comes from outside, a bundle, a file, a name, does nothing but be read; and what is kept is
for its owner alone."""

from __future__ import annotations

import json
import os
import re
import stat
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.errors import BadImport, BadRecord
from trackside.logbook import Logbook, patch, put
from trackside.logbook.bundle import MOST_PACKED, read_bundle, write_bundle
from trackside.logbook.canonical import canonical, digest
from trackside.logbook.exchange import import_json
from trackside.logbook.merge import Line
from trackside.logbook.restore import restore
from trackside.logbook.revisions import DEEPEST, LONGEST, is_suspect
from trackside.logbook.rotation import keep_backups
from trackside.logbook.salvage import salvage
from trackside.logbook.sharing import give, receive, share

posix = pytest.mark.skipif(os.name != "posix", reason="POSIX modes and links")
CONTROLS = "\x1b[31m\x07\x9b2J\x00\u202e\r"
"""Colour, bell, a one-byte control sequence, a direction mark: what a terminal must never get."""

NEAR_CONTROLS = "ab\\ubfr é×\x7f\x80\x9f\xa0\u2027\u2028\u202e\u202f\u2066\ufeff\U0001f600"


def note(words: str):
    return put("note", {"words": words})


def sealed(**change: Any) -> Line:
    envelope = canonical(
        {
            "format": 1, "entity": "e", "kind": "note", "op": "put", "parents": [],
            "device": "d", "seq": 1, "save": 1, "author": "", "reason": "",
            "recorded_at": "2026-05-09T08:00:00.000Z", "body": {},
        } | change
    )  # fmt: skip
    return Line(digest(envelope), envelope)


def names_under(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*")}


@pytest.mark.parametrize(
    "device", ["../../evil", "/etc/evil", "..", "a/b\\c", "x\0y", "~root", "con", "\x1b[2J"]
)
def test_no_name_leads_out_of_the_shared_folder(tmp_path: Path, device: str) -> None:
    folder = tmp_path / "deep" / "down" / "shared"
    folder.mkdir(parents=True)
    write_bundle(folder / "theirs.bundle", [sealed(device="../../x")], device=device, author=device)
    with Logbook.open(":memory:", device=device) as logbook:
        logbook.write(note("mine"))
        found = share(logbook, folder)
    assert (found.taken, found.given, found.problems) == (1, 1, ())
    written = names_under(tmp_path) - {"deep", "deep/down", "deep/down/shared"}
    assert all(name.startswith("deep/down/shared/") for name in written)
    assert len(written) == 2


@posix
def test_links_and_pipes_in_a_shared_folder_are_passed_over(tmp_path: Path) -> None:
    folder, secret = tmp_path / "shared", tmp_path / "secret.bundle"
    folder.mkdir()
    write_bundle(secret, [sealed(body={"words": "not meant for you"})])
    (folder / "link.bundle").symlink_to(secret)
    (folder / "loop.bundle").symlink_to(folder / "loop.bundle")
    (folder / "folder.bundle").mkdir()
    os.mkfifo(folder / "pipe.bundle")
    with Logbook.open(":memory:", device="d") as logbook:
        assert share(logbook, folder)[:3] == (0, 0, 0)
        assert logbook.names() == set()


@posix
def test_a_link_in_the_place_of_a_file_is_replaced_not_followed(tmp_path: Path) -> None:
    precious = tmp_path / "precious"
    precious.write_text("keep me")
    with Logbook.open(tmp_path / "team.trackside", device="d") as logbook:
        logbook.write(note("x"))
        for name, write in (("b", give), ("c", lambda log, target: log.back_up(target))):
            (tmp_path / name).symlink_to(precious)
            write(logbook, tmp_path / name)
            assert not (tmp_path / name).is_symlink()
    assert precious.read_text() == "keep me"


def test_a_file_name_with_control_characters_is_told_clean(tmp_path: Path) -> None:
    try:
        (tmp_path / "evil\x1b[31m.bundle").write_text("not a bundle")
    except OSError:
        pytest.skip("no such names here")
    with Logbook.open(":memory:", device="d") as logbook:
        [problem] = share(logbook, tmp_path).problems
    assert_clean(problem)


def assert_clean(value: Any) -> None:
    """No text anywhere in it carries a control character (line feeds and tabs may be typed)."""
    for text in _texts(value):
        assert not set(text) & (set(CONTROLS) - set("[31m2J")), repr(text)


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for name, inner in value.items():
            yield name
            yield from _texts(inner)
    elif isinstance(value, (list, tuple)):
        for inner in value:
            yield from _texts(inner)


def test_control_characters_of_a_bundle_never_come_out(tmp_path: Path) -> None:
    kinds = ("session", "note", "change", "event", "car", "damper", "unheard of")
    bad: dict[str, Any] = {
        "driver": CONTROLS + "Ines", "venue": "fen" + CONTROLS, "words": f"loose{CONTROLS}loose",
        "what": CONTROLS, "FL": {f"cam{CONTROLS}ber": {"typed": f"1{CONTROLS}", "unit": CONTROLS}},
        CONTROLS: CONTROLS, "session": "session", "start": CONTROLS, "result": [CONTROLS],
    }  # fmt: skip
    lines = [
        sealed(
            entity=kind, kind=kind, seq=n, save=n, body=bad, author=CONTROLS, reason="r" + CONTROLS
        )
        for n, kind in enumerate(kinds, 1)
    ]
    other = {"words": f"other{CONTROLS}"}
    lines.append(sealed(entity="note", device="e", body=other, author=CONTROLS))
    write_bundle(tmp_path / "evil.bundle", lines)
    with Logbook.open(tmp_path / "log", device="d") as logbook:
        assert receive(logbook, tmp_path / "evil.bundle").added == len(lines)
        for _ in range(2):
            found = [
                logbook.current_states(),
                logbook.session_lines(),
                list(logbook.session_readings()),
                logbook.search("loose"),
                logbook.search("r31m"),
                [[e._asdict() for e in logbook.history(kind)] for kind in kinds],
                logbook.conflicts(),
                [[*d] for d in logbook.open_conflicts()],
            ]
            assert_clean(json.loads(json.dumps(found, default=repr)))
            assert logbook.verify().problems == ()
            logbook.rebuild()


def test_a_file_larger_than_any_bundle_is_refused_unread(tmp_path: Path) -> None:
    with (tmp_path / "huge.bundle").open("wb") as file:
        file.truncate(MOST_PACKED + 1)
    with pytest.raises(BadImport, match="larger than any bundle"):
        read_bundle(tmp_path / "huge.bundle")


def nested(levels: int) -> object:
    value: object = "x"
    for _ in range(levels):
        value = [value]
    return value


@pytest.mark.parametrize("levels", [DEEPEST + 1, 400, 900])
def test_what_is_nested_deeper_than_others_would_take_is_refused(
    logbook: Logbook, levels: int
) -> None:
    record = {"entity": note("").entity, "kind": "aerial", "body": {"of": nested(levels)}}
    document = {"format": "trackside-logbook", "version": 1, "entities": [record]}
    with pytest.raises(BadImport, match="nested"):
        import_json(logbook, document)
    with pytest.raises(BadRecord, match="nested"):
        logbook.write(put("aerial", {"of": nested(levels)}))
    assert logbook.names() == set()


def test_what_is_nested_as_deep_as_may_be_reaches_the_others(
    logbook: Logbook, tmp_path: Path
) -> None:
    logbook.write(put("aerial", {"of": nested(DEEPEST - 1)}))
    give(logbook, tmp_path / "b")
    with Logbook.open(":memory:") as other:
        assert receive(other, tmp_path / "b") == (1, 0, ())


def test_what_is_too_long_to_be_carried_is_refused_where_it_is_written(logbook: Logbook) -> None:
    saved = logbook.write(note("x"))
    with pytest.raises(BadRecord, match="too long"):
        logbook.write(note("x" * LONGEST))
    with pytest.raises(BadRecord, match="too long"):
        logbook.write(patch("note", saved[0].entity, {"words": "y"}), reason="é" * LONGEST)
    assert len(logbook.names()) == 1


@pytest.mark.parametrize("kind", ["x" * 201, "a\nb", " a"])
def test_a_kind_that_others_would_not_take_is_refused(logbook: Logbook, kind: str) -> None:
    record = {"entity": note("").entity, "kind": kind, "body": {}}
    document = {"format": "trackside-logbook", "version": 1, "entities": [record]}
    with pytest.raises(BadImport, match="kind"):
        import_json(logbook, document)


@posix
def test_every_file_is_for_its_owner_alone(tmp_path: Path) -> None:
    folder = tmp_path / "pits"
    folder.mkdir(mode=0o700)
    before = os.umask(0)
    try:
        with Logbook.open(folder / "team.trackside", device=folder / "own" / "device") as logbook:
            logbook.write(note("x"))
            made = keep_backups(logbook)
            assert made
            give(logbook, folder / "stick" / "team.bundle")
            logbook.submit(note("y")).result()
        restore(made, folder / "team.trackside")
        salvage(folder / "team.trackside", folder / "salvaged.trackside")
        for path in [folder, *folder.rglob("*")]:
            mode = stat.S_IMODE(path.stat().st_mode)
            assert mode == (0o700 if path.is_dir() else 0o600), (path, oct(mode))
        assert len(names_under(folder)) == 9
    finally:
        os.umask(before)


@posix
def test_the_journal_of_a_save_is_for_its_owner_alone(path: Path) -> None:
    seen = []
    with Logbook.open(path) as logbook:

        def look(_: str) -> None:
            journal = path.with_name(path.name + "-journal")
            if journal.exists():
                seen.append(stat.S_IMODE(journal.stat().st_mode))

        before = os.umask(0)
        try:
            logbook._connection.call(lambda: logbook._connection.sql.set_trace_callback(look))
            logbook.write(note("x"))
        finally:
            os.umask(before)
    assert set(seen) == {0o600}


@pytest.mark.parametrize(
    "text",
    ["'; DROP TABLE revision; --", '" OR 1=1', "a NOT b*", "NEAR(x)", "words:x", "{}", "%_", "\\"],
)
def test_text_is_never_sql(logbook: Logbook, text: str) -> None:
    run = put("session", {"driver": text, "FL": {text: {"typed": text, "unit": "", "si": 1.0}}})
    logbook.write(run, put(text, {text: text}), put("note", {"words": text, "session": run.entity}))
    assert logbook.search(text) is not None
    assert [line.driver for line in logbook.session_lines(driver=text)] == [text]
    assert logbook.readings("FL", text)[0][1] == text
    assert logbook.verify()[:2] == (3, ())
    logbook.keep_draft(text, text, text).result()
    assert logbook.drafts()[0].text == text


@pytest.mark.skipif(sys.platform == "win32", reason="no limit of memory")
def test_a_bomb_does_not_fill_the_memory(tmp_path: Path) -> None:
    """What unpacks to a thousand times its size is refused within the memory of a season."""
    import resource
    import zlib

    packer = zlib.compressobj(9, zlib.DEFLATED, 31)
    piece = bytes(1 << 20)
    packed = b"".join(packer.compress(piece) for _ in range(256)) + packer.flush()
    (tmp_path / "bomb.bundle").write_bytes(packed)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(BadImport, match="do not use this file"):
        read_bundle(tmp_path / "bomb.bundle")
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert grown * (1 if sys.platform == "darwin" else 1024) < 200e6


@given(st.text(st.sampled_from(NEAR_CONTROLS), max_size=9))
def test_an_envelope_is_suspect_where_a_control_character_may_be_in_it(text: str) -> None:
    """Spelled out (U+007F to U+009F, U+2028 to U+202E, U+2066 to U+2069, U+FEFF) or as JSON writes
    it (RFC 8259, section 7: backslash and u, b, f or r)."""
    spelled = re.search("[\x7f-\x9f\u2028-\u202e\u2066-\u2069\ufeff]", text)
    escaped = any(f"\\{letter}" in text for letter in "ubfr")
    assert is_suspect(f"{text} plain") == bool(spelled or escaped)
