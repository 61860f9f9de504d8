"""The examples in the docstrings of the program run, and give what they say."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import trackside

MODULES = sorted(
    found.name
    for found in pkgutil.walk_packages(trackside.__path__, "trackside.")
    if not found.name.endswith("__main__")
)


@pytest.mark.parametrize(("name", "least"), [("corner", 8), ("damper", 7), ("", 0)])
def test_every_example_gives_what_it_says(name: str, least: int) -> None:
    """And none is lost: a room has at least so many lines of them."""
    tried = 0
    for module in MODULES:
        room = module.split(".")[1]
        if (room == name) if name else room not in ("corner", "damper"):
            failed, attempted = doctest.testmod(importlib.import_module(module))
            assert not failed, module
            tried += attempted
    assert tried >= least
