"""What an eye needs: contrast between colours, and how a colour-blind eye sees them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from colorspacious import cspace_convert, deltaE
from rich.color import Color, ColorType
from rich.style import Style

TEXT, MARKS = 4.5, 3.0
"""Least contrast of text and of graphical marks: WCAG 2.1, success criteria 1.4.3 and 1.4.11.
From memory, as is the formula in `contrast`."""

_MARK_BLOCKS = range(0x2500, 0x2900)
"""Box drawing, blocks, geometric shapes, dingbats, braille (Unicode block chart, from memory)."""
EYES = (None, "deuteranomaly", "protanomaly", "tritanomaly")

RGB = tuple[int, int, int]


def rgb(text: str) -> RGB:
    """`#rrggbb` as three numbers 0 to 255."""
    return (int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16))


def luminance(colour: RGB) -> float:
    """Relative luminance, 0 black to 1 white."""
    parts = [c / 255 for c in colour]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: RGB, other: RGB) -> float:
    """Contrast ratio, 1 to 21."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def difference(one: str, other: str, eye: str | None) -> float:
    """How far apart two colours look (CAM02-UCS) to that eye, by colorspacious: Machado and others
    (2009) at full severity."""
    seen = [_seen(np.array(rgb(colour)) / 255, eye) for colour in (one, other)]
    return float(deltaE(*seen, input_space="sRGB1"))


def _seen(colour: Any, eye: str | None) -> Any:
    if eye is None:
        return colour
    space = {"name": "sRGB1+CVD", "cvd_type": eye, "severity": 100}
    return np.clip(cspace_convert(colour, space, "sRGB1"), 0, 1)


def is_mark(text: str) -> bool:
    """Whether a piece of a line is drawn, not written."""
    return all(ord(letter) in _MARK_BLOCKS or letter in " ·×" for letter in text)


def pairs(app: Any) -> Iterator[tuple[str, RGB, RGB]]:
    """Text, colour and ground of everything on the screen of the app that is not blank."""
    for strip in app.screen._compositor.render_strips():
        for segment in strip:
            if segment.text.strip() and segment.style is not None:
                front, back = _colours(segment.style)
                yield segment.text, front, back


def _colours(style: Style) -> tuple[RGB, RGB]:
    assert style.color is not None, style
    assert style.bgcolor is not None, style
    front, back = (_triplet(colour) for colour in (style.color, style.bgcolor))
    return (back, front) if style.reverse else (front, back)


def _triplet(colour: Color) -> RGB:
    assert colour.type is ColorType.TRUECOLOR, colour
    assert colour.triplet is not None
    return colour.triplet.red, colour.triplet.green, colour.triplet.blue
