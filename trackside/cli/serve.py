"""The screens in a browser, for the tablet in the garage."""

from __future__ import annotations

import asyncio
import os
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from trackside.cli.command_context import CommandContext, logged
from trackside.cli.output import say
from trackside.errors import BadInput

if TYPE_CHECKING:
    from trackside.serve.address import Address

OVERHEARD = (
    "There is no encryption: on a shared network the pass phrase, and all that is shown and typed, "
    "can be overheard. Better: leave --host out and reach this machine through an ssh tunnel "
    "(ssh -L 8000:127.0.0.1:8000 THIS-MACHINE, then the browser at http://127.0.0.1:8000), or "
    "put a reverse proxy with TLS before it and give its name with --name."
)


@click.command(short_help="The screens in a browser: a tablet in the garage.")
@click.option(
    "--host",
    default="127.0.0.1",
    metavar="ADDRESS",
    show_default=True,
    help="The address of this machine to listen on.",
)
@click.option(
    "--port",
    default=8000,
    type=click.IntRange(0, 65535),
    show_default=True,
    metavar="N",
    help="0 takes a free one.",
)
@click.option(
    "--name",
    "names",
    multiple=True,
    metavar="NAME",
    help="A further name that leads here: a reverse proxy's, this machine's.",
)
@click.option("--read-only", is_flag=True, help="Nothing can be written from a browser.")
@click.option("--phrase-file", metavar="FILE", help="A file of yours alone with the pass phrase.")
@click.option(
    "--viewers",
    default=4,
    type=click.IntRange(1, 32),
    show_default=True,
    metavar="N",
    help="Browsers at once.",
)
@click.option(
    "--idle",
    default=60,
    type=click.IntRange(1, 1440),
    show_default=True,
    metavar="MINUTES",
    help="Without a key or a touch for so long, a browser is let go.",
)
@logged
@click.pass_obj
def serve(
    context: CommandContext,
    host: str,
    port: int,
    names: tuple[str, ...],
    read_only: bool,
    phrase_file: str | None,
    viewers: int,
    idle: int,
) -> None:
    """Serve the screens to browsers; Ctrl+C ends it, and every view with it.

    On this machine alone a browser comes in by a link that is printed here and works once. With
    any other --host, or a --name, it takes a pass phrase: from --phrase-file, from the variable
    TRACKSIDE_PASSPHRASE, or asked for here. There is no TLS: for more than a cable, use an ssh
    tunnel or a reverse proxy with TLS.
    """  # fmt: skip
    if os.name != "posix":
        raise BadInput("serving needs Linux or macOS", "serve from such a machine")
    try:
        from trackside.serve.server import Limits, Serving
    except ImportError:
        raise BadInput(
            "serving needs the extra “serve”, which is not installed",
            "pip install 'trackside[serve]'",
        ) from None
    from trackside.serve.address import Address

    read_only = read_only or context.read_only
    with context.reader() if read_only else context.writer():
        pass  # what is wrong with the file is said here, not in a browser
    address = Address(host, port, names)
    with address.listen() as listening:
        address = replace(address, port=listening.getsockname()[1])
        phrase = _phrase(phrase_file) if address.beyond or phrase_file else ""
        serving = Serving(
            _program(context.log, read_only),
            address,
            title=f"trackside · {context.log.name}",
            phrase=phrase,
            limits=Limits(viewers, idle * 60.0),
            say=_say_at_once,
        )
        _say_at_once(*_exposed(context.log, address, read_only, serving.link_now, bool(phrase)))
        asyncio.run(serving.run(listening))


def _program(log: Path, read_only: bool) -> list[str]:
    """What is run for each browser."""
    command = [sys.executable, "-m", "trackside", "--log", str(log.absolute())]
    return [*command, "--read-only"] if read_only else command


def _exposed(
    log: Path, address: Address, read_only: bool, link: str, phrase: bool = False
) -> list[str]:
    """Who can do what from now on."""
    may = (
        "read everything in it, and write nothing"
        if read_only
        else "read and change everything in it, and name files of this machine to be read "
        "(--read-only: read only)"
    )
    if not address.beyond:
        door = ", or by the pass phrase," if phrase else ","
        who = f"Whoever comes in by the link, which works once{door} can {may}."
        return [f"Serving {log}", who, f"Open: {link}", "Ctrl+C ends it."]
    return [
        f"Serving {log} at {address.host} port {address.port}",
        f"Whoever can reach that address and has the pass phrase can {may}.",
        OVERHEARD,
        "Ctrl+C ends it, and every pass with it.",
    ]


def _say_at_once(*lines: str) -> None:
    """As `say`, though the output may be a file or a pipe."""
    say(*lines)
    sys.stdout.flush()


def _phrase(file: str | None) -> str:
    """The pass phrase, never from the command line, where every program of the machine sees it."""
    from trackside.serve.passes import LEAST_PHRASE, PHRASE_VARIABLE

    if file is not None:
        phrase = _read_own(Path(file))
    elif PHRASE_VARIABLE in os.environ:
        phrase = os.environ[PHRASE_VARIABLE]
    elif sys.stdin.isatty():
        phrase = click.prompt("Pass phrase", hide_input=True, confirmation_prompt="Once more")
    else:
        raise BadInput(
            "browsers of other machines need a pass phrase, and there is no terminal to ask for it",
            f"give it in a --phrase-file or the variable {PHRASE_VARIABLE}",
        )
    if len(phrase) < LEAST_PHRASE:
        raise BadInput(
            f"the pass phrase has {len(phrase)} characters, and could be guessed",
            f"take three or four words, {LEAST_PHRASE} characters or more",
        )
    return phrase


def _read_own(file: Path) -> str:
    """The first line of a file that nobody else can read."""
    try:
        with file.open(encoding="utf-8") as opened:
            if os.fstat(opened.fileno()).st_mode & 0o077:
                raise BadInput(f"others can read {file}", f"chmod 600 {file}")
            return opened.readline().rstrip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        raise BadInput(f"{file} cannot be read ({error})", "name a text file") from error
