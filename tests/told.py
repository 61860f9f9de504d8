"""Whole pages and facts against what was told before: a change is seen, read, and only then kept.

The texts lie in the room's folder `told/`. `TRACKSIDE_RETELL=1 python -m pytest FILE` writes them
anew; the difference then stands in the version control, where each line is to be judged. They are
no source for a figure (the laws and sourced numbers of the other tests are): they show that a
sentence, a band, a sign or a limit is another than yesterday.

Words must be the same; a number may differ by 2 % or one of its last digit, since another
processor's fit ends a little elsewhere.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import BaseModel

from trackside.records import Reading, SheetWarning

_NUMBER = re.compile(r"(\d+(?:\.\d+)?(?:e[-+]?\d+)?)")
_NEAR = 0.02


def agrees(lines: Iterable[str], test: str, name: str) -> None:
    """The lines are those of `told/name.txt` beside that test file; AssertionError names the first
    that is not."""
    file = Path(test).parent / "told" / f"{name}.txt"
    now = [line.rstrip() for one in lines for line in one.split("\n")]
    if "TRACKSIDE_RETELL" in os.environ:
        file.parent.mkdir(exist_ok=True)
        file.write_text("\n".join(now) + "\n", "utf-8")
    was = file.read_text("utf-8").split("\n")[:-1]
    for n, (old, new) in enumerate(zip(was, now, strict=False), 1):
        assert _alike(old, new), f"{file.name}:{n}\nwas: {old}\nnow: {new}"
    assert len(was) == len(now), f"{file.name}: {len(was)} lines, now {len(now)}"


def _alike(old: str, new: str) -> bool:
    was, now = (_NUMBER.split(line) for line in (old, new))
    if len(was) != len(now) or any(
        " ".join(a.split()) != " ".join(b.split()) for a, b in zip(was[::2], now[::2], strict=True)
    ):
        return False
    return all(map(_near, was[1::2], now[1::2]))


def _near(old: str, new: str) -> bool:
    if old == new:
        return True
    if "." not in old and len(old) < 3 and "." not in new:
        return False
    digits = len(old.partition("e")[0].partition(".")[2])
    last = 10.0**-digits if "e" not in old else 0.0
    return abs(float(old) - float(new)) <= max(_NEAR * abs(float(old)), 1.01 * last)


def spelled(found: Any, name: str = "") -> list[str]:
    """Facts as lines, one for each of several: names and values, numbers to four digits. A record
    is named only: it was given, not found."""
    items: list[tuple[Any, Any]] = []
    if isinstance(found, Mapping):
        items = list(found.items())
    elif isinstance(found, list | tuple):
        items = list(enumerate(found))
    if items and not all(isinstance(one, int | float | str | np.floating) for _, one in items):
        return [f"{name} {key}: {_flat(one)}" for key, one in items]
    return [f"{name}: {_flat(found)}"]


def _flat(value: Any) -> str:
    if isinstance(value, np.ndarray):
        value = list(np.ravel(value))
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_flat, value))}]"
    if isinstance(value, Mapping):
        return f"{{{', '.join(f'{key}: {_flat(one)}' for key, one in value.items())}}}"
    if isinstance(value, Enum):
        return value.name
    if isinstance(value, bool | np.bool_):
        return str(bool(value))
    if isinstance(value, float | np.floating):
        return "0.0" if abs(float(value)) < 1e-9 else f"{value:.4g}"
    if isinstance(value, Reading):
        return f"{value.typed} {value.unit} {_flat(value.si)}"
    if isinstance(value, SheetWarning):
        return _flat(value.body())
    if isinstance(value, BaseModel):
        return type(value).__name__
    if is_dataclass(value) and not isinstance(value, type):
        inner = {f.name: getattr(value, f.name) for f in fields(value)}
        told = (f"{k} {_flat(v)}" for k, v in inner.items() if k[0] != "_" and not callable(v))
        return f"{type(value).__name__}({', '.join(told)})"
    return str(value)
