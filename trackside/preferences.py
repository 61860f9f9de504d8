"""The crew's preferences, and where files are kept.

One TOML file in the user's configuration folder; every line of it has a default here, and a
line that cannot be used is named.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

import platformdirs

from trackside.errors import BadNumber, BadPreference
from trackside.units import QUANTITIES

APP = "trackside"

THEMES = ("garage", "sun", "night")
DRAWINGS = ("auto", "braille", "blocks", "ascii")
PAPERS = ("a4", "letter")
WALK_PARTS = ("inner", "middle", "outer", "hot", "body", "gas", "gas_at")
"""What can be read on the walk round the car: treads, hot pressure; at the damper the body's
temperature, the gas, and the temperature at which the gas was read."""

PRESETS: dict[str, dict[str, str]] = {
    "metric": {},
    "imperial": {
        "pressure": "psi",
        "temperature": "°F",
        "length": "in",
        "toe": "in",
        "spring rate": "lbf/in",
        "force": "lbf",
        "speed": "in/s",
        "damping": "lbf·s/in",
        "turning damping": "lbf·ft·s/rad",
        "energy": "ft·lbf",
        "torque": "lbf·ft",
        "oil volume": "fl oz",
        "mass": "lb",
        "fuel": "US gal",
        "barometric pressure": "inHg",
    },
    "mixed": {"pressure": "psi", "spring rate": "lbf/in"},
}


class Preferences(NamedTuple):
    """What the crew prefers; `checked` reads what somebody wrote. The first screen waits for it, so
    it is neither a dataclass nor a pydantic model."""

    author: str = ""
    """Who signs the revisions; empty: the login name."""
    preset: str = "metric"
    units: Mapping[str, str] = MappingProxyType({})
    """Quantity → unit, over the preset."""
    reference_speeds: tuple[float, ...] = (0.025, 0.05, 0.1, 0.2)
    """Rod speeds at which changes are stated (m/s)."""
    speed_split: float = 0.1
    """Rod speed that parts low from high speed (m/s); a setting, not a law."""
    peak_speed: float = 0.5
    """The highest rod speed that curves are drawn to (m/s)."""
    theme: str = "garage"
    walk_round: tuple[str, ...] = ("FL", "FR", "RR", "RL")
    """The order in which tyre temperatures and pressures are read."""
    walk_parts: tuple[str, ...] = WALK_PARTS[:4]
    """What is read on that walk at each corner, in this order; what is at the dampers comes in a
    second lap."""
    walk_by_itself: bool = False
    """Whether the walk-round goes on without Enter where no other digit could be right."""
    drawing: str = "auto"
    """What charts are drawn with; auto: what the terminal says it can show."""
    paper: str = "a4"
    """What run sheet and debrief are printed on."""
    keys: Mapping[str, tuple[str, ...]] = MappingProxyType({})
    """Name of an action → the keys that do it, in place of its own."""

    @classmethod
    def checked(cls, **given: Any) -> Preferences:
        """Preferences of what was given, units by whichever of their spellings; BadPreference
        names the one that cannot be used."""
        for name in given:
            _check(name in cls._fields, name, f"known are {', '.join(sorted(cls._fields))}")
        asked = cls(**given)
        _check(isinstance(asked.author, str), "author", "give a name in quotes")
        _check(asked.preset in list(PRESETS), "preset", f"one of {', '.join(PRESETS)}")
        _check(asked.theme in THEMES, "theme", f"one of {', '.join(THEMES)}")
        _check(isinstance(asked.units, Mapping), "units", "a table of quantity = unit")
        speeds = _speeds(asked.reference_speeds)
        _check(1 <= len(speeds) <= 8, "reference_speeds", "one to eight rod speeds in m/s")
        for name in ("speed_split", "peak_speed"):
            _speeds((getattr(asked, name),), name)
        order, remedy = asked.walk_round, "name each corner once"
        _check(isinstance(order, (list, tuple)) and len(order) == 4, "walk_round", remedy)
        _check(all(corner in order for corner in ("FL", "FR", "RL", "RR")), "walk_round", remedy)
        parts, remedy = asked.walk_parts, f"some of {', '.join(WALK_PARTS)}, each once"
        _check(isinstance(parts, (list, tuple)) and bool(parts), "walk_parts", remedy)
        _check(all(part in WALK_PARTS for part in parts), "walk_parts", remedy)
        _check(len({*parts}) == len(parts), "walk_parts", remedy)
        _check(isinstance(asked.walk_by_itself, bool), "walk_by_itself", "true or false")
        _check(asked.drawing in DRAWINGS, "drawing", f"one of {', '.join(DRAWINGS)}")
        _check(asked.paper in PAPERS, "paper", f"one of {', '.join(PAPERS)}")
        remedy = 'a table of action = ["key", …], as in click_harder = ["h", "plus"]'
        _check(isinstance(asked.keys, Mapping), "keys", remedy)
        keys = {name: [k] if isinstance(k, str) else k for name, k in asked.keys.items()}
        for name, chosen in keys.items():
            holds = isinstance(chosen, (list, tuple)) and bool(chosen)
            _check(holds and all(isinstance(k, str) for k in chosen), f"keys.{name}", remedy)
        return asked._replace(
            units={quantity: _symbol(quantity, unit) for quantity, unit in asked.units.items()},
            reference_speeds=tuple(sorted(set(speeds))),
            walk_round=tuple(order),
            walk_parts=tuple(parts),
            keys={name: tuple(k) for name, k in keys.items()},
        )

    @property
    def ink(self) -> str:
        """What charts are drawn with: braille, blocks or ascii."""
        return self.drawing if self.drawing != "auto" else _shown_by(os.environ)

    def unit(self, quantity: str) -> str:
        """The unit in which the crew writes that quantity."""
        chosen = self.units.get(quantity) or PRESETS[self.preset].get(quantity)
        return chosen or QUANTITIES[quantity].units[0].symbol

    def in_si(self) -> Preferences:
        """The same in metric units, for what a script reads: it depends on no crew's choice."""
        return self._replace(preset="metric", units={})

    @property
    def signed_by(self) -> str:
        """The name that goes on a revision."""
        return self.author or _login()


