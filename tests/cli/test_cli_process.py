"""The program as a process: what it imports, how it ends, what a closed pipe does."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from tests.running import SHEETS, Cli
from trackside.cli import door

ROOT = Path(__file__).resolve().parents[2]
LIGHT = (("list",), ("list", "--json"), ("find", "cold"), ("where",), ("export",))
HEAVY = (
    ("show", "last"),
    ("curve", "last", "FL"),
    ("clicks", "last", "FL", "--json"),
    ("changes",),
    ("trend", "FL"),
    ("dyno", "fit", str(SHEETS / "SA-3107-A.csv")),
)

WATCH = """
import contextlib, io, json, sys
from trackside.cli import run
seen = {}
for arguments in json.loads(sys.argv[1]):
    with contextlib.redirect_stdout(io.StringIO()):
        status = run(arguments)
    names = ("textual", "rich", "numpy", "scipy", "pydantic", "plotext", "sqlite_utils")
    seen[" ".join(arguments[2:])] = [status, [name for name in names if name in sys.modules]]
print(json.dumps(seen))
"""


def watched(log: Path, commands: tuple[tuple[str, ...], ...]) -> dict[str, list]:
    given = json.dumps([["--log", str(log), *command] for command in commands])
    ran = subprocess.run(
        [sys.executable, "-c", WATCH, given], capture_output=True, text=True, cwd=ROOT, check=True
    )
    return json.loads(ran.stdout)


def test_no_scripted_command_imports_textual(samples_log: Path, tmp_path: Path) -> None:
    into = ("demo", "--into", str(tmp_path / "demo.trackside"))
    seen = watched(samples_log, (*HEAVY, into))
    assert [status for status, _ in seen.values()] == [0] * len(seen)
    assert all("textual" not in names and "rich" not in names for _, names in seen.values())


def test_a_quick_look_imports_neither_arrays_nor_models(samples_log: Path) -> None:
    seen = watched(samples_log, LIGHT)
    assert [status for status, _ in seen.values()] == [0] * len(seen)
    assert {command: names for command, (_, names) in seen.items()} == {
        command: [] for command in seen
    }


def process(*arguments: object, **more: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "trackside", *map(str, arguments)],
        capture_output=True, text=True, cwd=ROOT, **more,
    )  # fmt: skip


def test_help_and_version_succeed_and_name_every_command() -> None:
    helped = process("--help")
    assert (helped.returncode, helped.stderr) == (0, "")
    for command in ("demo", "list", "show", "curve", "clicks", "changes", "trend", "find",
                    "dyno", "import", "export", "where"):  # fmt: skip
        assert f"  {command} " in helped.stdout
    assert process("--version").stdout.startswith("trackside ")


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (("nonsense",), 2),
        (("show",), 2),
        (("show", "last", "extra"), 2),
        (("list", "--limit", "many"), 2),
        (("dyno", "fit", "/"), 2),
        (("dyno", "fit", "no\x1b[31mred.csv"), 2),
        (("list", "--nonsense"), 2),
    ],
)
def test_errors_are_one_sentence_without_traceback(
    samples_log: Path, arguments: tuple[str, ...], status: int
) -> None:
    ran = process("--log", samples_log, *arguments)
    assert (ran.returncode, ran.stdout) == (status, "")
    assert ran.stderr.startswith("trackside: ")
    assert ran.stderr.count("\n") == 1
    assert "\x1b" not in ran.stderr


def test_a_closed_pipe_is_silent(samples_log: Path) -> None:
    script = f'"{sys.executable}" -m trackside --log "{samples_log}" export | head -c 10'
    ran = subprocess.run(
        ["bash", "-o", "pipefail", "-c", script], capture_output=True, text=True, cwd=ROOT
    )
    assert len(ran.stdout) == 10
    assert ran.stderr == ""
    assert ran.returncode == 128 + signal.SIGPIPE


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize("arguments", [("list",), ("export",), ("where", "--json"), ("--help",)])
def test_a_full_disk_is_one_sentence(samples_log: Path, arguments: tuple[str, ...]) -> None:
    with Path("/dev/full").open("w") as full:
        ran = subprocess.run(
            [sys.executable, "-m", "trackside", "--log", str(samples_log), *arguments],
            stdout=full, stderr=subprocess.PIPE, text=True, cwd=ROOT,
        )  # fmt: skip
    assert ran.returncode == 1
    assert ran.stderr.startswith("trackside: the output could not be written (")
    assert ran.stderr.count("\n") == 1


def test_an_ascii_terminal_gets_a_chart_without_braille(samples_log: Path) -> None:
    plain = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    ran = process("--log", samples_log, "curve", "last", "FL", env=plain)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert not any("\u2800" <= character <= "\u28ff" for character in ran.stdout)


def _leaves(command: click.Command, name: str = "") -> Iterator[tuple[str, set[str]]]:
    """Every command that is no group, with its options."""
    if isinstance(command, click.Group):
        context = click.Context(command)
        for word in command.list_commands(context):
            below = command.get_command(context, word)
            assert below is not None
            yield from _leaves(below, f"{name} {word}".strip())
    else:
        yield name, {option for one in command.params for option in one.opts}


def test_every_command_but_serve_takes_json() -> None:
    without = {name for name, options in _leaves(door) if "--json" not in options}
    assert without == {"serve"}
    assert "Every command but serve takes --json." in (door.help or "")
    assert "--log" in dict(_leaves(door))["serve"]


@pytest.mark.parametrize(
    ("given", "helped"),
    [
        (("debrief", "last", "--html"), "trackside debrief --help."),
        (("dyno", "fit", "sheet.csv", "--at"), "trackside dyno fit --help."),
        (("--log",), "trackside --help."),
        (("show",), "trackside show --help."),
    ],
)
def test_a_slip_in_a_command_names_that_commands_help(
    cli: Cli, given: tuple[str, ...], helped: str
) -> None:
    ran = cli(*given)
    assert ran.status == 2
    assert ran.err.rstrip().endswith(f": see {helped}")
