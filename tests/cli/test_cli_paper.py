"""sheet and debrief: on paper stands what the logbook holds, and nothing of it acts."""

from __future__ import annotations

import re
import subprocess
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.running import Cli, ran
from tests.serve.browser import FLAGS, found
from trackside.logbook import Logbook, patch, put

HOSTILE = ['<script>alert("1")</script>', "[/", "[b]x[/b]", "\x1b[31mred", "‮abc", "a" * 5000,
           "&lt;", "漢字 🏁", "http://example.org/x.png"]  # fmt: skip


class _Page(HTMLParser):
    """The elements of a page, and its words."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.links: list[str] = []
        self.words = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.links += [
            value or ""
            for name, value in attrs
            if name in ("src", "href", "srcset", "action") or name.startswith("on")
        ]

    def handle_data(self, data: str) -> None:
        self.words += data


def test_the_sheet_tells_every_corner_and_its_force(on_samples: Cli) -> None:
    told = on_samples("sheet", "last-2").out
    shown = on_samples("show", "last-2", "--json").json
    for corner in ("FL", "FR", "RL", "RR"):
        assert shown["corners"][corner]["damper"] in told
        assert f"{corner} rebound" in told
    assert "6 of 20 from full hard" in told
    assert "95 % BAND" in told
    assert "regulator" in told


def test_what_is_not_entered_is_a_box(on_samples: Cli) -> None:
    assert "Caster      ____" in on_samples("sheet", "last-2").out


def test_the_mechanic_s_sheet_is_ticked_and_signed(on_samples: Cli, tmp_path: Path) -> None:
    told = on_samples("sheet", "last", "--to-do").out
    assert told.startswith("To do: race 1")
    for words in ("□ done □ checked", "SIGNED", "done by     ____", "checked by  ____"):
        assert words in told
    assert on_samples("sheet", "last", "--to-do", "--json").json["title"].startswith("To do: ")
    target = tmp_path / "page.html"
    assert on_samples("sheet", "last", "--to-do", "--html", target).status == 0
    assert '<div class="car large">' in target.read_text("utf-8")


def test_the_debrief_of_a_driver_is_that_of_their_newest_session(on_samples: Cli) -> None:
    newest = next(
        line for line in on_samples("list", "--json").json["sessions"] if "Teo" in line["driver"]
    )
    by_name = on_samples("debrief", "teo").out
    assert by_name == on_samples("debrief", newest["id"]).out
    assert "2 clicks harder" in by_name
    assert on_samples("debrief", "nobody").status == 2


@pytest.mark.parametrize("command", ["sheet", "debrief"])
@pytest.mark.parametrize(("paper", "size"), [("a4", "A4"), ("letter", "letter")])
def test_the_page_prints_and_asks_for_nothing(
    on_samples: Cli, tmp_path: Path, command: str, paper: str, size: str
) -> None:
    target = tmp_path / "page.html"
    assert on_samples(command, "last", "--html", target, "--paper", paper).status == 0
    text = target.read_text("utf-8")
    page = _Page(text)
    assert f"size: {size};" in text
    assert "default-src 'none'" in text
    assert page.links == []
    assert not {"script", "link", "img", "iframe"} & set(page.tags)
    assert page.tags.count("svg") == (4 if command == "sheet" else 2)
    plain = on_samples(command, "last").out
    assert "2 clicks harder" in page.words if command == "debrief" else "FP-0611" in page.words
    assert ("cautious out-lap" in page.words) == ("cautious out-lap" in " ".join(plain.split()))


@pytest.mark.skipif(found() is None, reason="no browser on this machine")
@pytest.mark.parametrize(("paper", "more"), [("a4", 0), ("letter", 1)])
@pytest.mark.parametrize(("command", "pages"), [("sheet", 2), ("debrief", 1)])
def test_a_printer_needs_few_pages(
    on_samples: Cli, tmp_path: Path, command: str, pages: int, paper: str, more: int
) -> None:
    """The car on the first page and its curves on the second; a debrief on one. On the shorter
    paper, a run with all of a garage book beside it runs over onto one more."""
    page, printed = tmp_path / "page.html", tmp_path / "page.pdf"
    assert on_samples(command, "last", "--html", page, "--paper", paper).status == 0
    browser = (str(found()), *FLAGS[:-1], f"--user-data-dir={tmp_path / 'browser'}")
    to_pdf = ("--no-pdf-header-footer", f"--print-to-pdf={printed}", page.as_uri())
    subprocess.run([*browser, *to_pdf], check=True, capture_output=True, timeout=60)
    assert re.findall(rb"/Count (\d+)", printed.read_bytes()) == [str(pages + more).encode()]


def test_a_file_that_is_there_stays(on_samples: Cli, tmp_path: Path) -> None:
    target = tmp_path / "page.html"
    target.write_text("mine")
    refused = on_samples("sheet", "last", "--html", target)
    assert refused.status == 2
    assert "--replace" in refused.err
    assert target.read_text() == "mine"
    assert on_samples("sheet", "last", "--html", target, "--replace").status == 0
    assert target.read_text("utf-8").startswith("<!doctype html>")
    assert on_samples("sheet", "last", "--html", tmp_path / "no" / "page.html").status == 2


@pytest.mark.parametrize("words", HOSTILE)
def test_a_persons_words_stay_words(tmp_path: Path, words: str) -> None:
    log = tmp_path / "team.trackside"
    with Logbook.open(log, author="Olle", device="d") as logbook:
        event = put("event", {"venue": words, "date": "2026-05-09"})
        session = put("session", {"event": event.entity, "kind": "practice", "driver": words,
                                  "words": words, "items": {words[:200]: words}})  # fmt: skip
        logbook.write(event, session)
        logbook.write(put("note", {"session": session.entity, "driver": words, "words": words}))
        logbook.write(patch("session", session.entity, {"FL.damper": words, "tyre_set": words}))
    target = tmp_path / "page.html"
    for command in ("sheet", "debrief"):
        told = ran("--log", log, command, "last", "--html", target, "--replace")
        assert told.status == 0, told.err
        page = _Page(target.read_text("utf-8"))
        assert not {"script", "img", "b"} & set(page.tags)
        assert page.links == []
        assert "\x1b" not in page.words
        assert words.replace("\x1b", "").replace("‮", "")[:40] in page.words
        plain = ran("--log", log, command, "last")
        assert plain.status == 0
        assert "\x1b" not in plain.out


def test_json_holds_what_the_page_holds(on_samples: Cli) -> None:
    body = on_samples("sheet", "last", "--json").json
    assert body["title"].startswith("Run sheet: race 1, Averholme")
    titles = [block["title"] for block in body["blocks"]]
    assert "Cautions" in titles
    picture = next(block for block in body["blocks"] if "pictures" in block)["pictures"][0]
    assert len(picture["series"][0]["x"]) == len(picture["series"][0]["low"]) > 20
