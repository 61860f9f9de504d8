"""Every action of the screens, declared once.

Bindings, key lines, palette and manual come from here.
"""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from typing import Final, NamedTuple

from textual.binding import Binding, BindingType

from trackside.errors import BadPreference
from trackside.tui.keys import SWALLOWED, cap, character, is_text, key_named, reachable

PAGES: dict[str, str] = {
    "board": "Pit board",
    "sheet": "Run sheet",
    "clicks": "Click map",
    "trend": "Trend",
    "debrief": "Debrief",
    "shelf": "Shelf",
    "shed": "Damper shed",
    "book": "Garage book",
    "handbook": "Handbook",
    "record": "Record",
    "build": "Damper record",
    "conflicts": "Conflicts",
}


ALL_COMMANDS, LEAVE = "Ctrl-P", "Ctrl-Q"
"""The caps of the keys that list every command of a page, and leave the program, from anywhere."""


class Command(NamedTuple):
    """One action. `key` may list more, by commas; `short` stands in the key line (empty: not
    shown), `words` in the palette and the manual; `pages` empty means everywhere."""

    key: str
    action: str
    short: str
    words: str
    pages: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """What the preferences call it; commands that do the same share one."""
        return _NAMES.get(self.action, self.action)

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys in force: those that the crew chose, else `key`, but for what it chose for
        another command there."""
        own, lost = self.key.split(","), _lost.get(self.name, ())
        return _chosen.get(self.name) or tuple(key for key in own if key not in lost)

    @property
    def key_shown(self) -> str:
        """The first key, as it is printed on the cap; without one, the list of all commands."""
        return cap(self.keys[0]) if self.keys else ALL_COMMANDS

    @property
    def keys_shown(self) -> str:
        """All of them, as `key_shown`."""
        return " ".join(map(cap, self.keys)) or ALL_COMMANDS

    @property
    def key_beside_text(self) -> str:
        """The first key that works where letters type, and on every terminal; else empty."""
        return next((k for k in self.keys if not is_text(k) and k not in SWALLOWED), "")


_chosen: dict[str, tuple[str, ...]] = {}
"""Name of a command → the keys that the crew chose for it: one process, one crew."""
_lost: dict[str, frozenset[str]] = {}
"""Name of a command → those of its own keys that the crew chose for another on one of its pages."""
_STAYS: Final = frozenset(("enter", "escape", "tab", "shift+tab"))
"""Keys by which a page is opened, left and gone through: they give way to none."""
_NO_KEY: Final = "no_key"
"""What the keymap has for a command without a key: nobody can press it."""

_NAMES = {
    "turn(1)": "click_harder",
    "turn(-1)": "click_softer",
    "turn(1, True)": "click_harder_both",
    "turn(-1, True)": "click_softer_both",
    "version(1)": "first_version",
    "version(2)": "second_version",
    "version(3)": "third_version",
    "speed(-1)": "lower_speed",
    "speed(1)": "higher_speed",
    "build(-1)": "build_before",
    "build(1)": "build_after",
    "corner(-1)": "corner_before",
    "corner(1)": "corner_after",
    "page('board')": "pit_board",
    "page('sheet')": "run_sheet",
    "page('clicks')": "click_map",
    "page('trend')": "trend",
    "page('debrief')": "debrief",
    "page('shelf')": "shelf",
    "page('shed')": "damper_shed",
    "page('book')": "garage_book",
    "page('handbook')": "handbook",
}

_PARTED = ("sheet", "shed", "build", "book", "handbook")

COMMANDS: tuple[Command, ...] = (
    Command("enter", "open", "Open", "Open the session under the cursor", ("board",)),
    Command("n", "new_session", "Session", "Open the next session with the same set-up",
            ("board",)),
    Command("n", "new_session", "New", "Open the next session with the same set-up", ("sheet",)),
    Command("R", "next_run", "Run", "Open the next run of this session, same set-up",
            ("board", "sheet")),
    Command("e", "new_event", "Event", "Begin an event: venue and date", ("board",)),
    Command("v", "new_car", "Car", "Enter a car", ("board",)),
    Command("E", "edit_event", "Edit event", "Edit the event under the cursor", ("board",)),
    Command("V", "edit_car", "Edit car", "Edit the car under the cursor", ("board",)),
    Command("enter", "edit", "Edit", "Edit the damper and its present build", ("shed",)),
    Command("n", "new_damper", "New", "Enter a damper", ("shed",)),
    Command("equals_sign", "copy_damper", "Copy", "Enter more dampers like this one", ("shed",)),
    Command("B", "new_build", "Strip-down", "Strip-down: its job, a plan, or a new build",
            ("shed",)),
    Command("x", "disc_box", "", "Disc box: the parts of the shop, and how many there are",
            ("shed",)),
    Command("w", "target", "", "Wanted curve: the builds of the disc box that make it", ("shed",)),
    Command("W", "mid_range", "", "Wanted curve for an adjuster at its end: the same, mid-range",
            ("shed",)),
    Command("N", "looks", "", "Needs a look: charge, force, hours and warmth of every damper",
            ("shed",)),
    Command("l", "load_sheet", "Load", "Load a dyno sheet from a file", ("shed",)),
    Command("o", "loops", "Loops", "Loops of the bench runs: one position a press, then the curve",
            ("shed",)),
    Command("C", "counts", "", "Choose which dyno sheet of the build counts", ("shed",)),
    Command("enter", "edit", "Edit", "Put the entry under the cursor right", ("book",)),
    Command("n", "new_entry", "New", "Write the next one down", ("book",)),
    Command("x", "strike", "Take off", "Take the entry under the cursor off the book", ("book",)),
    Command("space", "more", "More", "Further down in the text", ("shed", "shelf", "book")),
    Command("enter", "bring", "Bring back", "Compare with today's car, then bring it back",
            ("shelf",)),
    Command("escape", "back", "Back", "Back to where this was opened",
            ("record", "build")),
    Command("ctrl+n", "session_here", "New session", "Open a session of this event, or this car",
            ("record",)),
    Command("tab", "next_part", "Part", "Next tab", _PARTED),
    Command("shift+tab", "previous_part", "", "Previous tab", _PARTED),
    Command("h", "turn(1)", "Harder", "One click harder", ("sheet", "clicks")),
    Command("s", "turn(-1)", "Softer", "One click softer", ("sheet", "clicks")),
    Command("H", "turn(1, True)", "Both", "One click harder on both sides of the axle",
            ("sheet", "clicks")),
    Command("S", "turn(-1, True)", "", "One click softer on both sides of the axle",
            ("sheet", "clicks")),
    Command("w", "walk", "Walk", "Walk round the car with a gauge: treads, hot pressures",
            ("sheet",)),
    Command("a", "note", "Note", "Write down what the driver says", ("sheet", "debrief")),
    Command("y", "reason", "Why", "Reason for the change, and its verdict", ("sheet", "debrief")),
    Command("j", "verdicts", "", "Verdict on a change; put notes and reasons right",
            ("board", "sheet", "debrief")),
    Command("K", "shelve", "Keep", "Put this set-up on the shelf, with why", ("sheet", "debrief")),
    Command("P", "print", "", "Print: save this page as a file", ("sheet", "debrief")),
    Command("equals_sign", "set_alike", "", "Set the other side of the axle like this corner",
            ("sheet",)),
    Command("i", "item", "", "Add a whole-car item: bar, wing, bias", ("sheet",)),
    Command("I", "run_between", "", "Write down a run of this session that was forgotten",
            ("sheet",)),
    Command("M", "move_run", "", "Move this run to another session", ("sheet",)),
    Command("X", "split_session", "", "Make this run, and those behind it, another session",
            ("sheet",)),
    Command("N", "plans", "", "Plans for the next run, side by side, and what each does",
            ("sheet",)),
    Command("x", "flip", "", "The other direction: bump or rebound", ("sheet",)),
    Command("x", "flip", "Bump/reb", "The other direction: bump or rebound", ("clicks", "trend")),
    Command("o", "knob", "Other knob", "Switch adjuster: bleed or preload",
            ("clicks",)),
    Command("a", "axles", "Axles", "Front against rear, heave, pitch, roll; then the click map",
            ("clicks",)),
    Command("comma", "speed(-1)", "Rod slower", "Lower reference speed", ("trend",)),
    Command("full_stop", "speed(1)", "Rod faster", "Higher reference speed", ("trend",)),
    Command("left", "older", "Older", "The session before", ("trend",)),
    Command("right", "newer", "Newer", "The session after", ("trend",)),
    Command("enter", "open", "Open", "Open the session under the cursor", ("trend",)),
    Command("pageup", "build(-1)", "", "Build before", ("build",)),
    Command("pagedown", "build(1)", "Other build", "Build after", ("build",)),
    Command("left_square_bracket", "corner(-1)", "", "Corner before", ("clicks", "trend")),
    Command("right_square_bracket", "corner(1)", "Corner", "Next corner",
            ("clicks", "trend")),
    Command("i", "import_rows", "", "Enter dampers from a spreadsheet: file, or pasted", ("shed",)),
    Command("i", "import_rows", "", "Enter cars from a spreadsheet: file, or pasted", ("board",)),
    Command("equals_sign", "copy_car", "", "Enter a car like the one under the cursor", ("board",)),
    Command("slash", "find", "Find", "Find runs: words, rebound > 8, date > 2026-05", ("board",)),
    Command("slash", "find", "Find", "Search", ("shelf",)),
    Command("l", "past", "", "Who set this value, when, what before, and why", ("sheet",)),
    Command("x", "take_off", "Take off", "Take this set-up off the shelf", ("shelf",)),
    Command("o", "jobs", "", "Job list: what is to be done on the car, and by whom",
            ("board", "sheet", "debrief")),
    Command("1", "version(1)", "Version 1", "Take version 1", ("conflicts",)),
    Command("2", "version(2)", "Version 2", "Take version 2", ("conflicts",)),
    Command("3", "version(3)", "Version 3", "Take version 3", ("conflicts",)),
    Command("enter", "other", "Another value", "Type another value, or combine them",
            ("conflicts",)),
    Command("u,ctrl+u", "undo", "Undo",
            "Take back the last change: shown first, press again to do it"),
    Command("U", "redo", "", "Redo: shown first, press again to do it"),
    Command("exclamation_mark", "conflicts", "", "Conflicts between windows or laptops"),
    Command("p", "page('board')", "Board", "Pit board: events and runs"),
    Command("r", "page('sheet')", "Sheet", "Run sheet: what the car runs"),
    Command("c", "page('clicks')", "Clicks", "Click map: curve, and what a click is worth"),
    Command("t", "page('trend')", "Trend", "Trend: one corner over the runs"),
    Command("d", "page('debrief')", "Debrief", "Debrief: what changed since the last outing"),
    Command("k", "page('shelf')", "Shelf", "Shelf: set-ups kept for another day"),
    Command("b", "page('shed')", "Dampers", "Damper shed: builds, dyno sheets, work done"),
    Command("g", "page('book')", "",
            "Garage book: tyre sets, corner weights, hours, weather"),
    Command("question_mark,f3", "help", "Help",
            "Keys that work here; press again for the handbook"),
    Command("f2", "page('handbook')", "", "Handbook: method, sources, cautions"),
    Command("Y", "copy", "", "Copy the page's table to the clipboard, and to a file"),
    Command("ctrl+t", "theme", "", "Garage, sun or night: dark, light or dim red screen"),
    Command("q", "quit", "Quit", "Quit: everything is saved already"),
)  # fmt: skip

WRITING = frozenset(
    ("new_session", "next_run", "run_between", "move_run", "split_session", "session_here",
     "new_event", "new_car", "new_damper", "copy_damper", "copy_car", "import_rows", "new_build",
     "load_sheet", "counts", "bring", "print",
     "turn", "walk", "note", "reason", "shelve", "set_alike", "item", "undo", "redo", "take_off",
     "version", "other", "new_entry", "strike")
)  # fmt: skip
"""Actions that write in the logbook: off where it is open for reading only."""
READING_ONLY = "read-only: nothing can be changed here"


def writes(action: object) -> bool:
    """Whether that action, as it is bound, writes in the logbook."""
    name = action[1] if isinstance(action, tuple) else str(action)
    return name.partition("(")[0].rpartition(".")[2] in WRITING


_NAVIGATION = tuple(c for c in COMMANDS if c.action.startswith("page("))


_TYPED_IN_CELLS = frozenset("0123456789.,-")
_FORMS = ("record", "build")
"""Pages on which every key that prints is text."""
_WITH_CELLS = ("sheet", "record", "build")


def bind(chosen: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """Take the crew's keys, by the names of commands; gives them as the app's keymap has them.

    What the crew chose comes first: another command on the same page that has the key of itself
    loses it, so that preferences go on working where a newer program has more commands.
    BadPreference for a name that no command has, a key that is none, one that was chosen for two
    things on a page, one that cells need to begin a number, or keys that terminals swallow.
    """
    known = {command.name for command in COMMANDS}
    taken: dict[str, tuple[str, ...]] = {}
    for name, keys in chosen.items():
        if name not in known:
            raise BadPreference(
                f"the preference keys.{name} is no action", f"known are {', '.join(sorted(known))}"
            )
        taken[name] = tuple(dict.fromkeys(key_named(key) for key in keys))
        reachable(name, taken[name])
    _no_text_alone(taken)
    before = dict(_chosen)
    _take(taken)
    try:
        for page in PAGES:
            _no_key_twice(page)
    except BadPreference:
        _take(before)
        raise
    left = {command.name: command.keys for command in COMMANDS if command.name in _lost}
    return {name: ",".join(keys) or _NO_KEY for name, keys in {**left, **taken}.items()}


def _take(taken: Mapping[str, tuple[str, ...]]) -> None:
    _chosen.clear()
    _chosen.update(taken)
    _lost.clear()
    for page in PAGES:
        there = commands_of(page)
        chosen = {key for c in there for key in taken.get(c.name, ())} - _STAYS
        for command in there:
            lost = chosen.intersection(command.key.split(","))
            if command.name not in taken and lost:
                _lost[command.name] = _lost.get(command.name, frozenset()) | lost


def _no_text_alone(taken: Mapping[str, Sequence[str]]) -> None:
    """BadPreference where a command of forms alone, on which letters type, has only such keys."""
    for command in COMMANDS:
        keys = taken.get(command.name, ())
        if command.pages and set(command.pages) <= set(_FORMS) and keys and all(map(is_text, keys)):
            raise BadPreference(
                f"the preference keys.{command.name} has only {', '.join(map(cap, keys))}, which "
                f"is text on the {PAGES[command.pages[0]].lower()}",
                "add a key that types nothing, such as f5 or ctrl+n",
            )


def _no_key_twice(page: str) -> None:
    used: dict[str, Command] = {}
    for command in commands_of(page):
        for key in command.keys:
            if key in used and used[key].action != command.action:
                raise BadPreference(
                    f"the key {cap(key)} would mean two things on the {PAGES[page].lower()}: "
                    f"{used[key].name} and {command.name}",
                    "give one of them another key in the preference keys",
                )
            if page in _WITH_CELLS and character(key) in _TYPED_IN_CELLS:
                raise BadPreference(
                    f"the preference keys.{command.name} has {cap(key)}, which begins a number "
                    f"on the {PAGES[page].lower()}",
                    "choose another key",
                )
            used[key] = command


def key_of(name: str) -> str:
    """The cap of the first key of that command, by its name."""
    return next(command.key_shown for command in COMMANDS if command.name == name)


def key_beside_text(name: str) -> str:
    """The cap of the key of that command that works where letters type, too; else of its first."""
    command = next(command for command in COMMANDS if command.name == name)
    return cap(command.key_beside_text) if command.key_beside_text else command.key_shown


def no_session(known: bool) -> str:
    """What a page says without a session; `known`: whether the logbook has been read."""
    if not known:
        return "reading the logbook …"
    return f"no session yet: {key_of('new_session')} on the pit board opens one"


def commands_of(page: str) -> tuple[Command, ...]:
    """The actions of a page, its own first."""
    own = tuple(c for c in COMMANDS if page in c.pages)
    return own + tuple(c for c in COMMANDS if not c.pages)


def bindings_of(page: str) -> list[BindingType]:
    """The page's own bindings."""
    return [
        Binding(c.key, c.action, c.short or c.words, show=False, id=c.name)
        for c in COMMANDS
        if page in c.pages
    ]


