"""Units at the edges: reading what was typed, showing it again. Inside, everything is SI.

Temperatures are kept in degrees Celsius (an SI unit), tyre and damper pressures as gauge
pressure in Pa, barometric pressure as absolute Pa. Exact factors: the inch, pound, standard
gravity and their derived units as defined (NIST SP 811, appendix B, has the same: second hand).
"""

from __future__ import annotations

import math
import re
from functools import cache
from typing import Final, NamedTuple

from trackside.errors import BadNumber

INCH: Final = 0.0254
FOOT: Final = 12 * INCH
POUND: Final = 0.45359237
GRAVITY: Final = 9.80665
LBF: Final = POUND * GRAVITY
PSI: Final = LBF / INCH**2
ABSOLUTE_ZERO: Final = -273.15
"""0 K in °C, by the definition of the degree Celsius."""


class Unit(NamedTuple):
    """One unit of a quantity: `si = number * factor + offset`, in the base unit `base`."""

    symbol: str
    base: str
    factor: float
    decimals: int
    offset: float = 0.0
    spellings: tuple[str, ...] = ()


class Quantity(NamedTuple):
    """A kind of number that a crew writes down, with the units it may be written in.

    The first unit is the default. `signed` says whether a minus can be right; below `lowest`
    (base unit) nothing can be.
    """

    name: str
    units: tuple[Unit, ...]
    signed: bool = True
    lowest: float = -math.inf

    def unit(self, symbol: str) -> Unit:
        """The unit of that spelling; BadNumber, naming those that would do, if there is none."""
        found = _by_spelling(self).get(_fold(symbol))
        if found is None:
            known = ", ".join(unit.symbol for unit in self.units if unit.symbol)
            raise BadNumber(
                f"“{clean(symbol)}” is not a unit of {self.name}",
                f"use {known}" if known else "give the number alone",
            )
        return found


@cache
def _by_spelling(quantity: Quantity) -> dict[str, Unit]:
    units = quantity.units
    return {_fold(word): unit for unit in units for word in (unit.symbol, *unit.spellings)}


def _fold(symbol: str) -> str:
    return symbol.replace(" ", "").replace("·", "").replace("º", "°").casefold()


