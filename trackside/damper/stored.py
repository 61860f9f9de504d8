"""A fitted sheet as bytes, and back, so that the search for it is made once for a sheet.

Every number comes back to the last bit. The bytes are numpy's own archive (`savez`, pickles not
allowed): the arrays, and a text that says where each belongs.
"""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from functools import partial
from io import BytesIO
from typing import Any, Final
from zipfile import BadZipFile

import numpy as np

from trackside.damper.clicks import ForceSteps
from trackside.damper.estimation import FitResult, RunDoubt
from trackside.damper.force_model import ForceModel, Form, Misread
from trackside.damper.network import Network
from trackside.damper.residual import Places, Residual, Sizes
from trackside.damper.sheet_fit import DirectionFit, SheetFit
from trackside.damper.viscous import Viscous

_KINDS: Final = {
    kind.__name__: kind
    for kind in (
        SheetFit, DirectionFit, ForceModel, Form, Misread, FitResult, RunDoubt, Network, Residual,
        Places, Sizes, Viscous, ForceSteps,
    )
}  # fmt: skip
"""What a fit is made of."""

_TREE: Final = "tree"
_KIND, _ARRAY, _MANY = "kind", "array", "many"


def to_bytes(fit: SheetFit) -> bytes:
    """The fit as bytes. TypeError for a part that `from_bytes` would not know."""
    arrays: dict[str, np.ndarray] = {}
    tree = json.dumps(_taken_apart(fit, arrays))
    file = BytesIO()
    np.savez(file, **{_TREE: np.frombuffer(tree.encode(), np.uint8)}, **arrays)  # type: ignore[arg-type]
    return file.getvalue()


def from_bytes(data: bytes) -> SheetFit:
    """The fit again. ValueError for bytes that hold none, whatever is wrong with them."""
    try:
        with np.load(BytesIO(data), allow_pickle=False) as archive:
            arrays = {name: archive[name] for name in archive.files}
        found = _put_together(json.loads(arrays.pop(_TREE).tobytes()), arrays)
    except (ValueError, KeyError, TypeError, EOFError, OSError, BadZipFile) as error:
        raise ValueError(f"no fit: {error}") from error
    if not isinstance(found, SheetFit):
        raise ValueError("no fit: something else")
    return found


def _taken_apart(part: Any, arrays: dict[str, np.ndarray]) -> Any:
    if is_dataclass(part) and _KINDS.get(type(part).__name__) is type(part):
        body = {f.name: _taken_apart(getattr(part, f.name), arrays) for f in fields(part)}
        return {_KIND: type(part).__name__, **body}
    if isinstance(part, np.ndarray):
        name = f"n{len(arrays)}"
        arrays[name] = part
        return {_ARRAY: name}
    if isinstance(part, tuple):
        return {_MANY: [_taken_apart(each, arrays) for each in part]}
    if isinstance(part, np.generic):
        return part.item()
    if part is None or isinstance(part, bool | int | float | str):
        return part
    raise TypeError(f"a fit holds a {type(part).__name__}, which cannot be kept")


def _put_together(part: Any, arrays: dict[str, np.ndarray]) -> Any:
    again = partial(_put_together, arrays=arrays)
    if not isinstance(part, dict):
        return part
    if _ARRAY in part:
        return arrays[part[_ARRAY]]
    if _MANY in part:
        return tuple(again(each) for each in part[_MANY])
    body = dict(part)
    return _KINDS[body.pop(_KIND)](**{name: again(value) for name, value in body.items()})
