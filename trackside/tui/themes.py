"""Three themes: garage (dark), sun (high contrast, light), night (dim, for eyes used to the dark).

Corner colours are told apart by colour-blind eyes in garage and sun (a test simulates these); no
colour stands alone, each corner also has its own marker and name. Night holds to long wavelengths,
red to amber, which spare night vision; there corners differ less by colour, so the markers carry.
"""

from __future__ import annotations

from textual.theme import Theme

_GARAGE = {
    "FL": "#5e8bff",
    "FR": "#f48c36",
    "RL": "#5affbe",
    "RR": "#cdc4f0",
    "before": "#9aa4ae",
    "after": "#ffe28a",
    "bump": "#f48c36",
    "rebound": "#5e8bff",
    "other": "#c8d0d8",
    "band": "#78848f",
    "grid": "#667079",
    "axis": "#87939e",
    "text": "#d9e0e6",
    "zero": "#aab4bd",
    "mark": "#ffe28a",
}
_SUN = {
    "FL": "#1050ff",
    "FR": "#c1300b",
    "RL": "#104b42",
    "RR": "#974b83",
    "before": "#5a5a5a",
    "after": "#000000",
    "bump": "#c1300b",
    "rebound": "#1050ff",
    "other": "#303030",
    "band": "#767676",
    "grid": "#8a8a8a",
    "axis": "#595959",
    "text": "#101010",
    "zero": "#303030",
    "mark": "#7a3c00",
}
_NIGHT = {
    "FL": "#ff3328",
    "FR": "#ff8d38",
    "RL": "#d4661c",
    "RR": "#e0a030",
    "before": "#c06038",
    "after": "#ffaa3c",
    "bump": "#ff8d38",
    "rebound": "#ff3328",
    "other": "#f07840",
    "band": "#c45c34",
    "grid": "#a04428",
    "axis": "#cc5a34",
    "text": "#ff7b46",
    "zero": "#d86a40",
    "mark": "#ffaa3c",
}
ROLES: dict[str, dict[str, str]] = {"garage": _GARAGE, "sun": _SUN, "night": _NIGHT}
"""Theme → role of a drawing → colour."""


def _variables(roles: dict[str, str], **more: str) -> dict[str, str]:
    named = {name.replace("_", "-"): colour for name, colour in more.items()}
    return {f"role-{name}": colour for name, colour in roles.items()} | named


THEMES = (
    Theme(
        name="garage",
        primary="#ffd75f",
        secondary="#5e8bff",
        accent="#ffd75f",
        foreground="#e6ebef",
        background="#0d1013",
        surface="#0d1013",
        panel="#1b2127",
        warning="#ffb454",
        error="#ff8f7a",
        success="#5fd3a6",
        dark=True,
        variables=_variables(
            _GARAGE, board="#ffd75f", board_text="#14110a", dim="#8d98a2", field="#1a2026"
        ),
    ),
    Theme(
        name="sun",
        primary="#000000",
        secondary="#1050ff",
        accent="#000000",
        foreground="#0a0a0a",
        background="#ffffff",
        surface="#ffffff",
        panel="#e8e8e2",
        warning="#7a3c00",
        error="#b00020",
        success="#006b4a",
        dark=False,
        variables=_variables(
            _SUN, board="#111111", board_text="#ffe36e", dim="#5c5c5c", field="#f0f0ea"
        ),
    ),
    Theme(
        name="night",
        primary="#e8502c",
        secondary="#d4661c",
        accent="#ffaa3c",
        foreground="#ff7b46",
        background="#0a0000",
        surface="#0a0000",
        panel="#1c0500",
        warning="#ffa03c",
        error="#ff4a3c",
        success="#d8a03c",
        dark=True,
        variables=_variables(
            _NIGHT, board="#e8502c", board_text="#0a0000", dim="#cc5a34", field="#160300"
        ),
    ),
)