QUANTITIES: Final[dict[str, Quantity]] = {
    quantity.name: quantity
    for quantity in (
        Quantity(
            "pressure",
            (
                Unit("bar", "Pa", 1e5, 2, spellings=("barg", "bar(g)")),
                Unit("psi", "Pa", PSI, 1, spellings=("psig", "psi(g)", "lb/in2", "lbf/in2", "#")),
                Unit("kPa", "Pa", 1e3, 0),
                Unit("MPa", "Pa", 1e6, 3),
            ),
        ),
        Quantity(
            "barometric pressure",
            (
                Unit("hPa", "Pa", 1e2, 0, spellings=("mbar", "mb")),
                Unit("kPa", "Pa", 1e3, 1),
                Unit("inHg", "Pa", 3386.38864034, 2, spellings=("in Hg", '"Hg')),
                Unit("mmHg", "Pa", 133.322387415, 0, spellings=("torr",)),
            ),
            signed=False,
        ),
        Quantity(
            "temperature",
            (
                Unit("°C", "°C", 1.0, 0, spellings=("C", "degC", "deg C")),
                Unit("°F", "°C", 5 / 9, 0, -160 / 9, spellings=("F", "degF", "deg F")),
                Unit("K", "°C", 1.0, 0, -273.15, spellings=("kelvin",)),
            ),
            lowest=ABSOLUTE_ZERO,
        ),
        Quantity(
            "length",
            (
                Unit("mm", "m", 1e-3, 1),
                Unit("in", "m", INCH, 3, spellings=('"', "inch", "inches", "″")),
                Unit("cm", "m", 1e-2, 2),
                Unit("m", "m", 1.0, 3),
            ),
        ),
        Quantity(
            "angle",
            (
                Unit("°", "rad", math.pi / 180, 2, spellings=("deg", "degree", "degrees")),
                Unit("′", "rad", math.pi / 10800, 0, spellings=("'", "min", "minutes")),
            ),
        ),
        Quantity(
            "toe",
            (
                Unit("mm", "m", 1e-3, 2),
                Unit("°", "rad", math.pi / 180, 2, spellings=("deg", "degree", "degrees")),
                Unit("′", "rad", math.pi / 10800, 0, spellings=("'", "min", "minutes")),
                Unit("in", "m", INCH, 3, spellings=('"', "inch", "inches", "″")),
            ),
        ),
        Quantity(
            "spring rate",
            (
                Unit("N/mm", "N/m", 1e3, 1),
                Unit(
                    "lbf/in", "N/m", LBF / INCH, 0, spellings=("lb/in", "lbs/in", "lb", "lbs", "#")
                ),
                Unit("kgf/mm", "N/m", GRAVITY * 1e3, 2, spellings=("kg/mm", "k")),
                Unit("N/m", "N/m", 1.0, 0),
            ),
            signed=False,
        ),
        Quantity(
            "force",
            (
                Unit("N", "N", 1.0, 0),
                Unit("lbf", "N", LBF, 1, spellings=("lb", "lbs")),
                Unit("kgf", "N", GRAVITY, 1, spellings=("kp",)),
                Unit("kN", "N", 1e3, 3),
            ),
        ),
        Quantity(
            "speed",
            (
                Unit("mm/s", "m/s", 1e-3, 0),
                Unit("in/s", "m/s", INCH, 2, spellings=("ips",)),
                Unit("m/s", "m/s", 1.0, 3),
                Unit("km/h", "m/s", 1 / 3.6, 0, spellings=("kph", "kmh")),
                Unit("mph", "m/s", 0.44704, 0, spellings=("mi/h",)),
            ),
        ),
        Quantity(
            "damping",
            (
                Unit("N·s/m", "N·s/m", 1.0, 0),
                Unit("N·s/mm", "N·s/m", 1e3, 2),
                Unit("lbf·s/in", "N·s/m", LBF / INCH, 1, spellings=("lb s/in",)),
                Unit("kgf·s/mm", "N·s/m", GRAVITY * 1e3, 3),
            ),
        ),
        Quantity(
            "turning damping",
            (
                Unit("kN·m·s/rad", "N·m·s/rad", 1e3, 2),
                Unit("lbf·ft·s/rad", "N·m·s/rad", LBF * FOOT, 0, spellings=("lb ft s/rad",)),
            ),
        ),
        Quantity(
            "energy",
            (
                Unit("J", "J", 1.0, 1, spellings=("N·m",)),
                Unit("ft·lbf", "J", LBF * FOOT, 1, spellings=("ft lb",)),
            ),
        ),
        Quantity(
            "torque",
            (
                Unit("N·m", "N·m", 1.0, 1, spellings=("Nm",)),
                Unit("lbf·ft", "N·m", LBF * FOOT, 1, spellings=("lb ft", "ft lb", "ft·lbf")),
                Unit("lbf·in", "N·m", LBF * INCH, 0, spellings=("lb in", "in lb", "in·lbf")),
            ),
            signed=False,
        ),
        Quantity(
            "oil volume",
            (
                Unit("ml", "m³", 1e-6, 0, spellings=("mL", "cc", "cm³", "cm3")),
                Unit("fl oz", "m³", 29.5735295625e-6, 2, spellings=("floz", "US fl oz", "oz")),
                Unit("L", "m³", 1e-3, 3, spellings=("l", "litre", "litres", "liter", "liters")),
            ),
            signed=False,
        ),
        Quantity(
            "mass",
            (
                Unit("kg", "kg", 1.0, 1),
                Unit("lb", "kg", POUND, 1, spellings=("lbs",)),
            ),
            signed=False,
        ),
        Quantity(
            "fuel",
            (
                Unit("L", "m³", 1e-3, 1, spellings=("l", "litre", "litres", "liter", "liters")),
                Unit("kg", "kg", 1.0, 1),
                Unit("US gal", "m³", 3.785411784e-3, 1, spellings=("gal", "usgal")),
                Unit("lb", "kg", POUND, 1, spellings=("lbs",)),
            ),
            signed=False,
        ),
        Quantity(
            "share",
            (
                Unit("%", "1", 1e-2, 0, spellings=("percent", "pc")),
                Unit("", "1", 1e-2, 0),
            ),
            signed=False,
        ),
        Quantity(
            "clicks",
            (
                Unit("", "1", 1.0, 3),
                Unit("clicks", "1", 1.0, 3, spellings=("click", "c", "turns", "turn")),
            ),
        ),
        Quantity(
            "viscosity",
            (Unit("cSt", "m²/s", 1e-6, 2, spellings=("mm²/s", "mm2/s")),),
            signed=False,
        ),
        Quantity("count", (Unit("", "1", 1.0, 0),), signed=False),
        Quantity("ratio", (Unit("", "1", 1.0, 3),), signed=False),
        Quantity("lap time", (Unit("s", "s", 1.0, 3, spellings=("sec",)),), signed=False),
        Quantity(
            "duration",
            (Unit("min", "s", 60.0, 0, spellings=("mins", "minute", "minutes")),),
            signed=False,
        ),
        Quantity(
            "run time",
            (
                Unit("min", "s", 60.0, 1, spellings=("minute", "minutes", "m")),
                Unit("h", "s", 3600.0, 2, spellings=("hour", "hours", "hrs", "hr")),
                Unit("s", "s", 1.0, 0, spellings=("sec", "seconds")),
            ),
            signed=False,
        ),
        Quantity(
            "hours",
            (
                Unit("h", "s", 3600.0, 1, spellings=("hour", "hours", "hrs", "hr")),
                Unit("min", "s", 60.0, 0, spellings=("minute", "minutes", "m")),
            ),
            signed=False,
        ),
        Quantity("plain", (Unit("", "1", 1.0, 3),)),
    )
}

