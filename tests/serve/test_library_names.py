"""textual-serve has no public hook for how a program is started, fed and ended: our viewer takes
its private ones. Should a later version name them otherwise, this says which one is gone."""

from __future__ import annotations

from inspect import getsource, signature

import pytest
from textual_serve.app_service import AppService
from textual_serve.server import Server

from trackside.serve.server import Serving
from trackside.serve.viewer import Viewer


@pytest.mark.parametrize(
    ("name", "takes"),
    [
        ("_build_environment", ["self", "width", "height"]),
        ("_open_app_process", ["self", "width", "height"]),
        ("on_data", ["self", "payload"]),
        ("on_meta", ["self", "data"]),
        ("set_terminal_size", ["self", "width", "height"]),
        ("run", ["self"]),
        ("stop", ["self"]),
    ],
)
def test_what_a_viewer_replaces_is_what_the_library_calls(name: str, takes: list[str]) -> None:
    there = vars(AppService).get(name)
    assert callable(there), f"AppService.{name} is gone"
    assert list(signature(there).parameters) == takes
    assert name in vars(Viewer), f"Viewer.{name} replaces nothing any more"


@pytest.mark.parametrize("name", ["_process", "_stdin", "_task", "_download_manager"])
def test_what_a_viewer_sets_is_what_the_library_reads(name: str) -> None:
    sources = getsource(AppService)
    assert f"self.{name}" in sources, f"AppService.{name} is gone"


@pytest.mark.parametrize("name", ["_make_app", "_process_messages", "handle_index", "on_shutdown"])
def test_what_the_server_takes_over_is_there(name: str) -> None:
    assert callable(vars(Server).get(name)), f"Server.{name} is gone"
    assert issubclass(Serving, Server)
