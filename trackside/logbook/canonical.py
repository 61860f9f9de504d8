"""One spelling for each JSON value, so that its hash proves it.

Keys sorted by code point, no blanks, text as UTF-8 without escapes; no NaN or infinity (RFC 8259
section 6 has none). A file that spells numbers otherwise (1.0 for 1) is another text: the hash is
over the text that is kept, and the text is never spelled anew.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any, Final

from trackside.errors import BadRecord

_ENCODER: Final = json.JSONEncoder(
    sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
)


def canonical(value: Any) -> str:
    """`value` as canonical JSON; BadRecord if it cannot be written as JSON."""
    try:
        text = _ENCODER.encode(value)
        text.encode()
    except (TypeError, ValueError, RecursionError) as error:
        raise BadRecord(
            f"This cannot be written down ({error})", "numbers must be finite and text readable"
        ) from error
    return text


def digest(text: str) -> str:
    """SHA-256 of `text` in UTF-8, as 64 hexadecimal digits (FIPS 180-4)."""
    return hashlib.sha256(text.encode()).hexdigest()