def bound_keys(page: str) -> frozenset[str]:
    """The characters that are commands on a page."""
    return frozenset(character(key) for command in commands_of(page) for key in command.keys)


def everywhere() -> list[BindingType]:
    """The bindings that hold on every page."""
    return [
        Binding(c.key, c.action, c.short or c.words, show=False, id=c.name)
        for c in COMMANDS
        if not c.pages
    ]


def key_line(
    page: str, reading: bool = False, working: Container[str] | None = None
) -> list[tuple[str, str]]:
    """(key, label) of the page's own actions, then undo; `reading` leaves out those that write,
    `working` names those that do something now."""
    shown = [c for c in COMMANDS if page in c.pages and c.short]
    shown = [c for c in shown if working is None or c.action in working]
    if reading:
        return [(c.key_shown, c.short) for c in shown if not writes(c.action)]
    own = [(c.key_shown, c.short) for c in shown]
    return [*own, (key_of("undo"), "Undo")] if working is None or "undo" in working else own


def navigation() -> list[tuple[str, str, str]]:
    """(key, label, page) of the pages, then quit."""
    pages = [(c.key_shown, c.short, c.action[6:-2]) for c in _NAVIGATION if c.short]
    return [*pages, (key_of("help"), "Help", "handbook"), (key_of("quit"), "Quit", "")]
