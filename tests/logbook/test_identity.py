"""Identifiers, canonical JSON and hashes."""

from __future__ import annotations

import json
import math
import uuid

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trackside.errors import BadRecord
from trackside.logbook.canonical import canonical, digest
from trackside.logbook.uuid7 import uuid7

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner) | st.dictionaries(st.text("abc.", max_size=3), inner),
    max_leaves=12,
)  # fmt: skip


@pytest.fixture(autouse=True)
def _fresh(monkeypatch: pytest.MonkeyPatch) -> None:
    """Moments that a test invents must not hold back the identifiers of the others."""
    monkeypatch.setattr("trackside.logbook.uuid7._last", 0)


def test_layout_of_version_7() -> None:
    # RFC 9562, section 5.7 (from memory; the standard library's parser is the second opinion).
    milliseconds = 0x017F22E279B0
    made = uuid.UUID(uuid7(milliseconds))
    assert made.version == 7
    assert made.variant == uuid.RFC_4122
    assert made.int >> 80 == milliseconds


def test_identifiers_sort_as_they_were_made() -> None:
    made = [uuid7() for _ in range(20_000)]
    assert made == sorted(set(made))


def test_identifiers_go_on_when_the_clock_steps_back() -> None:
    before = uuid7()
    assert uuid7(0) > before


def test_hash_is_sha256() -> None:
    # FIPS 180-4 example, "abc" (from memory, as printed in every text on SHA-256).
    assert digest("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@given(JSON)
def test_canonical_text_is_json_and_stable(value: object) -> None:
    text = canonical(value)
    assert canonical(json.loads(text)) == text


def test_canonical_text_forgets_the_order_of_keys() -> None:
    assert canonical({"b": 1, "a": [1.5, "é"]}) == '{"a":[1.5,"é"],"b":1}'


@pytest.mark.parametrize("value", [math.nan, math.inf, {1j}, "\ud800", {"a": object()}])
def test_what_is_not_json_is_refused(value: object) -> None:
    with pytest.raises(BadRecord, match="cannot be written down"):
        canonical({"value": value})