_NUMBER: Final = r"""(?xs)^\s*
    (?P<number>[+-]?(?:\d{1,3}(?:[\ ']\d{3})+|\d[\d.,]*|[.,]\d+)(?:[.,]\d+)?(?:[eE][+-]?\d+)?)
    \s*(?P<unit>.*?)\s*$"""
_DEGREES: Final = r"^\s*([+-]?)(\d+)\s*°\s*(\d{1,2}(?:[.,]\d+)?)\s*['′]\s*$"
_LAP: Final = r"^\s*(?:(\d+)[:'](?=\d))?(\d+)[:'](\d{1,2}(?:[.,]\d+)?)\s*$"
_MINUS: Final = str.maketrans({"−": "-", "–": "-", "\u00a0": " ", "\u202f": " "})


class Read(NamedTuple):
    """A number as understood: its value in the base unit and the unit it was given in."""

    si: float
    unit: Unit


def read_number(text: str) -> float:
    """The number in `text`, decimal comma or point; BadNumber if there is none or two ways.

    One comma or point is always the decimal mark (1,234 is 1.234). With both, the later one
    is the decimal mark and the other must group by threes (1.234,5 and 1,234.5).
    """
    number, rest = _split(text)
    if rest:
        raise BadNumber(f"“{clean(text)}” is not a plain number", "give the number alone")
    return number


def _split(text: str) -> tuple[float, str]:
    match = re.match(_NUMBER, text.translate(_MINUS))
    if match is None:
        raise BadNumber(f"“{clean(text)}” is not a number", "type it like 12.5 or 12,5")
    digits = match["number"].strip()
    return _decimal(digits, text), match["unit"]


def _decimal(digits: str, text: str) -> float:
    compact = re.sub(r"[\s']", "", digits)
    comma, point = compact.rfind(","), compact.rfind(".")
    if comma >= 0 and point >= 0:
        decimal, group = (",", ".") if comma > point else (".", ",")
        whole, _, fraction = compact.rpartition(decimal)
        groups = whole.lstrip("+-").split(group)
        if decimal in whole or len(groups[0]) > 3 or any(len(part) != 3 for part in groups[1:]):
            raise BadNumber(
                f"“{clean(text)}” can be read in two ways", "use one decimal mark, no grouping"
            )
        compact = whole.replace(group, "") + "." + fraction
    else:
        if compact.count(",") > 1 or compact.count(".") > 1:
            raise BadNumber(f"“{clean(text)}” has two decimal marks", "type it like 12.5 or 12,5")
        compact = compact.replace(",", ".")
    try:
        value = float(compact)
    except ValueError:
        raise BadNumber(f"“{clean(text)}” is not a number", "type it like 12.5 or 12,5") from None
    if not math.isfinite(value):
        raise BadNumber(f"“{clean(text)}” is too large to be a number", "check the digits")
    return value