def _check(holds: bool, name: str, remedy: str) -> None:
    if not holds:
        raise BadPreference(f"the preference {name} cannot be used", remedy)


def _symbol(quantity: str, unit: Any) -> str:
    """The unit's symbol, whichever of its spellings was written."""
    _check(quantity in QUANTITIES, f"units.{quantity}", f"one of {', '.join(QUANTITIES)}")
    return QUANTITIES[quantity].unit(str(unit)).symbol


def _speeds(values: Any, name: str = "reference_speeds") -> tuple[float, ...]:
    _check(isinstance(values, (list, tuple)), name, "give rod speeds in m/s")
    for value in values:
        is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
        _check(is_number and 0 < value <= 5, name, "rod speeds in m/s, above 0 and up to 5")
    return tuple(float(value) for value in values)


def _shown_by(environment: Mapping[str, str]) -> str:
    """What a terminal can show, by its locale and its kind.

    A locale of C, or of another character set than UTF-8, has ASCII; none at all says nothing
    against UTF-8. The Linux console has block characters but no braille (its fonts hold 512
    glyphs at most; from memory).
    """
    if only_prints(environment):
        return "ascii"
    names = ("LC_ALL", "LC_CTYPE", "LANG")
    every, kind, lang = (environment.get(name, "") for name in names)
    if kind == "C.UTF-8" and lang in ("C", "POSIX"):
        kind = ""  # set by Python itself for a C locale (PEP 538), not by the terminal's owner
    locale = every or kind or lang
    if locale and "utf" not in locale.casefold():
        return "ascii"
    return "blocks" if environment.get("TERM") == "linux" else "braille"


def only_prints(environment: Mapping[str, str] = os.environ) -> bool:
    """Whether the terminal prints lines and nothing else: no colour, no cursor that can be moved
    (terminfo's entry `dumb`, from memory)."""
    return environment.get("TERM", "") in ("dumb", "unknown")


def _login() -> str:
    import getpass

    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "crew"


def config_folder() -> Path:
    """The user's configuration folder for trackside."""
    return Path(os.environ.get("TRACKSIDE_CONFIG") or platformdirs.user_config_dir(APP))


def data_folder() -> Path:
    """The user's data folder for trackside."""
    return Path(os.environ.get("TRACKSIDE_DATA") or platformdirs.user_data_dir(APP))


def default_logbook() -> Path:
    """Where the logbook lives unless another file is named."""
    return data_folder() / "season.trackside"


def device_file() -> Path:
    """Where this machine's name for revisions is kept: outside the logbook, which gets copied."""
    return data_folder() / "device"


def preferences_file() -> Path:
    """The preferences file; it need not exist."""
    return config_folder() / "preferences.toml"


def load(path: Path | None = None) -> Preferences:
    """The preferences in `path`; defaults when there is no file. BadPreference names the line."""
    path = path or preferences_file()
    if not path.exists():
        return Preferences()
    import tomllib  # 4 ms that a crew without the file need not wait for

    try:
        text = path.read_text("utf-8")
    except FileNotFoundError:
        return Preferences()
    except (OSError, UnicodeDecodeError) as error:
        raise BadPreference(f"{path} cannot be read ({error})", "fix or delete it") from error
    try:
        given = tomllib.loads(text)
        return Preferences.checked(**given)
    except tomllib.TOMLDecodeError as error:
        raise BadPreference(f"{path}: {error}", "fix that line") from error
    except (BadPreference, BadNumber) as error:
        raise BadPreference(f"{path}: {error.cause}", error.remedy) from error
