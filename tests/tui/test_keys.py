"""Every action declared once, on keys that every terminal hands on."""

from __future__ import annotations

from trackside.tui.commands import COMMANDS, PAGES, key_line, navigation


def test_no_key_means_two_things_on_a_page() -> None:
    for page in PAGES:
        keys = [
            key
            for command in COMMANDS
            if page in command.pages or not command.pages
            for key in command.key.split(",")
        ]
        assert len(keys) == len(set(keys)), page


def test_no_key_that_terminals_swallow_is_the_only_way() -> None:
    swallowed = ("ctrl+h", "ctrl+i", "ctrl+j", "ctrl+m", "ctrl+a", "ctrl+b", "alt+", "f1", "f10")
    for command in COMMANDS:
        assert not all(key.startswith(swallowed) for key in command.key.split(","))


def test_key_lines_fit_eighty_columns() -> None:
    for page in PAGES:
        assert len(" ".join(f"{key} {label}" for key, label in key_line(page))) <= 80
    assert len(" ".join(f"{key} {label}" for key, label, _ in navigation())) <= 80