def read(text: str, quantity: str, unit: str = "") -> Read:
    """Read a number of `quantity`, with its own unit or else `unit` (default: the first one).

    Lap times may be 1:32.456, angles −2°30′. BadNumber says what is wrong and which units would do.
    """
    kind = QUANTITIES[quantity]
    if quantity == "lap time" and (lap := re.match(_LAP, text)):
        hours, minutes, seconds = lap.groups()
        value = float(seconds.replace(",", "."))
        if value >= 60:
            raise BadNumber(f"“{clean(text)}” has more than 59 seconds", "type it like 1:32.456")
        return Read(int(hours or 0) * 3600 + int(minutes) * 60 + value, kind.units[0])
    if quantity in ("angle", "toe") and (turned := re.match(_DEGREES, text.translate(_MINUS))):
        sign, degrees, arc = turned.groups()
        value = int(degrees) + float(arc.replace(",", ".")) / 60
        chosen = kind.unit("°")
        return Read((-value if sign == "-" else value) * chosen.factor, chosen)
    number, symbol = _split(text)
    chosen = kind.unit(symbol) if symbol else kind.unit(unit) if unit else kind.units[0]
    if number < 0 and not kind.signed:
        raise BadNumber(f"{kind.name} cannot be below zero", "check the sign")
    si = number * chosen.factor + chosen.offset
    if si < kind.lowest - 1e-9:  # the least that rounding leaves of 0 K in °F
        least = show(kind.lowest, quantity, chosen.symbol, with_unit=True)
        raise BadNumber(f"“{clean(text)}” is below {least}, absolute zero", "check sign and unit")
    return Read(si, chosen)


def from_si(si: float, quantity: str, unit: str = "") -> float:
    """`si` of that quantity as a number in `unit` (default: its first unit)."""
    chosen = QUANTITIES[quantity].unit(unit) if unit else QUANTITIES[quantity].units[0]
    return (si - chosen.offset) / chosen.factor


def show(si: float | None, quantity: str, unit: str = "", *, with_unit: bool = False) -> str:
    """`si` as text in `unit`, rounded as the trade writes it; unknown is an en dash."""
    if si is None:
        return "–"
    if quantity == "lap time":
        return show_lap(si)
    chosen = QUANTITIES[quantity].unit(unit) if unit else QUANTITIES[quantity].units[0]
    number = round((si - chosen.offset) / chosen.factor, chosen.decimals) + 0.0
    text = f"{number:.{chosen.decimals}f}"
    if quantity in ("clicks", "plain", "ratio", "share") and "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{text} {chosen.symbol}".strip() if with_unit else text


def show_span(difference: float, quantity: str, unit: str) -> str:
    """A difference of two values, with its unit: 45 K of temperature are 45 °C, or 81 °F."""
    chosen = QUANTITIES[quantity].unit(unit)
    return f"{difference / chosen.factor:.{chosen.decimals}f} {chosen.symbol}".strip()


_NO_LAP: Final = 1e9
"""Seconds: a lap that long was written by a fault, and is shown as it is."""


def show_lap(seconds: float | None) -> str:
    """A lap time as m:ss.mmm; unknown is an en dash."""
    if seconds is None:
        return "–"
    if abs(seconds) >= _NO_LAP:
        return repr(seconds)
    thousandths = round(seconds * 1000)
    minutes, rest = divmod(thousandths, 60_000)
    return f"{minutes}:{rest // 1000:02d}.{rest % 1000:03d}"


_KEPT_CONTROLS: Final = {"\n", "\t"}
_CLEAN: Final = {
    **{code: None for code in range(0x20) if chr(code) not in _KEPT_CONTROLS},
    **dict.fromkeys(range(0x7F, 0xA0)),
    **dict.fromkeys(range(0x202A, 0x202F)),
    **dict.fromkeys(range(0x2066, 0x206A)),
    0x2028: "\n",
    0x2029: "\n",
    0xFEFF: None,
}


def clean(text: str) -> str:
    """`text` without control characters, escape sequences' start, or direction overrides.

    Everything else a person can type stays: emoji, brackets, any script. A lone surrogate,
    which no file can hold, becomes a question mark.
    """
    if text.isascii() and text.isprintable():
        return text
    text = text.replace("\r\n", "\n").replace("\r", "\n").translate(_CLEAN)
    return text.encode("utf-8", "replace").decode("utf-8") if not text.isascii() else text


def one_line(text: str) -> str:
    """`clean(text)` on one line, outer blanks removed."""
    return " ".join(clean(text).split())
