"""`trackside serve` on the command line: what it refuses, and what it says before it serves."""

from __future__ import annotations

import asyncio
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from tests.running import Cli
from tests.serve.conftest import NAME, PHRASE, ROOT, Serve
from trackside.errors import BadInput
from trackside.serve.address import Address
from trackside.serve.passes import PHRASE_VARIABLE

aiohttp = pytest.importorskip("aiohttp")
command = import_module("trackside.cli.serve")


@pytest.fixture(autouse=True)
def _no_phrase(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(PHRASE_VARIABLE, raising=False)


def test_a_phrase_is_needed_beyond_this_machine(on_samples: Cli) -> None:
    for more in (("--host", "0.0.0.0", "--port", "0"), ("--name", NAME, "--port", "0")):
        ran = on_samples("serve", *more)
        assert ran.status == 2
        assert "need a pass phrase" in ran.err
        assert "--phrase-file" in ran.err


def test_no_option_takes_the_phrase_itself(on_samples: Cli) -> None:
    told = on_samples("serve", "--help").out
    assert "--phrase-file FILE" in told
    assert not re.search(r"--(pass)?phrase[ =]", told)


def test_a_short_phrase_and_a_file_that_others_read(
    on_samples: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = ("serve", "--name", NAME, "--port", "0")
    monkeypatch.setenv(PHRASE_VARIABLE, "short")
    ran = on_samples(*here)
    assert (ran.status, "could be guessed" in ran.err) == (2, True)
    assert "short" not in ran.err
    file = tmp_path / "phrase"
    file.write_text(PHRASE + "\n")
    file.chmod(0o644)
    ran = on_samples(*here, "--phrase-file", file)
    assert (ran.status, f"others can read {file}: chmod 600" in ran.err) == (2, True)
    assert PHRASE not in ran.err
    file.chmod(0o600)
    assert command._read_own(file) == PHRASE
    with pytest.raises(BadInput, match="cannot be read"):
        command._read_own(tmp_path / "none")


def test_a_port_in_use_and_an_address_of_another_machine(on_samples: Cli) -> None:
    with Address("127.0.0.1", 0).listen() as taken:
        port = taken.getsockname()[1]
        ran = on_samples("serve", "--port", port)
        assert (ran.status, f"port {port} is in use" in ran.err) == (2, True)
    ran = on_samples("serve", "--host", "203.0.113.9", "--port", "0")
    assert (ran.status, "not an address of this machine" in ran.err) == (2, True)


def test_a_logbook_that_is_none_is_told_before_serving(cli: Cli, tmp_path: Path) -> None:
    ran = cli("--log", tmp_path / "none", "serve", "--read-only", "--port", "0")
    assert (ran.status, "there is no logbook" in ran.err) == (2, True)
    (tmp_path / "odd").write_text("no logbook")
    ran = cli("--log", tmp_path / "odd", "serve", "--port", "0")
    assert ran.status == 1


def test_without_the_extra_it_says_what_to_install() -> None:
    script = (
        "import sys; sys.modules['textual_serve'] = None; from trackside.cli import run; "
        "sys.exit(run(['serve', '--port', '0']))"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=ROOT)
    assert ran.returncode == 2
    assert "pip install 'trackside[serve]'" in ran.stderr


def test_it_says_plainly_who_can_do_what() -> None:
    log = Path("season.trackside")
    lines = {
        (beyond, read_only): " ".join(
            command._exposed(log, Address(names=(NAME,) * beyond), read_only, "LINK")
        )
        for beyond in (False, True)
        for read_only in (False, True)
    }
    for (beyond, read_only), said in lines.items():
        assert ("pass phrase" in said) is beyond
        assert ("overheard" in said) is beyond
        assert ("LINK" in said) is not beyond
        assert ("change everything" in said) is not read_only
        assert ("write nothing" in said) is read_only


async def test_served_behind_a_name_with_a_phrase(serve: Serve) -> None:
    """As a reverse proxy would ask; the log holds neither phrase nor pass."""
    served = serve("--name", NAME, "--read-only", phrase=PHRASE)
    assert "There is no encryption" in served.said
    port = re.search(r"127\.0\.0\.1 port (\d+)", served.said)
    assert port
    url = f"http://127.0.0.1:{port[1]}"
    headers = {"Host": NAME, "Origin": f"https://{NAME}"}
    async with aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as client:
        assert (await client.get(url, headers=headers, allow_redirects=False)).status == 303
        await client.post(f"{url}/enter", data={"phrase": "wrong wrong"}, headers=headers)
        right = await client.post(
            f"{url}/enter", data={"phrase": PHRASE}, headers=headers, allow_redirects=False
        )
        token = right.cookies[f"trackside_{port[1]}"].value
        headers["Cookie"] = f"trackside_{port[1]}={token}"
        page = await (await client.get(url, headers=headers)).text()
        assert "trackside · season.trackside" in page
        async with client.ws_connect(f"{url}/ws", headers=headers) as socket:
            drawn = b""
            async with asyncio.timeout(30):
                while b"READING ONLY" not in drawn:
                    drawn += (await socket.receive()).data
    said = await asyncio.to_thread(served.end)
    assert "a wrong pass phrase from 127.0.0.1" in said
    assert token not in said
    assert PHRASE not in said
